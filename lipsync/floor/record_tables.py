"""The file of a shot's record as a table: its values checked, and its events.

In: the values of the TOML file; the form is described in formats/filmed.md. Out: a `RecordTable`, or its faults,
every one named; and its events.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints

from lipsync.floor.record import Event, Modelled, ModellingKind, Run, What, faults_of
from lipsync.floor.spans import Span
from lipsync.production.production_tables import LONGEST_SHOT, Id
from lipsync.tomlfile import Table

FORM = "lipsync filmed 2"
# Form 1 has other names for the events, and says nothing of modelling.
_EARLIER = "lipsync filmed 1"
_EARLIER_WORDS = {"filmed": "lock", "mended": "mend", "taken back": "unlock", "to film again": "refilm"}
OFF_CAMERA = "off camera"

_CODE = r"off camera|[A-Za-z0-9][A-Za-z0-9+-]{0,5}"
_SPAN = re.compile(r"(\d{1,8})(?:\s*-\s*(\d{1,8}))?")
_RUN = re.compile(rf"(\d{{1,8}})(?:-(\d{{1,8}}))? ({_CODE})(?:, planned ({_CODE}))?")
_MODELLED = re.compile(
    r"(\d{1,8})(?:-(\d{1,8}))? (?:toward ([A-Za-z0-9][A-Za-z0-9+-]{0,5})|(keep alive|not modelled))"
)


def _run(text: str) -> str:
    found = _RUN.fullmatch(text)
    if not found:
        raise ValueError(f'{text!r} is no run of frames; write such as "1-6 REST" or "7 OPEN2, planned OPEN1"')
    if found[2] and int(found[2]) < int(found[1]):
        raise ValueError(f"{text!r} ends before it begins; write the first frame first")
    if found[2] and int(found[2]) - int(found[1]) >= LONGEST_SHOT:
        raise ValueError(f"{text!r} is longer than any shot ({LONGEST_SHOT} frames); write the frames that it is of")
    return text


def _modelled(text: str) -> str:
    found = _MODELLED.fullmatch(text)
    if not found:
        raise ValueError(
            f'{text!r} is no modelling; write such as "62-64 toward OPEN1", "70 keep alive" or "62-64 not modelled"'
        )
    if found[2] and not 0 <= int(found[2]) - int(found[1]) < LONGEST_SHOT:
        raise ValueError(f"{text!r} ends before it begins, or is longer than any shot; mend its last frame")
    return text


def _form(text: str) -> str:
    if text in (FORM, _EARLIER):
        return text
    if re.fullmatch(r"lipsync filmed \d+", text):
        raise ValueError(f"found {text!r}, from a later version of this program; bring this one up to date")
    raise ValueError(f"found {text!r}; this is no record of filmed frames, which begins with {FORM!r}")


def _spans(text: str) -> str:
    for part in text.split(","):
        found = _SPAN.fullmatch(part.strip())
        if not found or (found[2] and int(found[2]) < int(found[1])):
            raise ValueError(f'{text!r} are no frames; write such as "1-48, 60", the first before the last')
        if found[2] and int(found[2]) - int(found[1]) >= LONGEST_SHOT:
            raise ValueError(f"{part!r} is longer than any shot ({LONGEST_SHOT} frames); write the frames filmed")
    return text


def _present_name(what: object) -> object:
    return _EARLIER_WORDS.get(what, what) if isinstance(what, str) else what


Form = Annotated[str, AfterValidator(_form)]
EventName = Annotated[What, BeforeValidator(_present_name)]
RunText = Annotated[str, AfterValidator(_run)]
ModelledText = Annotated[str, AfterValidator(_modelled)]
SpansText = Annotated[str, StringConstraints(max_length=100_000), AfterValidator(_spans)]
Line = Annotated[str, StringConstraints(max_length=1000)]


class EventTable(Table):
    """An event as the file holds it."""

    number: int
    what: EventName
    frames: SpansText
    revision: Line = ""
    stamp: Line = ""
    reason: Line = ""
    dated: datetime.date | None = None
    worn: Mapping[Id, tuple[RunText, ...]] = {}
    modelled: Mapping[Id, tuple[ModelledText, ...]] | None = None


class RecordEndTable(Table):
    """The last lines of the file."""

    of: Id


class RecordTable(Table):
    """A shot's record as the file holds it."""

    form: Form
    shot: Id
    first_frame: Annotated[int, Field(ge=0)]
    event: tuple[EventTable, ...] = ()
    end: RecordEndTable

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield what the events contradict each other in, and frames before the shot's first."""
        if self.end is not None and self.shot is not None and self.end.of != self.shot:
            yield "[end] of", f"found {self.end.of!r}, but this is shot {self.shot!r}; write the same in both"
        if self.first_frame is None or self.event is None or not all(map(_is_whole, self.event)):
            return  # broken values are told already; without them the events cannot be compared
        early = list(_before_the_shot(self.event, self.first_frame))
        yield from early
        if not early:
            yield from faults_of(events_of(self), self.first_frame)


def _is_whole(event: EventTable | None) -> bool:
    """Whether no value of an event is broken (tomlfile.py leaves None in place of a broken one)."""
    if event is None or None in (event.number, event.what, event.frames, event.worn):
        return False
    texts = [*event.worn.values(), *(event.modelled or {}).values()]
    return all(runs is not None and None not in runs for runs in texts)


def _before_the_shot(events: Iterable[EventTable], first_frame: int) -> Iterator[tuple[str, str]]:
    """Yield the place of each frame number below the shot's first, and a sentence."""
    for row, event in enumerate(events, 1):
        texts = [("frames", part.strip()) for part in event.frames.split(",")]
        texts += [(f"[worn] {who}", run) for who, runs in event.worn.items() for run in runs]
        texts += [(f"[modelled] {who}", run) for who, runs in (event.modelled or {}).items() for run in runs]
        for where, text in texts:
            if int(re.split("[- ]", text)[0]) < first_frame:
                yield f"[[event]] {row} {where}", f"{text!r} begins before the shot's first frame, {first_frame}"


def events_of(table: RecordTable) -> Iterator[Event]:
    """Yield the events of a table without faults; frames are counted from 0."""
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
            modelled=None
            if row.modelled is None
            else {who: tuple(_modelled_of(text, base) for text in texts) for who, texts in row.modelled.items()},
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


def _modelled_of(text: str, base: int) -> Modelled:
    found = _MODELLED.fullmatch(text)
    assert found  # the table was checked when it was read
    first = int(found[1]) - base
    kind: ModellingKind = "toward" if found[3] else "keep alive" if found[4] == "keep alive" else "not modelled"
    return Modelled(kind, first, int(found[2] or found[1]) - base, found[3] or "")
