"""What taking would do to shots of which frames are in the can: they change only if each is named.

In: a production, scenes as they will be, and what changes. Out: a problem for each filmed shot that would change and
was not named, which says what the change would do; or scenes in which the shots to be left stay as they are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lipsync.errors import InputError, Problem
from lipsync.floor import record_file
from lipsync.floor.spans import said
from lipsync.message import Where
from lipsync.production.recut import Recut
from lipsync.production.values import Production
from lipsync.production.wanted import WantedScene, WantedScenes, WantedShot, as_it_is


def filmed_faults(production: Production, found: Sequence[Recut], named: Sequence[str]) -> Iterator[Problem]:
    """Yield a problem for each filmed shot that would change and is not named.

    Raises:
        InputError: if a record of what is filmed is broken.
    """
    touched: dict[tuple[str, str], list[Recut]] = defaultdict(list)
    for one in found:
        if one.what != "starts elsewhere":  # then its frames stay, and what is heard on them
            for shot in dict.fromkeys((one.shot, one.old_shot)):
                if shot:
                    touched[one.scene, shot].append(one)
    places = record_file.records_in(production).of_shots
    for (scene, shot), changes in touched.items():
        path = places.get((scene, shot))
        frames = record_file.read(path).frames if path else frozenset()
        if not frames or f"{scene}/{shot}" in named:
            continue
        there = said(frames, production.file.first_frame)
        what = "; ".join(_done_to(production, one, frames) for one in changes)
        where, facts = Where(f"scene {scene}", f"shot {shot}"), {"filmed": there, "changes": what}
        yield Problem.of("taking touches filmed frames", where, **facts, called=f"{scene}/{shot}")


def _done_to(production: Production, one: Recut, frames: frozenset[int]) -> str:
    """Return what a change would do to the frames in the can, in words."""
    if one.line:
        by = f" by {one.frames:+} frames" if one.frames else ""
        change = f" from {one.was!r} to {one.now!r}" if one.what in ("moves", "trimmed", "reworded") else ""
        return f"Line {one.line}: {one.what}{by}{change}: filmed mouths would not follow it"
    if one.what == "shot gone":
        return "The shot is gone: nothing of it would be seen"
    if one.what == "shrinks":
        length = max(frames) + 1
        now = int(one.now.split()[0])
        if now < length:
            cut = said(frozenset(f for f in frames if f >= now), production.file.first_frame)
            return f"It shrinks by {-(one.frames or 0)} frames: {cut} would be cut off"
        return f"It shrinks by {-(one.frames or 0)} frames behind what is filmed"
    return f"It {one.what} by {one.frames or 0:+} frames behind what is filmed"


def left_as_it_is(production: Production, wanted: WantedScenes, leave: Sequence[str]) -> WantedScenes:
    """Return scenes in which these shots, as SCENE/SHOT, and their lines, stay as they are.

    Raises:
        InputError: if there is no such shot.
    """
    if not leave:
        return wanted
    asked: set[tuple[str, str]] = set()
    for name in leave:
        scene, _, shot = name.rpartition("/")
        found = production.shots(scene or None, shot)
        if len(found) > 1:
            also = ", ".join(f"{one.id}/{shot}" for one, _ in found)
            raise InputError.of("leaves one of several", Where("--leave", name), known=also)
        asked.add((found[0][0].id, shot))
    return replace(wanted, scenes=tuple(_left(production, scene, asked) for scene in wanted.scenes))


def _left(production: Production, scene: WantedScene, asked: set[tuple[str, str]]) -> WantedScene:
    ids = {shot for where, shot in asked if where == scene.id}
    if not ids:
        return scene
    there = next(one for one in production.scenes if one.id == scene.id)
    kept = {
        shot.id: WantedShot(
            shot.id, shot.frames, shot.start, tuple(as_it_is(production, line, shot) for line in shot.line)
        )
        for shot in there.shots
        if shot.id in ids
    }
    held = {line.id for shot in kept.values() for line in shot.lines}
    out = {line.id for shot in scene.shots if shot.id in ids for line in shot.lines} - held
    shots = [
        kept.get(shot.id) or replace(shot, lines=tuple(line for line in shot.lines if line.id not in held))
        for shot in scene.shots
    ]
    shots += [shot for id, shot in kept.items() if id not in {one.id for one in shots}]
    # A line that would move into a shot that stays as it is stays where it is too.
    back = [(shot, line) for shot in there.shots for line in shot.line if line.id in out]
    for shot, line in back:
        at = next((at for at, one in enumerate(shots) if one.id == shot.id), None)
        if at is None:
            shots.append(WantedShot(shot.id, shot.frames, shot.start, (as_it_is(production, line, shot),)))
        else:
            shots[at] = replace(shots[at], lines=(*shots[at].lines, as_it_is(production, line, shot)))
    return replace(scene, shots=tuple(shots))
