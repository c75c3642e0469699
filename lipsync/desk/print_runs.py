"""The desk's queue of printing: one run after the other; a run tells how far it is, and can be stopped.

In: what is to be printed (print_work.py). Out: plain tables of how far each run is, and the bytes of its files. A run
is stopped in the same way as a command from the keyboard: by `KeyboardInterrupt`, raised where the run reports its
progress. So no file is left half-written, and what was finished is kept.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lipsync.app.print.printing import Printed
from lipsync.app.work.processes import Processes, usable_cores
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.desk.print_work import PrintWanted, print_shot
from lipsync.errors import InputError, LipsyncError, Problem
from lipsync.message import Message, Where
from lipsync.report import Progress, Report

Table = dict[str, Any]
Print = Callable[[Path, PrintWanted, Progress, Workers], Printed]

# Chosen: how many runs may wait; and how many that are over are remembered, for pages that still ask about them.
_MOST_WAITING = 8
_MOST_KNOWN = 50
_STOPPED_WITHIN_S = 3.0  # chosen: at the desk's end it waits so long; most lines and sheets take less

STOPPED = "Stopped. What was finished is kept."  # as the commands say


class NoSuchRunError(LookupError):
    """There is no run with that number, or not any more; or the run has no such file."""


@dataclass(slots=True)
class PrintRun:
    """One run of printing.

    Attributes:
        number: its number, from 1, in the order in which runs were asked for.
        wanted: what is printed.
        state: "waiting", "printing", "done" (even if a part could not be printed), "refused" or "stopped".
        doing: its progress: what is being done, how many are done, and how many there are.
        files: the files that were written.
        messages: what is to be known.
        problems: what was not done, and why.
        changes: a number that rises with each change of the run.
        stop: set when the run is to be stopped.
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
        """Whether the run has ended, in whatever way."""
        return self.state not in ("waiting", "printing")

    def become(self, **values: Any) -> None:
        """Set attributes, and let those who wait for news of the run see that."""
        for name in sorted(values, key="state".__eq__):  # the state last: once it is over, all else is set
            setattr(self, name, values[name])
        self.changes += 1

    def progress(self, what: str, done: int, total: int) -> None:
        """Note how far the run is.

        Raises:
            KeyboardInterrupt: if the run is to be stopped.
        """
        self.check()
        self.become(doing=(what, done, total))

    def check(self, _in_hand: Sequence[object] = ()) -> None:
        """Do nothing, unless the run is to be stopped.

        Raises:
            KeyboardInterrupt: if it is to be stopped.
        """
        if self.stop.is_set():
            raise KeyboardInterrupt

    def tell(self, message: Message) -> None:
        """Add a message while the run goes on, such as that it waits for another run."""
        self.become(messages=(*self.messages, str(message)))


class PrintRuns:
    """The runs of a desk; every method may be called from any thread."""

    def __init__(self, folder: Path, print_: Print = print_shot) -> None:
        """`folder` is the production's."""
        self._folder, self._print = folder, print_
        self._known: dict[int, PrintRun] = {}
        self._last = 0
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None
        self._closed = False

    def ask(self, wanted: PrintWanted) -> Table:
        """Have something printed after the runs that wait; the same thing is not added while it waits or is printed.

        Raises:
            InputError: if too many runs wait.
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
            NoSuchRunError: if there is no run with that number; so do all methods below that take one.
        """
        with self._changed:
            return self._view(self._run(number))

    def stop(self, number: int) -> Table:
        """Stop a run; nothing happens if it is over."""
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
        """Stop all runs, and wait a little for them to end."""
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
