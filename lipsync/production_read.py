"""Reading a production's folder: all its files in, one checked `Production` out, or every fault in one go.

Each file's own table is checked as it is read (tomlfile.py); here is checked what one table says of another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from lipsync import timing
from lipsync.errors import InputError, Problem
from lipsync.fit.mouthset import MouthSet, load_mouth_set
from lipsync.production import Line, Production, ProductionFile, Scene, SceneFile, Shot, rest_piece, shipped
from lipsync.tomlfile import read_table


def load_production(folder: Path) -> Production:
    """Return the checked production of a folder.

    Raises:
        InputError: naming every fault of every file.
    """
    main = folder / "production.toml"
    if not main.is_file():
        raise InputError.one(
            main, "", "there is no such file; give the folder of a production, or start one with `lipsync new FOLDER`"
        )
    problems: list[Problem] = []
    scenes: list[Scene] = []
    file: ProductionFile | None = None
    mouth_sets: dict[str, MouthSet] = {}
    try:
        file = read_table(main, ProductionFile)
        mouth_sets, faults = _mouth_sets(folder, file)
        problems += faults
    except InputError as error:
        problems += error.problems
    for path in sorted((folder / "scenes").glob("*.toml")):
        try:
            scene = read_table(path, SceneFile)
            scenes.append(Scene(path.stem, path, scene.title, scene.dated, scene.shot))
        except InputError as error:
            problems += error.problems
    if not scenes and not problems:
        problems.append(Problem(str(folder / "scenes"), "", "holds no scene; write one as NAME.toml there"))
    if file is not None:
        production = Production(folder, file, mouth_sets, tuple(scenes))
        problems += _faults_across(production)
    if problems or file is None:
        raise InputError(problems)
    return production


def _mouth_sets(folder: Path, file: ProductionFile) -> tuple[dict[str, MouthSet], list[Problem]]:
    found: dict[str, MouthSet] = {}
    problems: dict[str, Problem] = {}
    for key, character in file.characters.items():
        name = f"{character.mouth_set}.toml"
        own, ours = folder / "mouthsets" / name, shipped("mouthsets") / name
        if not own.exists() and not ours.exists():
            ship = ", ".join(sorted(path.stem for path in ours.parent.glob("*.toml")))
            text = f"{character.mouth_set!r} is neither {own} nor one of those that ship ({ship})"
            problems[f"{key} {text}"] = Problem(
                str(folder / "production.toml"), f"[characters] [{key}] mouth_set", text
            )
            continue
        try:
            found[key] = load_mouth_set(own if own.exists() else ours)
        except InputError as error:
            problems.update({str(problem): problem for problem in error.problems})
    return found, list(problems.values())


def _faults_across(production: Production) -> Iterator[Problem]:
    """What one table says that another table, or another file, does not allow."""
    main = str(production.folder / "production.toml")
    if not production.file.characters:
        yield Problem(main, "[characters]", "names nobody; add [characters.NAME] with name and mouth_set")
    ids: Counter[str] = Counter()
    for scene in production.scenes:
        ids.update(shot.id for shot in scene.shots)
        for row, shot in enumerate(scene.shots, start=1):
            place = f'[[shot]] {row} "{shot.id}"'
            ids.update(line.id for line in shot.line)
            for where, text in _shot_faults(production, shot):
                yield Problem(str(scene.path), f"{place} {where}".rstrip(), text)
    for scene in production.scenes:
        for name in [n for shot in scene.shots for n in (shot.id, *(line.id for line in shot.line))]:
            if ids[name] > 1:
                text = f"{ids.pop(name)} shots or lines of the production have this id; give each its own"
                yield Problem(str(scene.path), f'id "{name}"', text)


def _shot_faults(production: Production, shot: Shot) -> Iterator[tuple[str, str]]:
    known = ", ".join(production.file.characters)
    last = production.file.first_frame + shot.frames - 1
    try:
        production.start_frame(shot)
    except ValueError as error:
        yield "start", str(error)
    for key, said in shot.characters.items():
        place = f"[characters] [{key}]"
        if key not in production.file.characters:
            yield place, f"is no character of the production; the characters are {known}"
        for first, end in said.on_camera or ():
            if not production.file.first_frame <= first <= end <= last:
                allowed = f"{production.file.first_frame} to {last}"
                yield (
                    f"{place} on_camera",
                    f"found [{first}, {end}]; frames of this shot are {allowed}, first before last",
                )
        mouth_set = production.mouth_sets.get(key)
        if mouth_set and said.rests_on is not None and not rest_piece(mouth_set, said.rests_on):
            codes = ", ".join([*mouth_set.sizes, *mouth_set.by_code])
            yield f"{place} rests_on", f"{said.rests_on!r} is no shape or code of its mouth set; it has {codes}"
    for row, line in enumerate(shot.line, start=1):
        for where, text in _line_faults(production, shot, line):
            yield f'[[line]] {row} "{line.id}" {where}', text


def _line_faults(production: Production, shot: Shot, line: Line) -> Iterator[tuple[str, str]]:
    if line.character not in production.file.characters:
        yield (
            "character",
            f"{line.character!r} is not known; the characters are {', '.join(production.file.characters)}",
        )
    if line.in_us is not None and line.out_us is not None and line.out_us <= line.in_us:
        yield "out", "is not after in; out must be later than in, in seconds of the recording"
    try:
        begins_us = production.begins_us(line, shot)
    except ValueError as error:
        yield "begins", str(error)
        return
    if timing.frame_at(begins_us, production.rate) >= shot.frames:
        last = production.file.first_frame + shot.frames - 1
        yield "begins", f"found {line.begins!r}, after the shot ends; its last frame is {last}"
