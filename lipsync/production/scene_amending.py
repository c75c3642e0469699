"""Scenes' files as they will be once lists and edits are taken: amended, or new for a new scene.

In: a production, and scenes as they will be. Out: the new bytes of each file that changes. Within these files, what
does not change keeps every byte.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lipsync import timing
from lipsync.errors import InputError, Problem
from lipsync.production.production_tables import Line, Shot
from lipsync.production.recut import same_point, same_time
from lipsync.production.scene_text import Entry, InlineTablesError, SceneText, new_scene_text
from lipsync.production.values import Production, Scene
from lipsync.production.wanted import WantedLine, WantedScene, WantedScenes, WantedShot
from lipsync.production.written_times import begins_us


def amended(production: Production, wanted: WantedScenes) -> dict[Path, bytes]:
    """Return the new bytes of each file that changes, by its path.

    Raises:
        InputError: if a file's shots are written in a form that cannot be amended.
    """
    found: dict[Path, bytes] = {}
    problems: list[Problem] = []
    there = {scene.id: scene for scene in production.scenes}
    for scene in wanted.scenes:
        present = there.get(scene.id)
        path = present.path if present else production.folder / "scenes" / f"{scene.id}.toml"
        before = path.read_bytes() if present else b""
        try:
            after = _text(production, scene, present, before).encode()
        except InlineTablesError:
            text = "has its shots or lines in brackets; write each as [[shot]] and [[shot.line]], and take again"
            problems.append(Problem(str(path), "", text))
            continue
        if after != before:
            found[path] = after
    if problems:
        raise InputError(problems)
    return found


def _text(production: Production, scene: WantedScene, present: Scene | None, before: bytes) -> str:
    text = SceneText(before.decode("utf-8") if present else new_scene_text(scene.title))
    shots = {shot.id: shot for shot in present.shots} if present else {}
    lines = {line.id: (shot, line) for shot in shots.values() for line in shot.line}
    above: str | None = None
    for shot in scene.shots:
        if shot.id not in shots:
            text.add_shot([("id", shot.id), ("frames", shot.frames), ("start", shot.start)], above)
        elif entries := list(_shot_entries(shots[shot.id], shot)):
            text.set_shot(shot.id, entries)
        above = shot.id
    wanted = {line.id for shot in scene.shots for line in shot.lines}
    for id in lines:
        if id not in wanted:
            text.drop_line(id)
    for shot in scene.shots:
        over: str | None = None
        for line in shot.lines:
            if line.id not in lines:
                text.add_line(shot.id, _new_entries(production, shot, line), over)
            else:
                _amend_line(production, text, (shot, line), lines[line.id], over)
            over = line.id
    for id in shots.keys() - {shot.id for shot in scene.shots}:
        text.drop_shot(id)
    return text.text()


def _shot_entries(was: Shot, now: WantedShot) -> Iterator[Entry]:
    if was.frames != now.frames:
        yield "frames", now.frames
    if was.start != now.start:
        yield "start", now.start


def _amend_line(
    production: Production,
    text: SceneText,
    wanted: tuple[WantedShot, WantedLine],
    present: tuple[Shot, Line],
    over: str | None,
) -> None:
    shot, line = wanted
    if present[0].id != shot.id:
        text.move_line(line.id, shot.id, over)
    if entries := list(_line_entries(production, shot, line, present[1])):
        text.set_line(line.id, entries)


def _line_entries(production: Production, shot: WantedShot, now: WantedLine, was: Line) -> Iterator[Entry]:
    for key in ("character", "recording", "text"):
        if getattr(was, key) != getattr(now, key):
            yield key, getattr(now, key)
    rate = production.rate
    if not same_point(was.in_us, now.in_us, rate, whole_frames=now.whole_frames):
        yield "in", _written_point(now.in_point, now.in_us)
    if not same_point(was.out_us, now.out_us, rate, whole_frames=now.whole_frames):
        yield "out", _written_point(now.out_point, now.out_us)
    try:
        stands_us = begins_us(was.begins, shot.start, rate, production.file.first_frame)
    except ValueError:  # the shot's timecode changes between drop-frame and non-drop
        stands_us = None
    if stands_us is None or not same_time(stands_us, now.begins_us, rate, whole_frames=now.whole_frames):
        yield "begins", _written_begins(production, shot, now)


def _new_entries(production: Production, shot: WantedShot, line: WantedLine) -> list[Entry]:
    return [
        ("id", line.id),
        ("character", line.character),
        ("recording", line.recording),
        ("in", _written_point(line.in_point, line.in_us)),
        ("out", _written_point(line.out_point, line.out_us)),
        ("text", line.text),
        ("begins", _written_begins(production, shot, line)),
    ]


def _written_point(written: float | str | None, time_us: int | None) -> float | str | None:
    return timing.seconds_of(time_us) if written is None and time_us is not None else written


def _written_begins(production: Production, shot: WantedShot, line: WantedLine) -> int | str:
    """Return where a line begins, as written in the list or edit if that is the same time, else in a similar form."""
    first, rate = production.file.first_frame, production.rate
    frame = timing.nearest_frame(line.begins_us, rate)
    start, drop = timing.parse_timecode(shot.start, rate)
    forms: list[int | str] = [line.begins, timing.number_of(frame, first)]
    if isinstance(line.begins, str) and ":" in line.begins and start + frame >= 0:
        forms.insert(1, timing.timecode(start + frame, rate, drop=drop))
    for form in forms:
        try:
            if begins_us(form, shot.start, rate, first) == line.begins_us:
                return form
        except ValueError:
            continue
    return f"{timing.seconds_of(line.begins_us)} s"
