"""A run that is stopped or killed goes on where it was, and ends with the bytes of one that nobody disturbed."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lipsync.app.index.production_index import FOLDER
from lipsync.errors import ExitCode
from tests.running import run

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor SIGINT to send")

ROOT = Path(__file__).parents[2]


def contents(folder: Path) -> dict[str, bytes]:
    """Return what all files hold but hidden ones and the index, which may be thrown away."""
    paths = (path for path in folder.rglob("[!.]*") if path.is_file() and FOLDER not in path.parts)
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def begun(folder: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "lipsync", "sheet", str(folder), "--jobs", "2"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment)


@pytest.fixture
def some(sample: Path) -> Path:
    """The sample with two lines still to be heard: workers are started."""
    for name in ("01-lamp-room/020-b", "02-post-office/030-b"):
        (sample / f"breakdowns/{name}.toml").unlink()
    return sample


def test_killed_at_random_it_ends_with_the_same_bytes(some: Path, tmp_path: Path) -> None:
    undisturbed = tmp_path / "undisturbed"
    shutil.copytree(some, undisturbed)
    started = time.monotonic()
    assert run("sheet", undisturbed, "--jobs", "1").code == ExitCode.DONE
    lasts_s, dice = time.monotonic() - started, random.Random(4)
    for _ in range(4):
        process = begun(some)
        time.sleep(dice.uniform(0, lasts_s))
        process.kill()
        process.communicate()
    assert run("sheet", some, "--jobs", "2").code == ExitCode.DONE
    assert contents(some) == contents(undisturbed)


def test_stopped_from_the_keyboard_it_keeps_what_is_finished(some: Path) -> None:
    process = begun(some)
    until = time.monotonic() + 120
    while not list((some / "sheets").glob("*/*.pdf")) and time.monotonic() < until and process.poll() is None:
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode in {ExitCode.INTERRUPTED, ExitCode.DONE}
    if process.returncode == ExitCode.INTERRUPTED:
        assert told == "Stopped. What was finished is kept.\n"
    assert all(path.read_bytes().endswith(b"%%EOF\n") for path in (some / "sheets").glob("*/*.pdf"))
    assert len(list((some / "breakdowns").glob("*/*.toml"))) == 11
