"""Notes on modelling stand on rows of their own transition only; signs on a page are explained at its foot."""

from dataclasses import replace
from fractions import Fraction

import pytest

from lipsync.errors import InputError
from lipsync.fit.keys import Toward
from lipsync.paper.exposure import sheet
from lipsync.paper.marks import Box, Rule
from lipsync.paper.notes import is_free, placed, spans_of
from lipsync.paper.rows import rows_of
from lipsync.paper.sheet_job import KeepAlive
from lipsync.paper.sheet_measures import GRID
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.paper.sheet_words import Words
from lipsync.track import FrameTrack, Sound

NARROW = SheetSettings(columns=("frame", "character"))


@pytest.fixture
def noted(make_job):
    """A function that makes a shot of one character from its codes and its notes."""

    def made(pieces, *notes, **changes):
        job = make_job(1, frames=len(pieces), characters=1, settings=NARROW, rate=Fraction(24))
        track = FrameTrack("heron", tuple(pieces), (None,) * len(pieces), ())
        first = replace(job.characters[0], track=track, sounds=(), level_db=(), beats=(), modelling=notes)
        fields = {"characters": (first,), "first_frame": 1, "changed": frozenset(), "filmed": frozenset(), **changes}
        return replace(job, **fields)

    return made


def cells_of(job):
    return [row.cells[0] for row in rows_of(job)]


def lines_of(job, first=0, end=None):
    return placed(cells_of(job), first, end or job.frames, Words()).lines


def test_a_note_that_needs_two_rows_and_has_one_is_one_line(noted):
    """The case that was found on paper: FLARE on row 0, OPEN2 on row 2, SHUT on row 6."""
    job = noted(["FLARE"] * 2 + ["OPEN2"] * 4 + ["SHUT"] * 2, Toward(1, "OPEN2", 1), Toward(3, "SHUT", 3))
    assert lines_of(job) == ((1, "toward OPEN2"), (3, "toward SHUT"), (4, "over 3"))


def test_a_note_never_passes_the_next_key_nor_stands_off_camera(noted):
    job = noted(["FLARE", "FLARE", None, None, "FLARE", "FLARE", "SHUT"], Toward(1, "SHUT", 5))
    assert lines_of(job) == ((1, "toward SHUT"),)
    assert [(span.first, span.end) for span in spans_of(cells_of(job))] == [(1, 2)]


def test_keeping_alive_goes_before_over(noted):
    job = noted(["FLARE"] * 5 + ["SHUT"], Toward(2, "SHUT", 3), KeepAlive(3))
    assert lines_of(job) == ((2, "toward SHUT"), (3, "keep alive"))


def test_a_note_that_goes_over_a_page_is_said_again_there_and_the_line_stays_dotted(noted, read):
    job = noted(["FLARE"] * 50 + ["SHUT"] * 24, Toward(46, "SHUT", 4))
    assert lines_of(job, 0, 48) == ((46, "toward SHUT"), (47, "over 4"))
    assert lines_of(job, 48, 74) == ((49, "toward SHUT"),)
    for page in sheet(job).pages:
        in_rows = [m for m in page.marks if isinstance(m, Rule) and m.dash_mm and m.y1_mm < page.height_mm - 24]
        assert in_rows
    assert "toward SHUT" in [text.text for text in read(sheet(job))[1][2]]


def test_a_note_without_any_row_of_its_own_stands_at_the_foot(noted, read):
    """Modelled on the first row of a page, where the code that is still worn stands, and put on on the next."""
    job = noted(["FLARE"] * 49 + ["SHUT"] * 25, Toward(48, "SHUT", 1))
    assert lines_of(job, 48, 74) == ()
    assert "toward SHUT (frame 49)" in [text.text for text in read(sheet(job))[1][2]]


