"""The grid of a bank of rows: rules, heads of columns, boxes to tick, and each row's numbers.

In come a job, its layout and a bank, out come marks. A rule marks each second of the shot, a lighter one what the
studio counts by, the lightest every fourth frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from lipsync.paper.columns import TICK_MM, Layout
from lipsync.paper.lettering import baseline_mm, shortened
from lipsync.paper.marks import Box, Mark, Rule, Text
from lipsync.paper.needs import PAD_MM
from lipsync.paper.rows import Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.timing import nominal_rate

NAME_PT = 11.0

# The tone behind the numbers of frames in the can: seen on a copy, and digits on it are read (tried at 0.6 to 0.9).
FILMED_GREY = 0.76

# Width in mm and grey of a rule that guides the eye without asking for it.
_LIGHT = (0.15, 0.35)


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
    head_mm, label_mm = bank.top_mm - layout.form.heads_mm, bank.top_mm - 4.6
    for column in layout.columns[1:]:
        x_mm = bank.left_mm + column.x_mm
        if column.character is not None:
            yield Rule(x_mm, head_mm, x_mm, bottom_mm, 0.4)
        else:
            yield Rule(x_mm, label_mm, x_mm, bottom_mm, *_LIGHT)
    yield Rule(right_mm, head_mm, right_mm, bottom_mm, *_LIGHT)
    yield Rule(bank.left_mm, bank.top_mm, right_mm, bank.top_mm, 0.6)
    yield from _ticks(job, layout, bank)
    for changed, run in groupby(range(bank.first, bank.end), lambda frame: frame in job.marked):
        if changed:
            frames = list(run)
            y_mm = bank.top_mm + (frames[0] - bank.first) * pitch_mm
            yield changed_bar(bank.left_mm - 2.6, y_mm, len(frames) * pitch_mm)


def changed_bar(x_mm: float, y_mm: float, height_mm: float) -> Box:
    """Return the bar beside rows that changed."""
    return Box(x_mm, y_mm, 1.3, height_mm, fill=0.0)


def filmed(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Box]:
    """Return the tone behind the numbers of frames in the can; it lies under all else."""
    pitch_mm = layout.form.pitch_mm
    (column,) = (column for column in layout.columns if column.name == "frame")
    for done, run in groupby(range(bank.first, bank.end), lambda frame: frame in job.filmed):
        if done:
            frames = list(run)
            y_mm = bank.top_mm + (frames[0] - bank.first) * pitch_mm
            x_mm = bank.left_mm + column.x_mm
            yield Box(x_mm, y_mm, column.width_mm, len(frames) * pitch_mm, fill=FILMED_GREY)


def _weight(frame: int, second: bool, counted: bool) -> tuple[float, float]:
    """Return how wide and how grey the rule above a frame is."""
    if second or counted:
        return (0.6, 0.0) if second else (0.35, 0.0)
    return _LIGHT if frame % 4 == 0 else (0.1, 0.72)


def _ticks(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Mark]:
    """Return the boxes to tick: in a column of their own, or beside the numbers; black for frames in the can."""
    pitch_mm = layout.form.pitch_mm
    for column in layout.columns:
        if column.name == "filmed":
            side_mm = min(0.66 * pitch_mm, 4.5)
            x_mm = bank.left_mm + column.x_mm + (column.width_mm - side_mm) / 2
        elif column.name == "frame" and layout.boxed:
            side_mm, x_mm = TICK_MM, bank.left_mm + column.x_mm + 0.6
        else:
            continue
        for frame in range(bank.first, bank.end):
            y_mm = bank.top_mm + (frame - bank.first + 0.5) * pitch_mm - side_mm / 2
            done = frame in job.filmed
            yield Box(x_mm, y_mm, side_mm, side_mm, fill=0.0 if done else 1.0, stroke=0.0, line_mm=0.2)


def heads(job: SheetJob, layout: Layout, bank: Bank) -> Iterator[Text]:
    """Return what columns are called; each character's name above its own."""
    words, label_pt = job.settings.words, layout.letters.label
    y_mm, name_y_mm = bank.top_mm - 1.4, bank.top_mm - layout.form.heads_mm + 4.0
    for column in layout.columns:
        if column.character is None:
            label = shortened(getattr(words, column.name), column.width_mm - PAD_MM, label_pt)
            x_mm = bank.left_mm + column.x_mm + column.width_mm / 2
            if label:
                yield Text(x_mm, y_mm, label, label_pt, align="centre")
            continue
        character = job.characters[column.character]
        x_mm = bank.left_mm + column.x_mm + PAD_MM
        name = shortened(character.name, column.width_mm - 2 * PAD_MM, NAME_PT, True)
        yield Text(x_mm, name_y_mm, name, NAME_PT, bold=True)
        lanes = dict(column.lanes)
        for label, lane, width_mm, indent_mm in (
            (words.word, "word", lanes["word"].width_mm, 0.0),
            (words.phoneme, "phoneme", lanes["phoneme"].width_mm + lanes["picture"].width_mm, 0.0),
            (words.piece, "code", lanes["code"].width_mm - PAD_MM, PAD_MM),
        ):
            text = shortened(label, width_mm - 0.5, label_pt)
            if text:
                yield Text(bank.left_mm + lanes[lane].x_mm + indent_mm, y_mm, text, label_pt)


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
            x_mm = bank.left_mm + column.x_mm + column.width_mm - PAD_MM
            yield Text(x_mm, y_mm, text, size_pt, bold=bold, align="right")
