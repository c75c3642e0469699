"""What a production shall say of scenes, once lists and edits are put together; recut.py compares it.

Times are microseconds: a line's from its shot's first frame, `in` and `out` from its recording's beginning. Beside
each stands how it is to be written in the scene's file.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.errors import Problem
from lipsync.message import Message
from lipsync.production.production_tables import Line, Shot
from lipsync.production.values import Production


@dataclass(frozen=True, slots=True)
class WantedLine:
    """A line as it shall be.

    Attributes:
        id: its id.
        character: the id of who speaks.
        recording: as a scene names it.
        text: what is said.
        begins: as it is to be written.
        begins_us: when its recording begins.
        in_point: as it is to be written; None for the recording's beginning.
        in_us: the same.
        out_point: as it is to be written; None for its end.
        out_us: the same.
        whole_frames: of times that come from an edit, which knows whole frames alone.
    """

    id: str
    character: str
    recording: str
    text: str
    begins: int | str
    begins_us: int
    in_point: float | str | None = None
    in_us: int | None = None
    out_point: float | str | None = None
    out_us: int | None = None
    whole_frames: bool = False


@dataclass(frozen=True, slots=True)
class WantedShot:
    """A shot as it shall be; its lines in the order in which they are listed."""

    id: str
    frames: int
    start: str
    lines: tuple[WantedLine, ...] = ()


@dataclass(frozen=True, slots=True)
class WantedScene:
    """A scene as it shall be."""

    id: str
    title: str
    shots: tuple[WantedShot, ...]


@dataclass(frozen=True, slots=True)
class WantedScenes:
    """Scenes as they shall be; what is wrong with what was read; what could not be placed; what is to be known."""

    scenes: tuple[WantedScene, ...]
    problems: tuple[Problem, ...] = ()
    unplaced: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()


def as_it_is(production: Production, line: Line, shot: Shot) -> WantedLine:
    """Return a line that stays as it is."""
    return WantedLine(
        line.id,
        line.character,
        line.recording,
        line.text,
        line.begins,
        production.begins_us(line, shot),
        in_us=line.in_us,
        out_us=line.out_us,
    )
