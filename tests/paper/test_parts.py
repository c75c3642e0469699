"""Replacement parts that are listed by hand: where a sheet shows them, how revisions have them, how they count."""

from dataclasses import replace
from fractions import Fraction

import pytest

from lipsync.floor.comparing import changed_rows, changes
from lipsync.floor.state import as_data, from_data, state_of
from lipsync.paper.cells import PartOn, part_runs
from lipsync.paper.exposure import sheet
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.track import PartTrack, PartWorn, PieceTrack
from lipsync.workshop.counting import ShotTrack, count

PARTS = (
    PartWorn("brows", "BRUP", 2, 5),
    PartWorn("head", "HDSIDE", 4, 60),
    PartWorn("lids", "LIDS", 7, 7),
    PartWorn("lids", "LIDS", 8, 9),
)


def with_parts(job, parts, index=0):
    cast = list(job.characters)
    cast[index] = replace(cast[index], parts=tuple(parts))
    return replace(job, characters=tuple(cast))


@pytest.fixture
def job(make_job):
    made = make_job(3, frames=96, characters=1)
    return replace(made, filmed=frozenset(), rate=Fraction(24), first_frame=1, settings=SheetSettings(), alerts=())


def test_a_row_says_which_parts_are_on_and_which_are_put_on(job):
    rows = rows_of(with_parts(job, PARTS))
    told = {row.frame: row.cells[0].parts for row in rows if row.frame < 11}
    assert told[1] == ()
    assert told[2] == (PartOn("brows", "BRUP", True),)
    assert told[4] == (PartOn("brows", "BRUP", False), PartOn("head", "HDSIDE", True))
    assert told[7] == (PartOn("head", "HDSIDE", False), PartOn("lids", "LIDS", True))
    assert told[8] == (PartOn("head", "HDSIDE", False), PartOn("lids", "LIDS", True))
    assert told[10] == (PartOn("head", "HDSIDE", False),)
    runs = part_runs([row.cells[0] for row in rows])
    assert [(one.kind, one.code, one.first, one.last) for one in runs] == [
        (one.kind, one.code, one.first, one.last) for one in PARTS
    ]
    assert all(run.put_on for run in runs)


def test_parts_are_part_of_a_revision_and_are_read_back(job):
    worn = with_parts(job, PARTS)
    state = state_of(["heron"], worn)
    assert from_data(as_data(state)) == state
    assert "parts" not in as_data(state_of(["heron"], job))["characters"][0]
    assert stamp_of(job, rows_of(job)) != stamp_of(worn, rows_of(worn))
    shorter = state_of(["heron"], with_parts(job, (PARTS[0], replace(PARTS[1], last=50), *PARTS[2:])))
    assert changed_rows(state, shorter) == frozenset(range(51, 61))
    (change,) = changes(state, shorter)
    assert (change.kind, change.first, change.last, change.now, change.was) == ("part", 51, 60, "", "HDSIDE")
    joined = state_of(["heron"], with_parts(job, (*PARTS[:2], PartWorn("lids", "LIDS", 7, 9))))
    (change,) = changes(state, joined)
    assert (change.kind, change.first, change.last) == ("held", 8, 8)


def columns_of(texts):
    """Return the middle of the heads brows, eyes and action."""
    return {text.text: (text.left + text.right) / 2 for text in texts if text.text in ("brows", "eyes", "action")}


def test_a_sheet_shows_each_part_in_its_column_on_its_row(job, read):
    worn = with_parts(job, PARTS)
    texts = read(sheet(worn))[0][2]
    heads = columns_of(texts)
    baselines = {text.text: text.baseline for text in texts if text.text.isdigit() and text.right < 40}
    for code, head, frames in (("BRUP", "brows", [2]), ("LIDS", "eyes", [7, 8]), ("HDSIDE", "action", [4])):
        found = [text for text in texts if text.text == code]
        assert [text.bold for text in found] == [True] * len(frames)
        for text, frame in zip(found, frames, strict=True):
            assert text.left < heads[head] < text.right + 25
            number = str(frame + worn.first_frame)
            assert abs(text.baseline - baselines[number]) < 0.5, (code, number)
            assert text.size >= 7


def test_a_part_that_goes_on_stands_in_grey_on_top_of_the_next_page(job, read):
    pages = read(sheet(with_parts(job, PARTS)))
    again = [text for text in pages[1][2] if text.text == "HDSIDE"]
    assert [text.bold for text in again] == [False]


def test_what_has_no_column_stands_at_the_foot(job, read):
    columns = ("frame", "character", "camera")
    few = replace(job, settings=job.settings.model_copy(update={"columns": columns}))
    texts = " ".join(text.text for text in read(sheet(with_parts(few, PARTS[:2])))[0][2])
    first = job.first_frame
    name = job.characters[0].name
    assert f"{name} BRUP (frames {first + 2} to {first + 5})" in texts
    assert f"{name} HDSIDE (frames {first + 4} to {first + 60})" in texts


def test_two_characters_on_one_row_of_one_column_are_both_told_whose_they_are(make_job, read):
    two = make_job(5, frames=48, characters=2)
    for index, code in enumerate(("HDUP", "HDDOWN")):
        two = with_parts(two, [PartWorn("head", code, 3, 9)], index)
    texts = " ".join(text.text for _, _, page in read(sheet(two)) for text in page)
    for index, code in enumerate(("HDUP", "HDDOWN")):
        name = two.characters[index].name
        assert f"{name} {code} (frames" in texts or f"{code} {name}" in texts


def test_a_part_counts_once_for_each_of_its_rows():
    codes = ("BRUP", "BRUP", None, "BRUP", "BRDN")
    parts = ShotTrack("pier", "010", PartTrack("heron", codes))
    mouth = ShotTrack("pier", "010", PieceTrack("heron", ("REST",) * 5))
    rows = count([mouth, parts], {"heron": 2}, {"heron": ["REST"]})
    assert [(row.code, row.frames_seen, row.times_fitted, row.pieces_needed) for row in rows] == [
        ("REST", 5, 1, 2),
        ("BRDN", 1, 1, 2),
        ("BRUP", 3, 2, 2),
    ]
