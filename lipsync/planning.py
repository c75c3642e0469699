"""From breakdowns to tracks: for each shot, what each of its characters wears on each frame.

In: a production and its heard lines. Out: `Plans`, with a `ShotPlan` for each shot, also where nobody speaks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync import timing
from lipsync.errors import Problem
from lipsync.filming.holding import held_of
from lipsync.filming.misfits import misfits
from lipsync.filming.spans import said
from lipsync.fit.fitting import fit
from lipsync.fit.job import Job, VoiceRange, voice_range
from lipsync.fit.settings import settings_for
from lipsync.hearing import Heard, HeardLine, Only
from lipsync.model import FrameTrack, Sound, sounds_of
from lipsync.production import Production, Scene, Shot, rest_piece
from lipsync.report import Progress, Report, no_progress

# More places than these where the sound does not fit what is filmed are counted, not listed (chosen).
_MOST_MISFITS = 8


@dataclass(frozen=True, slots=True)
class CastPlan:
    """One character in one shot: its track, its sounds in the shot's time, its level on each frame."""

    character: str
    track: FrameTrack
    sounds: tuple[Sound, ...]
    levels_db: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ShotPlan:
    """A shot with all its characters.

    Attributes:
        scene: its scene.
        shot: the shot.
        cast: each character's track.
        missing: ids of the lines that are not in it because they could not be done.
        filmed: its frames that are in the can.
    """

    scene: Scene
    shot: Shot
    cast: tuple[CastPlan, ...]
    missing: tuple[str, ...] = ()
    filmed: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Plans:
    """The shots, in order, and what is to be said."""

    shots: tuple[ShotPlan, ...]
    report: Report


def plan(
    production: Production,
    heard: Heard,
    only: Only | None = None,
    progress: Progress = no_progress,
    *,
    ranges: Mapping[str, VoiceRange | None] | None = None,
) -> Plans:
    """Return the track of each character in each shot meant.

    Frames that are in the can stay as they were filmed (filming/holding.py).

    Args:
        production: the production.
        heard: all its lines; or, with `ranges`, at least those of the shots meant.
        only: which shots; all if None.
        progress: told of each shot done.
        ranges: how quietly and loudly each character speaks over the whole production; from `heard` if None.
    """
    only = only or Only()
    shots = production.shots(only.scene, only.shot)
    lines, problems = _without_overlap(production, heard)
    ranges = _voice_ranges(heard) if ranges is None else ranges
    plans: list[ShotPlan] = []
    messages: list[str] = []
    held = held_of(production, shots)
    for index, (scene, shot) in enumerate(shots):
        progress("fitting", index, len(shots))
        if shot.id in held.barred:
            continue
        here = [line for line in lines if line.placed.shot.id == shot.id]
        messages += (text for line in here for text in _outside(production, line))
        cast: list[CastPlan] = []
        for character in shot.speakers:
            job = _job(production, shot, character, here, ranges.get(character))
            job = replace(job, filmed=held.of(shot.id).worn.get(character, {}))
            cast.append(CastPlan(character, fit(job), tuple(job.sounds), _levels(character, here)))
            messages += _unfit(production, scene, shot, job, cast[-1].track)
        done = {line.placed.line.id for line in here}
        missing = tuple(line.id for line in shot.line if line.id not in done)
        plans.append(ShotPlan(scene, shot, tuple(cast), missing, held.of(shot.id).frames))
    progress("fitting", len(shots), len(shots))
    return Plans(tuple(plans), Report(tuple(problems), tuple(messages)) + held.report)


def _voice_ranges(heard: Heard) -> dict[str, VoiceRange | None]:
    """Return the range of each character's voice over all its lines."""
    spoken: dict[str, list[Sound]] = defaultdict(list)
    for line in heard.lines:
        spoken[line.placed.line.character] += sounds_of(line.kept.breakdown, line.placed.line.id, line.begins_us)
    return {character: voice_range(sounds) for character, sounds in spoken.items()}


def _levels(character: str, lines: Sequence[HeardLine]) -> tuple[float, ...]:
    own = [line.levels_db for line in lines if line.placed.line.character == character]
    return tuple(max(column) for column in zip(*own, strict=True))


def _unfit(production: Production, scene: Scene, shot: Shot, job: Job, track: FrameTrack) -> Iterator[str]:
    """Say where the sound no longer fits what is filmed."""
    found = misfits(job, track)
    if found:
        base = production.file.first_frame
        places = [f"{said(range(one.span[0], one.span[1] + 1), base)} ({one})" for one in found[:_MOST_MISFITS]]
        more = [f"{len(found) - len(places)} other places"] if len(found) > len(places) else []
        yield (
            f'{scene.path}: [[shot]] "{shot.id}": {job.character}: what is filmed does not fit the sound: '
            f"{'; '.join([*places, *more])}"
        )


def _job(
    production: Production, shot: Shot, character: str, lines: Sequence[HeardLine], voice: VoiceRange | None
) -> Job:
    own = [line for line in lines if line.placed.line.character == character]
    sounds = tuple(
        sound for line in own for sound in sounds_of(line.kept.breakdown, line.placed.line.id, line.begins_us)
    )
    mouth_set = production.mouth_sets[character]
    said = shot.characters.get(character)
    rests_on = rest_piece(mouth_set, said.rests_on if said else None)
    assert rests_on is not None  # the production was checked when it was read
    choices = [choice for line in own for choice in line.kept.pieces]
    forbidden: dict[int, frozenset[str]] = defaultdict(frozenset)
    for choice in choices:
        if choice.forbidden:
            forbidden[choice.frame] |= {choice.code}
    return Job(
        character=character,
        sounds=sounds,
        on_camera=production.on_camera(character, shot),
        mouth_set=mouth_set,
        settings=settings_for(production.file.fitting, mouth_set.fitting),
        rate=production.rate,
        rests_on=rests_on,
        voice=voice,
        pinned={choice.frame: choice.code for choice in choices if not choice.forbidden},
        forbidden=forbidden,
    )


def _without_overlap(production: Production, heard: Heard) -> tuple[tuple[HeardLine, ...], tuple[Problem, ...]]:
    """Leave out a line that is heard while the same character's line before it in the shot is still heard."""
    kept: list[HeardLine] = []
    problems: list[Problem] = []
    groups: dict[tuple[str, str], list[HeardLine]] = defaultdict(list)
    for line in heard.lines:
        groups[line.placed.shot.id, line.placed.line.character].append(line)
    for lines in groups.values():
        lines.sort(key=_first_us)
        reached: HeardLine | None = None
        for line in lines:
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
    text = (
        f"is heard from frame {first}, while {before.placed.line.id} of the same character is heard up to frame "
        f"{last}; let one of them begin elsewhere. It is left out of the sheet"
    )
    return Problem(str(after.placed.scene.path), after.placed.place, text)


def _outside(production: Production, line: HeardLine) -> Iterator[str]:
    """What of a line is heard outside its shot, where no frame can show it."""
    where = f"{line.placed.scene.path}: {line.placed.place}"
    end_us = timing.frame_start_us(line.placed.shot.frames, production.rate)
    if _first_us(line) < 0:
        first = production.file.first_frame
        yield f"{where}: begins before its shot does; what is heard before frame {first} is on no sheet"
    if _last_us(line) > end_us:
        last = production.file.first_frame + line.placed.shot.frames - 1
        heard = _number(production, _last_us(line) - 1)
        yield (
            f"{where}: is heard up to frame {heard}, after its shot's last frame, {last}; "
            "lengthen the shot or let the line begin earlier"
        )
