"""The recordings that are in use, kept in memory: those of the line that is open, and of those beside it.

In: a line of a production. Out: its `Recording`, read again when the file has changed.
"""

from __future__ import annotations

import threading
from collections import OrderedDict

from lipsync.app.hear.heard import PlacedLine
from lipsync.audio.recording import Recording, read_recording
from lipsync.production.values import Production

# The line that is open, those beside it, and a second window's (chosen).
_MOST = 6


class Recordings:
    """Keeps the recordings that were used last; every method may be called from any thread."""

    def __init__(self) -> None:
        """Begin with none."""
        self._lock = threading.Lock()
        self._known: OrderedDict[tuple[object, ...], Recording] = OrderedDict()

    def of(self, production: Production, placed: PlacedLine) -> Recording:
        """Return a line's recording.

        Raises:
            LineError: if it cannot be read.
        """
        line = placed.line
        path = production.folder / line.recording
        try:
            status = path.stat()
            key: tuple[object, ...] = (path, status.st_mtime_ns, status.st_size, line.in_us, line.out_us)
        except OSError:
            key = (path, line.in_us, line.out_us)
        with self._lock:
            known = self._known.get(key)
            if known is not None:
                self._known.move_to_end(key)
                return known
        recording = read_recording(path, line.in_us, line.out_us)
        with self._lock:
            self._known[key] = recording
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        return recording
