"""The heading of a sheet's page: what it is, which page, which revision, and what must be known before it is used."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from fractions import Fraction

from lipsync.paper.alerts import band_on
from lipsync.paper.lettering import composed, first_that_fits, shortened, sized, wrapped
from lipsync.paper.marks import Box, Mark, Text
from lipsync.paper.page_forms import LEAST_PT, MARGIN_X_MM, MARGIN_Y_MM, Form
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import HEADING
from lipsync.paper.sheet_words import Words


def rate_shown(rate: Fraction) -> str:
    """Return a rate as people write it, exact.

    >>> rate_shown(Fraction(24)), rate_shown(Fraction(24000, 1001)), rate_shown(Fraction(25, 2))
    ('24', '24000/1001', '25/2')
    """
    return str(rate)


def heading(
    job: SheetJob, form: Form, page: tuple[str, str], frames: str, differs: bool | None = None
) -> Iterator[Mark]:
    """Return the heading of a page.

    Args:
        job: the shot.
        form: the page's.
        page: the page's number in words; and in bare numbers, for pages on which the words have no room.
        frames: which frames are on the page, or what else is.
        differs: whether the page differs from the print before; None if there was no print, or nothing is to be said.
    """
    words, low = job.settings.words, form.low
    yield from band_on(form, job.alerts, words, MARGIN_Y_MM + form.heading_mm)
    right, free_mm = _right(job, form, page, differs)
    yield from right
    left_mm = MARGIN_X_MM
    room_mm = form.inner_mm * HEADING.shot_part if low else free_mm - left_mm
    shot, shot_pt = first_that_fits((words.shot.format(shot=job.shot), job.shot), room_mm, HEADING.shot_pt, True)
    base_mm = MARGIN_Y_MM + (HEADING.low_shot_base_mm if low else HEADING.shot_base_mm)
    yield Text(left_mm, base_mm, shot, shot_pt, bold=True)
    title = f"{composed(job.production)}  ·  {composed(job.scene)}"
    facts = [frames, words.rate.format(rate=rate_shown(job.rate)), *_dated(words, job.dated)]
    bare = [frames, rate_shown(job.rate), *([] if job.dated is None else [job.dated.isoformat()])]
    if low:
        next_mm = left_mm + string_width_mm(shot, shot_pt, True) + HEADING.low_gap_mm
        both_mm = free_mm - next_mm
        one, two = (HEADING.low_title_base_mm,), (HEADING.low_title_above_mm, HEADING.low_title_below_mm)
        yield from _title(title, next_mm, (both_mm, both_mm), (one, two))
        text, size_pt = _facts(facts, bare, free_mm - next_mm)
        yield Text(next_mm, MARGIN_Y_MM + HEADING.low_facts_base_mm, text, size_pt)
        return
    text, size_pt = _facts(facts, bare, form.inner_mm * HEADING.facts_part)
    beside_mm = form.inner_mm - string_width_mm(text, size_pt) - HEADING.title_gap_mm
    one, two = (HEADING.title_base_mm,), (HEADING.title_above_mm, HEADING.title_below_mm)
    titles = _title(title, left_mm, (form.inner_mm, beside_mm), (one, two))
    yield from titles
    if len(titles) > 1:
        size_pt = min(size_pt, HEADING.small_facts_pt)
    yield Text(form.width_mm - MARGIN_X_MM, titles[-1].y_mm, text, size_pt, align="right")


def _right(job: SheetJob, form: Form, page: tuple[str, str], differs: bool | None) -> tuple[list[Mark], float]:
    """Return page number and revision, at the right; and the x at which the room for the rest of the heading ends."""
    words, right_mm, top_mm = job.settings.words, form.width_mm - MARGIN_X_MM, MARGIN_Y_MM
    base_mm = top_mm + HEADING.page_base_mm
    shown, page_pt = first_that_fits(page, form.inner_mm * HEADING.page_part, HEADING.page_pt, True)
    marks: list[Mark] = [Text(right_mm, base_mm, shown, page_pt, bold=True, align="right")]
    free_mm = right_mm - string_width_mm(shown, page_pt, True) - HEADING.gap_mm
    if not job.revision:
        return marks, free_mm
    # If the studio's words have no room, signs take their place: the letter of a revision is never cut.
    said = [((words.revision.format(letter=job.revision), job.revision), HEADING.page_pt, True)]
    if differs is not None:
        told, sign = (words.page_differs, "≠") if differs else (words.page_as_before, "=")
        said.insert(0, ((told.format(letter=job.before), f"{sign} {job.before}"), HEADING.differs_pt, differs))
    for ways, most_pt, bold in reversed(said):
        text, size_pt = first_that_fits(ways, form.inner_mm * HEADING.page_part / 2, most_pt, bold)
        wide_mm = string_width_mm(text, size_pt, bold) + 2 * HEADING.revision_pad_mm
        # White on black, to be read first: this page of the older print must not be used any more.
        black = bold and most_pt == HEADING.differs_pt
        marks.append(
            Box(
                free_mm - wide_mm,
                top_mm + HEADING.revision_top_mm,
                wide_mm,
                HEADING.revision_height_mm,
                fill=0.0 if black else None,
                stroke=0.0,
                line_mm=HEADING.revision_line_mm,
            )
        )
        grey = 1.0 if black else 0.0
        marks.append(Text(free_mm - wide_mm / 2, base_mm, text, size_pt, bold=bold, align="centre", grey=grey))
        free_mm -= wide_mm
    return marks, free_mm - HEADING.gap_mm


def _title(
    title: str, x_mm: float, widths_mm: tuple[float, float], bases_mm: tuple[tuple[float], tuple[float, float]]
) -> list[Text]:
    """Return the title on one line, or else on two small ones.

    Args:
        title: the titles of film and scene.
        x_mm: its left edge.
        widths_mm: the width of the first of two lines; and that of the second, or of a single line.
        bases_mm: the baseline of a single line, and the baselines of two lines.
    """
    text, size_pt = sized(title, widths_mm[1], HEADING.title_pt)
    if text == composed(title):
        return [Text(x_mm, MARGIN_Y_MM + bases_mm[0][0], text, size_pt)]
    first = wrapped(title, widths_mm[0], LEAST_PT, 2)[0]
    rest = shortened(composed(title)[len(first) :], widths_mm[1], LEAST_PT)
    lines = zip(bases_mm[1], (first, rest), strict=True)
    return [Text(x_mm, MARGIN_Y_MM + base_mm, line, LEAST_PT) for base_mm, line in lines]


def _facts(facts: list[str], bare: list[str], room_mm: float) -> tuple[str, float]:
    """Return facts on one line and their size: in the studio's words if they fit, else as bare numbers; never cut."""
    text = "  ·  ".join(facts)
    if string_width_mm(composed(text), LEAST_PT) > room_mm:
        text = "  ·  ".join(bare)
    return sized(text, room_mm, HEADING.facts_pt)


def _dated(words: Words, dated: datetime.date | None) -> list[str]:
    return [] if dated is None else [words.dated.format(date=dated.isoformat())]
