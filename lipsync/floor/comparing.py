"""What changed from one state of a shot's sheet to another: which rows, and what of them.

In: two `SheetState`s. Out: the frames whose rows differ, and `Change`s. Each row that differs lies in a change, or
within `AROUND` frames of a change where words moved. Frames are those of the later state.

Words are matched by their texts, in order (the longest matching runs first, as Python's difflib finds them). Words
that move by the same distance are one change; phonemes and pieces that moved with them are not told again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lipsync.floor.cell_changes import AROUND, cell_changes
from lipsync.floor.changes import Change, Kind
from lipsync.floor.state import SheetState
from lipsync.floor.word_changes import word_changes

__all__ = ["AROUND", "changed_rows", "changes"]


def changed_rows(before: SheetState, after: SheetState) -> frozenset[int]:
    """Return the frames of `after` whose rows differ from those of `before`, or were not there.

    Frames in the can are left out: what was filmed can no longer be changed.
    """
    rows = zip(before.rows, after.rows, strict=False)
    differ = {frame for frame, (was, now) in enumerate(rows) if was != now}
    return frozenset(differ | set(range(len(before.rows), len(after.rows)))) - after.filmed


def changes(before: SheetState, after: SheetState) -> tuple[Change, ...]:
    """Return what changed, in the order of frames.

    Empty where the two states have the same stamp, or differ only on frames that are in the can.
    """
    found = [*_of_heading(before, after), *_of_cast(before, after)]
    was_called = _matched(before, after)
    for who, name in zip(after.characters, after.names, strict=True):
        if who in was_called:
            was, now = before.cells(was_called[who]), after.cells(who)
            words = tuple(word_changes(name, was, now))
            found += _to_film(words, after)
            found += cell_changes(name, was, now, words, after.filmed)
    return tuple(sorted(found, key=lambda change: (bool(change.character), change.first, change.last)))


def _to_film(words: Iterable[Change], after: SheetState) -> Iterator[Change]:
    """Yield changes of words as far as they concern frames that are not in the can."""
    for change in words:
        left = [frame for frame in range(change.first, change.last + 1) if frame not in after.filmed]
        if left:
            yield replace(change, first=left[0], last=left[-1])


def _matched(before: SheetState, after: SheetState) -> dict[str, str]:
    """Return, by id, the id that each character had in the earlier state: its own, or else that of the same name."""
    found = {who: who for who in after.characters if who in before.characters}
    left = {n: w for w, n in zip(before.characters, before.names, strict=True) if w not in found}
    for who, name in zip(after.characters, after.names, strict=True):
        if who not in found and name in left:
            found[who] = left.pop(name)
    return found


def _of_heading(before: SheetState, after: SheetState) -> Iterator[Change]:
    last = len(after.rows) - 1
    was, now = before.facts, after.facts

    def whole(kind: Kind, now_said: object, was_said: object) -> Iterator[Change]:
        if now_said != was_said:
            yield Change(kind, 0, last, now=str(now_said), was=str(was_said))

    for name in ("production", "scene", "shot"):
        yield from whole("title", getattr(now, name), getattr(was, name))
    yield from whole("rate", now.rate, was.rate)
    yield from whole("film", now.film, was.film)
    yield from whole("numbers", now.first_frame, was.first_frame)
    labels = [rows[0].timecode for rows in (after.rows, before.rows)]
    if labels[0] != labels[1] or now.drop != was.drop:
        yield Change("timecode", 0, last, now=labels[0], was=labels[1])
    for text in after.alerts:
        if text not in before.alerts:
            yield Change("alert", 0, last, now=text)
    for text in before.alerts:
        if text not in after.alerts:
            yield Change("no alert", 0, last, was=text)
    if len(before.rows) != len(after.rows):
        first = min(len(before.rows), last)
        yield Change("length", first, last, now=str(len(after.rows)), was=str(len(before.rows)))


def _of_cast(before: SheetState, after: SheetState) -> Iterator[Change]:
    last = len(after.rows) - 1
    was_called = _matched(before, after)
    old = dict(zip(before.characters, before.names, strict=True))
    for who, name in zip(after.characters, after.names, strict=True):
        if who not in was_called:
            yield Change("came", 0, last, name)
        elif old[was_called[who]] != name:
            yield Change("name", 0, last, name, now=name, was=old[was_called[who]])
    for who in before.characters:
        if who not in was_called.values():
            yield Change("went", 0, last, old[who])
    stayed = [was_called[who] for who in after.characters if who in was_called]
    if stayed != [who for who in before.characters if who in stayed]:
        yield Change("order", 0, last, now=", ".join(after.names), was=", ".join(before.names))
