"""What a printed sheet says: a shot's rows with their heading, apart from paper and layout.

In: a `SheetJob`. Out: a `SheetState`; two of them can be compared even when their recordings are gone. `as_data`
writes a state by columns, since most cells of a sheet are empty or repeat the one above; `from_data` is its inverse.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from lipsync import timing
from lipsync.fit.keys import Toward
from lipsync.floor.spans import frames_in, spans_of
from lipsync.paper.cells import PartOn, part_runs
from lipsync.paper.rows import Cell, HeardSpan, Row, stamp_from, stamped
from lipsync.paper.sheet_job import SheetJob

Data = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Facts:
    """What the heading says, and what frame numbers, feet and timecode of the rows are computed from.

    Attributes:
        production: its title.
        scene: the scene's title.
        shot: the shot's id.
        rate: frames a second, exact, as text.
        film: the gauge that feet are counted on.
        first_frame: the number of the shot's first frame.
        start_frame: the shot's first frame, counted from midnight.
        drop: whether timecode is drop-frame.
    """

    production: str
    scene: str
    shot: str
    rate: str
    film: str
    first_frame: int
    start_frame: int
    drop: bool


@dataclass(frozen=True, slots=True)
class SheetState:
    """A sheet's content.

    Attributes:
        facts: what its heading says.
        characters: ids, in the order of the columns.
        names: their names as printed.
        rows: one a frame.
        stamp: the code computed from all of the above and the alerts (paper/rows.py).
        alerts: what must be known before the sheet is used.
        filmed: frames in the can when it was printed, from 0: their rows can no longer change.
    """

    facts: Facts
    characters: tuple[str, ...]
    names: tuple[str, ...]
    rows: tuple[Row, ...]
    stamp: str
    alerts: tuple[str, ...] = ()
    filmed: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        widths = {len(self.characters), len(self.names), *(len(row.cells) for row in self.rows)}
        if len(widths) > 1:
            raise ValueError(f"shot {self.facts.shot}: rows and names of different characters")

    @property
    def true_stamp(self) -> str:
        """The stamp computed anew: it differs from `stamp` if the state was changed after it was stamped."""
        facts = self.facts
        heading = (facts.production, facts.scene, facts.shot, facts.rate, facts.film)
        return stamp_from(heading, self.names, self.rows, self.alerts)

    def cells(self, character: str) -> tuple[Cell, ...]:
        """Return a character's cells, one a frame; none if it is not on the sheet."""
        if character not in self.characters:
            return ()
        index = self.characters.index(character)
        return tuple(row.cells[index] for row in self.rows)

    def pieces(self, character: str) -> tuple[str | None, ...]:
        """Return what a character wears on each frame."""
        return tuple(cell.piece for cell in self.cells(character))


def state_of(characters: Sequence[str], job: SheetJob) -> SheetState:
    """Return what the sheet of a job says; `characters` are the ids of its characters, in order."""
    found = stamped(job)
    facts = Facts(
        production=job.production,
        scene=job.scene,
        shot=job.shot,
        rate=str(job.rate),
        film=job.film,
        first_frame=job.first_frame,
        start_frame=job.start_frame,
        drop=job.drop,
    )
    names = tuple(character.name for character in job.characters)
    return SheetState(facts, tuple(characters), names, found.rows, found.stamp, job.alerts, job.filmed)


def as_data(state: SheetState) -> Data:
    """Return a state as plain values; the form is described in formats/prints.md."""
    cast = zip(state.characters, state.names, strict=True)
    return {
        "stamp": state.stamp,
        "facts": asdict(state.facts),
        **({"alerts": list(state.alerts)} if state.alerts else {}),
        "frames": len(state.rows),
        **({"filmed": [list(span) for span in spans_of(state.filmed)]} if state.filmed else {}),
        "characters": [_columns(who, name, state.cells(who)) for who, name in cast],
    }


