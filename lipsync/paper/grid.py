"""The grid of a bank of rows: rules, heads of columns, boxes to tick, and each row's numbers.

In: a job, its layout and a bank. Out: marks. A rule marks each second of the shot, a lighter one what the
studio counts by, the lightest every fourth frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from lipsync.paper.columns import Column, Layout
from lipsync.paper.lettering import baseline_mm, sized, wrapped
from lipsync.paper.marks import Box, Mark, Rule, Text
from lipsync.paper.rows import Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import GRID, HEADS, LANES
from lipsync.paper.sheet_settings import FACE
from lipsync.timing import nominal_rate

# Width and grey of a rule that guides the eye without being noticed.
_LIGHT = (GRID.fourth_mm, GRID.fourth_grey)

# The head of a column takes at most two lines.
_LABEL_LINES = 2


@dataclass(frozen=True, slots=True)
class Bank:
    """A run of rows set one below the other: the first, the one after the last, and its top left corner."""

    first: int
    end: int
    left_mm: float
    top_mm: float


def lines(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Mark]:
    """Return rules between rows and columns, boxes to tick, and bars beside rows that changed."""
    pitch_mm = layout.form.pitch_mm
    right_mm = bank.left_mm + layout.columns[-1].x_mm + layout.columns[-1].width_mm
    bottom_mm = bank.top_mm + (bank.end - bank.first) * pitch_mm
    second = nominal_rate(job.rate)
    every = second if job.settings.rule_every == "second" else job.settings.rule_every
    for frame in range(bank.first + 1, bank.end + 1):
        y_mm = bank.top_mm + (frame - bank.first) * pitch_mm
        width_mm, grey = _weight(frame, frame == job.frames or frame % second == 0, frame % every == 0)
        yield Rule(bank.left_mm, y_mm, right_mm, y_mm, width_mm, grey)
    head_mm, label_mm = bank.top_mm - layout.form.heads_mm, bank.top_mm - HEADS.rule_mm
    for column in layout.columns:
        x_mm = bank.left_mm + column.x_mm
        if column.character is not None and column.x_mm:
            yield Rule(x_mm, head_mm, x_mm, bottom_mm, GRID.character_mm)
        elif column.x_mm:
            # A column to write in after a character's columns is not the character's any more.
            yield Rule(x_mm, head_mm if _ends_character(layout, column) else label_mm, x_mm, bottom_mm, *_LIGHT)
        for name, lane in column.lanes:
            if name in FACE:
                yield Rule(bank.left_mm + lane.x_mm, label_mm, bank.left_mm + lane.x_mm, bottom_mm, *_LIGHT)
    yield Rule(right_mm, head_mm, right_mm, bottom_mm, *_LIGHT)
    yield Rule(bank.left_mm, bank.top_mm, right_mm, bank.top_mm, GRID.second_mm)
    yield from _ticks(job, layout, bank)
    for changed, run in groupby(range(bank.first, bank.end), lambda frame: frame in job.marked):
        if changed:
            frames = list(run)
            y_mm = bank.top_mm + (frames[0] - bank.first) * pitch_mm
            yield changed_bar(bank.left_mm - GRID.bar_left_mm, y_mm, len(frames) * pitch_mm)


def _ends_character(layout: Layout, column: Column) -> bool:
    before = layout.columns[layout.columns.index(column) - 1]
    return before.character is not None


def changed_bar(x_mm: float, y_mm: float, height_mm: float) -> Box:
    """Return the bar beside rows that changed."""
    return Box(x_mm, y_mm, GRID.bar_mm, height_mm, fill=0.0)


def filmed(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Box]:
    """Return the tone behind the numbers of frames in the can; it is drawn under everything else."""
    pitch_mm = layout.form.pitch_mm
    (column,) = (column for column in layout.columns if column.name == "frame")
    for done, run in groupby(range(bank.first, bank.end), lambda frame: frame in job.filmed):
        if done:
            frames = list(run)
            y_mm = bank.top_mm + (frames[0] - bank.first) * pitch_mm
            x_mm = bank.left_mm + column.x_mm
            yield Box(x_mm, y_mm, column.width_mm, len(frames) * pitch_mm, fill=GRID.filmed_grey)


def _weight(frame: int, second: bool, counted: bool) -> tuple[float, float]:
    """Return how wide and how grey the rule above a frame is."""
    if second or counted:
        return (GRID.second_mm, 0.0) if second else (GRID.counted_mm, 0.0)
    return _LIGHT if frame % GRID.every == 0 else (GRID.row_mm, GRID.row_grey)


def _ticks(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Mark]:
    """Return the boxes to tick: in a column of their own, or beside the numbers; black for frames in the can."""
    pitch_mm = layout.form.pitch_mm
    for column in layout.columns:
        if column.name == "filmed":
            side_mm = min(GRID.filmed_tick_part * pitch_mm, GRID.filmed_tick_mm)
            x_mm = bank.left_mm + column.x_mm + (column.width_mm - side_mm) / 2
        elif column.name == "frame" and layout.boxed:
            side_mm, x_mm = GRID.tick_mm, bank.left_mm + column.x_mm + GRID.tick_pad_mm
        else:
            continue
        for frame in range(bank.first, bank.end):
            y_mm = bank.top_mm + (frame - bank.first + 0.5) * pitch_mm - side_mm / 2
            done = frame in job.filmed
            yield Box(x_mm, y_mm, side_mm, side_mm, fill=0.0 if done else 1.0, stroke=0.0, line_mm=GRID.tick_line_mm)


def heads(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Text]:
    """Return what columns are called; each character's name above its own, whole."""
    words = job.settings.words
    name_y_mm = bank.top_mm - layout.form.heads_mm + HEADS.name_below_top_mm
    for column in layout.columns:
        if column.character is None:
            yield from _label(layout, bank, getattr(words, column.name), (column.x_mm, column.width_mm), centred=True)
            continue
        character = job.characters[column.character]
        name, size_pt = sized(character.name, column.width_mm - 2 * LANES.pad_mm, HEADS.name_pt, True)
        yield Text(bank.left_mm + column.x_mm + LANES.pad_mm, name_y_mm, name, size_pt, bold=True)
        lanes = dict(column.lanes)
        phoneme, code = lanes["phoneme"], lanes["code"]
        yield from _label(layout, bank, words.word, (lanes["word"].x_mm, lanes["word"].width_mm))
        both_mm = phoneme.width_mm + lanes["picture"].width_mm
        yield from _label(layout, bank, words.phoneme, (phoneme.x_mm, both_mm))
        yield from _label(layout, bank, words.piece, (code.x_mm + LANES.pad_mm, code.width_mm - LANES.pad_mm))
        for name, lane in column.lanes:
            if name in FACE:
                yield from _label(layout, bank, getattr(words, name), (lane.x_mm, lane.width_mm), centred=True)


