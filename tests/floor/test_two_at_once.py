"""Two programs at work on one shot, interleaved at every point where either waits, by a scheduler and not by sleeps.

Each program is a thread that runs until it comes to a point where it may wait: before and after reading what it plans
from, at the lock, and before each file takes its place. There the scheduler says who goes on. The lock is the real
one; whoever waits for it comes to such a point again and again.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lipsync import file_lock, files
from lipsync.app.plan.planning import plan
from lipsync.app.print import printing
from lipsync.app.print.unchanged import InputsWatch
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.floor import locking, prints, record_file
from lipsync.production.values import Production
from lipsync.seen import seen
from tests.floor.build import SPOKEN, heard_of, production_of

LATER_US = 250_000
ONE_FRAME_US = 42_000


@dataclass
class Scheduler:
    """Lets one thread run at a time; at each point the next of `choices` says which. Without choices: whoever ran."""

    choices: Sequence[int]
    points: int = 0
    log: list[tuple[str, int]] = field(default_factory=list)
    _at: int = 0
    _running: set[int] = field(default_factory=set)
    _turn: threading.Condition = field(default_factory=threading.Condition)
    _errors: list[BaseException] = field(default_factory=list)

    def run(self, *programs: Callable[[], None]) -> None:
        self._running, self._at = set(range(len(programs))), 0
        threads = [threading.Thread(target=self._start, args=(n, one)) for n, one in enumerate(programs)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(60)
            assert not thread.is_alive(), "a program waits for ever"
        if self._errors:
            raise self._errors[0]

    def _start(self, me: int, program: Callable[[], None]) -> None:
        threading.current_thread().name = str(me)
        try:
            with self._turn:
                assert self._turn.wait_for(lambda: self._at == me, 60)
            program()
        except BaseException as error:
            self._errors.append(error)
        with self._turn:
            self._running.discard(me)
            self._at = min(self._running, default=-1)
            self._turn.notify_all()

    def point(self, waiting: bool = False) -> None:
        """Come to a point; whoever waits for another lets it go on."""
        me = int(threading.current_thread().name)
        with self._turn:
            others = self._running - {me}
            choice = self.choices[self.points] if self.points < len(self.choices) else 0
            self.points += 1
            if others and (choice or waiting):
                self._at = min(others)
                self._turn.notify_all()
                assert self._turn.wait_for(lambda: self._at == me, 60)


@contextmanager
def interleaved(folder: Path, choices: Sequence[int]) -> Iterator[tuple[Production, Scheduler]]:
    """Yield a production, and a scheduler that every lock and every file put in place asks."""
    scheduler = Scheduler(choices)
    production = production_of(folder)
    line_file(production).parent.mkdir(parents=True)
    line_file(production).write_text("0")

    @contextmanager
    def asking(path: Path) -> Iterator[None]:
        scheduler.point()
        with alone(path):
            yield
        scheduler.point()

    def replacing(source, target) -> None:
        scheduler.point()
        os_replace(source, target)
        kind = Path(target).parent.parent.name
        scheduler.log.append((kind, int(threading.current_thread().name)))

    os_replace = files.os.replace
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(printing, "alone", asking)
        patch.setattr(locking, "alone", asking)
        patch.setattr(files.os, "replace", replacing)
        patch.setattr(file_lock.time, "sleep", lambda seconds: scheduler.point(waiting=True))
        # The page is its stamp and letter: what matters is which page stands.
        patch.setattr(printing, "draw", lambda document: document)
        patch.setattr(printing.Revised, "document", lambda self: f"{self.revision.letter}".encode())
        yield production, scheduler


def line_file(production: Production) -> Path:
    """Return the file that the programs plan from: it holds by how much the lines are late."""
    return production.folder / "breakdowns" / "01-pier" / "010-a.toml"


def sheet(production: Production, scheduler: Scheduler, told: list[int]) -> None:
    """Print the shot as the file says it is, as `lipsync sheet` does; note how many shots were not done."""
    scheduler.point()
    inputs = seen(line_file(production))
    late_us = int(line_file(production).read_text())
    scheduler.point()
    heard = heard_of(production, SPOKEN, late_us)
    lines = tuple(replace(line, inputs=(seen(Path(line.placed.line.recording))[0], *inputs)) for line in heard.lines)
    plans = plan(production, replace(heard, lines=lines))
    scheduler.point()
    told.append(len(printing.write_sheets(production, plans).report.problems))


def edit_and_sheet(production: Production, scheduler: Scheduler, told: list[int]) -> None:
    write_whole(line_file(production), str(LATER_US).encode())
    sheet(production, scheduler, told)


def looked_at(production: Production, scheduler: Scheduler, told: list[int]) -> None:
    """Check what must hold, whoever went first."""
    path = prints.own_place(production.folder, "01-pier", "010")
    known = prints.read(path)
    # No older page over a newer one, and the page that stands is the newest that is recorded.
    first = [state_begins(one.state) for one in known.revisions]
    assert first == sorted(first)
    page = production.folder / "sheets" / "01-pier" / "010.pdf"
    assert page.read_bytes().decode() == known.revisions[-1].letter
    # No letter twice: as many revisions as were written, each another state.
    written = [kind for kind, _ in scheduler.log if kind == "prints"]
    assert len(known.revisions) == len(written)
    assert len({one.state.stamp for one in known.revisions}) == len(known.revisions)
    # Whoever could not print said so; somebody printed.
    assert told.count(0) >= 1
    # No lock unseen: what was printed after it knows of it, and what is locked is what its print said.
    kinds = [kind for kind, _ in scheduler.log if kind in ("prints", "filmed")]
    if "filmed" in kinds:
        later = kinds[kinds.index("filmed") :].count("prints")
        for one in known.revisions[len(known.revisions) - later :] if later else ():
            assert one.state.filmed >= frozenset(range(20))
        record = record_file.read(record_file.own_place(production.folder, "01-pier", "010"))
        named = known.named(record.events[0].revision)
        assert named.state.stamp == record.events[0].stamp
        assert [named.state.pieces("heron")[f] for f in range(20)] == [
            wear.code for wear in record.worn["heron"].values()
        ]


def state_begins(state) -> int:
    return next(heard.first for cell in state.cells("heron") for heard in cell.begins)


def two_sheets(choices: Sequence[int]) -> int:
    with TemporaryDirectory() as folder, interleaved(Path(folder), choices) as (production, scheduler):
        told: list[int] = []
        scheduler.run(lambda: sheet(production, scheduler, told), lambda: edit_and_sheet(production, scheduler, told))
        looked_at(production, scheduler, told)
        return scheduler.points


def a_sheet_and_a_lock(choices: Sequence[int]) -> int:
    with TemporaryDirectory() as folder, interleaved(Path(folder), choices) as (production, scheduler):
        told: list[int] = []
        scheduler.run(lambda: sheet(production, scheduler, told))
        line_file(production).write_text(str(ONE_FRAME_US))
        scheduler.points = 0
        scheduler.run(
            lambda: sheet(production, scheduler, told),
            lambda: locking.lock(production, "010", (1, 20)) and None,
        )
        looked_at(production, scheduler, told)
        return scheduler.points


CASES = (two_sheets, a_sheet_and_a_lock)


@pytest.mark.parametrize("case", CASES)
def test_wherever_the_other_goes_first(case) -> None:
    """Every point at which the one may be stopped, until the other is done or waits; and each pair of such points."""
    points = case(())
    assert points > 5
    for first in range(points):
        case([0] * first + [1])
        for second in range(first + 1, points, 3):
            case([0] * first + [1] + [0] * (second - first - 1) + [1])


@settings(max_examples=40)
@given(st.sampled_from(CASES), st.lists(st.integers(0, 1), max_size=30))
def test_any_interleaving(case, choices) -> None:
    case(choices)


@pytest.mark.parametrize("case", CASES)
def test_a_run_that_does_not_look_again_is_noticed(monkeypatch, case) -> None:
    """Without looking at its inputs again a program does what was found; what was printed meanwhile is seen twice."""
    monkeypatch.setattr(InputsWatch, "check", lambda *_: None)
    monkeypatch.setattr(InputsWatch, "check_revision", lambda *_: None)
    with pytest.raises(AssertionError):
        test_wherever_the_other_goes_first(case)
