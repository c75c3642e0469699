"""A record of filmed frames is whole before or whole after, whenever the program is killed."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lipsync.filming.locking import film_again
from lipsync.filming.record_file import own_place, read, text_of
from tests.filming.build import planned, printed, production_of, the_plan

ROOT = Path(__file__).parents[2]

# What the endless program goes through, over and over: frames in the can after each of its four steps.
STEPS = (frozenset(range(40)), frozenset(range(20)), frozenset(range(20)) | frozenset(range(29, 72)), frozenset())

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor fork")


@pytest.fixture
def production(tmp_path):
    """A production whose only shot was printed."""
    made = production_of(tmp_path)
    printed(made, the_plan(planned(made)))
    return made


def started(production, which: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.filming.killed", str(production.folder), which]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=environment)


def test_killed_before_each_line_that_writes(production) -> None:
    out, _ = started(production, "each").communicate(timeout=120)
    left = out.split()
    assert len(left) > 20
    assert "broken" not in left
    assert left == sorted(left, reverse=True)  # at first all is as before; from the moment of the change on, as after
    assert left.count("before") > 10
    assert left.count("after") > 2


def test_killed_at_any_moment(production) -> None:
    path = own_place(production.folder, "01-pier", "010")
    dice = random.Random(9)
    events = 0
    for _ in range(4):
        process = started(production, "loop")
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "begun\n"
            time.sleep(dice.uniform(0.02, 0.3))
        finally:
            process.send_signal(signal.SIGKILL)
            process.communicate()
        record = read(path)
        # Every event is there, in order, and the frames are those after one of the steps.
        assert [event.number for event in record.events] == list(range(1, len(record.events) + 1))
        assert len(record.events) > events
        assert record.frames in STEPS
        assert path.read_text("utf-8") == text_of(record, 1)
        assert the_plan(planned(production)).filmed == record.frames
        if record.frames:
            film_again(production, "010", (1, 72), "a new walk begins with nothing in the can")
        events = len(read(path).events)
