"""The state of a production as one page to hang on the wall: a bar for each shot; the further the shot, the darker.

In: an `OverviewJob`. Out: a `Document` of one page. Bars are as large as possible with all of them on the page; a
scene begins in a new row, after its name. The meaning of each grey is explained above them, in words.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field

from lipsync.paper.flow import Heading
from lipsync.paper.lettering import check_letters, shortened
from lipsync.paper.marks import MM_PER_POINT, Box, Document, Mark, Page, Rule, Text
from lipsync.paper.page_forms import LEAST_PT, MARGIN_X_MM, MARGIN_Y_MM, PAPER
from lipsync.paper.sheet_words import Words

# How far a shot is -> the grey of its bar (1 is white). Steps of a fifth can be told apart on a copy; the last:
# black.
STAGES = {"to_do": 1.0, "doubtful": 0.84, "heard": 0.68, "checked": 0.5, "printed": 0.28, "filmed": 0.0}


@dataclass(frozen=True, slots=True)
class OverviewMeasures:
    """The measures of the page, all chosen."""

    most_wide_mm: float = 7.0
    least_wide_mm: float = 0.6
    step: float = 0.94
    most_high_mm: float = 10.0
    least_high_mm: float = 2.0
    gap_part: float = 0.18
    row_part: float = 1.35
    name_mm: float = 34.0
    legend_mm: float = 12.0
    legend_box_mm: float = 4.0
    legend_base_part: float = 0.8  # of the box: where the words beside it stand
    legend_text_parts: float = 1.4  # of the box: from where on they are written
    middle_part: float = 3.0  # of a letter's height: by how much it hangs below the middle
    legend_pt: float = 9.0
    sums_mm: float = 6.0
    name_pt: float = 9.0
    line_mm: float = 0.15
    cross_mm: float = 0.25


OVERVIEW = OverviewMeasures()


@dataclass(frozen=True, slots=True)
class SceneBars:
    """A scene and its shots in order, each with how far it is."""

    scene: str
    title: str
    shots: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class OverviewJob:
    """What the page shows; `sums` are lines, heard, doubtful, checked, seconds done, seconds to do."""

    production: str
    scenes: tuple[SceneBars, ...]
    sums: tuple[float, ...]
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)


def overview_page(job: OverviewJob) -> Document:
    """Return the page.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    texts = [("the film's title", job.production), *(("the scene's title", one.title) for one in job.scenes)]
    check_letters("overview", texts, job.words)
    heading = Heading(job.words.overview, job.production, job.dated, job.words, job.page)
    width_mm, height_mm = PAPER[job.page]
    top_mm = heading.bottom_mm + OVERVIEW.sums_mm + OVERVIEW.legend_mm
    size_mm = _size_that_fits(job, heading.inner_mm - OVERVIEW.name_mm, height_mm - MARGIN_Y_MM - top_mm)
    marks = (*heading.marks(1, 1), *_head(job, heading), *_bars(job, heading, top_mm, size_mm))
    return Document(job.words.overview, (Page(width_mm, height_mm, marks),))


def _in_a_row(wide_mm: float, room_mm: float) -> int:
    return max(1, int(room_mm / (wide_mm * (1 + OVERVIEW.gap_part))))


def _rows(job: OverviewJob, wide_mm: float, room_mm: float) -> int:
    return sum(max(1, -(-len(one.shots) // _in_a_row(wide_mm, room_mm))) for one in job.scenes)


def _size_that_fits(job: OverviewJob, room_mm: float, height_mm: float) -> tuple[float, float]:
    """Return width and height of the largest bars with which all rows fit on the page; bars get narrow before low."""
    wide_mm = OVERVIEW.most_wide_mm
    while True:
        high_mm = min(OVERVIEW.most_high_mm, height_mm / max(1, _rows(job, wide_mm, room_mm)) / OVERVIEW.row_part)
        if high_mm >= OVERVIEW.least_high_mm or wide_mm <= OVERVIEW.least_wide_mm:
            return wide_mm, high_mm
        wide_mm *= OVERVIEW.step


def _head(job: OverviewJob, heading: Heading) -> Iterator[Mark]:
    lines, heard, doubtful, checked, done, to_do = job.sums
    sums = job.words.overview_sums.format(
        lines=f"{lines:g}", heard=f"{heard:g}", doubtful=f"{doubtful:g}", checked=f"{checked:g}",
        done=f"{done:.0f}", to_do=f"{to_do:.0f}",
    )  # fmt: skip
    base_mm = heading.bottom_mm + OVERVIEW.sums_mm / 2
    yield Text(MARGIN_X_MM, base_mm, shortened(sums, heading.inner_mm, OVERVIEW.legend_pt), OVERVIEW.legend_pt)
    step_mm = heading.inner_mm / len(STAGES)
    y_mm = heading.bottom_mm + OVERVIEW.sums_mm
    for place, stage in enumerate(STAGES):
        x_mm = MARGIN_X_MM + place * step_mm
        yield from _bar(stage, (x_mm, y_mm), (OVERVIEW.legend_box_mm, OVERVIEW.legend_box_mm))
        text = shortened(
            getattr(job.words, f"stage_{stage}"), step_mm - 2 * OVERVIEW.legend_box_mm, OVERVIEW.legend_pt
        )
        base_mm = y_mm + OVERVIEW.legend_base_part * OVERVIEW.legend_box_mm
        yield Text(x_mm + OVERVIEW.legend_text_parts * OVERVIEW.legend_box_mm, base_mm, text, OVERVIEW.legend_pt)


def _bars(job: OverviewJob, heading: Heading, top_mm: float, size_mm: tuple[float, float]) -> Iterator[Mark]:
    (wide_mm, high_mm), room_mm = size_mm, heading.inner_mm - OVERVIEW.name_mm
    many, y_mm, row_mm = _in_a_row(wide_mm, room_mm), top_mm, high_mm * OVERVIEW.row_part
    size_pt = max(LEAST_PT, min(OVERVIEW.name_pt, row_mm * 2))
    for scene in job.scenes:
        name = shortened(scene.title or scene.scene, OVERVIEW.name_mm - 1, size_pt)
        yield Text(MARGIN_X_MM, y_mm + high_mm / 2 + size_pt * MM_PER_POINT / OVERVIEW.middle_part, name, size_pt)
        for place, (_, stage) in enumerate(scene.shots):
            row, column = divmod(place, many)
            x_mm = MARGIN_X_MM + OVERVIEW.name_mm + column * wide_mm * (1 + OVERVIEW.gap_part)
            yield from _bar(stage, (x_mm, y_mm + row * row_mm), size_mm)
        y_mm += max(1, -(-len(scene.shots) // many)) * row_mm


def _bar(stage: str, place_mm: tuple[float, float], size_mm: tuple[float, float]) -> Iterator[Mark]:
    """Return a shot's bar; a doubtful shot's has a diagonal line too, for a copy may lose its grey."""
    (x_mm, y_mm), (wide_mm, high_mm) = place_mm, size_mm
    yield Box(x_mm, y_mm, wide_mm, high_mm, fill=STAGES[stage], stroke=0.0, line_mm=OVERVIEW.line_mm)
    if stage == "doubtful":
        yield Rule(x_mm, y_mm + high_mm, x_mm + wide_mm, y_mm, OVERVIEW.cross_mm)
