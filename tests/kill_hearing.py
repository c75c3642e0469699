"""Kills hearing at random moments, again and again, until it is through; looks whether it ends as if undisturbed.

    python tests/kill_hearing.py FOLDER [KILLS] [--as-kept]

FOLDER is a production that has been heard (`lipsync demo` leaves one); it is copied. KILLS is how many kills that
come before the end are wanted, 200 if not given. In each round all lines of the copy are to be heard again, in one
process or, in each tenth round, by two workers; in each fifth the voices are to be found again as well. A round is
killed at a random moment and begun again where it was, until one run ends: then every file must hold the bytes that
an undisturbed run leaves, and nothing may be left beside them. With `--as-kept` each line and each voice is heard as
it is kept, in one process, so that nearly all of a run is reading and writing.

A kill comes after so much of the processor's time (POSIX `setitimer`, `ITIMER_PROF`), so that a busy machine does not
move it; where workers do the work, by the clock. A timer that nobody handles ends a process as SIGKILL does.
"""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

from lipsync.app.cli import app_of
from tests.kill_commands import listen_from_what_is_kept, state_of

ONE, TWO = "1", "2"


def start(folder: Path, jobs: str, after_s: float | None) -> bool:
    """Hear a production in a process of its own, killed after a time, and return whether it was killed."""
    child = os.fork()
    if child == 0:
        os.setsid()
        for stream in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
        timer, ends = (signal.ITIMER_PROF, signal.SIGPROF) if jobs == ONE else (signal.ITIMER_REAL, signal.SIGALRM)
        signal.signal(ends, signal.SIG_DFL)
        if after_s is not None:
            signal.setitimer(timer, max(after_s, 1e-6))
        try:
            app_of()(["breakdown", str(folder), "--jobs", jobs], standalone_mode=False)
        except BaseException:
            os._exit(4)
        os._exit(0)
    status = os.waitpid(child, 0)[1]
    assert os.WIFSIGNALED(status) or status == 0, "a run does not end well"
    return os.WIFSIGNALED(status)


def readied(production: Path, folder: Path, *, voices: bool) -> None:
    """Copy a production of which all lines are to be heard."""
    shutil.copytree(production, folder, ignore=shutil.ignore_patterns("breakdowns", "sheets", ".lipsync"))
    if voices:
        (folder / "voices.toml").unlink()


def used_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main(production: Path, wanted: int, *, as_kept: bool) -> int:
    """Kill so often, print the counts, and return whether anything was wrong."""
    if as_kept:
        listen_from_what_is_kept(production)
    kinds = [(jobs, voices) for jobs in (ONE, TWO)[: 1 if as_kept else 2] for voices in (False, True)]
    dice, wrong, kills, rounds = random.Random(11), list[str](), 0, 0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place, "production")
        if as_kept:  # all that a run loads is loaded before the first one is begun
            readied(production, folder, voices=True)
            with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere):
                app_of()(["breakdown", str(folder), "--jobs", ONE], standalone_mode=False)
            shutil.rmtree(folder)
        lasts_s: dict[tuple[str, bool], float] = {}
        after: dict[str, bytes] = {}
        for jobs, voices in kinds:
            readied(production, folder, voices=voices)
            began = used_s() if jobs == ONE else time.monotonic()
            start(folder, jobs, None)
            lasts_s[jobs, voices] = (used_s() if jobs == ONE else time.monotonic()) - began
            if after and state_of(folder) != after:
                wrong.append(f"undisturbed runs end otherwise with --jobs {jobs}, voices known: {not voices}")
            after = state_of(folder)
            shutil.rmtree(folder)
        while kills < wanted:
            jobs, voices = (TWO if rounds % 10 == 9 and not as_kept else ONE), rounds % 5 == 4
            readied(production, folder, voices=voices)
            here = 0
            while start(folder, jobs, dice.uniform(0, lasts_s[jobs, voices])):
                here += 1
            if state_of(folder) != after:
                wrong.append(f"round {rounds}, after {here} kills: it ends otherwise than an undisturbed run")
            left = (name for name in state_of(folder, hidden=True) if not name.endswith(".lipsync-writing"))
            wrong += [f"round {rounds}: {name} is left" for name in left]
            kills, rounds = kills + here, rounds + 1
            shutil.rmtree(folder)
            print(f"{rounds} rounds, {kills} kills before the end, {len(wrong)} faults", flush=True)  # noqa: T201
    print(*wrong, sep="\n")  # noqa: T201
    return bool(wrong)


if __name__ == "__main__":
    given = [one for one in sys.argv[1:] if one != "--as-kept"]
    sys.exit(main(Path(given[0]), int(given[1]) if len(given) > 1 else 200, as_kept="--as-kept" in sys.argv))
