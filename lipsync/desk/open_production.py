"""The production in memory, read again when one of its files has changed.

In: the production's folder. Out: the checked `Production`, and each of its lines by its id. If a file becomes faulty,
the desk does not end: it names the fault, and goes on when it is mended.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from lipsync.app.hear.heard import Only, PlacedLine, lines_of
from lipsync.errors import InputError
from lipsync.folders import files_in
from lipsync.production.loading import open_production
from lipsync.production.values import Production


class UnreadableError(InputError):
    """The production was moved away, or a file of it is faulty: once that is mended, the request can be repeated."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A production, its lines by id in their order, and a number that rises each time it is read."""

    production: Production
    lines: dict[str, PlacedLine]
    number: int


class OpenProduction:
    """Holds a production; every method may be called from any thread."""

    def __init__(self, folder: Path) -> None:
        """Hold the production of a folder, which is read at once.

        Raises:
            UnreadableError: naming every fault of every file.
        """
        self.folder = folder
        self._lock = threading.Lock()
        self._seen: tuple[tuple[str, int, int], ...] = ()
        self._loaded: Loaded | None = None
        self.now()

    def now(self) -> Loaded:
        """Return the production as its files say now.

        Raises:
            UnreadableError: if the folder was moved away, or naming every fault of every file.
        """
        with self._lock:
            try:
                seen = _stamps(self.folder)
            except InputError as error:
                raise UnreadableError(error.problems) from None
            if not seen or seen[0][0] != "production.toml":
                text = "the production is not there any more; put it back, or start the desk again where it is now"
                raise UnreadableError.one(self.folder, "", text)
            if self._loaded is None or seen != self._seen:
                try:
                    production = open_production(self.folder)
                except InputError as error:
                    raise UnreadableError(error.problems) from None
                lines = {placed.key: placed for placed in lines_of(production, Only())}
                number = self._loaded.number + 1 if self._loaded else 1
                self._loaded, self._seen = Loaded(production, lines, number), seen
            return self._loaded

    def line(self, id: str) -> tuple[Production, PlacedLine]:
        """Return the production and one of its lines.

        Raises:
            KeyError: if there is no such line.
        """
        loaded = self.now()
        return loaded.production, loaded.lines[id]


def _stamps(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """Return name, time and size of every file that the production is read from."""
    others = (path for name in ("scenes", "mouthsets") for path in files_in(folder / name, ".toml"))
    paths = [folder / "production.toml", *others]
    found = []
    for path in paths:
        try:
            status = path.stat()
        except OSError:
            continue
        found.append((path.relative_to(folder).as_posix(), status.st_mtime_ns, status.st_size))
    return tuple(found)
