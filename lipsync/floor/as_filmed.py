"""What the rows of filmed frames say: what the print said that was filmed from, even if the plan has changed since.

In: a shot's record and its prints. Out: for each character its cells on the frames in the can. Piece and modelling
are what was worn and done, from the record; words, phonemes and other marks are those of the print. Where the record
says nothing of modelling (form 1, see formats/filmed.md), modelling too is that of the print.

Where a print is missing, only piece and modelling are known: the words beside them are those of the present plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

from lipsync.fit.keys import Key, Toward
from lipsync.floor.prints import Prints
from lipsync.floor.record import UNLOCKING, Event, Filmed, Modelled, Run
from lipsync.floor.spans import frames_in
from lipsync.floor.state import SheetState
from lipsync.floor.wearing import marks_on, with_said
from lipsync.paper.cells import NOTHING, Cell
from lipsync.paper.sheet_job import KeepAlive


@dataclass(frozen=True, slots=True)
class FilmedCells:
    """One character on the frames in the can.

    Attributes:
        cells: what the rows of these frames say, by frame; only frames whose print is known.
        notes: modelling that began on the other frames, whose print is missing.
        marks: all modelling that began on any of these frames.
    """

    cells: Mapping[int, Cell] = field(default_factory=dict)
    notes: tuple[Toward | KeepAlive, ...] = ()
    marks: tuple[Modelled, ...] = ()


@dataclass(slots=True)
class _Take:
    """What is known of a character after some of a record's events.

    Attributes:
        name: the character's name.
        cells: its cells, by frame.
        unknown: the frames whose print is missing.
        marks: what was modelled.
        printed: its cells on the print of the last lock.
    """

    name: str
    cells: dict[int, Cell] = field(default_factory=dict)
    unknown: set[int] = field(default_factory=set)
    marks: tuple[Modelled, ...] = ()
    printed: Sequence[Cell] = ()


def filmed_cells(record: Filmed, prints: Prints, names: Mapping[str, str]) -> dict[str, FilmedCells]:
    """Return the cells on the frames in the can, by character's id, for each id in `names`.

    Args:
        record: what is in the can.
        prints: the shot's prints.
        names: each character's name, by its id: a character that had another id on the print is found by its name.
    """
    takes = {who: _Take(name) for who, name in names.items()}
    for event in record.events:
        frames = frames_in(event.frames)
        if event.what == "lock":
            _film(takes, event, frames, print_of(event, prints))
        elif event.what in UNLOCKING:
            for take in takes.values():
                _forget(take, frames)
        else:
            _mend(takes, event)
    return {who: _shown(take) for who, take in takes.items()}


def print_of(event: Event, prints: Prints) -> SheetState | None:
    """Return the printed state that a lock's frames were filmed from; None if it is not among the prints."""
    known = (one.state for one in prints.revisions if (one.letter, one.state.stamp) == (event.revision, event.stamp))
    return next(known, None)


def cells_of(state: SheetState | None, who: str, name: str) -> tuple[Cell, ...]:
    """Return a character's cells on a print, found by its id or else by its name; empty if the print lacks it."""
    if state is None:
        return ()
    called = dict(zip(state.names, state.characters, strict=True))
    return state.cells(who) or state.cells(called.get(name, ""))


def _film(takes: Mapping[str, _Take], event: Event, frames: frozenset[int], state: SheetState | None) -> None:
    for who, take in takes.items():
        _forget(take, frames)
        # A character that the event does not name was not on the print, so it was off camera.
        runs = event.worn.get(who) or tuple(Run(first, last, None, None) for first, last in event.frames)
        printed = take.printed = cells_of(state, who, take.name)
        for frame in frames:
            take.cells[frame] = printed[frame] if frame < len(printed) else NOTHING
        if state is None or (not printed and any(run.code is not None for run in runs)):
            take.unknown |= frames
        said = None if event.modelled is None else event.modelled.get(who, ())
        take.marks = (*take.marks, *(marks_on(printed, sorted(frames)) if said is None else said))
        _wear(take, runs)


def _mend(takes: Mapping[str, _Take], event: Event) -> None:
    for who, take in takes.items():
        _wear(take, event.worn.get(who, ()))
        for one in (event.modelled or {}).get(who, ()):
            take.marks = with_said(take.marks, one)


