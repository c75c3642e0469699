"""Putting frames into the can and out of it: lock, unlock, refilm. Each adds events to the shot's record.

In: a production, a shot and frames in the production's numbers. Out: the record, written whole, and messages of what
was done. Each frame is taken to wear what the print says that it was filmed from (the newest, unless another is
named), except where a person says otherwise.
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
    def where(self) -> Where:
        """The shot's entry in its scene's file, for messages."""
        return Where(str(self.scene.path), self.scene.where(self.shot).place)

    @property
    def called(self) -> str:
        """The shot's name on a command line: its id, with its scene where other scenes have that id too."""
        return self.production.called(self.scene.id, self.shot.id)

    def told(self, kind: str, **facts: object) -> Message:
        """Return a message of what was done to the shot."""
        called = self.production.called(self.scene.id, self.shot.id)
        where = Where(place=f"shot {called}", scene=self.scene.id, shot=self.shot.id)
        return Message.of(kind, where, **facts)

    def said(self, frames: Iterable[int]) -> str:
        """Return frames (from 0) in words, in the production's numbers."""
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


def shot_record_of(production: Production, shot: str) -> ShotRecord:
    """Return a shot with its record, which is empty if nothing of the shot was filmed.

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
def _shot_alone(production: Production, shot: str) -> Iterator[ShotRecord]:
    """Yield a shot with its record, while no other process can write records or prints of this production.

    Raises:
        InputError: if the production was changed since it was read.
    """
    with alone(production.folder / prints.FOLDER):
        if changed := changed_since(production.read_from):
            where, files = Where(str(production.folder)), ", ".join(map(str, changed))
            raise InputError([Problem.of("changed before locking", where, files=files)])
        yield shot_record_of(production, shot)


def lock(
    production: Production,
    shot: str,
    span: Span | None,
    wore: Sequence[str] = (),
    *,
    revision: str | None = None,
    dated: datetime.date | None = None,
) -> tuple[Message, ...]:
    """Lock frames of a shot, and return messages of what was done.

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
    with _shot_alone(production, shot) as shot_record:
        return _lock(shot_record, span, wore, revision, dated)


def _lock(
    shot_record: ShotRecord, span: Span | None, wore: Sequence[str], revision: str | None, dated: datetime.date | None
) -> tuple[Message, ...]:
    production = shot_record.production
    meant = frozenset() if span is None else _frames(shot_record, span)
    printed = _print(shot_record, revision)
    cast = dict.fromkeys([*printed.state.characters, *shot_record.shot.speakers])
    said_worn = worn_as_said(wore, production, [who for who in cast if who in production.mouth_sets])
    named = frames_in(one.span for one in said_worn)
    asked = named if span is None else meant
    _check(shot_record, printed, asked, named)
    new = asked - shot_record.record.frames
    record, messages = shot_record.record, list[Message]()
    if new:
        worn = worn_on(printed, said_worn, new)
        modelled = modelled_on(printed, said_worn, worn)
        event = next_event(record, "lock", new, worn=in_runs(worn), modelled=modelled, dated=dated)
        record = record.with_event(replace(event, revision=printed.letter, stamp=printed.state.stamp))
        from_print = {"revision": printed.letter, "stamp": printed.state.stamp}
        messages.append(shot_record.told("locked", frames=shot_record.said(new), **from_print))
    mended = dict(mended_in(record, said_worn))
    by_hand = modelled_anew(said_worn, shot_record.record.frames, shot_record.modelled())
    if mended or by_hand:
        frames = {frame for worn in mended.values() for frame in worn}
        frames |= {one.first for done in by_hand.values() for one in done}
        event = next_event(record, "mend", frames, worn=in_runs(mended), modelled=by_hand or None, dated=dated)
        record = record.with_event(event)
    if record == shot_record.record:
        return (shot_record.told("locked already", frames=shot_record.said(asked)),)
    shot_record.write(record)
    return (*messages, *_other_than_planned(shot_record, record, record.events[len(shot_record.record.events) :]))


def unlock(
    production: Production, shot: str, span: Span, *, reason: str = "", dated: datetime.date | None = None
) -> tuple[Message, ...]:
    """Unlock frames that were locked by mistake, and return messages of what was done.

    Raises:
        InputError: if there is no such shot or frame, or none of them is locked.
        OutputError: if the record cannot be written.
    """
    with _shot_alone(production, shot) as shot_record:
        return _unlock(shot_record, "unlock", span, reason, dated)


def refilm(
    production: Production, shot: str, span: Span, reason: str, *, dated: datetime.date | None = None
) -> tuple[Message, ...]:
    """Unlock frames whose take is filmed again, for a reason, and return messages of what was done.

    Raises:
        InputError: if there is no such shot or frame, none of them is locked, or no reason is given.
        OutputError: if the record cannot be written.
    """
    if not reason.strip():
        raise InputError.of("no reason to refilm", Where("--reason"))
    with _shot_alone(production, shot) as shot_record:
        return _unlock(shot_record, "refilm", span, reason, dated)


