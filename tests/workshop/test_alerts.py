"""What is made from lines of which one is missing says so on each of its pages, and in the workbook."""

import io

import openpyxl
import pytest

from lipsync.app.hear.heard import Only
from lipsync.app.print.packing import write_packets
from lipsync.app.renew.renewing import hear_and_plan
from lipsync.floor.revising import Revised
from lipsync.production.loading import open_production
from tests.running import copy_of, run
from tests.workshop.conftest import check_pages, lines_of, pages_of

SAID = "020: do not work from this yet: 020-c could not be done, and is missing here"


@pytest.fixture(scope="module")
def broken(heard_lacking, tmp_path_factory):
    """The sample without the recording of 020-c, in the first scene, said by the crab."""
    return copy_of(heard_lacking, tmp_path_factory.mktemp("broken") / "low-tide-post")


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (("order",), "order"),
        (("weigh", "01-lamp-room"), "weigh-01-lamp-room"),
        (("worth", "crab"), "worth-crab"),
        (
            ("side-by-side", "01-lamp-room", "--mouth-set", "heron=driftwood"),
            "side-by-side-01-lamp-room-heron-driftwood",
        ),
    ],
)
def test_a_missing_line_is_told_on_every_page(broken, tmp_path, arguments, name):
    command, *rest = arguments
    made = run(command, broken, *rest, "--out", tmp_path)
    assert made.code == 4
    pages = pages_of(tmp_path / f"{name}.pdf")
    check_pages(pages)
    for page in pages:
        assert [SAID] in lines_of([page])


def test_a_missing_line_is_told_first_in_the_workbook(broken, tmp_path):
    run("order", broken, "--out", tmp_path)
    book = openpyxl.load_workbook(io.BytesIO((tmp_path / "order.xlsx").read_bytes()))
    first = book.worksheets[0]
    said = [cell.value for cell in first["A"]]
    assert said[0] == "read first"
    assert SAID in said


def test_a_scene_from_which_nothing_is_missing_has_no_warning(broken, tmp_path):
    assert run("weigh", broken, "02-post-office", "--out", tmp_path).code == 4  # for a line of the other scene
    assert [SAID] not in lines_of(pages_of(tmp_path / "weigh-02-post-office.pdf"))


@pytest.fixture
def contradicting(sample):
    """The sample with frames of shot 010 in the can, and the shot then made shorter than that."""
    assert run("sheet", sample, "--shot", "010").code == 0
    assert run("lock", sample, "010", "--upto", "190").code == 0
    path = sample / "scenes/01-lamp-room.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("frames = 192", "frames = 150", 1), encoding="utf-8")
    return sample


@pytest.fixture
def all_contradicting(contradicting):
    """The same, and no other shot in that scene: shot 020 is in a scene of its own, with what was heard of it."""
    scene = contradicting / "scenes/01-lamp-room.toml"
    shots, others = scene.read_text("utf-8").split("# The crab climbs in")
    scene.write_text(shots, "utf-8")
    scene.with_name("03-harbour.toml").write_text(f'title = "The harbour"\n#{others}', "utf-8")
    kept = contradicting / "breakdowns/03-harbour"
    kept.mkdir()
    for path in (contradicting / "breakdowns/01-lamp-room").glob("020-*.toml"):
        path.rename(kept / path.name)
    return contradicting


LEFT_OUT = "010: not in this at all: it could not be planned, as was told on the screen"


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (("order",), "order"),
        (("count",), "count"),
        (("weigh", "01-lamp-room"), "weigh-01-lamp-room"),
        (("worth", "heron"), "worth-heron"),
    ],
)
def test_a_shot_that_is_left_out_is_told_on_every_page(contradicting, tmp_path, arguments, name):
    command, *rest = arguments
    assert run(command, contradicting, *rest, "--out", tmp_path).code == 4
    for page in pages_of(tmp_path / f"{name}.pdf"):
        assert [LEFT_OUT] in lines_of([page])


def test_a_scenes_packet_is_not_printed_without_a_shot(contradicting):
    made = run("packet", contradicting)
    assert made.code == 4
    packets = contradicting / "packets"
    assert f"{packets / '01-lamp-room.pdf'}: is not printed, since it would lack 010" in made.err.splitlines()
    assert not (packets / "01-lamp-room.pdf").exists()
    assert (packets / "02-post-office.pdf").exists()
    assert (packets / "01-lamp-room/020.pdf").exists()


def test_a_scene_of_which_every_shot_is_left_out_is_told_too(all_contradicting):
    old = all_contradicting / "packets/01-lamp-room.pdf"
    old.parent.mkdir(exist_ok=True)
    old.write_bytes(b"an older packet")
    made = run("packet", all_contradicting)
    assert made.code == 4
    said = f"{old}: is not printed, since it would lack 010, and what is there is older"
    assert said in made.err.splitlines()
    assert old.read_bytes() == b"an older packet"


def test_a_packet_that_another_program_overtook_is_not_done(sample, monkeypatch):
    monkeypatch.setattr(Revised, "is_newest", lambda revised: False)
    production = open_production(sample)
    printed = write_packets(production, hear_and_plan(production, Only()))
    texts = [str(problem) for problem in printed.report.problems]
    assert len(texts) == 2
    assert all("another program has printed newer sheets meanwhile; print it again" in text for text in texts)
    assert not list((sample / "packets").glob("*.pdf"))


def test_a_question_about_shots_that_are_all_left_out_names_them(all_contradicting):
    for command in (("weigh", "01-lamp-room"), ("side-by-side", "01-lamp-room", "--mouth-set", "heron=driftwood")):
        asked = run(command[0], all_contradicting, *command[1:])
        assert (asked.code, asked.out) == (3, "")
        assert "frames: found 150, but frames 151 to 190 of shot 010 went into the can" in asked.err


def test_a_question_about_recordings_that_are_gone_names_them(sample):
    for path in (sample / "recordings").iterdir():
        path.unlink()
    asked = run("worth", sample, "heron")
    assert asked.code == 3
    assert "says nothing in any shot" not in asked.err
    assert asked.err.count("does not exist; name a recording") == 11
