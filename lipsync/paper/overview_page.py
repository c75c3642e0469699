"""The state of a production as one page to hang on the wall: a bar for each shot; the further the shot, the darker.

In: an `OverviewJob`. Out: a `Document` of one page, or of more where there are more scenes than a page has rows. Bars
are as large as possible with all of them on the page; a scene begins in a new row, after its name. A bar is black
from below as far as its shot is filmed. Each bar has its shot's id below it; where there is no room for that, each
row begins with the id of its first shot. The meaning of each grey is explained above the bars, in words.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from lipsync.paper.flow import Heading
from lipsync.paper.lettering import check_letters, shortened, widest_mm
from lipsync.paper.marks import MM_PER_POINT, Box, Document, Mark, Page, Rule, Text
from lipsync.paper.page_forms import LEAST_PT, MARGIN_X_MM, MARGIN_Y_MM, PAPER
from lipsync.paper.sheet_words import Words

# How far a shot is -> the grey of its bar (1 is white). Steps of a fifth can be told apart on a copy; the last:
# black.
STAGES = {"to_do": 1.0, "doubtful": 0.84, "heard": 0.68, "checked": 0.5, "printed": 0.28, "filmed": 0.0}


@dataclass(frozen=True, slots=True)
class OverviewMeasures:
    """The measures of the page, all chosen."""

    most_wide_mm: float = 10.0
    least_wide_mm: float = 0.6
    step: float = 0.94
    most_high_mm: float = 12.0
    least_high_mm: float = 2.0
    least_row_mm: float = 2.7
    narrow_mm: float = 3.0
    shape: float = 0.7  # of a bar's width: as high it is at least, unless it is narrow
    gap_part: float = 0.18
    row_part: float = 1.35
    name_mm: float = 38.0
    id_gap_mm: float = 0.8
    id_mm: float = 2.9  # of a row: for the ids below its bars
    id_high_mm: float = 5.0  # bars that are as high at least have ids below them
    most_id_mm: float = 10.0  # before a row: for the id of its first shot
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
    dark: float = 0.5  # on darker greys the diagonal is white


OVERVIEW = OverviewMeasures()


@dataclass(frozen=True, slots=True)
class ShotBar:
    """A shot: its id, how far it is (`STAGES`), which part of it is filmed (0 to 1), and whether it is doubtful."""

    shot: str
    stage: str
    filmed: float = 0.0
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class SceneBars:
    """A scene and its shots in order."""

    scene: str
    title: str
    shots: tuple[ShotBar, ...]


@dataclass(frozen=True, slots=True)
class OverviewJob:
    """What the page shows; `sums` are lines, heard, doubtful, checked, not done, seconds done, seconds to do."""

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
    texts += [("the shot's id", shot.shot) for one in job.scenes for shot in one.shots]
    check_letters("overview", texts, job.words)
    heading = Heading(job.words.overview, job.production, job.dated, job.words, job.page)
    width_mm, height_mm = PAPER[job.page]
    top_mm = heading.bottom_mm + OVERVIEW.sums_mm + OVERVIEW.legend_mm
    room_mm = heading.inner_mm - OVERVIEW.name_mm, height_mm - MARGIN_Y_MM - top_mm
    parts = _parts(job, room_mm[1])
    pages = []
    for number, part in enumerate(parts, start=1):
        rows = _rows_that_fit(part, *room_mm)
        marks = (*heading.marks(number, len(parts)), *_head(job, heading), *_bars(part, top_mm, rows))
        pages.append(Page(width_mm, height_mm, marks))
    return Document(job.words.overview, tuple(pages))


def _parts(job: OverviewJob, height_mm: float) -> list[OverviewJob]:
    """Return the scenes of each page: all on one, unless there are so many that their names would touch."""
    most = max(1, int(height_mm / OVERVIEW.least_row_mm))
    count = max(1, -(-len(job.scenes) // most))
    each = max(1, -(-len(job.scenes) // count))
    return [replace(job, scenes=job.scenes[at : at + each]) for at in range(0, max(1, len(job.scenes)), each)]


@dataclass(frozen=True, slots=True)
class _Rows:
    """The rows: how large a bar is, how high a row is, how many bars are in one, and if ids are below them."""

    wide_mm: float
    high_mm: float
    row_mm: float
    many: int
    with_ids: bool

    def of(self, scene: SceneBars) -> int:
        """Return how many rows a scene takes."""
        return max(1, -(-len(scene.shots) // self.many))


def _rows_that_fit(job: OverviewJob, room_mm: float, height_mm: float) -> _Rows:
    """Return the rows with the largest bars with which all fit on the page; bars get narrow before low.

    Bars have ids if all these fit below bars that are not too low.
    """
    least_mm = widest_mm((shot.shot for one in job.scenes for shot in one.shots), LEAST_PT) + OVERVIEW.id_gap_mm
    rows = _largest(job, room_mm, height_mm, max(least_mm, OVERVIEW.most_wide_mm), with_ids=True)
    while rows.high_mm < OVERVIEW.id_high_mm and rows.wide_mm * OVERVIEW.step >= least_mm:
        rows = _largest(job, room_mm, height_mm, rows.wide_mm * OVERVIEW.step, with_ids=True)
    if rows.high_mm >= OVERVIEW.id_high_mm and rows.wide_mm <= room_mm:
        return rows
    rows = _largest(job, room_mm, height_mm, OVERVIEW.most_wide_mm, with_ids=False)
    while (rows.high_mm < OVERVIEW.shape * rows.wide_mm and rows.wide_mm > OVERVIEW.narrow_mm) or (
        rows.high_mm < OVERVIEW.least_high_mm and rows.wide_mm > OVERVIEW.least_wide_mm
    ):
        rows = _largest(job, room_mm, height_mm, rows.wide_mm * OVERVIEW.step, with_ids=False)
    return rows


def _largest(job: OverviewJob, room_mm: float, height_mm: float, wide_mm: float, *, with_ids: bool) -> _Rows:
    """Return the rows with the highest bars of a width with which all fit on the page."""
    rows = _Rows(wide_mm, 0, 0, max(1, int(room_mm / (wide_mm * (1 + OVERVIEW.gap_part)))), with_ids)
    ids_mm = OVERVIEW.id_mm if with_ids else 0
    row_mm = height_mm / max(1, sum(map(rows.of, job.scenes)))
    high_mm = min(OVERVIEW.most_high_mm, (row_mm - ids_mm) / OVERVIEW.row_part)
    return replace(rows, high_mm=high_mm, row_mm=high_mm * OVERVIEW.row_part + ids_mm)


def _head(job: OverviewJob, heading: Heading) -> Iterator[Mark]:
    lines, heard, doubtful, checked, not_done, done, to_do = job.sums
    sums = job.words.overview_sums.format(
        lines=f"{lines:g}", heard=f"{heard:g}", doubtful=f"{doubtful:g}", checked=f"{checked:g}",
        done=f"{done:.0f}", to_do=f"{to_do:.0f}",
    )  # fmt: skip
    if not_done:
        sums = f"{job.words.overview_not_done.format(count=f'{not_done:g}')}  ·  {sums}"
    base_mm = heading.bottom_mm + OVERVIEW.sums_mm / 2
    yield Text(MARGIN_X_MM, base_mm, shortened(sums, heading.inner_mm, OVERVIEW.legend_pt), OVERVIEW.legend_pt)
    step_mm = heading.inner_mm / len(STAGES)
    y_mm = heading.bottom_mm + OVERVIEW.sums_mm
    for place, stage in enumerate(STAGES):
        x_mm = MARGIN_X_MM + place * step_mm
        yield from _bar(
            ShotBar("", stage, doubtful=stage == "doubtful"),
            (x_mm, y_mm),
            (OVERVIEW.legend_box_mm, OVERVIEW.legend_box_mm),
        )
        text = shortened(
            getattr(job.words, f"stage_{stage}"), step_mm - 2 * OVERVIEW.legend_box_mm, OVERVIEW.legend_pt
        )
        base_mm = y_mm + OVERVIEW.legend_base_part * OVERVIEW.legend_box_mm
        yield Text(x_mm + OVERVIEW.legend_text_parts * OVERVIEW.legend_box_mm, base_mm, text, OVERVIEW.legend_pt)


def _bars(job: OverviewJob, top_mm: float, rows: _Rows) -> Iterator[Mark]:
    y_mm, high_mm = top_mm, rows.high_mm
    size_pt = max(LEAST_PT, min(OVERVIEW.name_pt, rows.row_mm * 2))
    middle_mm = high_mm / 2 + size_pt * MM_PER_POINT / OVERVIEW.middle_part
    name_mm = OVERVIEW.name_mm - 1 - (0 if rows.with_ids else OVERVIEW.most_id_mm)
    for scene in job.scenes:
        yield Text(MARGIN_X_MM, y_mm + middle_mm, shortened(scene.title or scene.scene, name_mm, size_pt), size_pt)
        for place, shot in enumerate(scene.shots):
            row, column = divmod(place, rows.many)
            x_mm = MARGIN_X_MM + OVERVIEW.name_mm + column * rows.wide_mm * (1 + OVERVIEW.gap_part)
            bar_mm = y_mm + row * rows.row_mm
            yield from _bar(shot, (x_mm, bar_mm), (rows.wide_mm, high_mm))
            if rows.with_ids:
                base_mm = bar_mm + high_mm + OVERVIEW.id_mm
                yield Text(x_mm + rows.wide_mm / 2, base_mm, shot.shot, LEAST_PT, align="centre")
            elif column == 0:
                said = shortened(shot.shot, OVERVIEW.most_id_mm, LEAST_PT)
                base_mm = bar_mm + high_mm / 2 + LEAST_PT * MM_PER_POINT / OVERVIEW.middle_part
                yield Text(x_mm - 1, base_mm, said, LEAST_PT, align="right")
        y_mm += rows.of(scene) * rows.row_mm


def _bar(shot: ShotBar, place_mm: tuple[float, float], size_mm: tuple[float, float]) -> Iterator[Mark]:
    """Return a shot's bar; a doubtful shot's has a diagonal line, also where it is printed already."""
    (x_mm, y_mm), (wide_mm, high_mm) = place_mm, size_mm
    yield Box(x_mm, y_mm, wide_mm, high_mm, fill=STAGES[shot.stage], stroke=0.0, line_mm=OVERVIEW.line_mm)
    if shot.doubtful and shot.stage != "filmed":
        grey = 1.0 if STAGES[shot.stage] < OVERVIEW.dark else 0.0
        yield Rule(x_mm, y_mm + high_mm, x_mm + wide_mm, y_mm, OVERVIEW.cross_mm, grey)
    if shot.filmed and shot.stage != "filmed":
        filmed_mm = high_mm * shot.filmed
        yield Box(x_mm, y_mm + high_mm - filmed_mm, wide_mm, filmed_mm, fill=STAGES["filmed"])
