"""Which program it is: codes of its version and of its own files. Nothing heavy is loaded.

In: nothing. Out: a code of the state of its files, for what is kept on this machine; and one of what they hold, which
is the same on another machine.
"""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache

from lipsync.seen import state_of_file
from lipsync.version import VERSION

_ROOT = os.path.dirname(os.path.dirname(os.path.dirname(__file__)))
_DIGITS = 24


@lru_cache(maxsize=1)
def program_state() -> str:
    """Return a code of the program as it lies on this machine: its version and the state of its files."""
    states: list[str] = [VERSION]
    for folder, below, names in os.walk(_ROOT):
        below[:] = sorted(name for name in below if name != "__pycache__")
        for name in sorted(names):
            try:
                states.append(f"{name} {state_of_file(os.path.join(folder, name))[0]}")
            except OSError:
                states.append(name)
    return _code(states)


@lru_cache(maxsize=1)
def program_code() -> str:
    """Return a code of the program: its version and all that its own files hold."""
    held: list[str] = [VERSION]
    for folder, below, names in os.walk(
        _ROOT
    ):  # a path for each of the hundreds of files would take most of the time
        below.sort()
        for name in sorted(name for name in names if name.endswith((".py", ".ttf", ".toml", ".gz"))):
            path = os.path.join(folder, name)
            with open(path, "rb") as file:
                held += (path.removeprefix(_ROOT), hashlib.sha256(file.read()).hexdigest())
    return _code(held)


def _code(rows: list[str]) -> str:
    return hashlib.sha256("\n".join(rows).encode()).hexdigest()[:_DIGITS]
