"""The heading of a sheet's page: what it is, which page, which revision, and what must be known before it is used."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from fractions import Fraction

from lipsync.paper.alerts import band_on
from lipsync.paper.lettering import composed, shortened
from lipsync.paper.marks import Box, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, Form
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_words import Words

_SHOT_PT, _PAGE_PT, _TITLE_PT, _SMALL_PT = 20.0, 13.0, 10.5, 9.0


def rate_shown(rate: Fraction) -> str:
    """Return a rate as people write it, exact.

    >>> rate_shown(Fraction(24)), rate_shown(Fraction(24000, 1001)), rate_shown(Fraction(25, 2))
    ('24', '24000/1001', '25/2')
    """
    return str(rate)


def heading(job: SheetJob, form: Form, page: str, frames: str) -> Iterator[Mark]:
    """Return the heading of a page; `page` and `frames` say which it is."""
    words, low = job.settings.words, form.heading_mm < 12
    yield from band_on(form, job.alerts, words, MARGIN_Y_MM + form.heading_mm)
    left_mm, right_mm, top_mm = MARGIN_X_MM, form.width_mm - MARGIN_X_MM, MARGIN_Y_MM
    shot, shot_pt = _sized(words.shot.format(shot=job.shot), form.inner_mm * (0.35 if low else 0.6), _SHOT_PT)
    yield Text(left_mm, top_mm + (7.6 if low else 6.6), shot, shot_pt, bold=True)
    page_mm = string_width_mm(page, _PAGE_PT, True)
    yield Text(right_mm, top_mm + 6.2, page, _PAGE_PT, bold=True, align="right")
    free_mm = right_mm - page_mm - 4.0
    if job.revision:
        text = words.revision.format(letter=job.revision)
        wide_mm = string_width_mm(text, _PAGE_PT, True) + 3.0
        yield Box(free_mm - wide_mm, top_mm + 0.8, wide_mm, 7.2, stroke=0.0, line_mm=0.5)
        yield Text(free_mm - wide_mm / 2, top_mm + 6.2, text, _PAGE_PT, bold=True, align="centre")
        free_mm -= wide_mm + 4.0
    title = f"{composed(job.production)}  ·  {composed(job.scene)}"
    facts = "  ·  ".join([frames, words.rate.format(rate=rate_shown(job.rate)), *_dated(words, job.dated)])
    if low:
        next_mm = left_mm + string_width_mm(shot, shot_pt, True) + 6.0
        yield Text(next_mm, top_mm + 4.2, shortened(title, free_mm - next_mm, _TITLE_PT), _TITLE_PT)
        yield Text(next_mm, top_mm + 8.8, shortened(facts, free_mm - next_mm, _SMALL_PT), _SMALL_PT)
        return
    facts = shortened(facts, form.inner_mm * 0.6, _SMALL_PT)
    facts_mm = string_width_mm(facts, _SMALL_PT)
    yield Text(left_mm, top_mm + 12.2, shortened(title, form.inner_mm - facts_mm - 5.0, _TITLE_PT), _TITLE_PT)
    yield Text(right_mm, top_mm + 12.2, facts, _SMALL_PT, align="right")


def _dated(words: Words, dated: datetime.date | None) -> list[str]:
    return [] if dated is None else [words.dated.format(date=dated.isoformat())]


def _sized(text: str, width_mm: float, size_pt: float) -> tuple[str, float]:
    """Return a text and the largest size, down to 11 points, at which it fits; then it is shortened."""
    text = composed(text)
    while size_pt > 11.0 and string_width_mm(text, size_pt, True) > width_mm:
        size_pt -= 1.0
    return shortened(text, width_mm, size_pt, True), size_pt
