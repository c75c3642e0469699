"""Whether anything in a folder was changed, as the operating system tells it. The only file that knows watchfiles.

In: a folder. Out: a number that rises soon after anything in it is changed, and whether the system tells of changes
at all. Some systems do not, nor do some network disks, nor a system that watches too many files already. Then nothing
fails: those who need to know look at the files themselves.
"""

from __future__ import annotations

import threading
from pathlib import Path

# Chosen: changes within this time count as one; so short that no person has to wait.
_TOGETHER_MS, _LOOK_EACH_MS = 100, 50
# Chosen: how often the watcher reports that it works, and is asked whether it should end.
_AT_WORK_EACH_MS = 500
_ENDED_WITHIN_S = 2.0


class FolderWatch:
    """Watches a folder and all below it.

    Attributes:
        count: rises after each change.
        working: whether changes are being told.
    """

    def __init__(self, folder: Path) -> None:
        """Watch nothing yet."""
        self.count = 0
        self.working = False
        self._folder = folder
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="watching", daemon=True)

    def start(self) -> None:
        """Begin to watch, in a thread of its own."""
        self._thread.start()

    def close(self) -> None:
        """Watch no longer."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(_ENDED_WITHIN_S)

    def _watch(self) -> None:
        try:
            from watchfiles import watch

            told = watch(
                self._folder,
                watch_filter=None,
                debounce=_TOGETHER_MS,
                step=_LOOK_EACH_MS,
                stop_event=self._stop,
                rust_timeout=_AT_WORK_EACH_MS,
                yield_on_timeout=True,
                raise_interrupt=False,
                ignore_permission_denied=True,
            )
            for changes in told:
                if changes:
                    self.count += 1
                self.working = True
        except Exception:  # whatever the system says: files are looked at instead
            pass
        finally:
            self.working = False
