"""The mouth chart from the command line: one page for each character, every piece on it once."""

import pytest

from lipsync.errors import ExitCode
from lipsync.paper.page_forms import PAPER
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of


@pytest.fixture(scope="module")
def charts(heard_sample, tmp_path_factory):
    out = tmp_path_factory.mktemp("charts")
    done = run("chart", heard_sample, "--page", "A3", "--out", out)
    assert (done.code, done.err) == (ExitCode.DONE, "")
    assert done.out.splitlines() == [str(out / "chart-heron.pdf"), str(out / "chart-crab.pdf")]
    return out


@pytest.mark.parametrize("who", ["heron", "crab"])
def test_every_piece_stands_on_one_page_once(charts, production, who) -> None:
    pages = pages_of(charts / f"chart-{who}.pdf")
    check_pages(pages)
    ((width, height, _),) = pages
    assert sorted((round(width), round(height))) == list(PAPER["A3"])
    texts = [text for line in lines_of(pages) for text in line]
    for piece in production.mouth_sets[who].piece:
        assert texts.count(piece.code) == 1
    assert production.file.characters[who].name in texts


def test_a_character_that_is_not_there(heard_sample) -> None:
    done = run("chart", heard_sample, "--character", "gull")
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith("[characters]: there is no character 'gull'; the characters are heron, crab\n")


def test_a_paper_that_is_not_there(heard_sample) -> None:
    assert run("chart", heard_sample, "--page", "A5").code == ExitCode.USAGE


def test_pieces_that_are_too_many_for_the_paper(sample, production) -> None:
    mouth_set = (sample / "mouthsets").resolve()
    mouth_set.mkdir(exist_ok=True)
    from lipsync.production.values import shipped

    text = (shipped("mouthsets") / "tideline.toml").read_text(encoding="utf-8")
    extra = "".join(
        f'\n[[piece]]\ncode = "X{n}"\nname = "more {n}"\nshape = "more{n}"\n'
        "lips = { opening = 0.5, width = 0.5, rounding = 0.5 }\n"
        for n in range(180)
    )
    head, cut, tail = text.partition("[phonemes]")
    (mouth_set / "tideline.toml").write_text(head + extra + "\n" + cut + tail, encoding="utf-8")
    done = run("chart", sample, "--character", "heron", "--page", "A4")
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith(
        "Tideline has 194 pieces, too many for the mouth chart on one A4 page; use A3 or Tabloid\n"
    )
    assert not (sample / "sheets" / "chart-heron.pdf").exists()
