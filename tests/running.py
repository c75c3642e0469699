"""Running the command line as a person would: in a process of its own.

Loading the program takes longer than most commands. So this process is forked from one that has loaded it
(run_server.py), where the system can do that and nothing else uses it at the moment.
"""

from __future__ import annotations

import atexit
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import threading
from dataclasses import dataclass
from functools import cache
from pathlib import Path

LIMIT_S = 300


@dataclass(frozen=True)
class Ran:
    """What a command gave."""

    code: int
    out: str
    err: str


def run(*arguments: object, cwd: Path | None = None, env: dict[str, str] | None = None) -> Ran:
    """Run `lipsync` with these arguments; with an environment of its own it is started anew."""
    given = [str(argument) for argument in arguments]
    if env is None and hasattr(os, "fork") and _BUSY.acquire(blocking=False):
        try:
            return _server().run(given, cwd)
        finally:
            _BUSY.release()
    return _anew(given, cwd, env)


def _anew(arguments: list[str], cwd: Path | None, env: dict[str, str] | None) -> Ran:
    done = subprocess.run(
        [sys.executable, "-m", "lipsync", *arguments],
        cwd=cwd,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        stdin=subprocess.DEVNULL,
        timeout=LIMIT_S,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


_BUSY = threading.Lock()


@cache
def _server() -> _Server:
    return _Server()


class _Server:
    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.run_server"],
            cwd=Path(__file__).parent.parent,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        atexit.register(self._process.kill)

    def run(self, arguments: list[str], cwd: Path | None) -> Ran:
        umask = os.umask(0)
        os.umask(umask)
        with tempfile.NamedTemporaryFile() as out, tempfile.NamedTemporaryFile() as err:
            asked = {
                "arguments": arguments,
                "folder": str(cwd or Path.cwd()),
                "environment": dict(os.environ),
                "umask": umask,
                "out": out.name,
                "err": err.name,
            }
            asking, answers = self._process.stdin, self._process.stdout
            assert asking is not None
            assert answers is not None
            asking.write(json.dumps(asked) + "\n")
            asking.flush()
            if not select.select([answers], [], [], LIMIT_S)[0]:
                self._process.kill()  # else its answer would be taken for that of the next command
                _server.cache_clear()
                raise subprocess.TimeoutExpired(arguments, LIMIT_S)
            code = int(answers.readline())
            return Ran(code, *(Path(one.name).read_text("utf-8") for one in (out, err)))


def copy_of(production: Path, folder: Path) -> Path:
    """Copy a production that tests share, without what the program remembers of other tests' runs."""
    return shutil.copytree(production, folder, ignore=shutil.ignore_patterns(".lipsync"))
