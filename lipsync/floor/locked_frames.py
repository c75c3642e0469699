"""What a plan must keep: for each shot the frames in the can, and what each of its characters wore on them.

In: a production and its shots. Out: `LockedShots`, with a `LockedShot` for each shot of which something is filmed. A
shot whose record contradicts the production is not planned at all, and a problem says what to do: a plan that loses a
filmed frame is worse than none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from lipsync.errors import InputError, Problem
from lipsync.floor import prints, record_file
from lipsync.floor.as_filmed import FilmedCells, filmed_cells, print_of
from lipsync.floor.prints import Prints
from lipsync.floor.record import Filmed
from lipsync.floor.shot_files import ShotFiles
from lipsync.floor.spans import frames_in, said
from lipsync.message import Message, Where
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report
from lipsync.seen import SeenFile, seen


@dataclass(frozen=True, slots=True)
class LockedShot:
    """A shot's frames in the can, and for each of its characters what it wore on each.

    Attributes:
        frames: the frames, from 0.
        worn: for each character the code on each of them; None where it was off camera.
        as_filmed: what the rows of these frames say, for each character.
        record: the state of the shot's record file, taken before it was read (seen.py).
        prints: the same of the file of its prints.
    """

    frames: frozenset[int] = frozenset()
    worn: Mapping[str, Mapping[int, str | None]] = field(default_factory=dict)
    as_filmed: Mapping[str, FilmedCells] = field(default_factory=dict)
    record: tuple[SeenFile, ...] = ()
    prints: tuple[SeenFile, ...] = ()


@dataclass(frozen=True, slots=True)
class LockedShots:
    """What a plan of several shots must keep.

    Attributes:
        shots: the locked frames, by scene and shot.
        not_planned: shots whose record contradicts the production.
        report: what to mend and what to know.
    """

    shots: Mapping[tuple[str, str], LockedShot]
    not_planned: frozenset[tuple[str, str]]
    report: Report

    def of(self, scene: str, shot: str) -> LockedShot:
        """Return the locked frames of a shot."""
        return self.shots.get((scene, shot), LockedShot())


def locked_shots(production: Production, shots: Iterable[tuple[Scene, Shot]]) -> LockedShots:
    """Return what a plan of these shots must keep.

    Raises:
        InputError: if a shot has two records.
    """
    records, printed = record_file.records_in(production), prints.prints_in(production)
    found: dict[tuple[str, str], LockedShot] = {}
    problems: list[Problem] = []
    messages: list[Message] = list(_records_of_no_shot(records))
    not_planned: set[tuple[str, str]] = set()
    for scene, shot in shots:
        path = records.of_shots.get((scene.id, shot.id))
        print_path = printed.of_shots.get((scene.id, shot.id))
        was_record = seen(path or record_file.own_place(production.folder, scene.id, shot.id))
        was_prints = seen(print_path or prints.own_place(production.folder, scene.id, shot.id))
        if path is None:
            found[scene.id, shot.id] = LockedShot(record=was_record, prints=was_prints)
            continue
        try:
            record = record_file.read(path)
            known = prints.read(print_path) if print_path is not None else Prints(shot.id)
            untrue = _differing_from_print(production, record, known, path)
            faults = [
                *_faults(production, scene, shot, record, path),
                *(one.within(scene.where(shot)) for one in untrue),
            ]
        except InputError as error:
            faults = [one.within(scene.where(shot)) for one in error.problems]
        if faults:
            problems += faults
            not_planned.add((scene.id, shot.id))
            continue
        locked = _locked_shot(production, shot, record, known)
        found[scene.id, shot.id] = replace(locked, record=was_record, prints=was_prints)
        messages += _messages(production, scene, shot, record, path)
        messages += _missing_prints(production, scene.where(shot), record, known, path)
    return LockedShots(found, frozenset(not_planned), Report(tuple(problems), tuple(messages)))


def _locked_shot(production: Production, shot: Shot, record: Filmed, known: Prints) -> LockedShot:
    frames = record.frames
    worn = record.worn
    # A character that the record does not name was not there when the frames were filmed.
    off: dict[int, str | None] = dict.fromkeys(sorted(frames))
    return LockedShot(
        frames,
        {who: off | {frame: wear.code for frame, wear in worn.get(who, {}).items()} for who in shot.speakers},
        filmed_cells(record, known, {who: production.file.characters[who].name for who in shot.speakers}),
    )


def _missing_prints(
    production: Production, where: Where, record: Filmed, known: Prints, path: Path
) -> Iterator[Message]:
    """Yield a message for each lock whose print is missing."""
    for event in record.events:
        frames = record.frames & frames_in(event.frames)
        if event.what == "lock" and frames and print_of(event, known) is None:
            yield Message.of(
                "print filmed from is gone",
                replace(where, file=str(path), place=""),
                frames=said(frames, production.file.first_frame),
                revision=event.revision,
                stamp=event.stamp,
                prints=production.folder / prints.FOLDER,
            )


def _differing_from_print(production: Production, record: Filmed, known: Prints, path: Path) -> Iterator[Problem]:
    """Yield where a record says that another piece was planned than the print that it names."""
    for row, event in enumerate(record.events, start=1):
        state = print_of(event, known) if event.what == "lock" else None
        if state is None:
            continue
        for who, runs in event.worn.items():
            pieces = state.pieces(who)
            planned = {frame: run.planned for run in runs for frame in range(run.first, run.last + 1)}
            false = [f for f, code in planned.items() if pieces and (f >= len(pieces) or pieces[f] != code)]
            if false:
                asked = pieces[false[0]] if false[0] < len(pieces) else None
                yield Problem.of(
                    "record untrue",
                    Where(str(path), f"[[event]] {row} [worn] {who}"),
                    frames=said(false, production.file.first_frame),
                    planned=planned[false[0]] or "off camera",
                    revision=event.revision,
                    stamp=event.stamp,
                    asked=asked or "off camera",
                )


def _faults(production: Production, scene: Scene, shot: Shot, record: Filmed, path: Path) -> Iterator[Problem]:
    first, where = production.file.first_frame, scene.where(shot)
    frames = record.frames
    if record.shot != shot.id:
        facts = {"found": record.shot, "shot": shot.id}
        yield Problem.of("record named for another", replace(where, file=str(path), place="shot"), **facts)
    if beyond := {frame for frame in frames if frame >= shot.frames}:
        last = first + max(frames)
        yield Problem.of(
            "shorter than filmed",
            replace(where, place=f"{where.place} frames"),
            frames=shot.frames,
            filmed=said(beyond, first),
            shot=shot.id,
            called=production.called(scene.id, shot.id),
            needed=max(frames) + 1,
            production=production.folder,
            first=first + min(beyond),
            last=last,
        )
    for who, worn in record.worn.items():
        if who not in shot.speakers and any(wear.code is not None for wear in worn.values()):
            there = ", ".join(shot.speakers) or "nobody"
            told = {"filmed": said(worn, first), "shot": shot.id, "there": there, "character": who}
            yield Problem.of("filmed and gone", replace(where, file=str(path), place=who), **told)


def _messages(production: Production, scene: Scene, shot: Shot, record: Filmed, path: Path) -> Iterator[Message]:
    first, worn = production.file.first_frame, record.worn
    where = replace(scene.where(shot), file=str(path), place="")
    called = production.called(scene.id, shot.id)
    for who in shot.speakers:
        if record.frames and who not in worn:
            facts = {"character": who, "filmed": said(record.frames, first), "called": called}
            yield Message.of("on no print", where, production=production.folder, **facts)
        mouth_set = production.mouth_sets[who]
        gone: dict[str, list[int]] = {}
        for frame, wear in worn.get(who, {}).items():
            if wear.code is not None and wear.code not in mouth_set.by_code:
                gone.setdefault(wear.code, []).append(frame)
        for code, frames in gone.items():
            told = {"character": who, "code": code, "filmed": said(frames, first), "mouth_set": mouth_set.name}
            yield Message.of("filmed code gone", where, **told)


def _records_of_no_shot(files: ShotFiles) -> Iterator[Message]:
    for (scene, shot), path in files.of_none.items():
        yield Message.of("record of no shot", Where(str(path), scene=scene, shot=shot), shot=shot)
