"""Reading a production's folder: all its files in, one checked `Production` out, or every fault in one go.

Each file's own table is checked when it is read (tomlfile.py); production_faults.py checks tables against each other.
Where a file is broken, the rest of it is checked all the same, with None in place of each broken field.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType

from lipsync.errors import InputError, Problem
from lipsync.files import AnyPath
from lipsync.fit.mouthset import MouthSet, load_mouth_set
from lipsync.folders import files_in, is_folder, is_there, unreadable
from lipsync.message import Where
from lipsync.production.production_faults import faults_across, settings_faults, shared_ids
from lipsync.production.production_tables import ProductionFile, SceneFile, SceneReading
from lipsync.production.recording_faults import recording_faults
from lipsync.production.values import Production, Scene, shipped
from lipsync.seen import seen
from lipsync.tomlfile import read_toml, read_what_stands, tables_of, what_stands
from lipsync.workshop.stock import FILE as STOCK
from lipsync.workshop.stock import StockFile

# Folders that commands look into beside scenes/. They must be readable: a file that cannot be seen would count as
# missing.
_LOOKED_INTO = ("breakdowns", "filmed", "mouthsets", "prints", "recordings")


def open_production(
    folder: AnyPath, instead: Mapping[Path, bytes | None] = MappingProxyType({}), *, begun: bool = False
) -> Production:
    """Return the checked production of a folder.

    Args:
        folder: the folder that holds `production.toml`, `scenes/` and `recordings/`.
        instead: contents to read in place of scenes' files, by path; None for a file that would be gone.
        begun: whether the production may have no scene yet.

    Raises:
        InputError: naming every fault of every file.
    """
    folder = Path(folder)
    remedy = "give the folder of a production, or start one with `lipsync new FOLDER`"
    if is_there(folder) and not is_folder(folder):
        raise InputError.of("file for folder", Where(str(folder)), folder=folder.parent)
    read_from = seen(folder / "production.toml", *_scene_files(folder))
    file, problems = read_what_stands(folder / "production.toml", ProductionFile, remedy)
    scenes, of_scenes = _scenes(folder, None if file is None else file.frame_rate, instead)
    problems += of_scenes
    if file is not None and not scenes and not of_scenes and not begun:
        problems += (Problem(str(folder / "scenes"), "", "holds no scene; write one as NAME.toml there"),)
    production = None
    stock, of_stock = _stock(folder)
    problems += of_stock
    if file is not None:
        read_from += seen(*_own_mouth_sets(folder, file))
        mouth_sets, of_sets = _mouth_sets(folder, file)
        production = Production(folder, file, mouth_sets, scenes, read_from, stock)
        problems += (*of_sets, *faults_across(production))
    problems += tuple(shared_ids(scenes))
    if production is not None and not problems:
        problems = tuple(settings_faults(production, folder / "production.toml"))
    if problems and production is not None:
        problems += tuple(recording_faults(production))
    problems += tuple(problem for name in _LOOKED_INTO for problem in unreadable(folder / name))
    if problems or production is None:
        raise InputError(problems)
    return production


def _stock(folder: Path) -> tuple[StockFile | None, tuple[Problem, ...]]:
    """Read `stock.toml`; None if there is none."""
    path = folder / STOCK
    return read_what_stands(path, StockFile) if is_there(path) else (None, ())


def _scene_files(folder: Path) -> tuple[Path, ...]:
    try:
        return files_in(folder / "scenes", ".toml")
    except InputError:
        return ()  # told where they are read


def _own_mouth_sets(folder: Path, file: ProductionFile) -> tuple[Path, ...]:
    """Return the paths of the mouth sets that characters name, as if all were the production's own."""
    cast = (file.characters or {}).values()
    named = (one.mouth_set for one in cast if one is not None and one.mouth_set is not None)
    return tuple(folder / "mouthsets" / f"{name}.toml" for name in dict.fromkeys(named))


def _scenes(
    folder: Path, rate: Fraction | None, instead: Mapping[Path, bytes | None]
) -> tuple[tuple[Scene, ...], tuple[Problem, ...]]:
    """Read the scenes' files, except those whose names begin with a point: other programs make such files."""
    scenes: list[Scene] = []
    problems: list[Problem] = []
    try:
        paths = files_in(folder / "scenes", ".toml")
    except InputError as error:
        return (), error.problems
    for path in sorted({*paths, *instead}):
        if path.name.startswith(".") or (content := instead.get(path, b"")) is None:
            continue
        try:
            data = tables_of(path, content) if path in instead else read_toml(path)
        except InputError as error:
            problems += error.problems
            continue
        file, found = what_stands(path, data, SceneFile, SceneReading(folder, rate))
        problems += found
        if file is not None:
            scenes.append(Scene(path.stem, path, file.title, file.dated, file.shot or ()))
    return tuple(scenes), tuple(problems)


def _mouth_sets(folder: Path, file: ProductionFile) -> tuple[dict[str, MouthSet], tuple[Problem, ...]]:
    found: dict[str, MouthSet] = {}
    sets: dict[str, MouthSet] = {}
    problems: dict[str, Problem] = {}
    for key, character in (file.characters or {}).items():
        if character is None or character.mouth_set is None:
            continue
        place = Where(str(folder / "production.toml"), f"[characters] [{key}] mouth_set")
        try:
            if character.mouth_set not in sets:  # many characters may have the same one
                sets[character.mouth_set] = mouth_set_called(folder, character.mouth_set, place)
            found[key] = sets[character.mouth_set]
        except InputError as error:
            problems.update({str(problem): problem for problem in error.problems})
    return found, tuple(problems.values())


def mouth_set_called(folder: Path, called: str, asked: Where) -> MouthSet:
    """Return the mouth set of that name, the production's own or one that ships.

    Args:
        folder: the production's folder.
        called: the set's name, without `.toml`.
        asked: the place that names it, for a fault.

    Raises:
        InputError: if there is no such set, or naming every fault of its file.
    """
    name = f"{called}.toml"
    own, ours = folder / "mouthsets" / name, shipped("mouthsets") / name
    if not any(map(is_there, (own, ours))):
        ship = ", ".join(sorted(path.stem for path in ours.parent.glob("*.toml")))
        raise InputError.of("no such mouth set", asked, mouth_set=called, own=own, ship=ship)
    return load_mouth_set(own if is_there(own) else ours)
