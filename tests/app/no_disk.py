"""Loaded by a worker before it starts: it opens nothing below the folder that `LIPSYNC_TEST_CLOSED` names.

A library that opens files without Python's knowledge is stopped by asking for the name: see `os.path.isfile`.
"""

import os
import sys
from collections.abc import Callable

CLOSED = os.environ["LIPSYNC_TEST_CLOSED"]


def refuse(event: str, arguments: tuple[object, ...]) -> None:
    if event in {"open", "os.listdir", "os.scandir"} and str(arguments[0]).startswith(CLOSED):
        raise PermissionError(f"a worker asked for {arguments[0]}")


def isfile(path: str, asked: Callable[[str], bool] = os.path.isfile) -> bool:
    refuse("open", (path,))
    return asked(path)


if os.path.isfile.__module__ == "genericpath":  # it is loaded more than once
    sys.addaudithook(refuse)
    os.path.isfile = isfile
