"""What the desk is printing: one run after the other, each in sight while it works, and stopped when it is asked to.

In: what is to be printed (print_work.py). Out: plain tables of how far each run is, and the bytes of its files. A run
is stopped as a command is from the keyboard: with `KeyboardInterrupt`, raised where it tells how far it is. So it
leaves nothing half-written, and what was finished is kept.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lipsync.app.printing import Printed
from lipsync.app.processes import Processes, usable_cores
from lipsync.app.sparing import spared
from lipsync.app.workers import Workers
from lipsync.desk.print_work import PrintWanted, print_shot
from lipsync.errors import InputError, LipsyncError, Problem
from lipsync.message import Message, Where
from lipsync.report import Progress, Report

Table = dict[str, Any]
Print = Callable[[Path, PrintWanted, Progress, Workers], Printed]

# Chosen: a person does not wait for more of them; and those that are over are told as long as anyone may ask.
_MOST_WAITING = 8
_MOST_KNOWN = 50
_STOPPED_WITHIN_S = 3.0  # chosen: at the desk's end; longer than a line or a sheet takes mostly

STOPPED = "Stopped. What was finished is kept."  # as the commands say


class NoSuchRunError(LookupError):
    """There is no printing of that number, or it has been forgotten; or it has no such file."""


@dataclass(slots=True)
class PrintRun:
    """One printing.

    Attributes:
        number: from 1, in the order in which they were asked for.
        wanted: what is printed.
        state: "waiting", "printing", "done" (also where a part of it could not be), "refused" or "stopped".
        doing: what is done now, how many of it are done, and how many there are.
        files: what was written.
        messages: what is to be known.
        problems: what was not done, and why.
        changes: rises with each change.
        stop: set once it is to be stopped.
    """

    number: int
    wanted: PrintWanted
    state: str = "waiting"
    doing: tuple[str, int, int] = ("", 0, 0)
    files: tuple[Path, ...] = ()
    messages: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    changes: int = 0
    stop: threading.Event = field(default_factory=threading.Event)

    @property
    def over(self) -> bool:
        """Whether nothing more becomes of it."""
        return self.state not in ("waiting", "printing")

    def become(self, **values: Any) -> None:
        """Take on values; whoever waits for news of it sees that."""
        for name in sorted(values, key="state".__eq__):  # the state last: whoever sees that it is over sees all of it
            setattr(self, name, values[name])
        self.changes += 1

    def progress(self, what: str, done: int, total: int) -> None:
        """Note how far it is.

        Raises:
            KeyboardInterrupt: if it is to be stopped.
        """
        self.check()
        self.become(doing=(what, done, total))

    def check(self, _in_hand: Sequence[object] = ()) -> None:
        """Go on, unless it is to be stopped.

        Raises:
            KeyboardInterrupt: if it is.
        """
        if self.stop.is_set():
            raise KeyboardInterrupt

    def tell(self, message: Message) -> None:
        """Tell what is to be known while it goes on, such as that another run is at work."""
        self.become(messages=(*self.messages, str(message)))


class PrintRuns:
    """The printings of a desk; every method may be called from any thread."""

    def __init__(self, folder: Path, print_: Print = print_shot) -> None:
        """`folder` is the production's."""
        self._folder, self._print = folder, print_
        self._known: dict[int, PrintRun] = {}
        self._last = 0
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None
        self._closed = False

    def ask(self, wanted: PrintWanted) -> Table:
        """Have something printed after what waits already; what waits or is printed already is not done twice.

        Raises:
            InputError: if too much waits.
        """
        with self._changed:
            waiting = [run for run in self._known.values() if not run.over]
            for run in waiting:
                if run.wanted == wanted and not run.stop.is_set():
                    return self._view(run)
            if len(waiting) > _MOST_WAITING or self._closed:
                raise InputError.of("printings wait", Where(), waiting=len(waiting))
            self._last += 1
            run = self._known[self._last] = PrintRun(self._last, wanted)
            for old in list(self._known)[:-_MOST_KNOWN]:
                if self._known[old].over:
                    del self._known[old]
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="printing", daemon=True)
                self._thread.start()
            self._changed.notify()
            return self._view(run)

    def all(self) -> Table:
        """Return every run that is known, the newest first."""
        with self._changed:
            return {"runs": [self._view(run) for run in reversed(self._known.values())]}

    def look(self, number: int) -> Table:
        """Return how far a run is.

        Raises:
            NoSuchRunError: if there is none of that number; likewise below.
        """
        with self._changed:
            return self._view(self._run(number))

    def stop(self, number: int) -> Table:
        """Stop a run; one that is over stays as it is."""
        with self._changed:
            run = self._run(number)
            run.stop.set()
            if run.state == "waiting":
                run.become(state="stopped", messages=(STOPPED,))
            return self._view(run)

    def file(self, number: int, file: int) -> bytes:
        """Return a file of a run, as it is now.

        Raises:
            InputError: if it cannot be read any more.
        """
        with self._changed:
            files = self._run(number).files
        if file >= len(files):
            raise NoSuchRunError
        try:
            return files[file].read_bytes()
        except OSError as error:
            where = Where(str(files[file]))
            raise InputError.of("printed file gone", where, reason=error.strerror or error) from None

    def close(self) -> None:
        """Stop all of them, and wait a little for that."""
        with self._changed:
            self._closed = True
            for run in self._known.values():
                run.stop.set()
            self._changed.notify()
            thread = self._thread
        if thread is not None:
            thread.join(_STOPPED_WITHIN_S)

    def _work(self) -> None:
        """Print one run after the other; a thread of its own does this."""
        while True:
            with self._changed:
                while (run := self._next()) is None and not self._closed:
                    self._changed.wait()
                if run is None or self._closed:
                    return
                run.become(state="printing")
            self._do(run)

    def _next(self) -> PrintRun | None:
        return next((run for run in self._known.values() if run.state == "waiting"), None)

    def _do(self, run: PrintRun) -> None:
        where = Where(scene=run.wanted.scene, shot=run.wanted.shot)
        problems: list[Problem] = []
        made = Printed((), Report())
        try:
            with spared(problems, where), Workers(Processes(usable_cores()), run.check, run.tell) as workers:
                made = self._print(self._folder, run.wanted, run.progress, workers)
        except KeyboardInterrupt:
            run.become(state="stopped", messages=(STOPPED,))
            return
        except LipsyncError as error:
            run.become(state="refused", problems=(str(error),))
            return
        said = tuple(map(str, (*made.report.problems, *problems)))
        state = "done" if made.paths else "refused"
        messages = (*run.messages, *map(str, made.report.messages))
        run.become(state=state, files=made.paths, messages=messages, problems=said)

    def _run(self, number: int) -> PrintRun:
        if number not in self._known:
            raise NoSuchRunError
        return self._known[number]

    def _view(self, run: PrintRun) -> Table:
        what, done, total = run.doing
        return {
            "run": run.number,
            "seen": str(run.changes),
            "kind": str(run.wanted.kind),
            "scene": run.wanted.scene,
            "shot": run.wanted.shot,
            "state": run.state,
            "what": what,
            "done": done,
            "total": total,
            "files": [self._name(path) for path in run.files],
            "messages": list(run.messages),
            "problems": list(run.problems),
        }

    def _name(self, path: Path) -> str:
        with suppress(ValueError):
            return path.relative_to(self._folder).as_posix()
        return str(path)
