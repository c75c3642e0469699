"""What must be known before a page is used: on every page, large, white in a black band, over nothing."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest

from lipsync import timing
from lipsync.fit.keys import Toward
from lipsync.paper.count_page import CountJob, count_page
from lipsync.paper.exposure import sheet
from lipsync.paper.marks import Box, Text
from lipsync.paper.page_forms import FORMS, ORIENTATIONS, PAPER
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.sheet_settings import SheetSettings

MISSING = "Line 040-a is missing here: it could not be done. Do not film from this page."
OLD = "Line 010-b: a newer text waits; the words here are the old ones."
COLUMNS = ("frame", "character")
# What the first set had when a stamp of it was recorded, in the order in which it had them.
CODES_THEN = ("REST", "SHUT", "TUCK", "SLOT", "OPEN1", "OPEN2", "RING", "POUT")


def bands_of(page):
    return [mark for mark in page.marks if isinstance(mark, Box) and mark.fill == 0.0 and mark.width_mm > 100]


def apart(a, b):
    return a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top


@pytest.mark.parametrize("page", PAPER)
@pytest.mark.parametrize("orientation", ORIENTATIONS)
@pytest.mark.parametrize("form", FORMS)
def test_an_alert_stands_on_every_page_white_on_black_and_over_nothing(make_job, read, page, orientation, form):
    settings = SheetSettings(page=page, orientation=orientation, form=form, columns=COLUMNS)
    for seed in (3, 4):
        job = make_job(seed, frames=100, characters=1, settings=settings)
        job = replace(job, alerts=(MISSING, OLD))
        document = sheet(job)
        for marks, (_, _, texts) in zip(document.pages, read(document), strict=True):
            (band,) = bands_of(marks)
            white = [t for t in marks.marks if isinstance(t, Text) and t.grey == 1.0 and t.text != "?"]
            assert [text.text for text in white] == [MISSING, OLD]
            for text in white:
                assert text.bold
                assert text.size_pt >= 11
            top, bottom = band.y_mm, band.y_mm + band.height_mm
            for text in texts:
                inside = text.text in (MISSING, OLD)
                assert (top < text.top and text.bottom < bottom) if inside else text.bottom < top or text.top > bottom
            for a, b in combinations(texts, 2):
                assert apart(a, b), (seed, a, b)
            assert max(text.bottom for text in texts) < marks.height_mm - 3


def test_a_page_without_alerts_has_no_band_and_keeps_its_stamp(make_job):
    job = make_job(5, frames=48, characters=1, settings=SheetSettings())
    assert not [band for page in sheet(job).pages for band in bands_of(page)]
    stamps = {stamp_of(one, rows_of(one)) for one in (job, *(replace(job, alerts=a) for a in ((MISSING,), (OLD,))))}
    assert len(stamps) == 3
    # Recorded before sheets had alerts, and when a sound stood on the frame that is seen when it begins: prints on
    # the floor stay known. Here every sound begins with a frame, where that frame is also the nearest.
    job = make_job(5, frames=48, characters=1, settings=SheetSettings(), rate=Fraction(24))
    first = job.characters[0]
    spans = [
        (one, *(timing.frame_at(time_us, job.rate) for time_us in (one.start_us, one.end_us))) for one in first.sounds
    ]
    sounds = tuple(
        replace(
            one,
            start_us=timing.frame_start_us(begins, job.rate),
            end_us=timing.frame_start_us(ends, job.rate),
        )
        for one, begins, ends in spans
        if begins < ends
    )
    then = dict(zip(first.mouth_set.by_code, CODES_THEN, strict=True))
    pieces = tuple(code and then[code] for code in first.track.pieces)
    modelling = tuple(
        replace(note, code=then[note.code]) if isinstance(note, Toward) else note for note in first.modelling
    )
    track = replace(first.track, pieces=pieces, lost=(), serves=(None,) * 48)
    job = replace(job, characters=(replace(first, sounds=sounds, track=track, modelling=modelling),))
    assert stamp_of(job, rows_of(job)) == "8EZ-A8-Y4Q"


def test_more_alerts_than_a_band_holds_are_counted_there_and_listed_in_full(make_job, read):
    alerts = tuple(f"Line 040-{letter} is missing here: it could not be done." for letter in "abcdefgh")
    for page, form in (("Letter", "standard"), ("A4", "large")):
        job = make_job(5, frames=48, characters=1, settings=SheetSettings(page=page, form=form, columns=COLUMNS))
        *pages, last = read(sheet(replace(job, alerts=alerts)))
        for _, _, texts in pages:
            printed = [text.text for text in texts]
            shown = [alert for alert in alerts if alert in printed]
            assert shown == list(alerts[: len(shown)])
            assert f"{8 - len(shown)} more on the last page" in printed
        assert set(alerts) <= {text.text for text in last[2]}


def test_the_count_says_what_is_missing_on_each_of_its_pages(read):
    document = count_page(CountJob("Low Tide Post", (), alerts=(MISSING,)))
    for page, (_, _, texts) in zip(document.pages, read(document), strict=True):
        (band,) = bands_of(page)
        (text,) = (text for text in texts if text.text == MISSING)
        assert text.size >= 11
        assert band.y_mm < text.top < text.bottom < band.y_mm + band.height_mm
