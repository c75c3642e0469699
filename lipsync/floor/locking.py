"""Putting frames into the can and out of it: lock, unlock, refilm. Each adds events to the shot's record.

In: a production, a shot and frames in the production's numbers. Out: the record, written whole, and what to say of
it. What was worn on a frame is what the print said from which it was filmed, the newest unless another is named, and
something else where a person says so.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from lipsync.errors import InputError, Problem
from lipsync.file_lock import alone
from lipsync.floor import prints, record_file
from lipsync.floor.as_filmed import filmed_cells
from lipsync.floor.prints import Revision
from lipsync.floor.record import Event, Filmed, Modelled, What, next_event, runs_of
from lipsync.floor.spans import Span, frames_in, said
from lipsync.floor.wearing import in_runs, mended_in, modelled_anew, modelled_on, worn_as_said, worn_on
from lipsync.message import Message, Where
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene
from lipsync.seen import changed_since


@dataclass(frozen=True, slots=True)
class ShotRecord:
    """A shot, its record, and the file that the record is written to."""

    production: Production
    scene: Scene
    shot: Shot
    record: Filmed
    path: Path

    @property
    def name(self) -> str:
        """The shot's place in words, for messages."""
        return f'[[shot]] "{self.shot.id}"'

    @property
    def called(self) -> str:
        """What the shot is called where no scene is told."""
        return self.production.called(self.scene.id, self.shot.id)

    def told(self, kind: str, **facts: object) -> Message:
        """Return a message of what was done to the shot."""
        where = Where(place=f"shot {self.shot.id}", scene=self.scene.id, shot=self.shot.id)
        return Message.of(kind, where, **facts)

    def said(self, frames: Iterable[int]) -> str:
        """Return frames in words, in the production's numbers."""
        return said(frames, self.production.file.first_frame)

    def modelled(self) -> dict[str, tuple[Modelled, ...]]:
        """Return what was modelled on the frames in the can, by character."""
        path = prints.prints_in(self.production).of_shots.get((self.scene.id, self.shot.id))
        known = prints.read(path) if path else prints.Prints(self.shot.id)
        names = {who: character.name for who, character in self.production.file.characters.items()}
        return {who: done.marks for who, done in filmed_cells(self.record, known, names).items()}

    def write(self, record: Filmed) -> None:
        """Write the shot's record."""
        record_file.write(self.path, record, self.production.file.first_frame)


def place_of(production: Production, shot: str) -> ShotRecord:
    """Return a shot with its record; one with no event if nothing of it was filmed.

    Raises:
        InputError: if there is no such shot, or its record is broken.
    """
    scene, there = production.shots(shot=shot)[0]
    path = record_file.records_in(production).of_shots.get((scene.id, there.id))
    record = Filmed(there.id) if path is None else record_file.read(path)
    return ShotRecord(
        production, scene, there, record, path or record_file.own_place(production.folder, scene.id, there.id)
    )


@contextmanager
def _held_place(production: Production, shot: str) -> Iterator[ShotRecord]:
    """Yield a shot with its record, to which nobody else writes meanwhile, nor prints: no lock is lost to another.

    Raises:
        InputError: if the production was changed since it was read.
    """
    with alone(production.folder / prints.FOLDER):
        if changed := changed_since(production.read_from):
            where, files = Where(str(production.folder)), ", ".join(map(str, changed))
            raise InputError([Problem.of("changed before locking", where, files=files)])
        yield place_of(production, shot)


def lock(
    production: Production,
    shot: str,
    span: Span | None,
    wore: Sequence[str] = (),
    *,
    revision: str | None = None,
    dated: datetime.date | None = None,
) -> tuple[Message, ...]:
    """Lock frames of a shot, and return what to say of it.

    Args:
        production: the production.
        shot: the shot, as `Production.shots` names it.
        span: first and last frame, in the production's numbers; None for those that `wore` names.
        wore: what was really worn, as a person says it (wearing.py); on locked frames it mends the record.
        revision: letter or stamp of the print that was filmed from; None for the newest.
        dated: a date for the record.

    Raises:
        InputError: if there is no such shot, frame, code or print.
        OutputError: if the record cannot be written.
    """
    with _held_place(production, shot) as place:
        return _lock(place, span, wore, revision, dated)


def _lock(
    place: ShotRecord, span: Span | None, wore: Sequence[str], revision: str | None, dated: datetime.date | None
) -> tuple[Message, ...]:
    production = place.production
    meant = frozenset() if span is None else _frames(place, span)
    printed = _print(place, revision)
    cast = dict.fromkeys([*printed.state.characters, *place.shot.speakers])
    said_worn = worn_as_said(wore, production, [who for who in cast if who in production.mouth_sets])
    named = frames_in(one.span for one in said_worn)
    asked = named if span is None else meant
    _check(place, printed, asked, named)
    new = asked - place.record.frames
    record, messages = place.record, list[Message]()
    if new:
        worn = worn_on(printed, said_worn, new)
        modelled = modelled_on(printed, said_worn, worn)
        event = next_event(record, "lock", new, worn=in_runs(worn), modelled=modelled, dated=dated)
        record = record.with_event(replace(event, revision=printed.letter, stamp=printed.state.stamp))
        from_print = {"revision": printed.letter, "stamp": printed.state.stamp}
        messages.append(place.told("locked", frames=place.said(new), **from_print))
    mended = dict(mended_in(record, said_worn))
    by_hand = modelled_anew(said_worn, place.record.frames, place.modelled())
    if mended or by_hand:
        frames = {frame for worn in mended.values() for frame in worn}
        frames |= {one.first for done in by_hand.values() for one in done}
        event = next_event(record, "mend", frames, worn=in_runs(mended), modelled=by_hand or None, dated=dated)
        record = record.with_event(event)
    if record == place.record:
        return (place.told("locked already", frames=place.said(asked)),)
    place.write(record)
    return (*messages, *_other_than_planned(place, record, record.events[len(place.record.events) :]))


