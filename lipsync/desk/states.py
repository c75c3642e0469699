"""How far each line of a production is: not done, computed, doubts, checked, filmed; and how loud its vowels are.

In: the production and its breakdowns on disk. Out: a `LineState` for each line. Reading two thousand breakdowns takes
seconds. So they are read in the background, one after the other, and their states are remembered by the file's time
and size, even after the desk has ended (`PRODUCTION/.desk/states.json`). A state that is not read yet is None; code
that needs it at once reads it itself.

The levels of a character's vowels over the whole production decide which sizes of a mouth it wears (`VoiceRange`).
"""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from lipsync.app.hear.heard import PlacedLine, kept_names, kept_path
from lipsync.breakdown import breakdown_file
from lipsync.errors import LipsyncError
from lipsync.files import write_whole
from lipsync.fit.fit_job import VoiceRange, voice_range
from lipsync.model import Breakdown
from lipsync.phonemes import VOWELS
from lipsync.production.values import Production
from lipsync.track import Sound

Stamp = tuple[int, int]

# Raise this when the remembered states change their form or their meaning.
_FORM = 4

# States are written to disk each time this many lines were read, and when all are (chosen).
_WRITE_EACH = 200


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question for a person: a doubtful word, or voice without text.

    Attributes:
        start_us: where it begins in the line's time.
        end_us: where it ends.
        text: the word; empty for voice without text.
        confidence: the confidence of the word, from 0 to 1; None if it is not known, and for voice without text.
    """

    start_us: int
    end_us: int
    text: str = ""
    confidence: float | None = None


@dataclass(frozen=True, slots=True)
class LineState:
    """How far a line is.

    Attributes:
        state: "not done", "not laid" if no word of it could be placed, "rejected" if sound and text do not match,
            "computed", "corrected", "doubts", "checked", or "broken" if its file has faults.
        doubts: the number of doubtful words and of stretches of voice without text.
        newer: whether a newer computation waits to be taken or dropped.
        vowels_db: the levels of its vowels in decibels.
        heard_us: the start of the first and the end of the last word or cue that is heard.
        asked: the doubts, in order of time.
    """

    state: str
    doubts: int = 0
    newer: bool = False
    vowels_db: tuple[float, ...] = ()
    heard_us: tuple[int, int] = (0, 0)
    asked: tuple[Doubt, ...] = ()


NOT_DONE = LineState("not done")


def state_of(kept: breakdown_file.Kept) -> LineState:
    """Return the state of a line that was listened to."""
    stands = kept.breakdown
    asked = doubts_of(stands)
    sounds = [p for word in stands.words for p in word.phonemes if p.symbol in VOWELS and p.level_db is not None]
    levels = tuple(p.level_db for p in sounds if p.level_db is not None)
    heard_us = (stands.parts[0].start_us, stands.parts[-1].end_us) if stands.parts else (0, 0)
    return LineState(_name_of(kept, len(asked)), len(asked), kept.newer is not None, levels, heard_us, asked)


def doubts_of(stands: Breakdown) -> tuple[Doubt, ...]:
    """Return the doubts of a breakdown, in order of time."""
    words = [Doubt(one.start_us, one.end_us, one.text, one.confidence) for one in stands.words if one.doubtful]
    voices = [Doubt(one.start_us, one.end_us) for one in stands.voice_without_text]
    return tuple(sorted((*words, *voices), key=lambda doubt: doubt.start_us))


def _name_of(kept: breakdown_file.Kept, doubts: int) -> str:
    if kept.checked:
        return "checked"
    if kept.breakdown.rejection is not None:
        return "not laid" if kept.undone else "rejected"
    return "doubts" if doubts else "corrected" if kept.corrections or kept.nothing_said else "computed"


class LineStates:
    """Remembers the states of lines; every method may be called from any thread."""

    def __init__(self, memory: Path) -> None:
        """`memory` is the file in which states are remembered."""
        self._memory = memory
        self._lock = threading.Lock()
        self._known: dict[str, tuple[Stamp, LineState]] = _remembered(memory)
        self._unwritten = 0
        self.number = 0  # rises with each line that is read

    def glance(self, production: Production, lines: Iterable[PlacedLine]) -> dict[str, LineState | None]:
        """Return the states of lines without reading any breakdown; None for those that would have to be read."""
        placed_lines = tuple(lines)
        names = kept_names(production, placed_lines)
        return {one.key: self._at(one, _stamp(name)) for one, name in zip(placed_lines, names, strict=True)}

    def read(self, production: Production, placed: PlacedLine) -> LineState:
        """Return the state of a line, reading its file if it has changed."""
        known = self._glance(production, placed)
        if known is not None:
            return known
        path = kept_path(production, placed)
        stamp = _stamp(path)
        try:
            state = state_of(breakdown_file.read(path))
        except LipsyncError:
            state = LineState("broken")
        if stamp is not None:
            with self._lock:
                self._known[placed.key] = (stamp, state)
                self._unwritten += 1
                self.number += 1
        return state

    def read_all(self, production: Production, lines: Iterable[PlacedLine], may_read: Callable[[], bool]) -> None:
        """Read every line that is not known, and write all states; this runs in a thread of its own.

        `may_read` is called before each line: it waits until there is time, and returns whether to go on at all.
        """
        for placed in lines:
            if self._glance(production, placed) is not None:
                continue
            if not may_read():
                break
            self.read(production, placed)
            if self._unwritten >= _WRITE_EACH:
                self.remember()
        self.remember()

    def remember(self) -> None:
        """Write all known states to disk, if any is new; if that fails, lines are read again after the next start."""
        with self._lock:
            if not self._unwritten:
                return
            self._unwritten = 0
            lines = {id: [*stamp, asdict(state)] for id, (stamp, state) in self._known.items()}
        text = json.dumps({"form": _FORM, "lines": lines}, separators=(",", ":"))
        with suppress(LipsyncError):
            write_whole(self._memory, text.encode(), within=self._memory.parent.parent)

    def voice(self, production: Production, lines: Iterable[PlacedLine], character: str) -> VoiceRange | None:
        """Return how quietly and how loudly a character speaks over all its lines, as the printed sheets have it."""
        levels = [
            level
            for placed in lines
            if placed.line.character == character
            for level in self.read(production, placed).vowels_db
        ]
        return voice_range(Sound("", 0, "AA", "", 0, 1, level_db=level) for level in levels)

    def _glance(self, production: Production, placed: PlacedLine) -> LineState | None:
        return self._at(placed, _stamp(kept_path(production, placed)))

    def _at(self, placed: PlacedLine, stamp: Stamp | None) -> LineState | None:
        if stamp is None:
            return NOT_DONE
        known = self._known.get(placed.key)
        return known[1] if known and known[0] == stamp else None


def _stamp(path: str | Path) -> Stamp | None:
    try:
        status = os.stat(path)
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size


def _remembered(memory: Path) -> dict[str, tuple[Stamp, LineState]]:
    try:
        table = json.loads(memory.read_text(encoding="utf-8"))
        if table["form"] != _FORM:
            return {}
        return {str(id): ((int(time), int(size)), _state(row)) for id, (time, size, row) in table["lines"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _state(row: dict[str, Any]) -> LineState:
    first_us, last_us = row["heard_us"]
    levels = tuple(float(level) for level in row["vowels_db"])
    heard_us = (int(first_us), int(last_us))
    asked = tuple(Doubt(**one) for one in row["asked"])
    return LineState(str(row["state"]), int(row["doubts"]), bool(row["newer"]), levels, heard_us, asked)
