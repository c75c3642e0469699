"""The page of two ways side by side: it says what the command and the table say, and it is one page."""

import csv
import json
from collections import Counter
from dataclasses import replace

import pytest

from lipsync.errors import ExitCode
from lipsync.fit.mouthset import load_mouth_set
from lipsync.paper.marks import Box
from lipsync.paper.side_by_side_page import SideJob, rows_of, side_by_side_page
from lipsync.paper.side_by_side_parts import Instead, Strip
from lipsync.production.values import shipped
from lipsync.workshop.side_by_side import Side, SideBySide
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of


@pytest.fixture(scope="module")
def tried(heard_sample, tmp_path_factory):
    """The heron in the crab's mouths, with dearer fittings."""
    out = tmp_path_factory.mktemp("page")
    dear = out / "dear.toml"
    dear.write_text("[fitting.price]\nfitting = 0.5\n", encoding="utf-8")
    asked = ("side-by-side", heard_sample, "02-post-office", "--mouth-set", "heron=driftwood", "--fitting", dear)
    done = run(*asked, "--out", out, "--json")
    assert (done.code, done.err) == (ExitCode.DONE, "")
    files = [out / f"side-by-side-02-post-office-heron-driftwood-dear.{kind}" for kind in ("pdf", "csv")]
    answer = json.loads(done.out)
    assert answer["files"] == [str(path) for path in files]
    with files[1].open(encoding="utf-8-sig", newline="") as file:
        return answer, pages_of(files[0]), list(csv.DictReader(file))


def test_one_page_says_what_the_command_says(tried) -> None:
    answer, pages, _ = tried
    check_pages(pages)
    assert len(pages) == 1
    lines = lines_of(pages)
    assert ["tried: Zoë Wade in Driftwood"] in lines
    assert ["tried: settings of dear.toml"] in lines
    one, other = answer["present"], answer["tried"]
    rows = {line[0]: line[1:] for line in lines if len(line) > 1}
    assert rows["fittings"][:2] == [str(one["fittings"]), str(other["fittings"])]
    assert rows["fittings"][2] == f"−{one['fittings'] - other['fittings']}"
    for label, key in (
        ("visual cost, by the present sets", "visual_cost"),
        ("visual cost, by those tried", "visual_cost_by_tried"),
        ("cost with fittings", "cost_with_fittings"),
    ):
        assert rows[label][:2] == [f"{one[key]:.1f}", f"{other[key]:.1f}"]
    for name, who in (("Zoë Wade", "heron"), ("Mr Clamp", "crab")):
        needed = one["pieces_needed"][who], other["pieces_needed"][who]
        assert rows[f"pieces needed, {name}"][:2] == [str(number) for number in needed]
    share = f"{100 * answer['frames_that_differ'] / answer['frames']:.0f} %"
    assert rows["frames that differ"] == [str(answer["frames_that_differ"]), share]


def test_what_is_worn_instead_is_what_the_table_says(tried) -> None:
    """The pairs on most frames are there, each with its frames, in the order of frames."""
    _, pages, differences = tried
    counted = Counter((row["character"], row["present"], row["tried"]) for row in differences)
    names = {"heron": "Zoë Wade", "crab": "Mr Clamp"}
    lines = lines_of(pages)
    (begin,) = (at for at, line in enumerate(lines) if line[0] == "What is worn instead, on most frames first")
    shown = []
    for codes, frames in zip(lines[begin + 2 :: 3], lines[begin + 3 :: 3], strict=False):
        shown += [(text, *pair) for text, *pair in zip(frames, codes[::2], codes[1::2], strict=True)]
    assert len(shown) >= 8
    for (text, present, instead), (_, count) in zip(shown, counted.most_common(), strict=False):
        who, frames = text.split(" · ")
        (key,) = (key for key, name in names.items() if name == who)
        number = counted[key, present, instead]
        assert frames == ("1 frame" if number == 1 else f"{number} frames")
        assert number == count


def made_up(strips: int, instead: int) -> SideJob:
    pieces = load_mouth_set(shipped("mouthsets") / "tideline.toml").piece
    side = Side(120, 61.0, 80.0, 0, {"heron": 20, "crab": 8}, ())
    differs = (False,) * 10 + (True,) * 5 + (None,) * 3 + (True,) * 2
    return SideJob(
        "Low Tide Post",
        "The post office",
        ("Zoë Wade in Driftwood",),
        SideBySide(side, side, 20 * strips, 0.2, (frozenset(range(7)),) * strips),
        {"heron": "Zoë Wade", "crab": "Mr Clamp"},
        tuple(Strip(f"{n:03d}", "heron", 1001, differs + (True,) * (n % 7)) for n in range(strips)),
        tuple(Instead("crab", pieces[n % 14], pieces[(n + 1) % 14], 99 - n) for n in range(instead)),
    )


@pytest.mark.parametrize("page", ["A4", "A3", "Letter"])
@pytest.mark.parametrize(("strips", "instead"), [(0, 0), (1, 1), (5, 90), (80, 3), (200, 90)])
def test_any_scene_takes_one_page(strips: int, instead: int, page: str) -> None:
    job = made_up(strips, instead)
    job = replace(job, page=page)
    pages = pages_of(side_by_side_page(job))
    check_pages(pages)
    assert len(pages) == 1
    lines = lines_of(pages)
    # Strips that are shown, and those that are only counted, are all of them.
    shown = sum(line[-1].endswith("Zoë Wade") for line in lines if len(line) == 1)
    more = [int(line[0].split()[1]) for line in lines if line[0].startswith("and ")]
    assert shown + more[0] == strips if more and shown < strips else shown == strips
    tiles = sum(text.startswith("Mr Clamp · ") for line in lines for text in line)
    assert tiles == instead or tiles + more[-1] == instead
    assert tiles >= min(8, instead)


def test_a_strip_is_black_where_pieces_differ() -> None:
    """By hand: 20 frames, alike on 10, differ on 5, off camera on 3, differ on 2."""
    marks = side_by_side_page(made_up(1, 0)).pages[0].marks
    boxes = [mark for mark in marks if isinstance(mark, Box)]
    (frame,) = (box for box in boxes if box.stroke is not None)
    filled = [box for box in boxes if box.fill is not None]
    places = [((box.x_mm - frame.x_mm) / frame.width_mm * 20, box.width_mm / frame.width_mm * 20) for box in filled]
    assert places == [pytest.approx(place) for place in [(10, 5), (15, 3), (18, 2)]]
    assert [box.fill for box in filled] == [0.0, 0.8, 0.0]


def test_differences_are_those_of_the_figures_shown() -> None:
    """By hand: 61.04 and 60.96 are both shown as 61.0, so they do not differ; 8 for 20 pieces are 12 fewer."""
    job = made_up(0, 0)
    one, other = Side(9, 61.04, 80.0, 1, {"heron": 20}, ()), Side(12, 60.96, 79.9, 0, {"heron": 8}, ())
    job = replace(job, both=SideBySide(one, other, 0, 0.0, ()))
    rows = {row[0]: row[1:] for row in rows_of(job.both, job.names, job.words)}
    assert rows["fittings"] == ("9", "12", "+3")
    assert rows["visual cost"] == ("61.0", "61.0", "0.0")
    assert rows["cost with fittings"] == ("80.0", "79.9", "−0.1")
    assert rows["sounds not seen"] == ("1", "0", "−1")
    assert rows["pieces needed, Zoë Wade"] == ("20", "8", "−12")
    assert rows["frames that differ"] == ("", "0", "")