def unlock(
    production: Production, shot: str, span: Span, *, reason: str = "", dated: datetime.date | None = None
) -> tuple[Message, ...]:
    """Unlock frames that were locked by mistake, and return what to say of it.

    Raises:
        InputError: if there is no such shot or frame, or none of them is locked.
        OutputError: if the record cannot be written.
    """
    with _held_place(production, shot) as place:
        return _unlock(place, "unlock", span, reason, dated)


def refilm(
    production: Production, shot: str, span: Span, reason: str, *, dated: datetime.date | None = None
) -> tuple[Message, ...]:
    """Unlock frames whose take is filmed again, for a reason, and return what to say of it.

    Raises:
        InputError: if there is no such shot or frame, none of them is locked, or no reason is given.
        OutputError: if the record cannot be written.
    """
    if not reason.strip():
        raise InputError.one(
            "--reason", "", "is empty; say why the take is filmed again, for whoever reads the record"
        )
    with _held_place(production, shot) as place:
        return _unlock(place, "refilm", span, reason, dated)


def _unlock(
    place: ShotRecord, what: What, span: Span, reason: str, dated: datetime.date | None
) -> tuple[Message, ...]:
    # Frames that the shot no longer has may be unlocked: that is how a shot is made shorter.
    frames = _frames(place, span, longest=max(place.record.frames, default=0) + 1)
    held = frames & place.record.frames
    if not held:
        have = f"locked are {place.said(place.record.frames)}" if place.record.frames else "nothing of it is locked"
        raise InputError.one(place.scene.path, place.name, f"{place.said(frames)} cannot be unlocked: {have}")
    reason = " ".join(reason.split())
    place.write(place.record.with_event(next_event(place.record, what, held, reason=reason, dated=dated)))
    kind = "unlocked to refilm" if what == "refilm" else "unlocked"
    messages = [place.told(kind, frames=place.said(held))]
    if frames - held:
        messages.append(place.told("not locked", frames=place.said(frames - held)))
    return tuple(messages)


def _frames(place: ShotRecord, span: Span, longest: int = 0) -> frozenset[int]:
    """Return the frames of a span in the production's numbers, which must lie in the shot."""
    base = place.production.file.first_frame
    frames = max(place.shot.frames, longest)
    first, last = span
    if not base <= first <= last < base + frames:
        text = f"has frames {base} to {base + frames - 1}, and not {first} to {last}; name frames of the shot"
        if base <= last < first < base + frames:
            text = f"frames {first} to {last} end before they begin; name the first frame first"
        raise InputError.one(place.scene.path, place.name, text)
    return frozenset(range(first - base, last - base + 1))


def _print(place: ShotRecord, name: str | None) -> Revision:
    """Return the print that was filmed from."""
    folder, shot = place.production.folder, place.shot.id
    path = prints.prints_in(place.production).of_shots.get((place.scene.id, shot))
    known = prints.read(path) if path else prints.Prints(shot)
    if known.newest is None:
        command = f"lipsync sheet {folder} --shot {place.called}"
        text = f"was never printed, so nothing of it can have been filmed; first: {command}"
        raise InputError.one(place.scene.path, place.name, text)
    found = known.newest if name is None else known.named(name)
    if found is None:
        letters = ", ".join(one.letter for one in known.revisions)
        raise InputError.one(path, "", f"has no revision {name!r} of shot {shot}; it has {letters}")
    return found


def _check(place: ShotRecord, printed: Revision, asked: frozenset[int], named: frozenset[int]) -> None:
    """Refuse frames that cannot have been filmed from the print, and words about frames that are not meant."""
    count, base = len(printed.state.rows), place.production.file.first_frame
    new = asked - place.record.frames
    beyond = {frame for frame in asked | named if not 0 <= frame < place.shot.frames} - place.record.frames
    if beyond:
        text = f"has frames {base} to {base + place.shot.frames - 1}, and not {place.said(beyond)}"
        raise InputError.one(place.scene.path, place.name, f"{text}; name frames of the shot")
    unprinted = {frame for frame in new if frame >= count}
    if unprinted:
        text = (
            f"{place.said(unprinted)} cannot have been filmed: revision {printed.letter} ends at {base + count - 1}; "
            f"print it first: lipsync sheet {place.production.folder} --shot {place.called}"
        )
        raise InputError.one(place.scene.path, place.name, text)
    stray = named - asked - place.record.frames
    if stray:
        text = f"--wore names {place.said(stray)}, which is neither locked nor among {place.said(asked)}"
        raise InputError.one(place.scene.path, place.name, f"{text}; name frames that are filmed")


def _other_than_planned(place: ShotRecord, record: Filmed, events: Iterable[Event]) -> Iterator[Message]:
    """Say where something else was worn than planned, of the frames that these events are about."""
    frames = frames_in(span for event in events for span in event.frames)
    for who, worn in record.worn.items():
        for run in runs_of({f: w for f, w in worn.items() if f in frames and w.code != w.planned}):
            span = place.said(range(run.first, run.last + 1))
            kind = "wore another" if run.code else "was off camera"
            yield place.told(kind, frames=span, character=who, code=run.code, planned=run.planned or "off camera")
    for event in events:
        for who, done in (event.modelled or {}).items() if event.what == "mend" else ():
            for one in done:
                span, what = place.said(range(one.first, one.last + 1)), f"{one.kind} {one.code}".strip()
                yield place.told("modelled by hand", frames=span, character=who, modelled=what)
