"""Scenes as they will be once lists and edits are taken.

joining.py makes these values; recut.py and scene_amending.py use them.

Times are microseconds: `begins_us` from the shot's first frame, `in_us` and `out_us` from the recording's beginning.
Beside each stands the same time as it is to be written in the scene's file.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.errors import Problem
from lipsync.message import Message
from lipsync.production.production_tables import Line, Shot
from lipsync.production.values import Production


@dataclass(frozen=True, slots=True)
class WantedLine:
    """A line as it will be.

    Attributes:
        id: its id.
        character: the id of the character that speaks.
        recording: its path, as the scene's file names it.
        text: what is said.
        begins: where it begins in the shot, as it is to be written.
        begins_us: the same in microseconds.
        in_point: where it begins in the recording, as it is to be written; None: `in_us` is written, in seconds.
        in_us: the same in microseconds; None for the recording's beginning.
        out_point: where it ends in the recording, as it is to be written; None: `out_us` is written, in seconds.
        out_us: the same in microseconds; None for the recording's end.
        whole_frames: whether its times come from an edit, which has whole frames only.
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
    """A shot as it will be: its length in frames, its first frame's timecode, its lines in the list's order."""

    id: str
    frames: int
    start: str
    lines: tuple[WantedLine, ...] = ()


@dataclass(frozen=True, slots=True)
class WantedScene:
    """A scene as it will be."""

    id: str
    title: str
    shots: tuple[WantedShot, ...]


@dataclass(frozen=True, slots=True)
class WantedScenes:
    """Scenes as they will be; faults of the listings; why lines or shots are left out; what else is to be known."""

    scenes: tuple[WantedScene, ...]
    problems: tuple[Problem, ...] = ()
    unplaced: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()


def as_it_is(production: Production, line: Line, shot: Shot) -> WantedLine:
    """Return a line that stays as the production has it."""
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
