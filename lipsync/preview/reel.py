"""What a movie shows on each of its frames, and when each recording begins.

In: a production, and the plans of the shots. Out: a `Reel`: the frames of the shots one after the other, each with
what every character wears and says and what is modelled, as on the sheet (paper/rows.py); and the recordings, each
with the time at which it begins. Times are microseconds from the start of the movie.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from lipsync import timing
from lipsync.app.plan.planning import ShotPlan
from lipsync.app.print.printing import sheet_job
from lipsync.fit.mouthset import MouthSet
from lipsync.paper.notes import alive_spans, spans_of
from lipsync.paper.rows import Cell, row_at, rows_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.production.values import Production
from lipsync.track import Sound


@dataclass(frozen=True, slots=True)
class ModelledStep:
    """One frame of modelling: the piece toward which it goes, and which frame it is, from 1, of how many."""

    code: str
    step: int
    steps: int


@dataclass(frozen=True, slots=True)
class Seen:
    """What is seen and heard of a character on a frame.

    Attributes:
        name: the character's name, as it is shown.
        mouth_set: its mouth set; the same code in another set is another piece.
        code: the piece that it wears; None off camera.
        put_on: whether the piece is put on here.
        word: the word that is heard; empty in silence.
        phoneme: the phoneme or cue that is heard; empty in silence.
        modelled: what the clay is modelled toward; None if it is not modelled.
        alive: whether the hold is kept alive by hand.
    """

    name: str
    mouth_set: MouthSet
    code: str | None
    put_on: bool
    word: str
    phoneme: str
    modelled: ModelledStep | None = None
    alive: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame of the movie: its scene and shot, its number and timecode there, and the characters of the shot."""

    scene: str
    shot: str
    number: int
    timecode: str
    cast: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class Clip:
    """A recording, or the part of it from `in_us` to `out_us`, that begins at `begins_us` in the movie.

    It is heard only from `first_us` to `last_us`, the span of its shot.
    """

    path: Path
    begins_us: int
    first_us: int
    last_us: int
    in_us: int | None = None
    out_us: int | None = None


@dataclass(frozen=True, slots=True)
class Reel:
    """All of a movie.

    Attributes:
        title: the production's.
        rate: frames a second.
        frames: in order.
        clips: in any order.
    """

    title: str
    rate: Fraction
    frames: tuple[Frame, ...]
    clips: tuple[Clip, ...]


def reel_of(production: Production, shots: Sequence[ShotPlan]) -> Reel:
    """Return the movie of shots, one after the other."""
    frames: list[Frame] = []
    clips: list[Clip] = []
    for plan in shots:
        base = len(frames)
        clips += _clips(production, plan, base)
        frames += _frames(production, plan)
    return Reel(production.file.title, production.rate, tuple(frames), tuple(clips))


def _clips(production: Production, plan: ShotPlan, base: int) -> list[Clip]:
    first_us = timing.frame_start_us(base, production.rate)
    last_us = timing.frame_start_us(base + plan.shot.frames, production.rate)
    return [
        Clip(
            path=production.folder / line.recording,
            begins_us=first_us + production.begins_us(line, plan.shot),
            first_us=first_us,
            last_us=last_us,
            in_us=line.in_us,
            out_us=line.out_us,
        )
        for line in plan.shot.line
        if line.id not in plan.missing
    ]


def _frames(production: Production, plan: ShotPlan) -> list[Frame]:
    job = sheet_job(production, plan, {cast.character: {} for cast in plan.cast})
    rows = rows_of(job)
    columns = [_seen(job, who, [row.cells[at] for row in rows]) for at, who in enumerate(job.characters)]
    return [
        Frame(plan.scene.title, job.shot, row.number, row.timecode, tuple(column[row.frame] for column in columns))
        for row in rows
    ]


def _seen(job: SheetJob, character: SheetCharacter, cells: Sequence[Cell]) -> list[Seen]:
    """Return what is seen and heard of a character on each frame of a shot."""
    heard: list[Sound | None] = [None] * job.frames
    for sound in character.sounds:
        if sound.end_us > 0:
            first = row_at(sound.start_us, job.rate)
            for frame in range(first, min(job.frames, max(first + 1, row_at(sound.end_us, job.rate)))):
                heard[frame] = sound
    modelled = {
        frame: ModelledStep(span.code, frame - span.first + 1, span.frames)
        for span in spans_of(cells)
        for frame in range(span.first, span.end)
    }
    alive = {frame for first, end in alive_spans(cells) for frame in range(first, end)}
    return [
        Seen(
            name=character.name,
            mouth_set=character.mouth_set,
            code=cell.piece,
            put_on=cell.fitted,
            word=sound.text if sound else "",
            phoneme=sound.symbol if sound else "",
            modelled=modelled.get(frame),
            alive=frame in alive,
        )
        for frame, (cell, sound) in enumerate(zip(cells, heard, strict=True))
    ]
