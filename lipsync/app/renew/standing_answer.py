"""The answer of the last run over a whole production, while nothing that it depends on has changed.

In: a production's folder, the command and what it was asked. Out: what that run answered, or None. It is kept in
`.lipsync/` with the state of every file that was read or written (production_index.py), and with the names in every
folder. All of these are compared; a file is read again only if it was changed about the time of the run. This module
loads nothing heavy of the program, so that asking twice takes no time.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lipsync.app.index.own_files import program_state
from lipsync.errors import Problem
from lipsync.message import Message
from lipsync.report import Report
from lipsync.seen import FRESH_NS, state_of_file

if TYPE_CHECKING:
    from lipsync.app.index.production_index import ProductionIndex

FOLDER = ".lipsync"
_FORM = "lipsync standing answer 2"


@dataclass(frozen=True, slots=True)
class StandingAnswer:
    """What a run answered.

    Attributes:
        paths: the files that it wrote or found unchanged.
        report: what was not done, and what is to be known.
        record: what else it holds, as JSON values.
    """

    paths: tuple[Path, ...]
    report: Report
    record: Mapping[str, Any] = field(default_factory=dict)


def part_of(answer: StandingAnswer, scene: str | None, shot: str | None) -> StandingAnswer | None:
    """Return what a run over a scene, or over one shot, would have answered that printed SCENE/SHOT.pdf.

    None if that is not certain: the files do not tell one such shot, or something is said that is about none of them.
    """
    if scene is None and shot is not None and "/" in shot:
        scene, _, shot = shot.partition("/")
    paths = tuple(one for one in answer.paths if scene in (None, one.parent.name) and shot in (None, one.stem))
    told, there = answer.report.messages, {(one.parent.name, one.stem) for one in answer.paths}
    if not paths or (shot is not None and len(paths) > 1) or any((one.scene, one.shot) not in there for one in told):
        return None
    meant = {(one.parent.name, one.stem) for one in paths}
    return StandingAnswer(paths, Report((), tuple(one for one in told if (one.scene, one.shot) in meant)))


def standing_answer(folder: Path, command: str, asked: str) -> StandingAnswer | None:
    """Return the answer of a command's last run, if the same was asked and nothing has changed."""
    try:
        kept: Any = json.loads(_path(folder, command).read_bytes())
        if (kept["form"], kept["asked"], kept["program"]) != (_FORM, asked, program_state()):
            return None
        if any(_names(name) != names for name, names in kept["folders"]):
            return None
        if not all(_is_as_was(*row) for row in kept["files"]):
            return None
        problems = tuple(Problem(*map(str, row)) for row in kept["problems"])
        messages = tuple(Message(*map(str, row)) for row in kept["messages"])
        return StandingAnswer(tuple(map(Path, kept["paths"])), Report(problems, messages), dict(kept["record"]))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def keep_answer(folder: Path, command: str, asked: str, answer: StandingAnswer, inputs: Inputs) -> None:
    """Keep the answer of a command's run, unless another program changed a file meanwhile or it cannot be written."""
    rows: list[tuple[str, str, str]] = []
    for path in dict.fromkeys(inputs.files):
        row = _row(path, inputs.began_ns, inputs.index)
        if row is None:
            return
        rows.append(row)
    kept = {
        "form": _FORM,
        "asked": asked,
        "program": program_state(),
        "folders": [(str(path), _names(str(path))) for path in inputs.folders],
        "files": rows,
        "paths": list(map(str, answer.paths)),
        "problems": [_fields(one) for one in answer.report.problems],
        "messages": [_fields(one) for one in answer.report.messages],
        "record": answer.record,
    }
    from lipsync.errors import OutputError
    from lipsync.files import write_whole

    with contextlib.suppress(OutputError):
        write_whole(_path(folder, command), json.dumps(kept, ensure_ascii=False, separators=(",", ":")).encode())


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that a run depends on.

    Attributes:
        files: the files that it read, wrote or found missing.
        folders: the folders in which a new file would change the answer.
        index: the index that knows the codes of what the run has read or written.
        began_ns: when the run began, before anything was read (`now_ns`).
    """

    files: Iterable[Path]
    folders: tuple[Path, ...]
    index: ProductionIndex
    began_ns: int


def _path(folder: Path, command: str) -> Path:
    return folder / FOLDER / f"{command}.json"


def _row(path: Path, began_ns: int, index: ProductionIndex) -> tuple[str, str, str] | None:
    """Return a file's path, its state, and its code if it was changed about the time of the run.

    None if something else changed it during the run.
    """
    state, changed_ns = _state_of(str(path))
    if changed_ns < began_ns - FRESH_NS:
        return str(path), state, ""
    from lipsync.app.index.production_index import code_of_bytes

    try:
        code = code_of_bytes(path.read_bytes())
    except OSError:
        return None
    return (str(path), state, code) if index.noted(path) == code else None


def _is_as_was(name: str, state: str, code: str) -> bool:
    if _state_of(name)[0] != state:
        return False
    if not code:
        return True
    from lipsync.app.index.production_index import code_of_bytes

    return code_of_bytes(Path(name).read_bytes()) == code


def _state_of(name: str) -> tuple[str, int]:
    try:
        return state_of_file(name)
    except OSError:
        return "", 0


def _names(folder: str) -> list[str]:
    """Return the names in a folder and in the folders directly in it, except hidden ones."""
    found: list[str] = []
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            found.append(entry.name)
            if entry.is_dir():
                found += (f"{entry.name}/{name}" for name in os.listdir(entry))
    return sorted(name for name in found if not name.rpartition("/")[2].startswith("."))


def _fields(one: Message) -> list[str]:
    return [one.file, one.place, one.what, one.remedy, one.kind, one.scene, one.shot, one.line]


def now_ns() -> int:
    """Return the time of the clock in ns, to tell later what was changed since."""
    return time.time_ns()