def _forget(take: _Take, frames: frozenset[int]) -> None:
    take.cells = {frame: cell for frame, cell in take.cells.items() if frame not in frames}
    take.unknown -= frames
    take.marks = tuple(one for one in take.marks if one.first not in frames)


def _wear(take: _Take, runs: Iterable[Run]) -> None:
    """Write the pieces worn into the cells, and mark as put on each piece that differs from the one before it."""
    worn = {frame: run.code for run in runs for frame in range(run.first, run.last + 1)}
    other = {frame for frame, code in worn.items() if take.cells.get(frame, NOTHING).piece != code}
    for frame in other:
        cell = take.cells.get(frame, NOTHING)
        # Which sound a piece shows is known only of the piece that was printed.
        take.cells[frame] = replace(cell, piece=worn[frame], serves=None, fitted=False)
    before: str | None = None
    touched = False  # whether the piece before differs from the printed one
    for frame in range(max(take.cells, default=-1) + 1 if other else 0):
        printed = take.printed[frame] if frame < len(take.printed) else None
        filmed = take.cells.get(frame)
        if filmed is not None and (frame in other or touched):
            take.cells[frame] = replace(filmed, fitted=filmed.piece is not None and filmed.piece != before)
        here = filmed or printed
        if here is not None and here.piece is not None:
            before, touched = here.piece, frame in other


def _shown(take: _Take) -> FilmedCells:
    on = {frame for frame, cell in take.cells.items() if cell.piece is not None}
    toward = {m.first: Toward(m.first, m.code, m.last - m.first + 1) for m in take.marks if m.kind == "toward"}
    alive = {m.first for m in take.marks if m.kind == "keep alive"}
    toward, alive = {frame: one for frame, one in toward.items() if frame in on}, alive & on
    cells = {
        frame: replace(cell, toward=toward.get(frame), keep_alive=frame in alive)
        for frame, cell in sorted(take.cells.items())
        if frame not in take.unknown
    }
    alone = sorted(take.unknown)
    notes: list[Toward | KeepAlive] = [toward[frame] for frame in alone if frame in toward]
    notes += [KeepAlive(frame) for frame in alone if frame in alive]
    return FilmedCells(cells, tuple(notes), take.marks)


def notes_to_come(
    keys: Sequence[Key], pieces: Sequence[str | None], done: FilmedCells, filmed: frozenset[int]
) -> tuple[Toward | KeepAlive, ...]:
    """Return a character's modelling notes: on frames to film, and on filmed frames whose print is missing.

    Modelling that began on filmed frames of a hold has no second note: it goes on as planned or, if the next piece is
    put on later now, the clay stays as it is after it. Nor has a hold that was kept alive on filmed frames. Where a
    hold is to be kept alive from a filmed frame on, the note stands on its first frame that is not filmed.

    Args:
        keys: the character's keys, in order.
        pieces: code of the piece on each frame of the shot; None off camera.
        done: what it wore and what was modelled on the frames in the can.
        filmed: the frames in the can, from 0.
    """
    found: list[Toward | KeepAlive] = [*done.notes]
    begun = [cell.toward for cell in done.cells.values() if cell.toward is not None]
    begun += [note for note in done.notes if isinstance(note, Toward)]
    alive = {frame for frame, cell in done.cells.items() if cell.keep_alive}
    alive |= {note.frame for note in done.notes if isinstance(note, KeepAlive)}
    ends = [*(key.frame for key in keys[1:]), len(pieces)]
    for key, end in zip(keys, ends, strict=False):
        if key.alive_from is not None and alive.isdisjoint(range(key.frame, key.alive_from + 1)):
            to_film = (f for f in range(key.alive_from, end) if f not in filmed and pieces[f] is not None)
            found += [KeepAlive(frame) for frame in islice(to_film, 1)]
        if key.toward is not None and not any(_is_begun(key, one) for one in begun):
            found.append(key.toward)
    return tuple(found)


def _is_begun(key: Key, begun: Toward) -> bool:
    """Whether the clay of a key is modelled on filmed frames toward the piece that it is to be modelled toward."""
    planned = key.toward
    return planned is not None and begun.code == planned.code and key.frame < begun.frame < planned.frame
