"""What taking lists and edits in would change of a production: a value for each thing that changes.

In: a production as it is, and scenes as they will be. Out: `Recut`s, in the order of scenes, shots and lines. A line
is the same line if it has the same id. Where a line begins is compared within its shot: a shot that starts elsewhere
in the film moves none of its lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lipsync import timing
from lipsync.production.production_tables import Line, Shot
from lipsync.production.values import Production
from lipsync.production.wanted import WantedLine, WantedScene, WantedScenes, WantedShot

What = Literal[
    "new shot", "shot gone", "grows", "shrinks", "starts elsewhere",
    "new", "gone", "in another shot", "moves", "trimmed", "re-recorded", "reworded", "another character",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Recut:
    """One thing that changes.

    Attributes:
        scene: the scene's id.
        shot: the shot's id; of a line that goes to another shot, the id of the new shot.
        line: the line's id; empty if the shot itself changes.
        what: what changes.
        frames: by how many frames; None if the change has no count of frames.
        was: the old value, in words.
        now: the new value, in words.
        old_shot: of a line, the id of the shot that it was in; empty if it is new.
    """

    scene: str
    shot: str
    line: str
    what: What
    frames: int | None = None
    was: str = ""
    now: str = ""
    old_shot: str = ""


def differences(production: Production, wanted: WantedScenes) -> tuple[Recut, ...]:
    """Return what changes, each thing once."""
    there = {scene.id: scene for scene in production.scenes}
    found: list[Recut] = []
    for scene in wanted.scenes:
        shots = {shot.id: shot for shot in there[scene.id].shots} if scene.id in there else {}
        found += _of_scene(production, scene, shots)
    return tuple(found)


def _of_scene(production: Production, scene: WantedScene, shots: Mapping[str, Shot]) -> Iterator[Recut]:
    lines = {line.id: (shot, line) for shot in shots.values() for line in shot.line}
    stay = {line.id for shot in scene.shots for line in shot.lines}
    for shot in scene.shots:
        yield from _of_shot(production, scene.id, shots.get(shot.id), shot)
        for line in shot.lines:
            if line.id in lines:
                yield from _of_line(production, scene.id, lines[line.id], shot, line)
            else:
                number = _number(production, line.begins_us)
                yield Recut(scene.id, shot.id, line.id, "new", now=f"frame {number}: {line.text}")
    wanted = {shot.id for shot in scene.shots}
    for id, was in shots.items():
        for gone in was.line:
            if gone.id not in stay:
                yield Recut(scene.id, id, gone.id, "gone", was=gone.text, old_shot=id)
        if id not in wanted:
            yield Recut(scene.id, id, "", "shot gone", -was.frames, was=f"{was.frames} frames")


def _of_shot(production: Production, scene: str, was: Shot | None, now: WantedShot) -> Iterator[Recut]:
    if was is None:
        yield Recut(scene, now.id, "", "new shot", now.frames, now=f"{now.frames} frames from {now.start}")
        return
    if (by := now.frames - was.frames) != 0:
        what: What = "grows" if by > 0 else "shrinks"
        yield Recut(scene, now.id, "", what, by, f"{was.frames} frames", f"{now.frames} frames")
    if now.start != was.start:
        first, _ = timing.parse_timecode(was.start, production.rate)
        by = timing.parse_timecode(now.start, production.rate)[0] - first
        yield Recut(scene, now.id, "", "starts elsewhere", by, was.start, now.start)


def _of_line(
    production: Production, scene: str, old: tuple[Shot, Line], shot: WantedShot, now: WantedLine
) -> Iterator[Recut]:
    old_shot, was = old
    began_us = production.begins_us(was, old_shot)

    def one(what: What, frames: int | None, said: object, says: object) -> Recut:
        return Recut(scene, shot.id, now.id, what, frames, str(said), str(says), old_shot.id)

    numbers = _number(production, began_us), _number(production, now.begins_us)
    if old_shot.id != shot.id:
        yield one("in another shot", None, f"{old_shot.id} frame {numbers[0]}", f"{shot.id} frame {numbers[1]}")
    elif not same_time(began_us, now.begins_us, production.rate, whole_frames=now.whole_frames):
        by = numbers[1] - numbers[0]
        said = [f"frame {number}" for number in numbers]
        if not by:
            said = [f"{timing.seconds_of(time_us)} s" for time_us in (began_us, now.begins_us)]
        yield one("moves", by, *said)
    if was.recording != now.recording:
        yield one("re-recorded", None, was.recording, now.recording)
    points = (was.in_us, was.out_us), (now.in_us, now.out_us)
    if not all(
        same_point(*pair, production.rate, whole_frames=now.whole_frames) for pair in zip(*points, strict=True)
    ):
        yield one("trimmed", None, *map(_part, points))
    if was.text != now.text:
        yield one("reworded", None, was.text, now.text)
    if was.character != now.character:
        yield one("another character", None, was.character, now.character)


def same_time(was_us: int, now_us: int, rate: Fraction, *, whole_frames: bool) -> bool:
    """Whether two times are the same; with `whole_frames` (of an edit) also if they are nearest to one frame."""
    near = whole_frames and timing.nearest_frame(was_us, rate) == timing.nearest_frame(now_us, rate)
    return was_us == now_us or near


def same_point(was_us: int | None, now_us: int | None, rate: Fraction, *, whole_frames: bool) -> bool:
    """Whether two points of a recording are the same (`same_time`); None is its beginning or its end."""
    if was_us is None or now_us is None:
        return (was_us or None) == (now_us or None)
    return same_time(was_us, now_us, rate, whole_frames=whole_frames)


def _number(production: Production, time_us: int) -> int:
    return timing.number_of(timing.nearest_frame(time_us, production.rate), production.file.first_frame)


def _part(points: tuple[int | None, int | None]) -> str:
    """Return which part of a recording is used, in words.

    >>> _part((None, 5_100_000)), _part((1_500_000, None))
    ('start to 5.1 s', '1.5 s to end')
    """
    first, end = points
    begins = f"{timing.seconds_of(first):g} s" if first else "start"
    ends = "end" if end is None else f"{timing.seconds_of(end):g} s"
    return f"{begins} to {ends}"
