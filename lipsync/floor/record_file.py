"""The record of what is in the can, on disk: `filmed/SCENE/SHOT.toml` of a production, written whole or not at all.

Written by `lipsync lock`, `unlock` and `refilm`; a person may mend it. Frames are the production's numbers, as they
were when the file was written last (`first_frame`); runs of frames are text, one a row.

    form = "lipsync filmed 2"       the number rises when an older program could not read the file
    shot = "010"
    first_frame = 1                 the number of the shot's first frame in this file

    [[event]]                       in the order in which they happened; nothing is taken out
    number = 1                      1, 2, 3: the record keeps no time of its own
    what = "lock"                   lock, mend, unlock, refilm
    frames = "1-48, 60"             first and last of each run, or a single frame
    revision = "A"                  of a lock: the print that was filmed from, and its stamp
    stamp = "ABC-DE-FGH"
    reason = "the lamp fell over"   of a refilm; optional elsewhere
    dated = 2026-11-24              optional, and only where a person gave it
    [event.worn]                    of a lock or a mend: a row for each run of frames
    heron = [
        "1-6 REST",
        "7 OPEN2, planned OPEN1",
        "8-48 off camera",
    ]
    [event.modelled]                the same of what was done by hand: what the print said, or a person said was done
    heron = [
        "46-48 toward SHUT",        modelling that goes on beyond what is filmed is said to its end
        "20 keep alive",            from this frame on, to the end of the hold
        "8-9 not modelled",         of what is mended: nothing was begun on these frames
    ]

    [end]                           the last lines, so that a file that was cut short is noticed
    of = "010"

Form 1 called these filmed, mended, taken back, to film again, and had no [event.modelled]: what was modelled is what
the print says that the event names. It is read, and written as form 2.

A record whose shot is not in its scene any more goes with the shot: shot_files.py.
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
# lipsync lock, unlock and refilm write this file; its form is described in lipsync/floor/record_file.py.

"""


def read(path: Path) -> Filmed:
    """Return the record that a file holds.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    table = read_table(path, RecordTable, "nothing of this shot is filmed yet")
    return Filmed(table.shot, tuple(events_of(table)))


def text_of(record: Filmed, first_frame: int) -> str:
    """Return the text of the file that keeps a record, in the numbers that the production gives its frames now."""
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
    return shot_files(production, FOLDER, ".toml")


def own_place(folder: Path, scene: str, shot: str) -> Path:
    """Return where a shot's record is written if it has none yet."""
    return folder / FOLDER / scene / f"{shot}.toml"
