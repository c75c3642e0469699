"""What a movie shows on each of its frames, and which sound lies where.

In: a production, its plans and the shots meant. Out: a `Reel`: the frames of the shots one after the other, each with
what each character wears and says, and the recordings with the time at which each begins. Times are microseconds from
the movie's first frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from lipsync import timing
from lipsync.app.planning import CastPlan, ShotPlan
from lipsync.fit.mouthset import MouthSet
from lipsync.production.values import Production
from lipsync.track import Sound


@dataclass(frozen=True, slots=True)
class Seen:
    """A character on a frame.

    Attributes:
        name: as it is shown.
        mouth_set: its mouth set; pieces of the same code in another set are other pieces.
        code: the piece that it wears; None off camera.
        put_on: whether the piece is put on here.
        word: what it is heard to say; empty in silence.
        phoneme: the phoneme or cue that is heard.
    """

    name: str
    mouth_set: MouthSet
    code: str | None
    put_on: bool
    word: str
    phoneme: str


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame of the movie: which of which shot, and who is seen on it."""

    scene: str
    shot: str
    number: int
    timecode: str
    cast: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class Clip:
    """A recording, or the part of it from `in_us` to `out_us`, that begins at a time of the movie.

    Only what lies from `first_us` to `last_us`, its shot, is heard.
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
    start, drop = production.start_frame(plan.shot)
    columns = [_seen(production, cast) for cast in plan.cast]
    return [
        Frame(
            scene=plan.scene.title,
            shot=plan.shot.id,
            number=timing.number_of(frame, production.file.first_frame),
            timecode=timing.timecode(start + frame, production.rate, drop=drop),
            cast=tuple(column[frame] for column in columns),
        )
        for frame in range(plan.shot.frames)
    ]


def _seen(production: Production, cast: CastPlan) -> list[Seen]:
    name = production.file.characters[cast.character].name
    mouth_set = production.mouth_sets[cast.character]
    put_on = {fitting.frame for fitting in cast.track.fittings}
    heard: list[Sound | None] = [None] * len(cast.track.pieces)
    for sound in cast.sounds:
        first = max(0, timing.frame_at(sound.start_us, production.rate))
        for frame in range(first, min(len(heard), timing.frame_at(sound.end_us - 1, production.rate) + 1)):
            heard[frame] = sound
    return [
        Seen(name, mouth_set, code, frame in put_on, sound.text if sound else "", sound.symbol if sound else "")
        for frame, (code, sound) in enumerate(zip(cast.track.pieces, heard, strict=True))
    ]