def _columns(who: str, name: str, cells: Sequence[Cell]) -> Data:
    heard = [h for cell in cells for h in cell.begins]
    found: Data = {
        "id": who,
        "name": name,
        "heard": [[h.kind, h.text, h.first, h.last, *([True] if h.doubtful else [])] for h in heard],
        "phonemes": _sparse(cell.phonemes for cell in cells),
        "pieces": _runs(cell.piece for cell in cells),
        "shown": _runs(cell.serves for cell in cells),
        "lost": _sparse(cell.lost for cell in cells),
        "beats": [frame for frame, cell in enumerate(cells) if cell.beat],
        "toward": [[n.frame, n.code, n.frames] for n in (cell.toward for cell in cells) if n],
        "parts": [[p.kind, p.code, p.first, p.last, p.put_on] for p in part_runs(cells)],
        "keep_alive": [frame for frame, cell in enumerate(cells) if cell.keep_alive],
    }
    # What follows from words and pieces is not written, except where a filmed row departs from it.
    usual = _cells(found, len(cells))
    found["fitted_otherwise"] = [f for f, cell in enumerate(cells) if cell.fitted != usual[f].fitted]
    found["heard_otherwise"] = [f for f, cell in enumerate(cells) if cell.runs != usual[f].runs]
    return {key: value for key, value in found.items() if value != []}


def _sparse(column: Iterable[tuple[str, ...]]) -> list[list[Any]]:
    return [[frame, *texts] for frame, texts in enumerate(column) if texts]


def _runs(column: Iterable[str | None]) -> list[list[Any]]:
    """Return the length of each run and what it says."""
    return [[len(list(run)), value] for value, run in groupby(column)]


def from_data(data: Mapping[str, Any]) -> SheetState:
    """Return the state that plain values stand for.

    Raises:
        ValueError, KeyError, TypeError: if they do not stand for one.
    """
    facts = Facts(**data["facts"])
    frames = int(data["frames"])
    columns = [_cells(one, frames) for one in data["characters"]]
    rate = Fraction(facts.rate)
    rows = tuple(
        Row(
            frame,
            timing.number_of(frame, facts.first_frame),
            timing.feet(frame, facts.film),
            timing.timecode(facts.start_frame + frame, rate, drop=facts.drop),
            tuple(column[frame] for column in columns),
        )
        for frame in range(frames)
    )
    ids, names = (tuple(str(one[key]) for one in data["characters"]) for key in ("id", "name"))
    alerts = tuple(str(text) for text in data.get("alerts", ()))
    filmed = frames_in((first, last) for first, last in data.get("filmed", ()))
    return SheetState(facts, ids, names, rows, str(data["stamp"]), alerts, filmed)


def _cells(data: Mapping[str, Any], frames: int) -> list[Cell]:
    begins: dict[int, list[HeardSpan]] = {}
    runs: set[int] = set()
    for kind, text, first, last, *doubtful in data.get("heard", ()):
        begins.setdefault(first, []).append(HeardSpan(kind, text, first, last, doubtful == [True]))
        if kind != "pause":
            runs.update(range(first, last + 1))
    phonemes = {frame: tuple(texts) for frame, *texts in data.get("phonemes", ())}
    lost = {frame: tuple(texts) for frame, *texts in data.get("lost", ())}
    toward = {frame: Toward(frame, code, over) for frame, code, over in data.get("toward", ())}
    parts: dict[int, list[PartOn]] = {}
    for kind, code, first, last, put_on in data.get("parts", ()):
        for frame in range(first, last + 1):
            parts.setdefault(frame, []).append(PartOn(kind, code, put_on and frame == first))
    beats, alive = set(data.get("beats", ())), set(data.get("keep_alive", ()))
    pieces, shown = (_spread(data.get(key, ()), frames) for key in ("pieces", "shown"))
    fitted_otherwise, heard_otherwise = (set(data.get(f"{key}_otherwise", ())) for key in ("fitted", "heard"))
    cells: list[Cell] = []
    worn: str | None = None
    for frame in range(frames):
        piece = pieces[frame]
        cells.append(
            Cell(
                begins=tuple(begins.get(frame, ())),
                runs=(frame in runs) != (frame in heard_otherwise),
                phonemes=phonemes.get(frame, ()),
                piece=piece,
                fitted=(piece is not None and piece != worn) != (frame in fitted_otherwise),
                serves=shown[frame],
                lost=lost.get(frame, ()),
                beat=frame in beats,
                toward=toward.get(frame),
                keep_alive=frame in alive,
                parts=tuple(sorted(parts.get(frame, ()), key=lambda part: part.kind)),
            )
        )
        worn = piece or worn
    return cells


def _spread(runs: Iterable[Sequence[Any]], frames: int) -> list[str | None]:
    """Return what runs say on each frame: the inverse of `_runs`."""
    found = [value for length, value in runs for _ in range(length)]
    if len(found) != frames:
        raise ValueError(f"{len(found)} frames for {frames}")
    return found
