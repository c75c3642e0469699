"""Work shared among the cores: what a task needs goes out as one value, what it found comes back as one.

In: a function of a module, and a value for each task. Out: an `Outcome` for each, as soon as it is done, with its
place: whoever asked puts them in order. Workers never write; they end with the program that started them. Processes
are started only where there is enough to do, once for a run, through the interface of `concurrent.futures`, so that
an executor of another kind may take their place. The only file that knows processes.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from multiprocessing import connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import TracebackType
from typing import Any, Generic, Self, TypeVar

from lipsync.errors import InputError

Task = TypeVar("Task")
Found = TypeVar("Found")

# Tasks that wait for each worker (chosen: it never stands idle, and little is lost when all is stopped).
_WAITING = 2
# Work that is worth starting processes for (chosen: that takes a second or two itself).
_WORTH_S = 3.0
# Libraries that would share one task among all cores: with a worker for each core they only get in each other's way.
_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True)
class Outcome(Generic[Found]):
    """What became of a task.

    Attributes:
        found: what it returned; None if its worker died.
        died: whether a worker died over it twice.
    """

    found: Found | None
    died: bool = False


def usable_cores() -> int:
    """Return how many cores this process may use: those it is bound to, and no more than its container's share.

    Source: Linux `cpu.max` of control group 2, `QUOTA PERIOD` in microseconds or `max` (kernel documentation,
    admin-guide/cgroup-v2).
    """
    bound = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min([bound, *_shares()]))


def _shares(root: Path = Path("/sys/fs/cgroup"), own: Path = Path("/proc/self/cgroup")) -> Iterator[int]:
    """Yield the cores that each control group above this process leaves it, rounded up."""
    with contextlib.suppress(OSError, ValueError):
        lines = own.read_text("ascii").splitlines()
        group = next((line[3:] for line in lines if line.startswith("0::")), "/")
        below = root / group.lstrip("/")
        for folder in (below, *below.parents):
            with contextlib.suppress(OSError, ValueError):
                quota, period = (folder / "cpu.max").read_text("ascii").split()
                if quota != "max":
                    yield -(-int(quota) // int(period))
            if folder == root:
                break


@dataclass(slots=True)
class Workers:
    """The workers of a run; used with `with`, they end with it.

    Attributes:
        jobs: how many tasks are done at once; 1 does all in this process.
        running: called with the tasks in hand whenever these change.
    """

    jobs: int = 1
    running: Callable[[Sequence[object]], None] = lambda _: None
    _executor: ProcessPoolExecutor | None = None
    _before: set[int | None] = field(default_factory=set)

    def __post_init__(self) -> None:
        if self.jobs < 1:
            raise InputError.one(
                "", "--jobs", f"{self.jobs} lines at once is no work; write 1 or more, or leave it out"
            )

    def __enter__(self) -> Self:
        """Return these; nothing is started yet."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End the processes; what is in hand is lost if all was stopped."""
        self._end(at_once=kind is not None)

    def each(
        self, function: Callable[[Task], Found], tasks: Iterable[Task], worth_s: float
    ) -> Iterator[tuple[int, Outcome[Found]]]:
        """Yield the place of each task and what became of it, as soon as it is done.

        Args:
            function: of a module's level; what it raises is raised here.
            tasks: the values; each is made and sent only when a worker is about to be free.
            worth_s: how long all of them take one after the other, roughly; for little no process is started.
        """
        if self.jobs == 1 or (self._executor is None and worth_s < _WORTH_S):
            for place, task in enumerate(tasks):
                self.running([task])
                yield place, Outcome(function(task))
            return
        left = enumerate(tasks)
        broken: list[tuple[int, Task]] | None = None
        while broken is None or broken:
            broken = []
            yield from self._in_pool(function, left, broken)
            if broken:
                self._end(at_once=True)
                # Which of those in hand killed a worker is not known: each is tried in one of its own.
                for place, task in broken:
                    yield place, self._apart(function, task)

    def _in_pool(
        self, function: Callable[[Task], Found], left: Iterator[tuple[int, Task]], broken: list[tuple[int, Task]]
    ) -> Iterator[tuple[int, Outcome[Found]]]:
        """Yield what is done until nothing is left or a worker dies; `broken` is then what was in hand."""
        executor = self._started()
        in_hand: dict[Future[Found], tuple[int, Task]] = {}
        more = True
        while more or in_hand:
            while more and not broken and len(in_hand) < self.jobs * _WAITING:
                one = next(left, None)
                more = one is not None
                if one is not None:
                    try:
                        in_hand[executor.submit(function, one[1])] = one
                    except BrokenProcessPool:
                        broken.append(one)
            self.running([task for _, task in in_hand.values()][: self.jobs])
            for future in wait(in_hand, return_when=FIRST_COMPLETED).done if in_hand else ():
                one = in_hand.pop(future)
                try:
                    found = future.result()
                except BrokenProcessPool:
                    broken.append(one)
                    continue
                yield one[0], Outcome(found)
            if broken and not in_hand:
                broken.sort(key=lambda one: one[0])
                return

    def _apart(self, function: Callable[[Task], Found], task: Task) -> Outcome[Found]:
        with _pool(1) as executor:
            try:
                return Outcome(executor.submit(function, task).result())
            except BrokenProcessPool:
                return Outcome(None, died=True)

    def _started(self) -> Executor:
        if self._executor is None:
            self._before = {one.pid for one in multiprocessing.active_children()}
            self._executor = _pool(self.jobs)
        return self._executor

    def _end(self, *, at_once: bool) -> None:
        executor, self._executor = self._executor, None
        if executor is None:
            return
        own: list[BaseProcess] = [one for one in multiprocessing.active_children() if one.pid not in self._before]
        if at_once:
            for one in own:
                one.terminate()
        executor.shutdown(wait=True, cancel_futures=True)


def _pool(jobs: int) -> ProcessPoolExecutor:
    """Return a pool of new processes: a copy of this one might have caught a lock of another thread's."""
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(jobs, mp_context=context, initializer=_begin)


def _begin() -> None:
    """Make a worker ready: stopping is for the program that started it, and it does not outlive that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.environ.update(dict.fromkeys(_THREADS, "1"))  # read when such a library is first loaded: not before a task
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: Any) -> None:
    connection.wait([sentinel])
    os._exit(1)
