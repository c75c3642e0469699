"""Where the files of each shot lie that the floor keeps: `prints/SCENE/SHOT.json`, `filmed/SCENE/SHOT.toml`.

In: a production and a kind of file. Out: for each shot, by scene and id, its file. A file whose shot is not in its
scene any more goes with the one shot of that id which has none, so that a scene may get another name, and a shot may
move to another scene.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lipsync.errors import InputError, Problem
from lipsync.folders import files_below
from lipsync.production.values import Production

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class ShotFiles:
    """The files of shots.

    Attributes:
        of_shots: by scene and shot.
        of_none: those of shots that the production does not have.
    """

    of_shots: Mapping[Key, Path]
    of_none: Mapping[Key, Path]

    def all(self) -> tuple[Path, ...]:
        """Return every file."""
        return (*self.of_shots.values(), *self.of_none.values())


def shot_files(production: Production, kind: str, ending: str) -> ShotFiles:
    """Return the files of a kind, such as `filmed` with `.toml`.

    Raises:
        InputError: if two files may be a shot's and none lies where it belongs, or they cannot be looked for.
    """
    paths = files_below(production.folder / kind, ending)
    found = {(path.parent.name, path.stem): path for path in paths}
    shots = {(scene.id, shot.id) for scene, shot in production.shots()}
    own = {key: path for key, path in found.items() if key in shots}
    left = {key: path for key, path in found.items() if key not in shots}
    without: dict[str, list[Key]] = defaultdict(list)
    for key in sorted(shots - own.keys()):
        without[key[1]].append(key)
    problems = []
    for shot, keys in without.items():
        stray = [key for key in left if key[1] == shot]
        if len(stray) > 1:
            text = f"shot {shot} has another record, {left[stray[0]]}; keep the one that is true"
            problems.append(Problem(str(left[stray[1]]), "", text))
        elif stray and len(keys) == 1:
            own[keys[0]] = left.pop(stray[0])
    if problems:
        raise InputError(problems)
    return ShotFiles(own, left)