def _unlock(
    shot_record: ShotRecord, what: What, span: Span, reason: str, dated: datetime.date | None
) -> tuple[Message, ...]:
    # Locked frames beyond the shot's end may be unlocked too: so a filmed shot can be made shorter.
    frames = _frames(shot_record, span, longest=max(shot_record.record.frames, default=0) + 1)
    held = frames & shot_record.record.frames
    if not held:
        locked, asked = shot_record.record.frames, shot_record.said(frames)
        if not locked:
            raise InputError.of("nothing to unlock", shot_record.where, frames=asked)
        raise InputError.of("others are locked", shot_record.where, frames=asked, locked=shot_record.said(locked))
    reason = " ".join(reason.split())
    shot_record.write(
        shot_record.record.with_event(next_event(shot_record.record, what, held, reason=reason, dated=dated))
    )
    kind = "unlocked to refilm" if what == "refilm" else "unlocked"
    messages = [shot_record.told(kind, frames=shot_record.said(held))]
    if frames - held:
        messages.append(shot_record.told("not locked", frames=shot_record.said(frames - held)))
    return tuple(messages)


def _frames(shot_record: ShotRecord, span: Span, longest: int = 0) -> frozenset[int]:
    """Return the frames of a span in the production's numbers, which must lie in the shot."""
    base = shot_record.production.file.first_frame
    frames = max(shot_record.shot.frames, longest)
    first, last = span
    if not base <= first <= last < base + frames:
        if base <= last < first < base + frames:
            raise InputError.of("frames the wrong way round", shot_record.where, first=first, last=last)
        facts = {"first": base, "last": base + frames - 1, "frames": f"{first} to {last}"}
        raise InputError.of("frames not in shot", shot_record.where, **facts)
    return frozenset(range(first - base, last - base + 1))


def _print(shot_record: ShotRecord, name: str | None) -> Revision:
    """Return the print that was filmed from."""
    folder, shot = shot_record.production.folder, shot_record.shot.id
    path = prints.prints_in(shot_record.production).of_shots.get((shot_record.scene.id, shot))
    known = prints.read(path) if path else prints.Prints(shot)
    if known.newest is None:
        facts = {"production": folder, "called": shot_record.called}
        raise InputError.of("never printed, so not filmed", shot_record.where, **facts)
    found = known.newest if name is None else known.named(name)
    if found is None:
        letters = ", ".join(one.letter for one in known.revisions)
        raise InputError.of("no such revision", Where(str(path)), revision=name, shot=shot, letters=letters)
    return found


def _check(shot_record: ShotRecord, printed: Revision, asked: frozenset[int], named: frozenset[int]) -> None:
    """Refuse frames that cannot have been filmed from the print, and `--wore` of frames that are not being locked.

    Args:
        shot_record: the shot.
        printed: the print that was filmed from.
        asked: the frames to lock.
        named: the frames that `--wore` names.

    Raises:
        InputError: if a frame is not in the shot, not on the print, or neither locked nor to be locked.
    """
    count, base = len(printed.state.rows), shot_record.production.file.first_frame
    new = asked - shot_record.record.frames
    beyond = {
        frame for frame in asked | named if not 0 <= frame < shot_record.shot.frames
    } - shot_record.record.frames
    if beyond:
        last = base + shot_record.shot.frames - 1
        raise InputError.of(
            "frames not in shot", shot_record.where, first=base, last=last, frames=shot_record.said(beyond)
        )
    unprinted = {frame for frame in new if frame >= count}
    if unprinted:
        raise InputError.of(
            "filmed beyond the print",
            shot_record.where,
            frames=shot_record.said(unprinted),
            revision=printed.letter,
            last=base + count - 1,
            production=shot_record.production.folder,
            called=shot_record.called,
        )
    stray = named - asked - shot_record.record.frames
    if stray:
        facts = {"frames": shot_record.said(stray), "asked": shot_record.said(asked)}
        raise InputError.of("wore on frames not filmed", shot_record.where, **facts)


def _other_than_planned(shot_record: ShotRecord, record: Filmed, events: Iterable[Event]) -> Iterator[Message]:
    """Yield a message for each run on which something else was worn than planned, on the frames of these events."""
    frames = frames_in(span for event in events for span in event.frames)
    for who, worn in record.worn.items():
        for run in runs_of({f: w for f, w in worn.items() if f in frames and w.code != w.planned}):
            span = shot_record.said(range(run.first, run.last + 1))
            kind = "wore another" if run.code else "was off camera"
            yield shot_record.told(
                kind, frames=span, character=who, code=run.code, planned=run.planned or "off camera"
            )
    for event in events:
        for who, done in (event.modelled or {}).items() if event.what == "mend" else ():
            for one in done:
                span, what = shot_record.said(range(one.first, one.last + 1)), f"{one.kind} {one.code}".strip()
                yield shot_record.told("modelled by hand", frames=span, character=who, modelled=what)
