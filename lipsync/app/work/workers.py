"""Work shared out: what a task needs goes out as one value, what it found comes back as one.

In: a function of a module, and a value for each task. Out: an `Outcome` for each, as soon as it is done, with its
place: whoever asked puts them in order. Workers never write. Who they are, processes of this machine (processes.py)
or those of a cluster (cluster.py), is a `Pool`, which hands out what `concurrent.futures` calls futures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Generic, Protocol, Self, TypeVar, runtime_checkable

from lipsync.message import Message

Task = TypeVar("Task")
Found = TypeVar("Found")

# Tasks that wait for each worker (chosen: it never stands idle, and little is lost when all is stopped).
_WAITING = 2
# So often a pool is looked at while nothing ends (chosen).
_LOOK_EACH_S = 2.0


class WorkerDiedError(Exception):
    """A worker died over a task, or over one that it had in hand with it."""


@runtime_checkable
class Travelling(Protocol):
    """A task that reads files, which travel with it to where nobody has them."""

    def recordings(self) -> Mapping[str, Path]:
        """Return the large files that it reads, by name: each goes to a worker once, for all tasks that read it."""

    def packed(self) -> Self:
        """Return it with all else that it reads, as it is now.

        Raises:
            OSError: if that cannot be read.
        """

    def carrying(self, recordings: Mapping[str, bytes]) -> Self:
        """Return it with what the large files hold."""


class Pool(Protocol):
    """Who does tasks."""

    def at_once(self) -> int:
        """Return how many tasks are done at once; it may change."""

    def takes(self, worth_s: float) -> bool:
        """Return whether so much work is for this pool; else it is done in this process."""

    def submit(self, function: Callable[[Any], Any], task: object) -> Future[Any]:
        """Have a task done.

        Raises:
            WorkerDiedError: if a worker is no more, and the pool is to be renewed.
        """

    def result(self, future: Future[Any]) -> Any:
        """Return what a task that is done returned, or raise what it raised.

        Raises:
            WorkerDiedError: if its worker died.
        """

    def apart(self, function: Callable[[Any], Any], task: object) -> Any:
        """Return what a task returns that nothing else can be blamed for.

        Raises:
            WorkerDiedError: if its worker dies.
        """

    def look(self) -> None:
        """See whether there is anyone left to wait for.

        Raises:
            LineError: if there is not.
        """

    def renew(self) -> None:
        """Make ready to go on after a worker has died."""

    def end(self, *, at_once: bool) -> None:
        """Let go of the workers; what is in hand is lost if `at_once`."""


@dataclass(frozen=True, slots=True)
class Outcome(Generic[Found]):
    """What became of a task.

    Attributes:
        found: what it returned; None if its worker died.
        died: whether a worker died over it twice.
    """

    found: Found | None
    died: bool = False


@dataclass(slots=True)
class Workers:
    """The workers of a run; used with `with`, they end with it.

    Attributes:
        pool: who does the tasks; this process if None.
        running: called with the tasks in hand whenever these change.
        tell: called with what is to be known while the work goes on.
    """

    pool: Pool | None = None
    running: Callable[[Sequence[object]], None] = lambda _: None
    tell: Callable[[Message], None] = lambda _: None

    def __enter__(self) -> Self:
        """Return these."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let go of them; what is in hand is lost if all was stopped."""
        if self.pool is not None:
            self.pool.end(at_once=kind is not None)

    def each(
        self, function: Callable[[Task], Found], tasks: Iterable[Task], worth_s: float
    ) -> Iterator[tuple[int, Outcome[Found]]]:
        """Yield the place of each task and what became of it, as soon as it is done.

        Args:
            function: of a module's level; what it raises is raised here.
            tasks: the values; each is made and sent only when a worker is about to be free.
            worth_s: how long all of them take one after the other, roughly; little is done in this process.

        Raises:
            LineError: if there are no workers any more.
        """
        pool = self.pool
        if pool is None or not pool.takes(worth_s):
            for place, task in enumerate(tasks):
                self.running([task])
                yield place, Outcome(function(task))
            return
        left = enumerate(tasks)
        broken: list[tuple[int, Task]] | None = None
        while broken is None or broken:
            broken = []
            yield from self._in_pool(pool, function, left, broken)
            if broken:
                pool.renew()
                # Which of those in hand killed a worker is not known: each is tried in one of its own.
                for place, task in sorted(broken, key=lambda one: one[0]):
                    try:
                        yield place, Outcome(pool.apart(function, task))
                    except WorkerDiedError:
                        yield place, Outcome(None, died=True)

    def _in_pool(
        self,
        pool: Pool,
        function: Callable[[Task], Found],
        left: Iterator[tuple[int, Task]],
        broken: list[tuple[int, Task]],
    ) -> Iterator[tuple[int, Outcome[Found]]]:
        """Yield what is done until nothing is left or a worker dies; `broken` is then what was in hand."""
        in_hand: dict[Future[Found], tuple[int, Task]] = {}
        more = True
        while (more and not broken) or in_hand:
            while more and not broken and len(in_hand) < pool.at_once() * _WAITING:
                one = next(left, None)
                more = one is not None
                if one is not None:
                    try:
                        in_hand[pool.submit(function, one[1])] = one
                    except WorkerDiedError:
                        broken.append(one)
            self.running([task for _, task in in_hand.values()][: pool.at_once()])
            done = wait(in_hand, _LOOK_EACH_S, FIRST_COMPLETED).done if in_hand else set()
            if in_hand and not done:
                pool.look()
            for future in done:
                one = in_hand.pop(future)
                try:
                    yield one[0], Outcome(pool.result(future))
                except WorkerDiedError:
                    broken.append(one)
