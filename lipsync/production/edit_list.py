"""An edit decision list in the CMX 3600 form, read.

In: a path, and the production's rate. Out: a `Listing` of sounds, pictures and markers, with every fault and its
event.

The form, as published by CMX for the 3600 (from memory, and as OpenTimelineIO's open adapter reads it; tests
compare):

    TITLE: LAMP ROOM
    FCM: NON-DROP FRAME                   or DROP FRAME, for the events below it
    001  010-A  A  C  00:00:00:00 00:00:03:02 01:00:00:06 01:00:03:08
         event, reel, channels, transition (D and W with its length), source in and out, record in and out
    M2   010-A  048.0  00:00:00:00        the event above runs at so many frames a second
    * FROM CLIP NAME: 010-a.wav           notes on the event above
    * LOC: 01:00:04:00 RED 01-lamp-room_020    a marker: timecode, colour, text

Channels: V is picture; A, A2, AA, A3 ... are sound; B, A/V and AA/V are both. A list names no rate: it is read at the
production's rate. It is not read by that adapter, since that stops at the first fault and does not name the event.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from lipsync import timing
from lipsync.errors import Problem
from lipsync.production.listed import EditEvent, Listing
from lipsync.production.text_table import decoded

_EVENT = re.compile(
    r"(?P<number>\d{1,6})[A-Z]?\s+(?P<reel>\S+)\s+(?P<channels>\S+)\s+(?P<cut>C|D|W\d{1,3}|KB?|KO)(?:\s+\(?F?\)?)?"
    r"(?:\s+(?P<length>\d{1,3}))?\s+(?P<times>[\d:;.]+(?:\s+[\d:;.]+){3})"
)
_SPEED = re.compile(r"M2\s+(?P<reel>.*?)\s+(?P<speed>-?[0-9]+(?:\.[0-9]*)?)\s+[0-9:;]{11}")
_NOTE = re.compile(r"\*?\s*(FROM CLIP NAME|FROM CLIP|FROM FILE|SOURCE FILE|TO CLIP NAME)\s*(?:IS)?:\s*(.*)")
_MARKER = re.compile(r"\*?\s*LOC:\s*(\S+)\s+(\S+)\s*(.*)")
_SAME_SPEED = 0.05  # frames a second: speeds are written with one decimal


@dataclass
class _ListEvent:
    """An event as the list has it; `source` and `record` are frames from midnight, ends not included."""

    number: str
    reel: str
    channels: str
    source: tuple[int, int]
    record: tuple[int, int]
    cut: str = "C"
    notes: dict[str, str] = field(default_factory=dict)
    speed: float | None = None

    @property
    def place(self) -> str:
        return f"event {self.number}"

    @property
    def names(self) -> tuple[str, ...]:
        notes = self.notes
        clip = notes.get("TO CLIP NAME" if self.cut[0] in "DWK" else "FROM CLIP NAME") or notes.get("FROM CLIP NAME")
        files = (notes.get("FROM FILE"), notes.get("SOURCE FILE"), notes.get("FROM CLIP"))
        own = None if self.reel in ("AX", "BL") else self.reel
        return tuple(dict.fromkeys(name.strip() for name in (*files, clip, own) if name and name.strip()))


@dataclass
class _ListReading:
    """What was read so far; `drop` is the count of timecode in force, `ever_drop` whether any was drop-frame."""

    file: str
    rate: Fraction
    drop: bool = False
    ever_drop: bool = False
    events: list[_ListEvent] = field(default_factory=list)
    markers: list[EditEvent] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_edit_list(path: Path, rate: Fraction) -> Listing:
    """Return the events of an edit decision list, at the production's rate.

    Raises:
        InputError: if it cannot be read.
    """
    text, messages = decoded(path)
    reading = _ListReading(str(path), rate)
    for number, line in enumerate(text.splitlines(), start=1):
        _take(reading, number, line.strip())
    if not reading.events and not reading.problems:
        told = "has no event; export it as an edit decision list in the CMX 3600 form"
        reading.problems.append(Problem(reading.file, "", told))
    events = [found for event in reading.events for found in _events(reading, event)]
    return Listing(
        "edit",
        reading.file,
        events=(*events, *reading.markers),
        drop=reading.ever_drop,
        problems=tuple(reading.problems),
        messages=messages,
    )


def _take(reading: _ListReading, number: int, line: str) -> None:
    if line.startswith("FCM"):
        reading.drop = "NON" not in line and "DROP" in line
    elif line[:1].isdigit():
        _take_event(reading, number, line)
    elif not reading.events:
        return
    elif found := _SPEED.fullmatch(line):
        reading.events[-1].speed = float(found["speed"])
    elif found := _NOTE.fullmatch(line):
        reading.events[-1].notes.setdefault(found[1], found[2])
    elif found := _MARKER.fullmatch(line):
        try:
            frame = _frame(reading, found[1])
        except ValueError as error:
            reading.problems.append(Problem(reading.file, f"line {number}", str(error)))
            return
        place = f"marker at {found[1]}"
        reading.markers.append(EditEvent(reading.file, place, "marker", (found[3],), (frame, frame)))


def _take_event(reading: _ListReading, number: int, line: str) -> None:
    found = _EVENT.fullmatch(line)
    if not found:
        text = (
            "is no event of the CMX 3600 form; write number, reel, channels, transition, source in and out, and "
            "record in and out"
        )
        reading.problems.append(Problem(reading.file, f"line {number}", text))
        return
    try:
        first, end, begins, ends = (_frame(reading, text) for text in found["times"].split())
    except ValueError as error:
        text = f"{error}; is the edit at another rate than the production, {reading.rate}?"
        reading.problems.append(Problem(reading.file, f"event {found['number']}", text))
        return
    event = _ListEvent(
        found["number"], found["reel"], found["channels"].upper(), (first, end), (begins, ends), found["cut"]
    )
    last = reading.events[-1] if reading.events else None
    if last is not None and last.number == event.number and last.record[0] == last.record[1]:
        event.notes = last.notes  # a dissolve is two events: the first, of no length, is what it comes from
        reading.events.pop()
    reading.events.append(event)


def _frame(reading: _ListReading, text: str) -> int:
    """Return the frame, counted from midnight, of a timecode; a plain number is such a frame already.

    Raises:
        ValueError: if it is no timecode at the production's rate.
    """
    if text.isdecimal():
        return int(text)
    drop = reading.rate in timing.DROPPED_LABELS and (reading.drop or ";" in text)
    label = re.sub(r"[;.]", ":", text)
    if drop:
        head, _, frames = label.rpartition(":")
        label = f"{head};{frames}"
    reading.ever_drop |= drop
    return timing.parse_timecode(label, reading.rate)[0]


def _events(reading: _ListReading, event: _ListEvent) -> list[EditEvent]:
    """Return the sound and the picture of an event; neither, and a problem, if it cannot be used."""
    channels = event.channels.split("/")
    heard = any(one.startswith("A") or one == "B" for one in channels)
    seen = any(one.startswith("V") or one == "B" for one in channels)
    if event.record[0] == event.record[1] or event.reel == "BL":
        return []
    source_frames, record_frames = event.source[1] - event.source[0], event.record[1] - event.record[0]
    told = None
    if heard and (source_frames < 0 or (event.speed or 0) < 0):
        told = "runs backwards"
    elif heard and event.speed is not None and abs(event.speed - float(reading.rate)) > _SAME_SPEED:
        told = f"runs at {event.speed:g} frames a second"
    elif record_frames < 0:
        told = "ends before it begins in the edit; mend its record in and out"
    elif heard and source_frames != record_frames:
        told = f"lasts {source_frames} frames in the recording and {record_frames} in the edit"
    if told is not None:
        called = f"{event.names[0]!r} " if event.names else ""
        remedy = "" if ";" in told else "; a line is heard as it was recorded: undo that, or mix the sound down anew"
        reading.problems.append(Problem(reading.file, event.place, f"{called}{told}{remedy}"))
        return []
    made = [
        EditEvent(reading.file, event.place, "sound", event.names, event.record, event.source) if heard else None,
        EditEvent(reading.file, event.place, "picture", event.names, event.record, event.source) if seen else None,
    ]
    return [one for one in made if one is not None]
