"""The rows of a shot: for each frame its number, feet and timecode, and what each character says and wears.

In comes a `SheetJob`, out one `Row` a frame: what is printed, as text, before anyone decides where. Everything that
shows a track (the page, the text for a terminal, CSV and JSON) is made from these rows, and so is the stamp.

A word, a cue or a phoneme stands on the row of the frame that is seen when it begins; one that began before the shot
stands on the first row.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from lipsync import timing
from lipsync.fit.keys import Toward
from lipsync.paper.cells import Cell, HeardSpan, as_shown
from lipsync.paper.sheet_job import KeepAlive, SheetCharacter, SheetJob
from lipsync.phonemes import join_stress
from lipsync.track import Sound

__all__ = ["Cell", "HeardSpan", "Row", "heard_in", "rows_of", "spelt", "stamp_from", "stamp_of"]

# Silence inside a line from which on it is called a pause (chosen: six frames at 24).
PAUSE_US = 250_000


@dataclass(frozen=True, slots=True)
class Row:
    """One frame of a shot."""

    frame: int
    number: int
    feet: str
    timecode: str
    cells: tuple[Cell, ...]


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
    """Return the words, cues and pauses of a character that are heard in the shot, in order."""
    found: list[HeardSpan] = []
    parts = _parts(character.sounds)
    for part in parts:
        kind: Literal["word", "cue"] = "cue" if part[0].is_cue else "word"
        found += _within(job, kind, part[0].text, part[0].start_us, part[-1].end_us, part[0].doubtful)
    for before, after in pairwise(parts):
        silence = after[0].start_us - before[-1].end_us
        if after[0].line == before[0].line and silence >= PAUSE_US:
            found += _within(job, "pause", "", before[-1].end_us, after[0].start_us)
    return tuple(sorted(found, key=lambda heard: heard.first))


def _parts(sounds: tuple[Sound, ...]) -> list[list[Sound]]:
    """Return the sounds of each word or cue, in the order of time."""
    parts: dict[tuple[str, int], list[Sound]] = {}
    for sound in sorted(sounds, key=lambda sound: sound.start_us):
        parts.setdefault((sound.line, sound.part), []).append(sound)
    return list(parts.values())


def _within(
    job: SheetJob,
    kind: Literal["word", "cue", "pause"],
    text: str,
    start_us: int,
    end_us: int,
    doubtful: bool = False,
) -> list[HeardSpan]:
    """Return the part of a span that lies in the shot, if any does."""
    first, last = timing.frame_at(start_us, job.rate), timing.frame_at(end_us - 1, job.rate)
    if last < 0 or first >= job.frames:
        return []
    return [HeardSpan(kind, text, max(0, first), min(job.frames - 1, last), doubtful)]


def spelt(sound: Sound) -> str:
    """Return a phoneme in ARPAbet with its stress, or a cue in its brackets."""
    return sound.symbol if sound.is_cue else join_stress(sound.symbol, sound.stress)


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
            for frame in _first_frame(job, sound):
                phonemes.setdefault(frame, []).append(spelt(sound))
    lost: dict[int, list[str]] = {}
    for missed in character.track.lost:
        for frame in _first_frame(job, missed.sound):
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
        )
        for frame, (piece, served) in enumerate(zip(character.track.pieces, character.track.serves, strict=True))
    ]
    return as_shown(planned, character.as_filmed)


def _first_frame(job: SheetJob, sound: Sound) -> tuple[int, ...]:
    """Return the frame on which a sound stands, or nothing where it is not heard in the shot."""
    return tuple(heard.first for heard in _within(job, "word", "", sound.start_us, sound.end_us))


# Letters and digits that are not mistaken for each other when read from a wall or spoken over a radio (chosen).
_STAMP_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"


def stamp_of(job: SheetJob, rows: tuple[Row, ...]) -> str:
    """Return the stamp of a state: eight letters and digits, 40 bits of the SHA-256 of all that the rows say.

    Paper, form and columns do not count: the same state has the same stamp however it is printed. Neither does the
    drawing of the level, which measures the sound and asks nothing of the animator.
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
    if alerts:  # a state without any has the stamp that it always had
        said["alerts"] = [*alerts]
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:5], "big")
    letters = "".join(_STAMP_LETTERS[number >> shift & 31] for shift in range(35, -1, -5))
    return f"{letters[:3]}-{letters[3:5]}-{letters[5:]}"


def _said(cell: Cell) -> list[object]:
    toward = cell.toward and [cell.toward.code, cell.toward.frames]
    words = [[heard.kind, heard.text, heard.last - heard.first, heard.doubtful] for heard in cell.begins]
    marks = [cell.fitted, cell.beat, cell.keep_alive]
    return [words, cell.phonemes, cell.piece, cell.serves, cell.lost, toward, marks]