def test_every_printed_note_stands_within_its_own_transition(make_job, read):
    looked_at = 0
    for seed in range(500, 540):
        job = make_job(seed, frames=96, characters=1, settings=NARROW)
        cells = cells_of(job)
        for _, height, texts in read(sheet(job)):
            rows = {
                round(t.baseline, 1): int(t.text) - job.first_frame
                for t in texts
                if t.size >= 13 and t.text.isdigit()
            }
            for text in texts:
                if text.text.startswith(("toward ", "over ")) and text.top < height - 25:
                    frame = rows[round(text.baseline, 1)]
                    (span,) = (span for span in spans_of(cells) if span.first <= frame < span.end)
                    assert text.text in (f"toward {span.code}", f"over {span.frames}")
                    assert not any(cells[f].fitted for f in range(span.first, frame + 1))
                    looked_at += 1
    assert looked_at > 100


def foot_of(page):
    _, height, texts = page
    return [text.text for text in texts if text.top > height - 24]


def test_each_sign_on_a_page_is_explained_at_its_foot_and_no_other(noted, read):
    pieces = ["FLARE"] * 5 + ["SHUT"] * 3
    (plain,) = read(sheet(noted(pieces)))
    explained = {
        "changed since revision A": {"changed": frozenset({2}), "before": "A"},
        "in the can: final": {"filmed": frozenset({0, 1})},
    }
    for text, fields in explained.items():
        (page,) = read(sheet(noted(pieces, **fields)))
        assert text in foot_of(page)
        assert text not in foot_of(plain)
    (page,) = read(sheet(noted(pieces, Toward(3, "SHUT", 2), KeepAlive(2))))
    assert "dotted: model the clay toward the next piece, over so many frames" in foot_of(page)
    assert "wave: keep a long hold alive, move it a little by hand" in foot_of(page)
    assert not [text for text in foot_of(plain) if text.startswith(("dotted", "wave"))]


def test_a_sign_that_goes_on_from_the_page_before_is_explained_there_too(noted, read):
    pieces = ["FLARE"] * 54 + ["SHUT"] * 60
    pages = read(sheet(noted(pieces, KeepAlive(10), Toward(47, "SHUT", 7))))
    assert len(pages) == 3
    for start, on in (("dotted", [True, True, False]), ("wave", [True, False, False])):
        assert [any(text.startswith(start) for text in foot_of(page)) for page in pages] == on, start
    pages = read(sheet(noted(pieces, KeepAlive(10))))
    assert [any(text.startswith("wave") for text in foot_of(page)) for page in pages] == [True, True, False]


def test_bold_phonemes_and_the_band_are_explained_where_they_are(noted, with_sounds, read):
    job = noted(["FLARE"] * 5 + ["SHUT"] * 3)
    bold, band = "a phoneme in bold: a stressed vowel", "the voice, as wide as it is loud"
    for stress, levels in ((1, True), (0, True), (1, False), (None, False)):
        sounds = [Sound("a", 0, "AA", "ah", 80_000, 240_000, stress)] if stress is not None else []
        heard = replace(job.characters[0], level_db=(-20.0,) * 8 if levels else ())
        (page,) = read(sheet(with_sounds(replace(job, characters=(heard,)), sounds)))
        assert [text for text in foot_of(page) if text in (bold, band)] == [bold] * (stress == 1) + [band] * levels


def test_where_as_good_as_every_row_changed_no_bar_is_drawn_and_the_foot_says_so(noted, read):
    pieces = ["FLARE"] * 5 + ["SHUT"] * 5
    for count, bars in ((8, 1), (9, 0), (10, 0)):
        job = noted(pieces, changed=frozenset(range(count)), before="A")
        (page,) = sheet(job).pages
        drawn = [m for m in page.marks if isinstance(m, Box) and m.width_mm == 1.3 and m.x_mm < 8 and m.y_mm < 250]
        assert len(drawn) == bars
        said = "new throughout since revision A, so no bars in the margin" in foot_of(read(sheet(job))[0])
        assert said == (bars == 0)


