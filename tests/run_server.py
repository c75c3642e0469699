"""Runs commands in processes that are forked from this one, which has loaded the program once.

In: a row of JSON on standard input for each command: its arguments, folder, environment, umask, and the files that
its output goes to. Out: its exit code, in a row. Nothing but loading is done before a fork, so that a command finds
the program as if it had been started anew; libraries and fonts that wait until they are used are loaded too.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import pkgutil
import runpy
import sys
import warnings
from typing import Any

import lipsync
from lipsync.paper import pdf

# It loads a library that is an extra, and starts threads; this one is a command.
NOT_LOADED = {"lipsync.app.work.cluster", "lipsync.__main__"}
# What the program, or a library, loads only when it is used.
LOADED_LATE = ("num2words", "rich.console", "rich.progress", "rich.table", "typer._adapters")


def main() -> None:
    for module in pkgutil.walk_packages(lipsync.__path__, "lipsync."):
        if module.name not in NOT_LOADED:
            importlib.import_module(module.name)
    for name in LOADED_LATE:
        importlib.import_module(name)
    for bold in (False, True):
        pdf._font(bold)
    gc.freeze()  # a command's own rubbish is sought among its own objects
    for row in sys.stdin:
        asked = json.loads(row)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of forking beside threads of numpy's, which are told of a fork
            child = os.fork()
        if not child:
            run(asked)
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


def run(asked: dict[str, Any]) -> None:
    """Be the command; this ends the process."""
    os.environ.clear()
    os.environ.update(asked["environment"])
    os.chdir(asked["folder"])
    os.umask(asked["umask"])
    for number, path in enumerate((os.devnull, asked["out"], asked["err"])):
        opened = os.open(path, os.O_RDWR)
        os.dup2(opened, number)
        os.close(opened)
    sys.argv[:] = ["lipsync", *asked["arguments"]]
    runpy.run_module("lipsync", run_name="__main__", alter_sys=True)
    sys.exit(0)


if __name__ == "__main__":
    main()
