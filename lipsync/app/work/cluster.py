"""Workers on other machines: those of a Dask cluster. The only file that knows its library, which is an extra.

In: the address of a scheduler. Out: a pool for `Workers` (workers.py). A task goes out as bytes that only a worker
unpacks, so that the scheduler needs nothing of this program; what recordings hold goes out beside it, named by a code
of it, and workers pass it among themselves, so that it comes to each of them once as long as it is held. Workers see
no folder of this machine. All must have this very program, and the libraries that its results hang on: that is looked
at before anything is sent, and again by each worker before it begins. Where a worker dies, what it had in hand and
held is sent again.

A Dask scheduler lets in whoever reaches it, and workers run what they are sent: see `lipsync/manual/production.md`.
"""

from __future__ import annotations

import importlib.metadata
import pickle
import platform
import threading
import time
import warnings
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import CancelledError, Future
from functools import lru_cache
from typing import Any

from lipsync.app.index.own_files import program_code
from lipsync.app.index.production_index import code_of_bytes
from lipsync.app.work.workers import Travelling, WorkerDiedError
from lipsync.errors import InputError, LineError, Problem
from lipsync.message import Where
from lipsync.version import VERSION

# Chosen: longer than any network takes to answer, short enough to wait for.
_ANSWER_S = 4.0
# A cluster of which nobody is left for so long is not waited for (chosen: a worker that died is there again by then).
_NOBODY_S = 30.0
# How many workers there are is asked for so often (chosen).
_ASK_EACH_S = 2.0
# So many bytes of recordings are kept for each worker, so that they need not be sent again; the oldest go (chosen).
_HELD_BYTES = 256 << 20
# The results depend on these packages, each in one version (pyproject.toml).
_LIBRARIES = ("pocketsphinx", "g2p-en", "numpy", "soundfile", "soxr", "pydub", "reportlab", "highspy")
_WHERE = Where("", "--cluster")

# A worker with several threads still does one task at a time: the recogniser uses a whole core.
_one_at_a_time = threading.Lock()


class Cluster:
    """A pool of the workers of a Dask cluster."""

    def __init__(self, address: str, jobs: int | None = None) -> None:
        """Reach a cluster, and see that all its workers have this program.

        Args:
            address: of its scheduler, such as `tcp://10.0.0.5:8786`.
            jobs: how many tasks are done at once at the most; as many as there are workers' threads if None.

        Raises:
            InputError: if the library is missing, nobody answers, there is no worker, or one has another program.
        """
        if jobs is not None and jobs < 1:
            raise InputError.of("no jobs", Where("", "--jobs"), jobs=jobs)
        self._address, self._jobs = address, jobs
        self._client = _client(address)
        try:
            self._look_at_programs()
        except BaseException:
            self._client.close()
            raise
        self._executor = self._client.get_executor(pure=False)
        self._held: OrderedDict[str, tuple[Any, int]] = OrderedDict()
        self._times_renewed = 0
        self._threads, self._asked_at = 1, float("-inf")
        self._alive_at = time.monotonic()

    def at_once(self) -> int:
        """Return how many tasks are done at once: workers may come and go."""
        if time.monotonic() - self._asked_at > _ASK_EACH_S:
            self._ask()
        return self._threads if self._jobs is None else min(self._jobs, self._threads)

    def takes(self, worth_s: float) -> bool:
        """Return whether so much work is for the cluster: any is."""
        return worth_s >= 0

    def submit(self, function: Callable[[Any], Any], task: object) -> Future[Any]:
        """Have a task done; one whose files cannot be read is done here, which tells why.

        Raises:
            LineError: if the cluster is gone.
        """
        contents: dict[str, bytes] = {}
        if isinstance(task, Travelling):
            try:
                recordings = task.recordings()
                task = task.packed()
                contents = {name: path.read_bytes() for name, path in recordings.items()}
            except (OSError, ValueError):
                return _done_here(function, task)
        self._still_there()
        packed = pickle.dumps((function, task))
        held = [self._sent(content) for content in contents.values()]
        future: Future[Any] = self._executor.submit(do_task, _own_program(), packed, tuple(contents), *held)
        return future

    def result(self, future: Future[Any]) -> Any:
        """Return what a task that is done returned, or raise what it raised.

        Raises:
            WorkerDiedError: if its worker died, or one that held what it needs.
            LineError: if a worker that came later has another program.
        """
        from distributed.scheduler import KilledWorker

        try:
            answered, value = pickle.loads(future.result())
        except (KilledWorker, CancelledError):
            raise WorkerDiedError from None
        if answered == "found":
            return value
        if answered == "raised":
            raise value
        worker, other = value
        raise LineError.of("other program", _WHERE, worker=worker, difference=_difference(other))

    def apart(self, function: Callable[[Any], Any], task: object) -> Any:
        """Return what a task returns, sent once more, alone.

        Raises:
            WorkerDiedError: if its worker dies again.
            LineError: if the cluster is gone.
        """
        future = self.submit(function, task)
        while not future.done():
            try:
                future.exception(_ASK_EACH_S)
            except TimeoutError:
                self.look()
            except CancelledError:
                break
        return self.result(future)

    def look(self) -> None:
        """See whether there is anyone left to wait for.

        Raises:
            LineError: if the scheduler is gone, or there has been no worker for some time.
        """
        self._still_there()
        self._ask()
        if time.monotonic() - self._alive_at > _NOBODY_S:
            raise LineError([Problem.of("no worker left", _WHERE, address=self._address)])

    def renew(self) -> None:
        """Forget what workers held: who died may have had the only one."""
        self._held.clear()
        self._times_renewed += 1

    def end(self, *, at_once: bool) -> None:
        """Let go of the cluster; it stays as it is for others."""
        self._held.clear()
        if at_once and self._client.status == "running":
            self._executor.shutdown(wait=False)
        self._client.close(_ANSWER_S)

    def _still_there(self) -> None:
        if self._client.status != "running":
            raise LineError([Problem.of("cluster gone", _WHERE, address=self._address)])

    def _ask(self) -> None:
        try:
            threads = sum(self._client.nthreads().values())
        except OSError:
            threads = 0
        self._asked_at = time.monotonic()
        if threads:
            self._alive_at = self._asked_at
        self._threads = max(1, threads)

    def _sent(self, content: bytes) -> Any:
        """Return the handle of a recording, sent to a worker if none has it."""
        name = f"recording-{code_of_bytes(content)}-{self._times_renewed}"
        held = self._held.pop(name, None)
        if held is None or held[0].status != "finished":
            held = self._client.scatter({name: content})[name], len(content)
        self._held[name] = held
        while len(self._held) > 1 and sum(size for _, size in self._held.values()) > _HELD_BYTES * self._threads:
            self._held.popitem(last=False)
        return held[0]

    def _look_at_programs(self) -> None:
        try:
            self._client.wait_for_workers(1, _ANSWER_S)
        except (TimeoutError, OSError):
            raise InputError.of("no worker", _WHERE, address=self._address) from None
        told: dict[str, Any] = self._client.run(program, on_error="return")
        problems = [
            Problem.of("other program", _WHERE, worker=worker, difference=_difference(other))
            for worker, other in told.items()
            if other != _own_program()
        ]
        if problems:
            raise InputError(problems)


