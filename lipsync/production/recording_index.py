"""Recordings found by what a list or an edit calls them: by path, by name, or by name without its ending.

In: the production's folder and further folders, which are read once. Out: for a name the recording, as a scene's file
names it: relative to the production's folder if it lies there, else as a full path.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from lipsync.folders import is_folder, is_there
from lipsync.production.broadcast_wave import WaveFacts, wave_facts

# Endings of files that are taken for recordings; whether one can be read is up to the sound library.
ENDINGS = (".wav", ".flac", ".ogg", ".mp3", ".aif", ".aiff", ".bwf", ".rf64", ".w64")


class RecordingIndex:
    """The recordings in a production's folder `recordings` and in further folders; `searched` lists these folders."""

    def __init__(self, folder: Path, also: Sequence[Path] = ()) -> None:
        self._folder = folder
        self.searched = (folder / "recordings", *also)
        self._by_name: dict[str, list[str]] = defaultdict(list)
        self._by_stem: dict[str, list[str]] = defaultdict(list)
        self._facts: dict[str, WaveFacts | None] = {}
        for place in dict.fromkeys(self.searched):
            for at, _, names in os.walk(place):
                for name in sorted(names):
                    self._add(os.path.join(at, name), name)

    def _add(self, path: str, name: str) -> None:
        stem, ending = os.path.splitext(name)
        if ending.lower() not in ENDINGS or name.startswith("."):
            return
        found = self._named(path)
        if found not in self._by_name[name.casefold()]:
            self._by_name[name.casefold()].append(found)
            self._by_stem[stem.casefold()].append(found)

    def _named(self, path: str) -> str:
        """Return a path as a scene's file names it."""
        inside = os.path.abspath(self._folder) + os.sep
        full = os.path.abspath(path)
        return (full.removeprefix(inside) if full.startswith(inside) else full).replace(os.sep, "/")

    def found(self, name: str) -> tuple[str, ...]:
        """Return the recordings that a name may mean: none, one, or several of that name in different folders."""
        name = name.strip().replace("\\", "/")
        path = self._folder / name
        if name and is_there(path) and not is_folder(path):
            return (self._named(str(self._folder / name)),)
        last = name.rpartition("/")[2].casefold()
        by_name = self._by_name.get(last) or self._by_stem.get(last)
        if not by_name and last.endswith(ENDINGS):
            by_name = self._by_stem.get(last.rpartition(".")[0])
        return tuple(by_name or ())

    def below(self, folder: Path) -> tuple[str, ...]:
        """Return every recording below a folder, in order of their names."""
        inside = self._named(str(folder)) + "/"
        every = (found for stem in sorted(self._by_stem) for found in self._by_stem[stem])
        return tuple(found for found in every if found.startswith(inside))

    def facts(self, recording: str) -> WaveFacts | None:
        """Return what a recording says of itself; None if it is no wave file."""
        if recording not in self._facts:
            self._facts[recording] = wave_facts(self._folder / recording)
        return self._facts[recording]
