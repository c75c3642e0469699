"""A Dask scheduler and its workers on this machine's loopback, each a process of its own, for tests."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]


class LoopbackCluster:
    """A scheduler; workers are started one by one. Used with `with`, all end with it."""

    def __init__(self, folder: Path) -> None:
        """Start a scheduler that gives a task up as soon as its worker dies: trying again is the program's own."""
        self.folder, self.processes = folder, list[subprocess.Popen[bytes]]()
        give_up = {"DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0"}
        self.file = folder / "scheduler.json"
        self._start(["scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(self.file)], give_up)

    @property
    def address(self) -> str:
        """The scheduler's address."""
        import json

        return str(json.loads(self.file.read_text())["address"])

    def worker(self, *options: str, env: Mapping[str, str] | None = None) -> subprocess.Popen[bytes]:
        """Start a worker; it waits until the scheduler is there."""
        one = ["--nthreads", "1", "--no-nanny", "--local-directory", str(self.folder), "--memory-limit", "0"]
        return self._start(["worker", "--scheduler-file", str(self.file), *one, *options], env or {})

    def __enter__(self) -> LoopbackCluster:
        """Return it."""
        return self

    def __exit__(self, *_: object) -> None:
        """End all that was started."""
        for one in self.processes:
            one.kill()
            one.wait()

    def _start(self, arguments: Sequence[str], env: Mapping[str, str]) -> subprocess.Popen[bytes]:
        known = {"PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        with (self.folder / f"log-{len(self.processes)}").open("wb") as log:
            started = subprocess.Popen(
                [sys.executable, "-m", "dask", *arguments, "--no-dashboard"],
                cwd=self.folder, env={**os.environ, **known, **env}, stdout=log, stderr=subprocess.STDOUT,
            )  # fmt: skip
        self.processes.append(started)
        return started
