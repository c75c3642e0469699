"""Which heard lines can be shown in their shots: none that ends before its shot, and no two of one character at once.

In: a production and its heard lines. Out: the lines that can be planned, problems of the others, and messages about
lines that lie partly outside their shots.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from lipsync import timing
from lipsync.app.hear.heard import Heard, HeardLine
from lipsync.errors import Problem
from lipsync.message import Message
from lipsync.production.values import Production


def within_shots(production: Production, heard: Heard) -> tuple[tuple[HeardLine, ...], tuple[Problem, ...]]:
    """Return the lines that are heard in their shots, and a problem for each that ends before its shot begins."""
    first = production.file.first_frame
    kept: list[HeardLine] = []
    problems: list[Problem] = []
    for line in heard.lines:
        if not line.kept.breakdown.parts or _last_us(line) > 0:
            kept.append(line)
            continue
        last = _number(production, _last_us(line) - 1)
        problems.append(Problem.of("over before its shot", line.placed.where, first=first, last=last))
    return tuple(kept), tuple(problems)


def without_overlap(
    production: Production, lines: Sequence[HeardLine]
) -> tuple[tuple[HeardLine, ...], tuple[Problem, ...]]:
    """Return the lines that begin while no other line of their character is heard; a problem for each other."""
    kept: list[HeardLine] = []
    problems: list[Problem] = []
    groups: dict[tuple[str, str, str], list[HeardLine]] = defaultdict(list)
    for line in lines:
        groups[line.placed.scene.id, line.placed.shot.id, line.placed.line.character].append(line)
    for own in groups.values():
        own.sort(key=_first_us)
        reached: HeardLine | None = None
        for line in own:
            if reached is not None and _first_us(line) < _last_us(reached):
                problems.append(_overlap(production, reached, line))
                continue
            kept.append(line)
            reached = line
    return tuple(kept), tuple(problems)


def _first_us(line: HeardLine) -> int:
    parts = line.kept.breakdown.parts
    return line.begins_us + (parts[0].start_us if parts else 0)


def _last_us(line: HeardLine) -> int:
    parts = line.kept.breakdown.parts
    return line.begins_us + (parts[-1].end_us if parts else 0)


def _number(production: Production, time_us: int) -> int:
    return timing.number_of(timing.frame_at(time_us, production.rate), production.file.first_frame)


def _overlap(production: Production, before: HeardLine, after: HeardLine) -> Problem:
    first, last = _number(production, _first_us(after)), _number(production, _last_us(before) - 1)
    other = before.placed.line.id
    return Problem.of("over another line", after.placed.where, first=first, other=other, last=last)


def outside(production: Production, line: HeardLine) -> Iterator[Message]:
    """Yield messages about what of a line is heard before or after its shot."""
    where = line.placed.where
    end_us = timing.frame_start_us(line.placed.shot.frames, production.rate)
    if _first_us(line) < 0:
        first = production.file.first_frame
        begins = _number(production, _first_us(line))
        yield Message.of("begins before its shot", where, begins=begins, first=first)
    if _last_us(line) > end_us:
        last = production.file.first_frame + line.placed.shot.frames - 1
        ends = _number(production, _last_us(line) - 1)
        yield Message.of("ends after its shot", where, ends=ends, last=last)
