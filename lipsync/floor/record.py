"""What of a shot is in the can: the events that locked and unlocked its frames, in order.

Events have numbers, not times: the first is 1. Which frames are in the can, and what each character wore on them
(`Filmed.worn`), follows from the events in order. No event is ever taken out: filming a take again is an event of its
own, and so is taking a mistaken lock back. Each event has the name of the command that makes it; `mend` is `lock` on
frames that are locked already.

Frames are counted from 0 in the shot. None stands for off camera.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from lipsync.floor.spans import Span, frames_in, said, spans_of

# Frames go into the can; the record of what was worn on them is corrected; they had been locked by mistake; their
# take is thrown away.
What = Literal["lock", "mend", "unlock", "refilm"]
UNLOCKING = ("unlock", "refilm")


@dataclass(frozen=True, slots=True)
class Run:
    """Successive frames, first and last, with one code worn and one code planned; None off camera."""

    first: int
    last: int
    code: str | None
    planned: str | None

    def __post_init__(self) -> None:
        if not 0 <= self.first <= self.last:
            raise ValueError(f"a run goes from its first frame to its last, not from {self.first} to {self.last}")


# Modelling toward a piece; keeping a hold alive from a frame on; no modelling begins.
ModellingKind = Literal["toward", "keep alive", "not modelled"]


@dataclass(frozen=True, slots=True)
class Modelled:
    """What was modelled from one frame on: the clay toward a piece, up to the last frame, or a hold kept alive.

    Where modelling began on a filmed frame, its last frames may not be filmed yet.
    """

    kind: ModellingKind
    first: int
    last: int
    code: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.first <= self.last:
            raise ValueError(f"modelling goes from its first frame to its last, not {self.first} to {self.last}")
        if (self.kind == "toward") != bool(self.code):
            raise ValueError(f"{self.kind} {self.code!r}: modelling is toward a piece, all else toward none")


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a shot's frames on the floor.

    Attributes:
        number: its place among the shot's events, from 1.
        what: what happened.
        frames: the frames concerned.
        worn: for each character what it wore; only of a lock or a mend.
        revision: letter of the print that was filmed from.
        stamp: stamp of that print.
        reason: why, in a person's words.
        dated: a date that a person gave.
        modelled: for each character what was modelled; None where that was not recorded, and the print counts.
    """

    number: int
    what: What
    frames: tuple[Span, ...]
    worn: Mapping[str, tuple[Run, ...]] = field(default_factory=dict)
    revision: str = ""
    stamp: str = ""
    reason: str = ""
    dated: datetime.date | None = None
    modelled: Mapping[str, tuple[Modelled, ...]] | None = None


@dataclass(frozen=True, slots=True)
class Worn:
    """The code that one character wore on one filmed frame, and the planned one; None off camera."""

    code: str | None
    planned: str | None


@dataclass(frozen=True, slots=True)
class Filmed:
    """A shot's record.

    Attributes:
        shot: its id.
        events: in order.
    """

    shot: str
    events: tuple[Event, ...] = ()

    def __post_init__(self) -> None:
        for place, text in faults_of(self.events, 0):
            raise ValueError(f"shot {self.shot}: {place}: {text}")

    @property
    def frames(self) -> frozenset[int]:
        """The frames that are in the can."""
        return _frames_after(self.events)

    @property
    def worn(self) -> dict[str, dict[int, Worn]]:
        """For each character what it wore on each frame in the can."""
        found: dict[str, dict[int, Worn]] = {}
        for event in self.events:
            gone = frames_in(event.frames) if event.what in UNLOCKING else frozenset()
            for character in found if gone else ():
                found[character] = {frame: worn for frame, worn in found[character].items() if frame not in gone}
            for character, runs in event.worn.items():
                for run in runs:
                    for frame in range(run.first, run.last + 1):
                        found.setdefault(character, {})[frame] = Worn(run.code, run.planned)
        return {character: dict(sorted(frames.items())) for character, frames in found.items() if frames}

    def with_event(self, event: Event) -> Filmed:
        """Return the record with one more event."""
        return Filmed(self.shot, (*self.events, event))


