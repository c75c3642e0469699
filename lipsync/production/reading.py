"""Reading a production's folder: all its files in, one checked `Production` out, or every fault in one go.

Each file's own table is checked as it is read (tomlfile.py); here is checked what one table says of another. Where a
file is broken, what stands of it is checked all the same; a field that is broken is then None, and is passed over.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from lipsync import timing
from lipsync.errors import InputError, Problem
from lipsync.fit.mouthset import MouthSet, load_mouth_set
from lipsync.fit.settings import settings_for
from lipsync.fit.shooting import faults_in
from lipsync.production.tables import Line, OnCamera, ProductionFile, SceneFile, Shot
from lipsync.production.values import Production, Scene, rest_piece, shipped
from lipsync.tomlfile import read_what_stands

# A line may begin before its shot does and be heard into it, but no recording is longer than this (chosen): beyond it
# the hour of a timecode is wrong.
_LONGEST_LINE_S = 600

Found = Iterator[tuple[str, str]]


def load_production(folder: Path) -> Production:
    """Return the checked production of a folder.

    Raises:
        InputError: naming every fault of every file.
    """
    remedy = "give the folder of a production, or start one with `lipsync new FOLDER`"
    if folder.is_file():
        raise InputError.one(folder, "", f"is a file; give the folder of the production, such as {folder.parent}")
    file, problems = read_what_stands(folder / "production.toml", ProductionFile, remedy)
    scenes, of_scenes = _scenes(folder / "scenes")
    problems += of_scenes
    if file is not None and not scenes and not of_scenes:
        problems += (Problem(str(folder / "scenes"), "", "holds no scene; write one as NAME.toml there"),)
    production = None
    if file is not None:
        mouth_sets, of_sets = _mouth_sets(folder, file)
        production = Production(folder, file, mouth_sets, scenes)
        problems += (*of_sets, *_faults_across(production))
    problems += tuple(_shared_ids(scenes))
    if production is not None and not problems:
        problems = tuple(settings_faults(production, folder / "production.toml"))
    if problems or production is None:
        raise InputError(problems)
    return production


def _scenes(folder: Path) -> tuple[tuple[Scene, ...], tuple[Problem, ...]]:
    """Read the scenes' files; one that begins with a point is some other program's."""
    scenes: list[Scene] = []
    problems: list[Problem] = []
    for path in (path for path in sorted(folder.glob("*.toml")) if not path.name.startswith(".")):
        file, found = read_what_stands(path, SceneFile)
        problems += found
        if file is not None:
            scenes.append(Scene(path.stem, path, file.title, file.dated, file.shot or ()))
    return tuple(scenes), tuple(problems)


def _mouth_sets(folder: Path, file: ProductionFile) -> tuple[dict[str, MouthSet], tuple[Problem, ...]]:
    found: dict[str, MouthSet] = {}
    problems: dict[str, Problem] = {}
    for key, character in (file.characters or {}).items():
        if character is None or character.mouth_set is None:
            continue
        place = Problem(str(folder / "production.toml"), f"[characters] [{key}] mouth_set", "")
        try:
            found[key] = mouth_set_called(folder, character.mouth_set, place)
        except InputError as error:
            problems.update({str(problem): problem for problem in error.problems})
    return found, tuple(problems.values())


def mouth_set_called(folder: Path, called: str, asked: Problem) -> MouthSet:
    """Return the mouth set of that name, the production's own or one that ships.

    Args:
        folder: the production's.
        called: its name, without `.toml`.
        asked: the file and the place that ask for it, for the case that there is none.

    Raises:
        InputError: if there is none, or naming every fault of its file.
    """
    name = f"{called}.toml"
    own, ours = folder / "mouthsets" / name, shipped("mouthsets") / name
    # os.path.exists, for a name too long for the disk is a name of no file
    if not any(map(os.path.exists, (own, ours))):
        ship = ", ".join(sorted(path.stem for path in ours.parent.glob("*.toml")))
        text = f"{called!r} is neither {own} nor one of those that ship ({ship})"
        raise InputError([replace(asked, text=text)])
    return load_mouth_set(own if own.exists() else ours)


def settings_faults(production: Production, file: Path) -> Iterator[Problem]:
    """Yield where the settings of a file do not go with those that a mouth set puts before them."""
    found: dict[Problem, None] = {}
    for mouth_set in production.mouth_sets.values():
        try:
            settings_for(production.file.fitting, mouth_set.fitting)
        except InputError as error:
            for fault in error.problems:
                own = f"with the settings of its own that the mouth set {mouth_set.name} has: "
                text = f"{own if mouth_set.fitting else ''}{fault.text}"
                found[Problem(str(file), fault.place, text)] = None
    yield from found


def _faults_across(production: Production) -> Iterator[Problem]:
    """What one table says that another table, or another file, does not allow."""
    if production.file.characters is not None and not production.file.characters:
        main = str(production.folder / "production.toml")
        yield Problem(main, "[characters]", "names nobody; add [characters.NAME] with name and mouth_set")
    for scene in production.scenes:
        for row, shot in enumerate(scene.shots, start=1):
            for where, text in _shot_faults(production, shot) if shot else ():
                yield Problem(str(scene.path), f"{_named('shot', row, shot.id)} {where}", text)
    if production.scenes:  # without any, that is the one thing to say
        yield from _shooting_faults(production)


def _shooting_faults(production: Production) -> Iterator[Problem]:
    """What the shooting plan says that characters and scenes do not allow."""
    plan, cast = production.file.shooting, production.file.characters
    if plan is None or cast is None:
        return
    # What is broken is told where it stands: of a character without a number of puppets any will do.
    puppets = {key: character.puppets if character and character.puppets else 99 for key, character in cast.items()}
    read = {scene.id: [shot.id for shot in scene.shots if shot and shot.id] for scene in production.scenes}
    unread = {path.stem for path in (production.folder / "scenes").glob("*.toml")}.difference(read)
    named = {shoot.scene: shoot.shots or () for shoot in plan.shoot or () if shoot and shoot.scene in unread}
    for place, text in faults_in(plan, puppets, {**read, **named}):
        yield Problem(str(production.folder / "production.toml"), f"[shooting] {place}", text)


def _named(table: str, row: int, id: str | None) -> str:
    return f"[[{table}]] {row}" + (f' "{id}"' if id else "")


def _shared_ids(scenes: tuple[Scene, ...]) -> Iterator[Problem]:
    """Shots and lines with the same id: files are named after them, and some disks tell no capitals from small."""
    places: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for scene in scenes:
        for row, shot in enumerate(scene.shots, start=1):
            if shot is None:
                continue
            place = _named("shot", row, shot.id)
            places[(shot.id or "").casefold()].append((str(scene.path), place))
            for number, line in enumerate(shot.line or (), start=1):
                if line is not None:
                    there = f"{place} {_named('line', number, line.id)}"
                    places[(line.id or "").casefold()].append((str(scene.path), there))
    for id, ((file, place), *others) in places.items():
        if id and others:
            also = " and ".join(f"{there} in {scene}" for scene, there in others)
            yield Problem(file, f"{place} id", f"is also the id of {also}; give each shot and line its own")


def _shot_faults(production: Production, shot: Shot) -> Found:
    if fault := _start_fault(production, shot):
        yield "start", fault
    for key, said in (shot.characters or {}).items():
        place = f"[characters] [{key}]"
        if production.file.characters is not None and key not in production.file.characters:
            yield place, f"is no character of the production; {_cast(production)}"
        if said is None:
            continue
        yield from ((f"{place} on_camera", text) for text in _span_faults(production, shot, said))
        mouth_set = production.mouth_sets.get(key)
        if mouth_set and said.rests_on is not None and not rest_piece(mouth_set, said.rests_on):
            known = ", ".join(dict.fromkeys([*mouth_set.sizes, *mouth_set.by_code]))
            yield f"{place} rests_on", f"{said.rests_on!r} is no shape or code of its mouth set; it has {known}"
    for row, line in enumerate(shot.line or (), start=1):
        for where, text in _line_faults(production, shot, line) if line else ():
            yield f"{_named('line', row, line.id)} {where}", text


def _cast(production: Production) -> str:
    names = ", ".join(production.file.characters)
    return f"the characters are {names}" if names else "it has none yet"


def _span_faults(production: Production, shot: Shot, said: OnCamera) -> Iterator[str]:
    number = production.file.first_frame
    if number is None or shot.frames is None:
        return
    last = number + shot.frames - 1
    for first, end in said.on_camera or ():
        if not number <= first <= end <= last:
            yield f"found [{first}, {end}]; frames of this shot are {number} to {last}, first before last"


def _line_faults(production: Production, shot: Shot, line: Line) -> Found:
    known = production.file.characters
    if line.character is not None and known is not None and line.character not in known:
        yield "character", f"{line.character!r} is no character of the production; {_cast(production)}"
    if line.out_us is not None and line.out_us <= (line.in_us or 0):
        yield "out", "is not after in; out must be later than in, in seconds of the recording"
    if None not in (production.rate, production.file.first_frame, shot.start, shot.frames, line.begins):
        yield from (("begins", text) for text in _begin_faults(production, shot, line))


def _begin_faults(production: Production, shot: Shot, line: Line) -> Iterator[str]:
    try:
        begins_us = production.begins_us(line, shot)
    except ValueError as error:
        # A shot's start that is no timecode is a fault of the shot, not of the lines that are counted from it.
        if str(error) != _start_fault(production, shot):
            yield str(error)
        return
    if timing.frame_at(begins_us, production.rate) >= shot.frames:
        last = timing.number_of(shot.frames - 1, production.file.first_frame)
        remedy = "begin earlier or lengthen the shot"
        yield f"found {line.begins!r}, after the shot ends; its last frame is {last}: {remedy}"
    if begins_us < -_LONGEST_LINE_S * timing.US_PER_S:
        yield f"found {line.begins!r}, long before the shot begins at {shot.start}; is its hour right?"


def _start_fault(production: Production, shot: Shot) -> str | None:
    if production.rate is None or shot.start is None:
        return None
    try:
        production.start_frame(shot)
    except ValueError as error:
        return str(error)
    return None