@pytest.mark.parametrize("form", ["standard", "large", "compact"])
def test_frames_in_the_can_are_toned_on_every_form(make_job, form):
    settings = SheetSettings(form=form, columns=("frame", "character"))
    job = replace(make_job(2, frames=60, characters=1, settings=settings), filmed=frozenset(range(3, 9)))
    toned = [
        m for m in sheet(job).pages[0].marks if isinstance(m, Box) and m.fill == GRID.filmed_grey and m.y_mm < 200
    ]
    assert len(toned) == 1
    # As high as rows 3 to 8: where the rules above row 3 and below row 8 lie.
    rules = {round(mark.y1_mm, 2) for mark in sheet(job).pages[0].marks if isinstance(mark, Rule)}
    assert {round(toned[0].y_mm, 2), round(toned[0].y_mm + toned[0].height_mm, 2)} <= rules


def test_columns_that_a_form_leaves_out_are_named_at_the_foot(make_job, read):
    named = 0
    for seed in range(20):
        for orientation in ("portrait", "landscape"):
            settings = SheetSettings(form="compact", orientation=orientation)
            try:
                pages = read(sheet(make_job(seed, frames=96, characters=2, settings=settings)))
            except InputError:
                continue
            printed = [text.text for text in pages[0][2]]
            missing = [name for name in settings.columns if name not in printed and name != "character"]
            said = [text for text in printed if text.startswith("left out here: ")]
            assert said == ([f"left out here: {', '.join(missing)}"] if missing else [])
            named += bool(missing)
    assert named > 10


def named_rows(job, first=0, end=None):
    """The rows of a bank on which the piece that is on is named: where it is put on, at the top, and again."""
    cells, words = cells_of(job), job.settings.words
    end = end or job.frames
    put_on = {frame for frame in range(first, end) if cells[frame].piece and not is_free(cells, first, frame)}
    return put_on, set(placed(cells, first, end, words).again)


def test_the_piece_that_stays_on_is_named_again_every_four_rows_but_not_at_the_end_of_its_hold(noted):
    # By hand: 0 put on, 4, 8, 12; the hold of 13 frames ends on 12, which is no more than four rows from 8.
    assert named_rows(noted(["REST"] * 13 + ["SHUT"] * 3)) == ({0, 13}, {4, 8})
    assert named_rows(noted(["REST"] * 14 + ["SHUT"] * 3)) == ({0, 14}, {4, 8, 12})
    # A note takes the row; the name stands on the last free row before it.
    job = noted(["REST"] * 12 + ["SHUT"], Toward(4, "SHUT", 2))
    assert lines_of(job) == ((4, "toward SHUT"), (5, "over 2"))
    assert named_rows(job) == ({0, 12}, {3, 7})


def test_no_row_is_far_from_a_name_and_each_page_begins_with_one(make_job):
    looked_at = 0
    for seed in range(40):
        job = make_job(seed, frames=120, characters=1, settings=NARROW)
        cells = cells_of(job)
        for first, end in ((0, 48), (48, 96), (96, 120)):
            put_on, again = named_rows(job, first, end)
            assert cells[first].piece is None or first in put_on
            noted_rows = {row for row, _ in placed(cells, first, end, job.settings.words).lines}
            assert again.isdisjoint(put_on | noted_rows)
            far = 0
            for frame in range(first, end):
                far = 0 if cells[frame].piece is None or frame in put_on | again else far + 1
                looked_at += 1
                # Four rows, and as many more as notes stand on one below the other.
                assert far <= 4 or frame in noted_rows or frame - 1 in noted_rows, (seed, frame)
    assert looked_at == 40 * 120


def test_keeping_alive_is_said_again_where_it_lasts(noted):
    job = noted(["FLARE"] * 40, KeepAlive(10))
    assert [row for row, _ in lines_of(job)] == [10, 22, 34]
    # And at the top of the page on which it goes on: below the code.
    assert [row for row, _ in lines_of(job, 24, 40)] == [25, 37]
