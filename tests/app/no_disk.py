"""Loaded by a worker before it starts: it opens nothing below the folder that `LIPSYNC_TEST_CLOSED` names.

Where that is not set, as where tests are collected, nothing is done.

A library that opens files without Python's knowledge is stopped by asking for the name: see `os.path.isfile`.
"""

import os
import sys
from collections.abc import Callable

CLOSED = os.environ.get("LIPSYNC_TEST_CLOSED")


def refuse(event: str, arguments: tuple[object, ...]) -> None:
    if event in {"open", "os.listdir", "os.scandir"} and str(arguments[0]).startswith(str(CLOSED)):
        raise PermissionError(f"a worker asked for {arguments[0]}")


def isfile(path: str, asked: Callable[[str], bool] = os.path.isfile) -> bool:
    refuse("open", (path,))
    return asked(path)


if CLOSED is not None and os.path.isfile.__module__ == "genericpath":  # it is loaded more than once
    sys.addaudithook(refuse)
    os.path.isfile = isfile
