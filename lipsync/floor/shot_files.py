"""Where each shot's prints and its record lie: `prints/SCENE/SHOT.json`, `filmed/SCENE/SHOT.toml`.

In: a production and a kind of file. Out: for each shot, by scene and id, its file. Where a file's scene no longer has
the shot, the file is taken for the one shot with that id that has no file: so a scene may be renamed, and a shot may
move to another scene.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lipsync.errors import InputError, Problem
from lipsync.folders import files_below
from lipsync.message import Where
from lipsync.production.values import Production

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class ShotFiles:
    """The files of shots.

    Attributes:
        of_shots: the file of each shot that has one, by scene and shot.
        of_none: files of shots that the production does not have, by the scene and shot in their path.
    """

    of_shots: Mapping[Key, Path]
    of_none: Mapping[Key, Path]

    def all(self) -> tuple[Path, ...]:
        """Return every file."""
        return (*self.of_shots.values(), *self.of_none.values())


def shot_files(production: Production, kind: str, ending: str) -> ShotFiles:
    """Return the files of a kind: those below the folder `kind`, such as `filmed`, with an ending, such as `.toml`.

    Raises:
        InputError: if two files may be one shot's and neither lies in its scene, or a folder cannot be read.
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
            where = Where(str(left[stray[1]]))
            problems.append(Problem.of("two records of one shot", where, shot=shot, other=left[stray[0]]))
        elif stray and len(keys) == 1:
            own[keys[0]] = left.pop(stray[0])
    if problems:
        raise InputError(problems)
    return ShotFiles(own, left)
