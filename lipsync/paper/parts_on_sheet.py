"""Replacement parts listed by hand, in the columns of a sheet: the code where a part is put on, then a line.

In: a job, its rows, the layout and a bank. Out: marks and texts; and the parts without a column or without room, for
the foot. A code is never cut: if it does not fit its column, it is printed at the foot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.paper.cells import PartRun, part_runs
from lipsync.paper.columns import Lane, Layout
from lipsync.paper.grid import Bank
from lipsync.paper.lettering import HAIR_MM, baseline_mm, size_that_fits
from lipsync.paper.marks import Mark, Rule, Text
from lipsync.paper.page_forms import LEAST_PT
from lipsync.paper.rows import Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import HOLD, LANES
from lipsync.paper.sheet_settings import PART_COLUMNS


@dataclass(frozen=True, slots=True)
class PartShown:
    """A part on a bank, with the index of its character."""

    character: int
    part: PartRun


@dataclass(frozen=True, slots=True)
class PartsOnBank:
    """The marks and texts of the parts on a bank, and the parts that the foot has to name."""

    marks: tuple[Mark, ...]
    texts: tuple[Text, ...]
    left_over: tuple[PartShown, ...]


def parts_on(job: SheetJob, rows: Sequence[Row], layout: Layout, bank: Bank) -> PartsOnBank:
    """Return the parts of a bank."""
    here = [one for one in _shown(rows) if one.part.first < bank.end and one.part.last >= bank.first]
    lanes: dict[tuple[float, float, int], list[PartShown]] = {}
    left_over: list[PartShown] = []
    for one in here:
        lane = _lane(layout, bank, one)
        if lane is None:
            left_over.append(one)
        else:
            lanes.setdefault((lane.x_mm, lane.width_mm, max(one.part.first, bank.first)), []).append(one)
    marks: list[Mark] = []
    texts: list[Text] = []
    for (x_mm, width_mm, frame), together in lanes.items():
        alone = len(job.characters) == 1 or not _shared(layout, together[0])
        names = [one.part.code if alone else _named(job, one) for one in together]
        text = _text(" ".join(names), Lane(x_mm, width_mm), layout) or _text(
            " ".join(one.part.code for one in together), Lane(x_mm, width_mm), layout
        )
        if text is None or (not alone and text[0] != " ".join(names)):
            left_over += together
        if text is not None:
            y_mm = baseline_mm(
                bank.top_mm + (frame - bank.first) * layout.form.pitch_mm, layout.form.pitch_mm, layout.letters.code
            )
            put_on = any(one.part.first == frame and one.part.put_on for one in together)
            grey = 0.0 if put_on else HOLD.again_grey
            texts.append(Text(x_mm + LANES.pad_mm, y_mm, *text, bold=put_on, grey=grey))
        for one in together:
            marks += _line(layout, bank, one.part, x_mm + width_mm / 2)
    return PartsOnBank(tuple(marks), tuple(texts), tuple(left_over))


def _shown(rows: Sequence[Row]) -> Iterator[PartShown]:
    for index in range(len(rows[0].cells)):
        yield from (PartShown(index, part) for part in part_runs([row.cells[index] for row in rows]))


def _shared(layout: Layout, one: PartShown) -> bool:
    """Return whether a part's column is shared by all characters."""
    name = PART_COLUMNS[one.part.kind]
    return not any(column.character == one.character and name in dict(column.lanes) for column in layout.columns)


def _named(job: SheetJob, one: PartShown) -> str:
    return f"{one.part.code} {job.characters[one.character].name}"


def _lane(layout: Layout, bank: Bank, one: PartShown) -> Lane | None:
    """Return the lane of a part: in its character's own column, else in the shared one; None without either."""
    name = PART_COLUMNS[one.part.kind]
    own = [dict(column.lanes).get(name) for column in layout.columns if column.character == one.character]
    for lane in own:
        if lane is not None:
            return Lane(bank.left_mm + lane.x_mm, lane.width_mm)
    for column in layout.columns:
        if column.name == name and column.character is None:
            return Lane(bank.left_mm + column.x_mm, column.width_mm)
    return None


def _text(text: str, lane: Lane, layout: Layout) -> tuple[str, float] | None:
    """Return a text and the size at which it fits a column uncut; None if it does not."""
    size_pt = size_that_fits(text, lane.width_mm - 2 * LANES.pad_mm + HAIR_MM, layout.letters.code, True)
    return (text, size_pt) if size_pt >= LEAST_PT else None


def _line(layout: Layout, bank: Bank, part: PartRun, x_mm: float) -> Iterator[Rule]:
    """Yield the line below a code, as long as the part is on, with a short cross line where it comes off."""
    pitch_mm = layout.form.pitch_mm
    from_mm = bank.top_mm + (max(part.first, bank.first) + 1 - bank.first) * pitch_mm
    ends_here = part.last < bank.end
    to_mm = bank.top_mm + (min(part.last + 1, bank.end) - bank.first) * pitch_mm
    to_mm -= HOLD.above_end_mm if ends_here else 0.0
    if to_mm - from_mm > HOLD.least_line_mm:
        yield Rule(x_mm, from_mm, x_mm, to_mm, HOLD.line_mm)
        if ends_here:
            yield Rule(x_mm - HOLD.foot_half_mm, to_mm, x_mm + HOLD.foot_half_mm, to_mm, HOLD.foot_line_mm)
