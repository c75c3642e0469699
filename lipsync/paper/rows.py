"""The rows of a shot: for each frame its number, feet and timecode, and what each character says and wears.

In: a `SheetJob`. Out: one `Row` for each frame: what is printed, as text, before its place on a page is decided.
Everything that shows a track (the page, the text for a terminal, CSV and JSON) is made from these rows, and so is the
stamp.

The rule for rows: a word, cue, phoneme or strong beat is on the row of the frame whose start is nearest to the moment
at which it begins (`row_at`); what began before the shot is on the first row. Closed lips are put on by the same rule
(fit/closures.py), so P, B or M and its piece are on the same row if the piece is worn when it is due. Another rule
would be the frame that is seen at that moment (rounding down). With that rule, a phoneme that begins in the second
half of a frame would be a row above its piece, and the piece would look late although it is not.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from lipsync import timing
from lipsync.fit.keys import Toward
from lipsync.paper.cells import Cell, HeardKind, HeardSpan, PartOn, as_shown
from lipsync.paper.sheet_job import KeepAlive, SheetCharacter, SheetJob
from lipsync.phonemes import join_stress
from lipsync.track import Sound

__all__ = [
    "Cell",
    "HeardKind",
    "HeardSpan",
    "Row",
    "Stamped",
    "heard_in",
    "rows_between",
    "rows_of",
    "spelt",
    "stamp_from",
    "stamp_of",
    "stamped",
]

# The least silence inside a line that is called a pause (chosen: six frames at 24 fps).
PAUSE_US = 250_000


@dataclass(frozen=True, slots=True)
class Row:
    """One frame of a shot."""

    frame: int
    number: int
    feet: str
    timecode: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Stamped:
    """The rows of a shot and their stamp: computed once, for the record of prints and for the page."""

    rows: tuple[Row, ...]
    stamp: str


def stamped(job: SheetJob) -> Stamped:
    """Return the rows of a shot with their stamp."""
    rows = rows_of(job)
    return Stamped(rows, stamp_of(job, rows))


def rows_of(job: SheetJob) -> tuple[Row, ...]:
    """Return the rows of a shot."""
    columns = [_cells(job, character) for character in job.characters]
    across: Iterator[tuple[Cell, ...]] = zip(*columns, strict=True) if columns else iter(((),) * job.frames)
    return tuple(
        Row(
            frame,
            timing.number_of(frame, job.first_frame),
            timing.feet(frame, job.film),
            timing.timecode(job.start_frame + frame, job.rate, drop=job.drop),
            cells,
        )
        for frame, cells in enumerate(across)
    )


def heard_in(job: SheetJob, character: SheetCharacter) -> tuple[HeardSpan, ...]:
    """Return what is heard of a character in the shot, in order: words, cues, pauses, voice without text."""
    spans: list[HeardSpan] = []
    parts = _parts(character.sounds)
    for part in parts:
        kind: HeardKind = "cue" if part[0].is_cue else "word"
        spans += _within(job, kind, part[0].text, part[0].start_us, part[-1].end_us, part[0].doubtful)
    for before, after in pairwise(parts):
        silence = after[0].start_us - before[-1].end_us
        if after[0].line == before[0].line and silence >= PAUSE_US:
            spans += _within(job, "pause", "", before[-1].end_us, after[0].start_us)
    for start_us, end_us in character.untold:
        spans += _within(job, "untold", job.settings.words.untold, start_us, end_us, doubtful=True)
    return tuple(sorted(spans, key=lambda heard: heard.first))


def _parts(sounds: tuple[Sound, ...]) -> list[list[Sound]]:
    """Return the sounds of each word or cue, in the order of time."""
    parts: dict[tuple[str, int], list[Sound]] = {}
    for sound in sorted(sounds, key=lambda sound: sound.start_us):
        parts.setdefault((sound.line, sound.part), []).append(sound)
    return list(parts.values())


def _within(
    job: SheetJob,
    kind: HeardKind,
    text: str,
    start_us: int,
    end_us: int,
    doubtful: bool = False,
) -> list[HeardSpan]:
    """Return the part of a span that is in the shot, if any."""
    rows = rows_between(start_us, end_us, job.frames, job.rate)
    return [HeardSpan(kind, text, rows[0], rows[-1], doubtful)] if rows else []


def rows_between(start_us: int, end_us: int, frames: int, rate: Fraction) -> range:
    """Return the rows of a shot of so many frames on which a span stands; the last is the one before that of its end.

    >>> rows_between(541_000, 700_000, 240, Fraction(24)), rows_between(10_000_000, 11_000_000, 240, Fraction(24))
    (range(13, 17), range(0, 0))
    """
    if end_us <= 0 or timing.frame_at(start_us, rate) >= frames:
        return range(0)
    first = min(frames - 1, row_at(start_us, rate))
    return range(first, min(frames - 1, max(first, row_at(end_us, rate) - 1)) + 1)


def row_at(time_us: int, rate: Fraction) -> int:
    """Return the row of what begins at a time: the frame whose start is nearest; the first row for negative times.

    >>> row_at(541_000, Fraction(24)), row_at(542_000, Fraction(24)), row_at(563_000, Fraction(24))
    (13, 13, 14)
    """
    return max(0, timing.nearest_frame(time_us, rate))


def spelt(sound: Sound) -> str:
    """Return a phoneme in ARPAbet with its stress, or a cue in its brackets."""
    return join_stress(sound.symbol, sound.stress)


def _cells(job: SheetJob, character: SheetCharacter) -> list[Cell]:
    begins: dict[int, list[HeardSpan]] = {}
    runs: set[int] = set()
    for heard in heard_in(job, character):
        begins.setdefault(heard.first, []).append(heard)
        if heard.kind != "pause":
            runs.update(range(heard.first, heard.last + 1))
    phonemes: dict[int, list[str]] = {}
    for sound in character.sounds:
        if not sound.is_cue:
            for frame in rows_where(job, sound):
                phonemes.setdefault(frame, []).append(spelt(sound))
    lost: dict[int, list[str]] = {}
    for missed in character.track.lost:
        for frame in rows_where(job, missed.sound):
            lost.setdefault(frame, []).append(spelt(missed.sound))
    fitted = {fitting.frame for fitting in character.track.fittings}
    toward = {note.frame: note for note in character.modelling if isinstance(note, Toward)}
    alive = {note.frame for note in character.modelling if isinstance(note, KeepAlive)}
    beats = set(character.beats)
    planned = [
        Cell(
            begins=tuple(begins.get(frame, ())),
            runs=frame in runs,
            phonemes=tuple(phonemes.get(frame, ())),
            piece=piece,
            fitted=frame in fitted,
            serves=None if served is None else spelt(served),
            lost=tuple(lost.get(frame, ())),
            beat=frame in beats,
            toward=toward.get(frame),
            keep_alive=frame in alive,
            parts=tuple(
                PartOn(part.kind, part.code, part.first == frame)
                for part in sorted(character.parts, key=lambda part: part.kind)
                if part.first <= frame <= part.last
            ),
        )
        for frame, (piece, served) in enumerate(zip(character.track.pieces, character.track.serves, strict=True))
    ]
    return as_shown(planned, character.as_filmed)


def rows_where(job: SheetJob, sound: Sound) -> tuple[int, ...]:
    """Return the row of a sound, as a tuple of one; an empty tuple if it is not heard in the shot."""
    return tuple(heard.first for heard in _within(job, "word", "", sound.start_us, sound.end_us))


# Letters and digits that cannot be confused when they are read from a wall or spoken over a radio (chosen).
_STAMP_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"


def stamp_of(job: SheetJob, rows: tuple[Row, ...]) -> str:
    """Return the stamp of a state: eight letters and digits, 40 bits of the SHA-256 of all that the rows say.

    Paper, form and columns do not count: the same state has the same stamp however it is printed. The drawing of the
    level does not count either: the animator does nothing by it.
    """
    heading = [job.production, job.scene, job.shot, str(job.rate), job.film]
    return stamp_from(heading, [character.name for character in job.characters], rows, job.alerts)


def stamp_from(heading: Sequence[str], names: Sequence[str], rows: tuple[Row, ...], alerts: Sequence[str]) -> str:
    """Return the stamp of what a sheet says: its heading, the characters' names, its rows and alerts."""
    said: dict[str, list[object]] = {
        "of": [*heading],
        "names": [*names],
        "rows": [[row.number, row.feet, row.timecode, [_said(cell) for cell in row.cells]] for row in rows],
    }
    if alerts:  # only if there are any: a state without alerts keeps the stamp that it had before there were alerts
        said["alerts"] = [*alerts]
    return stamp_of_text(json.dumps(said, ensure_ascii=False, separators=(",", ":")))


def stamp_of_text(text: str) -> str:
    """Return the stamp of all that a text says."""
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:5], "big")
    letters = "".join(_STAMP_LETTERS[number >> shift & 31] for shift in range(35, -1, -5))
    return f"{letters[:3]}-{letters[3:5]}-{letters[5:]}"


def _said(cell: Cell) -> list[object]:
    toward = cell.toward and [cell.toward.code, cell.toward.frames]
    words = [[heard.kind, heard.text, heard.last - heard.first, heard.doubtful] for heard in cell.begins]
    marks = [cell.fitted, cell.beat, cell.keep_alive]
    said: list[object] = [words, cell.phonemes, cell.piece, cell.serves, cell.lost, toward, marks]
    if cell.parts:  # only if there are any: a state without parts keeps the stamp that it had before there were parts
        said.append([[part.kind, part.code, part.put_on] for part in cell.parts])
    return said