@lru_cache(maxsize=1)
def _own_program() -> Mapping[str, str]:
    return program()


def program() -> Mapping[str, str]:
    """Return what tells this program and all that its results hang on from another; workers are asked for theirs."""
    versions = {name: importlib.metadata.version(name) for name in _LIBRARIES}
    python = ".".join(platform.python_version_tuple()[:2])
    return {"lipsync": VERSION, "the files of lipsync": program_code(), "Python": python, **versions}


def do_task(expected: Mapping[str, str], packed: bytes, names: tuple[str, ...], *contents: bytes) -> bytes:
    """Do a task at a worker, and return what it found or raised; or who this is, if it has another program."""
    if (own := _own_program()) != expected:
        from distributed import get_worker

        return pickle.dumps(("other", (get_worker().address, dict(own))))

    def work() -> Any:
        function, task = pickle.loads(packed)
        if contents:
            task = task.carrying(dict(zip(names, contents, strict=True)))
        return function(task)

    return _answer(work)


def _answer(work: Callable[[], Any]) -> bytes:
    """Return what some work found or raised, packed: what is raised need not be known to who passes it on."""
    try:
        with _one_at_a_time:
            return pickle.dumps(("found", work()))
    except Exception as error:
        try:
            return pickle.dumps(("raised", error))
        except Exception:
            return pickle.dumps(("raised", RuntimeError(f"{type(error).__name__}: {error}")))


def _difference(other: object) -> str:
    """Return in words what another program has that this one has not."""
    if not isinstance(other, Mapping):
        return "it has no lipsync, or one that knows no cluster"
    for name, own in _own_program().items():
        there = other.get(name, "none")
        if there != own:
            return f"{name} {there}, here {own}"
    return "it tells of itself otherwise"


def _done_here(function: Callable[[Any], Any], task: object) -> Future[Any]:
    future: Future[Any] = Future()
    future.set_result(_answer(lambda: function(task)))
    return future


def _client(address: str) -> Any:
    """Return a client of the library.

    Raises:
        InputError: if the library is missing, or nobody answers.
    """
    try:
        import dask
    except ImportError:
        raise InputError.of("no cluster library", _WHERE) from None
    # Read once, when the library is loaded: what it says of itself is for whoever runs the cluster.
    quiet = dict.fromkeys(("distributed", "distributed.client", "tornado", "tornado.application"), "critical")
    dask.config.set({"logging": quiet})
    try:
        from distributed import Client
    except ImportError:
        raise InputError.of("no cluster library", _WHERE) from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of other versions of libraries: those that bear are compared here
            return Client(  # type: ignore[no-untyped-call]
                address, timeout=_ANSWER_S, set_as_default=False, direct_to_workers=False
            )
    except (OSError, ValueError, TypeError, RuntimeError) as fault:
        reason = " ".join(str(fault).split()) or type(fault).__name__
        raise InputError.of("nobody answers", _WHERE, address=address, reason=reason) from None
