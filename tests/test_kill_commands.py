"""Some of kill_commands.py: each command killed before each call that changes a file; a few random moments."""

from __future__ import annotations

import os
import random
import sys

import pytest

from lipsync import files
from lipsync.align import line
from lipsync.app.hear import hearing
from lipsync.app.work import processes
from tests.kill_commands import Killing, readied

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor fork")

# One that makes a production, one that writes a record that must not be lost, one that writes two files that belong
# together.
SOME = {"new": 2, "lock": 2, "count": 10}  # command -> one in so many calls


@pytest.fixture(autouse=True)
def put_back(monkeypatch) -> None:
    """Put back at the end what is changed so that nothing is listened to."""
    for module, name in ((line, "listen_to"), (hearing, "find_voice"), (processes, "usable_cores")):
        monkeypatch.setattr(module, name, getattr(module, name))


@pytest.mark.parametrize("command", SOME)
def test_killed_before_each_call_that_changes_a_file(heard_sample, tmp_path, command) -> None:
    ((_, folder),) = readied(heard_sample, tmp_path, [command])
    killing = Killing(folder, tmp_path, command)
    calls, wrong = killing.at_each_call(SOME[command])
    assert wrong == []
    assert calls >= 5
    assert killing.at_random(3, random.Random(command))[1] == []


def test_a_file_that_is_written_in_place_is_noticed(heard_sample, tmp_path, monkeypatch) -> None:

    def in_place(contents, *_) -> None:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with open(path, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())

    ((command, folder),) = readied(heard_sample, tmp_path, ["lock"])
    monkeypatch.setattr(files, "_write", in_place)
    assert any(
        "neither as before nor as after" in one for one in Killing(folder, tmp_path, command).at_each_call()[1]
    )
