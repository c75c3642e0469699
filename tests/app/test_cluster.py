"""A real scheduler with workers on loopback: the same bytes as on one machine, whatever dies; who is refused."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from lipsync.app.hear.heard import Only, lines_of
from lipsync.app.hear.hearing import hear
from lipsync.app.hear.line_hearing import LineTask, hear_line, task_of
from lipsync.app.hear.line_settings import settings_of
from lipsync.app.hear.voice_finding import find_voice
from lipsync.app.hear.voices import VoiceTask, candidates_of, known_voices
from lipsync.app.plan.planning import plan
from lipsync.app.print.printing import write_sheets
from lipsync.app.work import cluster
from lipsync.app.work.cluster import Cluster
from lipsync.app.work.workers import Outcome, Workers
from lipsync.errors import ExitCode, InputError, LineError
from lipsync.production.loading import open_production
from tests.app.cluster import ROOT, LoopbackCluster
from tests.running import copy_of, run

MUCH_S = 1000.0


def where_done(number: int) -> tuple[int, int]:
    return number, os.getpid()


def dies_on_three(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder below which no worker opens anything."""
    return tmp_path_factory.mktemp("closed")


@pytest.fixture(scope="module")
def two_workers(tmp_path_factory: pytest.TempPathFactory, closed: Path) -> Iterator[LoopbackCluster]:
    """A scheduler with two workers that see nothing of the production."""
    with LoopbackCluster(tmp_path_factory.mktemp("cluster")) as started:
        for _ in range(2):
            started.worker("--preload", str(ROOT / "tests/app/no_disk.py"), env={"LIPSYNC_TEST_CLOSED": str(closed)})
        until = time.monotonic() + 60
        while not started.file.exists() and time.monotonic() < until:
            time.sleep(0.05)
        yield started


@pytest.fixture
def unheard(heard_sample: Path, closed: Path) -> Iterator[Path]:
    """A copy of the sample of which three lines have to be heard; its voices are known."""
    folder = closed / "low-tide-post"
    copy_of(heard_sample, folder)
    for line in ("010-a", "010-b", "020-c"):
        (folder / "breakdowns" / "01-lamp-room" / f"{line}.toml").unlink()
    yield folder
    shutil.rmtree(folder)


def files_below(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".lipsync" not in path.parts
    }


def same_value(task: LineTask | VoiceTask) -> LineTask | VoiceTask:
    recordings = {name: path.read_bytes() for name, path in task.recordings().items()}
    return task.packed().carrying(recordings)


def test_a_task_takes_along_all_that_it_reads(sample: Path) -> None:
    """Where its production is not, a line is heard and a voice found as where it is."""
    production = open_production(sample)
    placed = lines_of(production, Only(shot="010"))[0]
    voice = known_voices(production)[placed.line.character].profile
    task = task_of(production, placed, settings_of(production, placed.line, voice))
    few = tuple(replace(one, scene=replace(one.scene, shots=())) for one in candidates_of(production)["heron"])
    there = hear_line(task)
    tasks = same_value(task), same_value(VoiceTask(production, few[:1], 1.0))
    sample.rename(sample.with_name("elsewhere"))
    assert hear_line(tasks[0]) == there
    assert there.kept is not None
    assert there.problems == ()
    assert len(there.inputs) == 2
    assert len(few) == 5
    assert find_voice(tasks[1]).used == few[:1]
    assert find_voice(replace(tasks[1], carried={})).passed_over == few[:1]


def test_the_same_bytes_as_on_one_machine_with_a_worker_killed_in_the_middle(
    two_workers: LoopbackCluster, unheard: Path, heard_sample: Path
) -> None:
    third = two_workers.worker()
    production = open_production(unheard)
    with Workers(Cluster(two_workers.address)) as workers:
        until = time.monotonic() + 120
        while workers.pool.at_once() < 3:
            assert time.monotonic() < until, "the third worker does not come"
            time.sleep(0.1)
            workers.pool._ask()

        def kill(_what: str, done: int, _of: int) -> None:
            if done == 1:
                third.kill()

        heard = hear(production, workers=workers, progress=kill)
        plans = plan(production, heard, workers=workers)
        printed = write_sheets(production, plans, workers=workers)
        pids = {one.found[1] for _, one in workers.each(where_done, range(8), 0.0)}
    assert third.wait() == -signal.SIGKILL
    assert heard.report.problems == printed.report.problems == ()
    assert pids == {one.pid for one in two_workers.processes[1:3]}
    there = files_below(unheard)
    assert sum(name.endswith(".pdf") for name in there) == 4
    alone = unheard.with_name("alone")
    copy_of(heard_sample, alone)
    production = open_production(alone)
    write_sheets(production, plan(production, hear(production)))
    assert there == files_below(alone)
    shutil.rmtree(alone)


