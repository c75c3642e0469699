"""A line on disk: read with its version, written whole, and never over a state that the person has not seen.

In: the path of a line's breakdown, and the version that the person saw. Out: `Stood`, the present state. A version is
the code of the file's bytes. If two windows, two desks, or an editor and the desk change the same line, the second
one gets a `StaleError` with the present state, and nothing is written. From the check to the writing, no other run of
this program can write (`alone`); and the file is checked once more immediately before it is replaced.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.desk.history import History, HistoryStep, version_of
from lipsync.desk.open_production import UnreadableError
from lipsync.errors import InputError
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.message import Where


@dataclass(frozen=True, slots=True)
class Stood:
    """A line as it stands on disk.

    Attributes:
        kept: its record; None if it was never listened to.
        version: the code of the file's bytes; empty if there is no file.
        undo: the step that an undo would take back.
        redo: the step that a redo would bring back.
        unsaved: why the steps for undo are not on disk; empty if they are.
    """

    kept: Kept | None
    version: str
    undo: HistoryStep | None = None
    redo: HistoryStep | None = None
    unsaved: str = ""


class StaleError(Exception):
    """The line was changed since the person saw it; nothing was written."""

    def __init__(self, stood: Stood) -> None:
        super().__init__("the line was changed meanwhile")
        self.stood = stood


class _ChangedMeanwhileError(Exception):
    """The line's file is not what it was when the change began."""


class LineStore:
    """One line's file and its history. Every method may be called from any thread."""

    def __init__(self, path: Path, history: Path) -> None:
        """`path` is where the breakdown lies, `history` the folder of its states."""
        self.path = path
        self._history = History(history)
        self._lock = threading.RLock()
        self._read: tuple[str, Kept] | None = None

    def stand(self) -> Stood:
        """Return the line as it stands.

        Raises:
            UnreadableError: if its file cannot be read.
        """
        with self._lock:
            content = self._content()
            if content is None:
                return Stood(None, "")
            kept = self._kept(content)
            self._history.see(content)
            return self._stood(content, kept)

    def change(
        self, version: str, what: Callable[[Kept], tuple[Kept, str]], begin: Callable[[], Kept] | None = None
    ) -> Stood:
        """Change the line and return it as it stands then.

        Args:
            version: what the person saw.
            what: makes the new record from the old one, and the name of the step.
            begin: makes a record for a line that was never listened to; None if such a line cannot be changed.

        Raises:
            StaleError: if `version` is not the present one.
            ProblemsError: if the change cannot be made.
            OutputError: if the file cannot be written; the file is then unchanged.
        """
        with self._lock, alone(self.path):
            stood = self._seen(version)
            if stood.kept is None and begin is None:
                raise InputError.of("listen first", Where())
            old = stood.kept or begin()  # type: ignore[misc]
            new, name = what(old)
            content = breakdown_file.text_of(new).encode()
            if version_of(content) == version:
                return stood
            with self._kept_first():
                if stood.kept is None:
                    self._history.see(breakdown_file.text_of(old).encode())  # what an undo goes back to
                self._history.add(content, name)
                self._write(content, version)
            self._read = (version_of(content), new)
            return self._stood(content, new)

    def go(self, version: str, way: int, check: Callable[[Kept, Kept], None] = lambda _before, _after: None) -> Stood:
        """Undo (-1) or redo (+1); `check` is called before with the records before and after, and may refuse.

        Raises:
            StaleError: if `version` is not the present one.
            InputError: if there is nothing to undo or redo, or the state is lost.
            OutputError: if the file cannot be written; the file is then unchanged.
        """
        with self._lock, alone(self.path):
            stood = self._seen(version)
            steps = self._history.steps
            if (stood.undo if way < 0 else stood.redo) is None:
                raise InputError.of("nothing to undo" if way < 0 else "nothing to redo", Where())
            content = self._history.content(steps.at + way)
            if content is None:
                raise InputError.of("state lost", Where(str(self._history.folder)))
            kept = breakdown_file.read_bytes(content, str(self.path))
            if stood.kept is not None:
                check(stood.kept, kept)
            with self._kept_first():
                self._history.go(way, content)
                self._write(content, version)
            return self._stood(content, kept)

    @contextmanager
    def _kept_first(self) -> Iterator[None]:
        """Write the step, then change the file. If the program is killed in between, see `History.see`.

        Raises:
            StaleError: if another program has changed the file meanwhile.
        """
        steps, content = self._history.steps, self._content()
        try:
            yield
        except _ChangedMeanwhileError:
            self._history.back_to(steps, content)
            raise StaleError(self.stand()) from None
        except BaseException:  # the file could not be changed
            self._history.back_to(steps, content)
            raise

    def listen(self, version: str, hear: Callable[[], None]) -> Stood:
        """Have the line listened to, which writes its file, and return its new state.

        Raises:
            StaleError: if `version` is not the present one.
        """
        with self._lock:
            self._seen(version)
            hear()
            content = self._content()
            if content is None:
                raise InputError.of("not heard", Where(str(self.path)))
            if self._history.steps.now not in (None, version_of(content)):
                self._history.add(content, "listened again")
            return self.stand()

    def _seen(self, version: str) -> Stood:
        stood = self.stand()
        if stood.version != version:
            raise StaleError(stood)
        return stood

    def _stood(self, content: bytes, kept: Kept) -> Stood:
        steps = self._history.steps
        return Stood(kept, version_of(content), steps.undo, steps.redo, self._history.unsaved)

    def _content(self) -> bytes | None:
        try:
            return self.path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            text = f"cannot be read ({error.strerror or error}); check the file and its permissions"
            raise UnreadableError.one(self.path, "", text) from None

    def _kept(self, content: bytes) -> Kept:
        version = version_of(content)
        if self._read is None or self._read[0] != version:
            try:
                self._read = (version, breakdown_file.read_bytes(content, str(self.path)))
            except InputError as error:
                raise UnreadableError(error.problems) from None
        return self._read[1]

    def _write(self, content: bytes, over: str) -> None:
        if not self.path.parent.is_dir():  # it was there when the line was read: the production was moved away
            text = "is not there any more; put the production back where it was"
            raise UnreadableError.one(self.path.parent, "", text)

        def check() -> None:
            if version_of(self._content()) != over:
                raise _ChangedMeanwhileError

        write_whole(self.path, content, check)
