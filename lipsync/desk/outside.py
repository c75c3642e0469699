"""A short code of what is on disk, which changes whenever anybody changes a file of the production.

In: a production and its lines. Out: `seen_of`, the code, for pages that wait for news; and `StateReader`, which reads
changed lines in the background. Only times and sizes of files are looked at.
"""

from __future__ import annotations

import contextlib
import hashlib
import math
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from lipsync.app.hear.heard import PlacedLine, kept_names
from lipsync.desk.states import LineStates
from lipsync.errors import InputError
from lipsync.floor import prints, record_file
from lipsync.folders import files_below
from lipsync.production.values import Production
from lipsync.seen import signature_of


def seen_of(production: Production, number: int, lines: Sequence[PlacedLine]) -> str:
    """Return the code; `number` is `Loaded.number`, which rises each time the production's own files are read."""
    names = (*kept_names(production, lines), *map(str, _on_the_floor(production)))
    found = [(name, signature_of(name)) for name in names]
    return f"{number}-{hashlib.sha256(repr(found).encode()).hexdigest()[:16]}"


def _on_the_floor(production: Production) -> Iterator[Path]:
    """Yield the records of what was printed and what is in the can; none from a folder that cannot be read."""
    for folder, ending in ((prints.FOLDER, ".json"), (record_file.FOLDER, ".toml")):
        with contextlib.suppress(InputError):
            yield from files_below(production.folder / folder, ending)


# Chosen: for so long nothing is read after a page has asked for something, for both would wait for each other; and
# after so long a line is read in any case, even if requests never stop.
GIVES_WAY_S, MOST_WAITED_S = 0.15, 0.5
_LOOK_EACH_S = 0.01  # chosen: at which distances it is looked whether somebody still waits


class StateReader:
    """Reads the states of lines that are not known yet, in the background: one run at a time, while no page waits."""

    def __init__(self, states: LineStates) -> None:
        """Take the states to fill in; nothing is read yet."""
        self._states = states
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._asked_s = -math.inf
        self._looking = 0

    @property
    def reads(self) -> bool:
        """Whether a run is going on."""
        return self._thread is not None and self._thread.is_alive()

    def give_way(self) -> None:
        """Read nothing for a moment: a page waits for an answer."""
        self._asked_s = time.monotonic()

    @contextlib.contextmanager
    def while_looking(self) -> Iterator[None]:
        """Read nothing meanwhile: looking at thousands of files takes seconds beside a thread that never rests."""
        with self._lock:
            self._looking += 1
        try:
            yield
        finally:
            with self._lock:
                self._looking -= 1

    def wait_until_read(self, _tasks: Sequence[object] = ()) -> None:
        """Return when no page waits and what was changed is read, or soon: what is less urgent goes on then."""
        self._wait()
        reading = self._thread
        if reading is not None:
            reading.join(MOST_WAITED_S)

    def _wait(self) -> None:
        """Return when nobody waits for an answer any more, or after `MOST_WAITED_S`."""
        latest_s = time.monotonic() + MOST_WAITED_S
        while (now_s := time.monotonic()) < latest_s:
            wait_s = _LOOK_EACH_S if self._looking else min(self._asked_s + GIVES_WAY_S, latest_s) - now_s
            if wait_s <= 0 or self._stop.wait(wait_s):
                break

    def _may_go_on(self) -> bool:
        self._wait()
        return not self._stop.is_set()

    def read(self, production: Production, lines: Sequence[PlacedLine]) -> None:
        """Begin to read what is not known, unless a run is going on."""
        with self._lock:
            if self._stop.is_set() or self.reads:
                return
            read = (production, lines, self._may_go_on)
            self._thread = threading.Thread(target=self._states.read_all, args=read, name="states", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """Stop reading."""
        self._stop.set()
