"""Where each shot's prints and its record lie: `prints/SCENE/SHOT.json`, `filmed/SCENE/SHOT.toml`.

In: a production and a kind of file. Out: for each shot, by scene and id, its file. Where a file's scene no longer has
the shot, the file is taken for the one shot with that id that has no file: so a scene may be renamed, and a shot may
move to another scene. Where several shots have the id, it is the one in a scene that has no file at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
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


def _of_which_shot(path: Path, keys: Sequence[Key]) -> Problem:
    folders = " or ".join(str(path.parent.with_name(scene)) for scene, _ in keys)
    return Problem.of("of which shot", Where(str(path)), shot=path.stem, folders=folders)


def shot_files(production: Production, kind: str, ending: str, *, never_lost: bool = False) -> ShotFiles:
    """Return the files of a kind: those below the folder `kind`, such as `filmed`, with an ending, such as `.toml`.

    Raises:
        InputError: if two files may be one shot's and neither lies in its scene, if one that may be several
            shots' is `never_lost`, or a folder cannot be read.
    """
    paths = files_below(production.folder / kind, ending)
    found = {(path.parent.name, path.stem): path for path in paths}
    shots = {(scene.id, shot.id) for scene, shot in production.shots()}
    scenes, with_files = {scene.id for scene in production.scenes}, {scene for scene, _ in found}
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
        elif stray and stray[0][0] not in scenes:
            # Several shots have the id: it is that of the renamed scene, which has no file of its own.
            new = [key for key in keys if key[0] not in with_files]
            if len(new) == 1:
                own[new[0]] = left.pop(stray[0])
            elif never_lost:
                problems.append(_of_which_shot(left[stray[0]], new or keys))
    if problems:
        raise InputError(problems)
    return ShotFiles(own, left)
