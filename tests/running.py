"""Running the command line as a person would: in a process of its own."""

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Ran:
    """What a command gave."""

    code: int
    out: str
    err: str


def run(*arguments: object, cwd: Path | None = None, env: dict[str, str] | None = None) -> Ran:
    """Run `lipsync` with these arguments."""
    done = subprocess.run(
        [sys.executable, "-m", "lipsync", *map(str, arguments)],
        cwd=cwd,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        stdin=subprocess.DEVNULL,
        timeout=300,
    )
    return Ran(done.returncode, done.stdout, done.stderr)