def test_a_recording_goes_to_a_worker_once(two_workers: LoopbackCluster, unheard: Path) -> None:
    production = open_production(unheard)
    placed = lines_of(production, Only(shot="010"))[0]
    voice = known_voices(production)[placed.line.character].profile
    task = replace(task_of(production, placed, settings_of(production, placed.line, voice)), as_kept=True)
    with Workers(Cluster(two_workers.address)) as workers:
        pool = workers.pool
        sent: list[str] = []
        scatter = pool._client.scatter
        pool._client.scatter = lambda data: sent.extend(data) or scatter(data)
        assert len(list(workers.each(hear_line, [task] * 6, MUCH_S))) == 6
        assert len(sent) == 1
        content = (unheard / placed.line.recording).read_bytes()
        assert sent[0].startswith(f"recording-{cluster.code_of_bytes(content)}")


def test_a_recording_that_is_not_there_is_told_as_on_one_machine(two_workers: LoopbackCluster, unheard: Path) -> None:
    production = open_production(unheard)
    placed = lines_of(production, Only(shot="030"))[0]
    (unheard / placed.line.recording).unlink()
    task = task_of(production, placed, settings_of(production, placed.line, None))
    with Workers(Cluster(two_workers.address)) as workers:
        ((_, outcome),) = workers.each(hear_line, [task], MUCH_S)
    assert outcome.found == hear_line(task)
    assert outcome.found is not None
    assert "does not exist" in str(outcome.found.problems[0])


def test_another_program_is_refused_by_name(
    two_workers: LoopbackCluster, monkeypatch: pytest.MonkeyPatch, unheard: Path
) -> None:
    here = {**cluster.program(), "lipsync": "0.0.9"}
    monkeypatch.setattr(cluster, "_own_program", lambda: here)
    with pytest.raises(InputError) as told:
        Cluster(two_workers.address)
    assert len(told.value.problems) == 2
    assert "tcp://127.0.0.1:" in str(told.value)
    assert "lipsync 0.1.0, here 0.0.9" in str(told.value)


def test_a_worker_that_came_later_with_another_program_is_told(
    two_workers: LoopbackCluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Workers(Cluster(two_workers.address)) as workers:
        here = {**cluster.program(), "numpy": "1.0"}
        monkeypatch.setattr(cluster, "_own_program", lambda: here)
        with pytest.raises(LineError, match=r"at tcp://127.0.0.1:\d+ has another program: numpy .*here 1.0"):
            list(workers.each(abs, range(2), MUCH_S))


def test_a_fault_of_a_task_is_raised_here(two_workers: LoopbackCluster) -> None:
    with pytest.raises(TypeError, match="bad operand type"), Workers(Cluster(two_workers.address)) as workers:
        list(workers.each(abs, ["a"], MUCH_S))


def test_an_address_where_nobody_answers_is_one_sentence(sample: Path) -> None:
    shutil.rmtree(sample / "breakdowns")
    told = run("breakdown", sample, "--cluster", "tcp://127.0.0.1:9")
    assert told.code == ExitCode.INPUT
    assert told.err.count("\n") == 1
    assert "nobody answers at tcp://127.0.0.1:9" in told.err
    assert told.out == ""
    assert not (sample / "breakdowns").exists()


def test_without_the_library_it_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "dask", None)
    with pytest.raises(InputError, match=r"^--cluster: needs Dask, which is not installed; add it with: pip install"):
        Cluster("tcp://127.0.0.1:9")


def test_a_task_over_which_workers_die_is_told_and_then_that_nobody_is_left(
    two_workers: LoopbackCluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last test: both workers end by it."""
    monkeypatch.setattr(cluster, "_NOBODY_S", 0.5)
    with Workers(Cluster(two_workers.address)) as workers:
        assert dict(workers.each(dies_on_three, [3], MUCH_S)) == {0: Outcome(None, died=True)}
        with pytest.raises(LineError, match="no worker is left at"):
            list(workers.each(abs, [1], MUCH_S))
