"""A step is kept before its change: killed anywhere, undo and redo are as they were or one step on."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest

from lipsync.breakdown import breakdown_file
from lipsync.desk.history import Steps
from lipsync.desk.store import LineStore
from tests.kill_commands import kill_before

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor fork")

LINE = "breakdowns/01-lamp-room/020-a.toml"


def opened(folder: Path) -> LineStore:
    return LineStore(folder / LINE, folder / ".desk/steps/020-a")


def checked(store: LineStore) -> None:
    """Change the line: mark it as checked, or as not checked any more."""

    def turned(kept: breakdown_file.Kept) -> tuple[breakdown_file.Kept, str]:
        from dataclasses import replace

        return replace(kept, checked=not kept.checked), "turned"

    store.change(store.stand().version, turned)


def undone(store: LineStore) -> None:
    store.go(store.stand().version, -1)


def redone(store: LineStore) -> None:
    store.go(store.stand().version, 1)


def seen_from(folder: Path) -> tuple[str, tuple[str, ...], int]:
    """Return what stands, and which steps a desk that is started now knows of."""
    store = opened(folder)
    version = store.stand().version
    steps: Steps = store._history.steps
    return version, tuple(one.version for one in steps.steps), steps.at


@pytest.mark.parametrize("act", [checked, undone, redone])
def test_killed_before_each_call(sample, act) -> None:
    store = opened(sample)
    checked(store)
    checked(store)
    if act is redone:
        undone(store)
    folder = store.path.parent, store._history.folder
    before = seen_from(sample)
    saved = {path: path.read_bytes() for part in folder for path in part.iterdir() if path.is_file()}
    act(opened(sample))
    after = seen_from(sample)
    assert after != before
    killed = 0
    for call in range(1000):
        for part in folder:
            for path in part.iterdir():
                path.unlink()
        for path, content in saved.items():
            path.write_bytes(content)
        child = os.fork()
        if child == 0:
            kill_before(sample, call)
            act(opened(sample))
            os._exit(0)
        _, status = os.waitpid(child, 0)
        assert seen_from(sample) in (before, after), call
        # What is shown can be done: a second undo takes the next step, not the same one once more.
        version, versions, at = seen_from(sample)
        assert versions[at] == version
        if not os.WIFSIGNALED(status):
            break
        assert os.WTERMSIG(status) == signal.SIGKILL
        killed += 1
    assert killed >= 5
