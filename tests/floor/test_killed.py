"""A record of filmed frames is whole before or whole after, whenever the program is killed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from lipsync.floor.record_file import own_place, read
from tests.floor.build import planned, printed, production_of, the_plan

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor fork")


@pytest.fixture
def production(tmp_path):
    """A production whose only shot was printed."""
    made = production_of(tmp_path)
    printed(made, the_plan(planned(made)))
    return made


def started(production, which: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.floor.killed", str(production.folder), which]
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
    out, _ = started(production, "many").communicate(timeout=300)
    left = [line.split() for line in out.splitlines()]
    assert len(left) == 100
    assert {state for state, _ in left} == {"whole"}, out
    # Some were killed before they wrote anything, some between one event and another.
    written = [int(events) for _, events in left]
    assert written.count(0) > 1
    assert sum(events > 0 for events in written) > 10
    path = own_place(production.folder, "01-pier", "010")
    frames = read(path).frames if path.exists() else frozenset()
    assert the_plan(planned(production)).filmed == frames


def test_locks_of_several_programs_at_once_are_all_kept(production) -> None:
    out, _ = started(production, "both").communicate(timeout=120)
    assert [int(frame) for frame in out.split()] == list(range(40))
