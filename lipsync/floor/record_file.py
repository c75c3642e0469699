"""The record of what is in the can, on disk: `filmed/SCENE/SHOT.toml` of a production, written whole or not at all.

Written by `lipsync lock`, `unlock` and `refilm`; a person may mend it. The form of the file is described in
formats/filmed.md. Form 1 is read as well, and written as form 2.

In: a path, or a `Filmed` to write. Out: a `Filmed`, or every fault of the file in one go; or the file. If a shot has
moved to another scene, its record is still found: shot_files.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomli_w

from lipsync.files import write_whole
from lipsync.floor.record import Event, Filmed, Modelled, Run
from lipsync.floor.record_tables import FORM, OFF_CAMERA, RecordTable, events_of
from lipsync.floor.shot_files import ShotFiles, shot_files
from lipsync.floor.spans import Span
from lipsync.production.values import Production
from lipsync.tomlfile import read_table

FOLDER = "filmed"

_HEADER = """\
# What is in the can of this shot: these frames are final, and every plan keeps them as they are.
# lipsync lock, unlock and refilm write this file; its form is described in lipsync/formats/filmed.md.

"""


def read(path: Path) -> Filmed:
    """Return the record that a file holds.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    table = read_table(path, RecordTable, "nothing of this shot is filmed yet")
    return Filmed(table.shot, tuple(events_of(table)))


def text_of(record: Filmed, first_frame: int) -> str:
    """Return the text of a record's file; `first_frame` is the production's number of the shot's first frame."""
    table: dict[str, Any] = {"form": FORM, "shot": record.shot, "first_frame": first_frame}
    table["event"] = [_event(event, first_frame) for event in record.events]
    table["end"] = {"of": record.shot}
    return _HEADER + tomli_w.dumps(table)


def _event(event: Event, base: int) -> dict[str, Any]:
    table: dict[str, Any] = {
        "number": event.number,
        "what": event.what,
        "frames": ", ".join(_span_text(span, base) for span in event.frames),
    }
    for name in ("revision", "stamp", "reason", "dated"):
        if value := getattr(event, name):
            table[name] = value
    if event.worn:
        table["worn"] = {who: [_run_text(run, base) for run in runs] for who, runs in event.worn.items()}
    if event.modelled is not None:
        table["modelled"] = {who: [_modelled_text(one, base) for one in done] for who, done in event.modelled.items()}
    return table


def _modelled_text(done: Modelled, base: int) -> str:
    return f"{_span_text((done.first, done.last), base)} {done.kind}{f' {done.code}' if done.code else ''}"


def _span_text(span: Span, base: int) -> str:
    first, last = (frame + base for frame in span)
    return str(first) if first == last else f"{first}-{last}"


def _run_text(run: Run, base: int) -> str:
    frames = _span_text((run.first, run.last), base)
    planned = "" if run.planned == run.code else f", planned {run.planned or OFF_CAMERA}"
    return f"{frames} {run.code or OFF_CAMERA}{planned}"


def write(path: Path, record: Filmed, first_frame: int) -> None:
    """Write a record, whole or not at all.

    Raises:
        OutputError: if it cannot be written; what was there before is untouched.
    """
    write_whole(path, text_of(record, first_frame).encode())


def records_in(production: Production) -> ShotFiles:
    """Return where the record of each shot lies.

    Raises:
        InputError: if a shot has two, or they cannot be looked for.
    """
    return shot_files(production, FOLDER, ".toml", never_lost=True)


def own_place(folder: Path, scene: str, shot: str) -> Path:
    """Return where a shot's record is written if it has none yet."""
    return folder / FOLDER / scene / f"{shot}.toml"