def _label(
    layout: Layout, bank: Bank, label: str, place: tuple[float, float], *, centred: bool = False
) -> Iterator[Text]:
    """Return the head of a column or lane, on at most two lines; `place` is its left edge and its width."""
    size_pt = layout.letters.label
    x_mm = bank.left_mm + place[0] + (place[1] / 2 if centred else 0.0)
    lines = wrapped(label, place[1] - HEADS.label_gap_mm, size_pt, _LABEL_LINES)
    for up, line in enumerate(reversed(lines)):
        y_mm = bank.top_mm - HEADS.label_base_mm - up * HEADS.label_line_mm
        yield Text(x_mm, y_mm, line, size_pt, align="centre" if centred else "left")


def numbers(job: SheetJob, layout: Layout, bank: Bank, place: int, row: Row) -> Iterator[Text]:
    """Return the frame's number, bold where a second begins, and its feet and timecode."""
    letters, pitch_mm = layout.letters, layout.form.pitch_mm
    y_mm = baseline_mm(bank.top_mm + place * pitch_mm, pitch_mm, letters.code)
    printed = {
        "frame": (str(row.number), letters.number, row.frame % nominal_rate(job.rate) == 0),
        "feet": (row.feet, letters.feet, False),
        "timecode": (row.timecode, letters.timecode, False),
    }
    for column in layout.columns:
        if column.name in printed:
            text, size_pt, bold = printed[column.name]
            x_mm = bank.left_mm + column.x_mm + column.width_mm - LANES.pad_mm
            yield Text(x_mm, y_mm, text, size_pt, bold=bold, align="right")
