"""Recordings found by what a list or an edit calls them: by path, by name, or by name without its ending.

In: the production's folder and further folders. Out: for a name the file, as a scene names it: from the production's
folder if it lies there. Folders are read once.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from lipsync.production.broadcast_wave import WaveFacts, wave_facts

# As README names them; what is read is what the sound library reads.
ENDINGS = (".wav", ".flac", ".ogg", ".mp3", ".aif", ".aiff", ".bwf", ".rf64", ".w64")


class RecordingIndex:
    """The recordings that lie in a production's folder `recordings`, and in further folders."""

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
        """Return a path as a scene names it."""
        inside = os.path.abspath(self._folder) + os.sep
        full = os.path.abspath(path)
        return (full.removeprefix(inside) if full.startswith(inside) else full).replace(os.sep, "/")

    def found(self, name: str) -> tuple[str, ...]:
        """Return the recordings that a name may mean: one, none, or several of the same name."""
        name = name.strip().replace("\\", "/")
        if name and (self._folder / name).is_file():
            return (self._named(str(self._folder / name)),)
        last = name.rpartition("/")[2].casefold()
        by_name = self._by_name.get(last) or self._by_stem.get(last)
        if not by_name and last.endswith(ENDINGS):
            by_name = self._by_stem.get(last.rpartition(".")[0])
        return tuple(by_name or ())

    def below(self, folder: Path) -> tuple[str, ...]:
        """Return every recording in a folder, in order of their names."""
        inside = self._named(str(folder)) + "/"
        all = (found for stem in sorted(self._by_stem) for found in self._by_stem[stem])
        return tuple(found for found in all if found.startswith(inside))

    def facts(self, recording: str) -> WaveFacts | None:
        """Return what a recording says of itself; None if it is no wave file."""
        if recording not in self._facts:
            self._facts[recording] = wave_facts(self._folder / recording)
        return self._facts[recording]
