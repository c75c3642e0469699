"""Which frames of a line's shot are in the can, and which stretches of the line are heard on them.

In: the production and a line. Out: `Locked`. What is filmed is final: the page shows these frames as locked, no other
piece can be put on them, and what is heard on them cannot be changed. A filming record with faults locks nothing
here; planning reports it, and plans nothing for that shot.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lipsync import timing
from lipsync.app.hear.heard import PlacedLine
from lipsync.errors import InputError
from lipsync.floor.record_file import read, records_in
from lipsync.floor.spans import spans_of
from lipsync.production.values import Production

Stamp = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Locked:
    """Filmed frames, counted from 0 in the shot; and the same as spans of the line's own time."""

    frames: frozenset[int] = frozenset()
    spans_us: tuple[tuple[int, int], ...] = ()


class Cans:
    """The frames in the can, by records that are read again when they change; any thread may call the methods."""

    def __init__(self) -> None:
        """Begin with nothing read."""
        self._read: dict[Path, tuple[Stamp, frozenset[int]]] = {}
        self._lock = threading.Lock()

    def places(self, production: Production) -> Mapping[tuple[str, str], Path]:
        """Return the path of each shot's record, by scene and shot; without those that contradict each other."""
        try:
            return records_in(production).of_shots
        except InputError:
            return {}

    def frames(self, path: Path | None) -> frozenset[int]:
        """Return the frames that a record says are in the can."""
        if path is None:
            return frozenset()
        try:
            status = path.stat()
            stamp = (status.st_mtime_ns, status.st_size)
            with self._lock:
                known = self._read.get(path)
            if known is None or known[0] != stamp:
                known = (stamp, read(path).frames)
                with self._lock:
                    self._read[path] = known
        except (OSError, InputError):
            return frozenset()
        return known[1]

    def locked(self, production: Production, placed: PlacedLine) -> Locked:
        """Return the frames of a line's shot that are in the can."""
        frames = self.frames(self.places(production).get((placed.scene.id, placed.shot.id)))
        begins_us = production.begins_us(placed.line, placed.shot)
        spans = tuple(
            (
                timing.frame_start_us(first, production.rate) - begins_us,
                timing.frame_start_us(last + 1, production.rate) - begins_us,
            )
            for first, last in spans_of(frames)
        )
        return Locked(frames, spans)


def all_filmed(production: Production, placed: PlacedLine, frames: frozenset[int], heard_us: tuple[int, int]) -> bool:
    """Return whether every frame of its shot on which a line is heard is in the can."""
    begins_us = production.begins_us(placed.line, placed.shot)
    first = timing.frame_at(begins_us + heard_us[0], production.rate)
    last = timing.frame_at(begins_us + heard_us[1] - 1, production.rate)
    heard = range(max(0, first), min(placed.shot.frames - 1, last) + 1)
    return bool(heard) and frames.issuperset(heard)
