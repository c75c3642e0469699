"""Work shared among the cores: the same results for any number of workers, and what becomes of those that die."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lipsync.app.work import processes
from lipsync.app.work.processes import Processes, usable_cores
from lipsync.app.work.workers import Workers
from lipsync.errors import ExitCode, InputError
from tests.running import run

MUCH_S = 1000.0  # worth starting processes for


def square(number: int) -> tuple[int, int]:
    return number * number, os.getpid()


def late(number: int) -> int:
    """Return the number, the first ones last."""
    time.sleep(0.05 * (8 - number))
    return number


def dies_on_three(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def dies_once(task: tuple[int, str]) -> int:
    """Kill the worker of task 3, the first time."""
    number, mark = task
    if number == 3 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def refuses(number: int) -> int:
    raise InputError.one("", "", f"{number} is refused")


def threads(_: int) -> list[str | None]:
    return [os.environ.get(name) for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")]


def test_all_is_done_by_processes_started_once() -> None:
    with Workers(Processes(2)) as two:
        first = dict(two.each(square, range(20), MUCH_S))
        second = dict(two.each(square, range(5), 0.0))  # they are there: no matter how little it is
    assert [first[place].found[0] for place in range(20)] == [number * number for number in range(20)]
    assert [second[place].found[0] for place in range(5)] == [0, 1, 4, 9, 16]
    pids = {outcome.found[1] for outcome in (*first.values(), *second.values())}
    assert 1 <= len(pids) <= 2
    assert os.getpid() not in pids
    assert not any(Path(f"/proc/{pid}").exists() for pid in pids)


@pytest.mark.parametrize(("jobs", "worth_s"), [(1, MUCH_S), (2, 0.1)])
def test_little_work_starts_no_process(jobs: int, worth_s: float) -> None:
    with Workers(Processes(jobs)) as here:
        assert {outcome.found[1] for _, outcome in here.each(square, range(9), worth_s)} == {os.getpid()}


def test_what_is_done_first_is_given_first() -> None:
    with Workers(Processes(4)) as four:
        order = [place for place, _ in four.each(late, range(4), MUCH_S)]
    assert sorted(order) == [0, 1, 2, 3]


def test_a_task_over_which_a_worker_dies_is_tried_once_more_then_told(tmp_path: Path) -> None:
    with Workers(Processes(2)) as two:
        outcomes = dict(two.each(dies_on_three, range(10), MUCH_S))
        assert [outcomes[place].found for place in range(10)] == [0, 1, 2, None, 4, 5, 6, 7, 8, 9]
        assert [place for place, outcome in outcomes.items() if outcome.died] == [3]
        mark = str(tmp_path / "died")
        again = dict(two.each(dies_once, [(number, mark) for number in range(10)], MUCH_S))
    assert [again[place].found for place in range(10)] == list(range(10))
    assert not any(outcome.died for outcome in again.values())


def test_a_fault_is_raised_here_and_nothing_is_left() -> None:
    with pytest.raises(InputError, match="is refused"), Workers(Processes(2)) as two:
        list(two.each(refuses, range(4), MUCH_S))
    assert two.pool._executor is None


def test_a_worker_takes_one_core() -> None:
    with Workers(Processes(2)) as two:
        assert next(two.each(threads, range(2), MUCH_S))[1].found == ["1", "1"]


def test_what_runs_is_told() -> None:
    told: list[list[object]] = []
    with Workers(Processes(2), lambda tasks: told.append([*tasks])) as two:
        list(two.each(square, range(6), MUCH_S))
    assert told[0] == [0, 1]
    assert {len(one) for one in told} <= {0, 1, 2}


@pytest.mark.parametrize(
    ("files", "cores"),
    [({"a/cpu.max": "150000 100000"}, [2]), ({"cpu.max": "max 100000", "a/cpu.max": "max 100000"}, []),
     ({"cpu.max": "300000 100000", "a/cpu.max": "50000 100000"}, [1, 3])],
)  # fmt: skip
def test_a_containers_share(tmp_path: Path, files: dict[str, str], cores: list[int]) -> None:
    """Forms of `cpu.max` as the kernel's documentation of control group 2 gives them."""
    root, own = tmp_path / "cgroup", tmp_path / "own"
    own.write_text("0::/a\n")
    for name, content in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(content + "\n")
    assert list(processes._shares(root, own)) == cores


def test_no_more_cores_than_this_process_may_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 3, 5}, raising=False)
    monkeypatch.setattr(processes, "_shares", lambda: iter([8]))
    assert usable_cores() == 3
    monkeypatch.setattr(processes, "_shares", lambda: iter([2, 8]))
    assert usable_cores() == 2


@pytest.mark.parametrize("jobs", ["0", "-2"])
def test_no_worker_is_one_sentence(sample: Path, jobs: str) -> None:
    told = run("sheet", sample, "--jobs", jobs)
    assert told.code == ExitCode.INPUT
    assert told.err.count("\n") == 1
    assert "--jobs" in told.err


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_workers_end_with_the_program_that_started_them(tmp_path: Path) -> None:
    program = (
        "import time\nfrom tests.app.test_workers import *\n"
        "if __name__ == '__main__':\n    with Workers(Processes(2)) as two:\n"
        "        for _, one in two.each(square, range(1000000), MUCH_S): print(one.found[1], flush=True)\n"
    )
    script = tmp_path / "program.py"
    script.write_text(program)
    root = Path(__file__).parents[2]
    started = subprocess.Popen(
        [sys.executable, script], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": f"{root}"},
    )  # fmt: skip
    assert started.stdout is not None
    worker = int(started.stdout.readline())
    started.kill()
    started.wait()
    started.stdout.close()
    until = time.monotonic() + 30
    while Path(f"/proc/{worker}").exists() and time.monotonic() < until:
        time.sleep(0.05)
    assert not Path(f"/proc/{worker}").exists()
