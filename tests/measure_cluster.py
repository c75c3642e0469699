"""Measures what a cluster costs beside the work itself: python tests/measure_cluster.py FOLDER [TASKS].

FOLDER is a production that has been heard (`lipsync demo` leaves one). Starts a scheduler and two workers on loopback
and has them do tasks that take no time. Counted is the processor's time of the scheduler and of the program that
asks, which a busy machine does not move, for each task and for each megabyte of recordings; how large the value of a
line is, out and back; and how long the program takes to write what comes back, on the clock.
"""

from __future__ import annotations

import argparse
import os
import pickle
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from lipsync.app.hear.heard import Only, lines_of
from lipsync.app.hear.line_hearing import hear_line, task_of
from lipsync.app.hear.line_settings import settings_of
from lipsync.app.hear.voices import known_voices
from lipsync.app.work.cluster import Cluster
from lipsync.app.work.workers import Workers
from lipsync.files import write_whole
from lipsync.production.loading import open_production
from tests.app.cluster import LoopbackCluster

MUCH_S = 1000.0
RECORDING_BYTES, RECORDINGS = 2_000_000, 60
WRITTEN = 200


def used_s(pid: int) -> float:
    """Return the processor's time that a process has taken (Linux, proc(5): fields 14 and 15)."""
    fields = Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def cost(cluster: LoopbackCluster, work: Callable[[], None]) -> tuple[float, float, float]:
    """Return what some work takes of the scheduler, of this program, and on the clock."""
    scheduler = cluster.processes[0].pid
    before, own, began = used_s(scheduler), time.process_time(), time.monotonic()
    work()
    return used_s(scheduler) - before, time.process_time() - own, time.monotonic() - began


def sizes(folder: Path) -> tuple[float, float, float]:
    """Return the mean bytes of a line's task, of its recording, and of what comes back."""
    production = open_production(folder)
    voices = known_voices(production)
    sums = [0, 0, 0]
    lines = lines_of(production, Only())
    for placed in lines:
        voice = voices[placed.line.character].profile
        task = task_of(production, placed, settings_of(production, placed.line, voice))
        found = hear_line(replace(task, as_kept=True))
        sums[0] += len(pickle.dumps((hear_line, task.packed())))
        sums[1] += (folder / placed.line.recording).stat().st_size
        sums[2] += len(pickle.dumps(replace(found, computed=found.kept and found.kept.breakdown)))
    return sums[0] / len(lines), sums[1] / len(lines), sums[2] / len(lines)


def main() -> None:
    """Measure, and print a row for each figure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("tasks", type=int, nargs="?", default=500)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, LoopbackCluster(Path(place)) as cluster:
        for _ in range(2):
            cluster.worker()
        while not cluster.file.exists():
            time.sleep(0.05)
        with Workers(Cluster(cluster.address)) as workers:
            list(workers.each(abs, range(20), MUCH_S))
            number = chosen.tasks
            of_tasks = cost(cluster, lambda: [*workers.each(abs, range(number), MUCH_S)] and None)
            made = [os.urandom(RECORDING_BYTES) for _ in range(RECORDINGS)]
            of_sound = cost(cluster, lambda: [workers.pool._sent(one) for one in made] and None)
        content = next(chosen.folder.glob("breakdowns/*/*.toml")).read_bytes()
        began = time.monotonic()
        for one in range(WRITTEN):
            write_whole(Path(place, "written", f"{one}.toml"), content)
        written_s = time.monotonic() - began
    each, megabytes = (1000 / number, 1000 / (RECORDING_BYTES * RECORDINGS / 1e6))
    print("of                       scheduler ms, this program ms, on the clock ms")
    print("a task                  ", *(f"{one * each:.2f}" for one in of_tasks))
    print("a megabyte of recordings", *(f"{one * megabytes:.2f}" for one in of_sound))
    print("bytes of a line: task {:.0f}, recording {:.0f}, what comes back {:.0f}".format(*sizes(chosen.folder)))
    print(f"a breakdown of {len(content)} bytes written: {1000 * written_s / WRITTEN:.2f} ms on the clock")


if __name__ == "__main__":
    main()