def runs_of(worn: Mapping[int, Worn]) -> tuple[Run, ...]:
    """Return what was worn as runs.

    >>> runs_of({0: Worn("REST", "REST"), 1: Worn("REST", "REST"), 3: Worn("OPEN1", "SHUT")})
    (Run(first=0, last=1, code='REST', planned='REST'), Run(first=3, last=3, code='OPEN1', planned='SHUT'))
    """
    found: list[Run] = []
    for frame, wear in sorted(worn.items()):
        before = found[-1] if found else None
        if before and before.last == frame - 1 and (before.code, before.planned) == (wear.code, wear.planned):
            found[-1] = Run(before.first, frame, wear.code, wear.planned)
        else:
            found.append(Run(frame, frame, wear.code, wear.planned))
    return tuple(found)


def faults_of(events: Iterable[Event], first_frame: int) -> Iterator[tuple[str, str]]:
    """Yield the contradictions in a series of events: place and sentence, with the production's frame numbers."""
    filmed: frozenset[int] = frozenset()
    for row, event in enumerate(events, start=1):
        place = f"[[event]] {row}"
        frames = frames_in(event.frames)
        if event.number != row:
            yield f"{place} number", f"found {event.number}; events are numbered 1, 2, 3 as they stand"
        if not frames:
            yield f"{place} frames", "holds no frame; name at least one"
        if sum(last - first + 1 for first, last in event.frames) != len(frames):
            yield f"{place} frames", "holds a frame twice; name each once"
        filmed, missed = _after(filmed, event.what, frames)
        if missed:
            state = "already in the can" if event.what == "lock" else "not in the can"
            yield f"{place} frames", f"found {said(missed, first_frame)}, {state} before this event; take it out"
        yield from _worn_faults(place, event, frames, first_frame)
        yield from _modelled_faults(place, event, frames, first_frame)


def _after(filmed: frozenset[int], what: What, frames: frozenset[int]) -> tuple[frozenset[int], frozenset[int]]:
    """Return the frames in the can after an event, and those of its frames to which it cannot have happened."""
    if what == "lock":
        return filmed | frames, filmed & frames
    return (filmed if what == "mend" else filmed - frames), frames - filmed


def _frames_after(events: Iterable[Event]) -> frozenset[int]:
    filmed: frozenset[int] = frozenset()
    for event in events:
        filmed, _ = _after(filmed, event.what, frames_in(event.frames))
    return filmed


def _worn_faults(place: str, event: Event, frames: frozenset[int], first_frame: int) -> Iterator[tuple[str, str]]:
    if event.what in UNLOCKING and event.worn:
        yield f"{place} [worn]", f"says what was worn, which {event.what!r} does not; take it out"
        return
    for character, runs in event.worn.items():
        where = f"{place} [worn] {character}"
        listed = [frame for run in runs for frame in range(run.first, run.last + 1)]
        if len(listed) != len(set(listed)):
            twice = {frame for frame, times in Counter(listed).items() if times > 1}
            yield where, f"says twice what was worn on {said(twice, first_frame)}; keep one"
        if beyond := set(listed) - frames:
            yield where, f"speaks of {said(beyond, first_frame)}, which this event does not hold"
        if event.what == "lock" and (missing := frames - set(listed)):
            yield where, f"does not say what was worn on {said(missing, first_frame)}; add it"


def _modelled_faults(place: str, event: Event, frames: frozenset[int], first_frame: int) -> Iterator[tuple[str, str]]:
    for character, modelled in (event.modelled or {}).items():
        where = f"{place} [modelled] {character}"
        if event.what in UNLOCKING:
            yield where, f"says what was modelled, but frames are {event.what}; take it out"
        elif beyond := {one.first for one in modelled} - frames:
            yield where, f"begins on {said(beyond, first_frame)}, which this event does not hold"


def next_event(
    record: Filmed,
    what: What,
    frames: Iterable[int],
    *,
    worn: Mapping[str, tuple[Run, ...]] | None = None,
    modelled: Mapping[str, tuple[Modelled, ...]] | None = None,
    reason: str = "",
    dated: datetime.date | None = None,
) -> Event:
    """Return the next event of a record, with the next number."""
    return Event(
        len(record.events) + 1, what, spans_of(frames), worn or {}, reason=reason, dated=dated, modelled=modelled
    )
