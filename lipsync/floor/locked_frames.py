"""What a plan must keep: for each shot the frames in the can, and what each of its characters wore on them.

In: a production and its shots. Out: `LockedShots`, with a `LockedShot` for each shot of which something is filmed. A
shot whose record contradicts the production is not planned at all, and a problem says what to do: a plan that loses a
filmed frame is worse than none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from lipsync.errors import InputError, Problem
from lipsync.floor import record_file
from lipsync.floor.record import Filmed
from lipsync.floor.shot_files import ShotFiles
from lipsync.floor.spans import said
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report


@dataclass(frozen=True, slots=True)
class LockedShot:
    """A shot's frames in the can, and for each of its characters the code on each, None where it was off camera."""

    frames: frozenset[int] = frozenset()
    worn: Mapping[str, Mapping[int, str | None]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LockedShots:
    """What is held of the shots, by scene and id; the shots that cannot be planned; and what is to be said."""

    shots: Mapping[tuple[str, str], LockedShot]
    barred: frozenset[tuple[str, str]]
    report: Report

    def of(self, scene: str, shot: str) -> LockedShot:
        """Return what is held of a shot."""
        return self.shots.get((scene, shot), LockedShot())


def held_of(production: Production, shots: Iterable[tuple[Scene, Shot]]) -> LockedShots:
    """Return what a plan of these shots must keep.

    Raises:
        InputError: if a shot has two records.
    """
    files = record_file.records_in(production)
    found: dict[tuple[str, str], LockedShot] = {}
    problems: list[Problem] = []
    messages: list[str] = list(_of_no_shot(files))
    barred: set[tuple[str, str]] = set()
    for scene, shot in shots:
        path = files.of_shots.get((scene.id, shot.id))
        if path is None:
            continue
        try:
            record = record_file.read(path)
            faults = list(_faults(production, scene, shot, record, path))
        except InputError as error:
            faults = list(error.problems)
        if faults:
            problems += faults
            barred.add((scene.id, shot.id))
            continue
        found[scene.id, shot.id] = _held(shot, record)
        messages += _to_know(production, scene, shot, record, path)
    return LockedShots(found, frozenset(barred), Report(tuple(problems), tuple(messages)))


def _held(shot: Shot, record: Filmed) -> LockedShot:
    frames = record.frames
    worn = record.worn
    # Whoever the record does not know was not there when the frames were filmed.
    off: dict[int, str | None] = dict.fromkeys(sorted(frames))
    return LockedShot(
        frames,
        {who: off | {frame: wear.code for frame, wear in worn.get(who, {}).items()} for who in shot.speakers},
    )


def _faults(production: Production, scene: Scene, shot: Shot, record: Filmed, path: Path) -> Iterator[Problem]:
    first, name = production.file.first_frame, f'[[shot]] "{shot.id}"'
    frames = record.frames
    if record.shot != shot.id:
        yield Problem(
            str(path), "shot", f"found {record.shot!r}, but the file is named for {shot.id!r}; mend one of them"
        )
    if beyond := {frame for frame in frames if frame >= shot.frames}:
        last = first + max(frames)
        text = (
            f"found {shot.frames}, but {said(beyond, first)} of shot {shot.id} went into the can; "
            f"give it {max(frames) + 1} frames, or unlock what is cut: "
            f"lipsync unlock {production.folder} {production.called(scene.id, shot.id)} --from {first + min(beyond)} --to {last}"
        )
        yield Problem(str(scene.path), f"{name} frames", text)
    for who, worn in record.worn.items():
        if who not in shot.speakers and any(wear.code is not None for wear in worn.values()):
            there = ", ".join(shot.speakers) or "nobody"
            text = (
                f"is in the can on {said(worn, first)}, but shot {shot.id} now has {there}; name it in the shot "
                f"again, as [shot.characters.{who}], or write its new id in this file if it was renamed"
            )
            yield Problem(str(path), who, text)


def _to_know(production: Production, scene: Scene, shot: Shot, record: Filmed, path: Path) -> Iterator[str]:
    first, worn = production.file.first_frame, record.worn
    called = production.called(scene.id, shot.id)
    for who in shot.speakers:
        if record.frames and who not in worn:
            yield (
                f"{path}: {who} was on no print when {said(record.frames, first)} went into the can, and is taken to "
                f"be off camera there; if it was seen, say what it wore: lipsync lock {production.folder} {called} "
                f"--wore FRAME={who}:CODE"
            )
        mouth_set = production.mouth_sets[who]
        gone: dict[str, list[int]] = {}
        for frame, wear in worn.get(who, {}).items():
            if wear.code is not None and wear.code not in mouth_set.by_code:
                gone.setdefault(wear.code, []).append(frame)
        for code, frames in gone.items():
            yield (
                f"{path}: {who} wears {code} on {said(frames, first)}, a code that {mouth_set.name} does not have; "
                "the frames are in the can and stay so"
            )


def _of_no_shot(files: ShotFiles) -> Iterator[str]:
    for (_, shot), path in files.of_none.items():
        yield (
            f"{path}: the production has no shot {shot} there; if it was renamed, give this file the new name, "
            "and write it in the file's first and last lines"
        )
