"""The record of what is in the can, on disk: `filmed/SCENE/SHOT.toml` of a production, written whole or not at all.

Written by `lipsync lock`, `unlock` and `refilm`; a person may mend it. Frames are the production's numbers, as they
were when the file was written last (`first_frame`); runs of frames are text, one a row.

    form = "lipsync filmed 1"       the number rises when an older program could not read the file
    shot = "010"
    first_frame = 1                 the number of the shot's first frame in this file

    [[event]]                       in the order in which they happened; nothing is taken out
    number = 1                      1, 2, 3: the record keeps no time of its own
    what = "filmed"                 filmed, mended, taken back, to film again
    frames = "1-48, 60"             first and last of each run, or a single frame
    revision = "A"                  of what is filmed: the print that it was filmed from, and its stamp
    stamp = "ABC-DE-FGH"
    reason = "the lamp fell over"   of what is filmed again; optional elsewhere
    dated = 2026-11-24              optional, and only where a person gave it
    [event.worn]                    of what is filmed or mended: a row for each run of frames
    heron = [
        "1-6 REST",
        "7 OPEN2, planned OPEN1",
        "8-48 off camera",
    ]

    [end]                           the last lines, so that a file that was cut short is noticed
    of = "010"

A shot is found by its id, in whatever scene's folder its record lies, so it may move to another scene.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

import tomli_w
from pydantic import AfterValidator, Field, StringConstraints

from lipsync.errors import InputError, Problem
from lipsync.files import write_whole
from lipsync.filming.record import Event, Filmed, Run, What, faults_of
from lipsync.filming.spans import Span
from lipsync.production.values import Id
from lipsync.tomlfile import Table, read_table

FORM = "lipsync filmed 1"
FOLDER = "filmed"
OFF_CAMERA = "off camera"

_CODE = r"off camera|[A-Za-z0-9][A-Za-z0-9+-]{0,5}"
_SPAN = re.compile(r"(\d{1,8})(?:\s*-\s*(\d{1,8}))?")
_RUN = re.compile(rf"(\d{{1,8}})(?:-(\d{{1,8}}))? ({_CODE})(?:, planned ({_CODE}))?")

_HEADER = """\
# What is in the can of this shot: these frames are final, and every plan keeps them as they are.
# lipsync lock, unlock and refilm write this file; its form is described in lipsync/filming/record_file.py.

"""


def _run(text: str) -> str:
    found = _RUN.fullmatch(text)
    if not found:
        raise ValueError(f'{text!r} is no run of frames; write such as "1-6 REST" or "7 OPEN2, planned OPEN1"')
    if found[2] and int(found[2]) < int(found[1]):
        raise ValueError(f"{text!r} ends before it begins; write the first frame first")
    return text


def _form(text: str) -> str:
    if text == FORM:
        return text
    if re.fullmatch(r"lipsync filmed \d+", text):
        raise ValueError(f"found {text!r}, from a later version of this program; bring this one up to date")
    raise ValueError(f"found {text!r}; this is no record of filmed frames, which begins with {FORM!r}")


def _spans(text: str) -> str:
    for part in text.split(","):
        found = _SPAN.fullmatch(part.strip())
        if not found or (found[2] and int(found[2]) < int(found[1])):
            raise ValueError(f'{text!r} are no frames; write such as "1-48, 60", the first before the last')
    return text


Form = Annotated[str, AfterValidator(_form)]
RunText = Annotated[str, AfterValidator(_run)]
SpansText = Annotated[str, StringConstraints(max_length=100_000), AfterValidator(_spans)]
Line = Annotated[str, StringConstraints(max_length=1000)]


class EventTable(Table):
    """An event as the file holds it."""

    number: int
    what: What
    frames: SpansText
    revision: Line = ""
    stamp: Line = ""
    reason: Line = ""
    dated: datetime.date | None = None
    worn: Mapping[Id, tuple[RunText, ...]] = {}


class EndTable(Table):
    """The last lines of the file."""

    of: Id


class RecordTable(Table):
    """A shot's record as the file holds it."""

    form: Form
    shot: Id
    first_frame: Annotated[int, Field(ge=0)]
    event: tuple[EventTable, ...] = ()
    end: EndTable

    def faults(self) -> Iterator[tuple[str, str]]:
        """What the events say that cannot all have happened."""
        if self.end is not None and self.shot is not None and self.end.of != self.shot:
            yield "[end] of", f"found {self.end.of!r}, but this is shot {self.shot!r}; write the same in both"
        if self.first_frame is None or self.event is None or not all(map(_stands, self.event)):
            return  # what is broken has been named; the rest cannot be played through
        early = list(_early(self.event, self.first_frame))
        yield from early
        if not early:
            yield from faults_of(_events(self), self.first_frame)


def _stands(event: EventTable | None) -> bool:
    """Whether nothing of a row is broken (tomlfile.py leaves None where something is)."""
    if event is None or None in (event.number, event.what, event.frames, event.worn):
        return False
    return all(runs is not None and None not in runs for runs in event.worn.values())


def _early(events: Iterable[EventTable], first_frame: int) -> Iterator[tuple[str, str]]:
    """Yield frames below the shot's first."""
    for row, event in enumerate(events, 1):
        texts = [("frames", part.strip()) for part in event.frames.split(",")]
        texts += [(f"[worn] {who}", run) for who, runs in event.worn.items() for run in runs]
        for where, text in texts:
            if int(re.split("[- ]", text)[0]) < first_frame:
                yield f"[[event]] {row} {where}", f"{text!r} begins before the shot's first frame, {first_frame}"


def read(path: Path) -> Filmed:
    """Return the record that a file holds.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    table = read_table(path, RecordTable, "nothing of this shot is filmed yet")
    return Filmed(table.shot, tuple(_events(table)))


def _events(table: RecordTable) -> Iterator[Event]:
    base = table.first_frame
    for row in table.event:
        yield Event(
            number=row.number,
            what=row.what,
            frames=tuple(_span_of(part, base) for part in row.frames.split(",")),
            worn={who: tuple(_run_of(text, base) for text in runs) for who, runs in row.worn.items()},
            revision=row.revision,
            stamp=row.stamp,
            reason=row.reason,
            dated=row.dated,
        )


def _span_of(text: str, base: int) -> Span:
    found = _SPAN.fullmatch(text.strip())
    assert found  # the table was checked when it was read
    return int(found[1]) - base, int(found[2] or found[1]) - base


def _run_of(text: str, base: int) -> Run:
    found = _RUN.fullmatch(text)
    assert found  # the table was checked when it was read
    first = int(found[1]) - base
    code = None if found[3] == OFF_CAMERA else found[3]
    planned = code if found[4] is None else None if found[4] == OFF_CAMERA else found[4]
    return Run(first, int(found[2] or found[1]) - base, code, planned)


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
    return table


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


def records_in(folder: Path) -> dict[str, Path]:
    """Return where the record of each shot lies in a production's folder, by the shot's id.

    Raises:
        InputError: if a shot has two.
    """
    found: dict[str, Path] = {}
    problems: list[Problem] = []
    for path in sorted((folder / FOLDER).glob("*/*.toml")):
        if path.name.startswith("."):
            continue
        other = found.setdefault(path.stem, path)
        if other != path:
            text = f"shot {path.stem} has another record, {other}; keep the one that is true"
            problems.append(Problem(str(path), "", text))
    if problems:
        raise InputError(problems)
    return found


def own_place(folder: Path, scene: str, shot: str) -> Path:
    """Return where a shot's record is written if it has none yet."""
    return folder / FOLDER / scene / f"{shot}.toml"
