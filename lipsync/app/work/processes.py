"""Workers on this machine: processes of its own, as many as it has cores for us.

In: how many. Out: a pool for `Workers` (workers.py). Processes are started anew (`spawn`), once for a run, and end
with the program that started them. The only file that knows processes.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from lipsync.app.work.workers import WorkerDiedError
from lipsync.errors import InputError
from lipsync.message import Where

# Work that is worth starting processes for (chosen: that takes a second or two itself).
_WORTH_S = 3.0
# Hardly any of the many values that listening makes hold each other in a circle. To look for such as often as Python
# does by itself took some 6 of 100 parts of the time (measured on ten lines, in turn twelve times).
_SELDOM = (200_000, 50, 50)
# Libraries that would share one task among all cores: with a worker for each core they only get in each other's way.
_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


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


class Processes:
    """A pool of processes of this machine."""

    def __init__(self, jobs: int) -> None:
        """Make ready for so many; nothing is started yet.

        Raises:
            InputError: if there are to be none.
        """
        if jobs < 1:
            raise InputError.of("no jobs", Where("", "--jobs"), jobs=jobs)
        self._jobs = jobs
        self._executor: ProcessPoolExecutor | None = None
        self._before: set[int | None] = set()

    def at_once(self) -> int:
        """Return how many tasks are done at once."""
        return self._jobs

    def takes(self, worth_s: float) -> bool:
        """Return whether so much work is worth a process."""
        return self._jobs > 1 and (self._executor is not None or worth_s >= _WORTH_S)

    def submit(self, function: Callable[[Any], Any], task: object) -> Future[Any]:
        """Have a task done.

        Raises:
            WorkerDiedError: if one of the processes is no more.
        """
        if self._executor is None:
            self._before = {one.pid for one in multiprocessing.active_children()}
            self._executor = _pool(self._jobs)
        try:
            return self._executor.submit(function, task)
        except BrokenProcessPool:
            raise WorkerDiedError from None

    def result(self, future: Future[Any]) -> Any:
        """Return what a task that is done returned, or raise what it raised.

        Raises:
            WorkerDiedError: if a process died; which task it died over is not known.
        """
        try:
            return future.result()
        except BrokenProcessPool:
            raise WorkerDiedError from None

    def apart(self, function: Callable[[Any], Any], task: object) -> Any:
        """Return what a task returns that is done by a process of its own.

        Raises:
            WorkerDiedError: if that dies.
        """
        with _pool(1) as executor:
            return self.result(executor.submit(function, task))

    def look(self) -> None:
        """Nothing is to be seen to: a process that dies ends its tasks."""

    def renew(self) -> None:
        """End all processes after one has died; new ones are started when there is a task."""
        self.end(at_once=True)

    def end(self, *, at_once: bool) -> None:
        """End the processes."""
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
    gc.set_threshold(*_SELDOM)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: Any) -> None:
    connection.wait([sentinel])
    os._exit(1)
