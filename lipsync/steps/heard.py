"""What is known of a production's lines once they are heard: `Heard`, with a `HeardLine` for each that could be done.

Also which lines are meant (`Only`), and where a line's breakdown is kept: in `breakdowns/SCENE/LINE.toml` of the
production.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lipsync.keep.breakdown import Kept
from lipsync.production.tables import Line, Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report


@dataclass(frozen=True, slots=True)
class Only:
    """Which part of a production is meant: a scene, a shot, or all of it."""

    scene: str | None = None
    shot: str | None = None


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A line where it stands: in which scene and shot."""

    scene: Scene
    shot: Shot
    line: Line

    @property
    def place(self) -> str:
        """Its place in words, for messages."""
        return f'[[shot]] "{self.shot.id}" [[line]] "{self.line.id}"'


@dataclass(frozen=True, slots=True)
class HeardLine:
    """A line with its breakdown.

    Attributes:
        placed: where it stands.
        kept: what is kept of it; `kept.breakdown` is what stands.
        begins_us: when its recording begins in the shot.
        levels_db: the recording's level on each frame of the shot; -120 where it is not heard.
        pitches_hz: the pitch of each of its sounds (`sounds_of`), None where it has none; empty if not measured.
    """

    placed: PlacedLine
    kept: Kept
    begins_us: int
    levels_db: tuple[float, ...]
    pitches_hz: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Heard:
    """The lines that were done, in order, and what is to be said of the others."""

    lines: tuple[HeardLine, ...]
    report: Report


def lines_of(production: Production, only: Only) -> tuple[PlacedLine, ...]:
    """Return the lines meant, in order.

    Raises:
        InputError: if there is no such scene or shot.
    """
    shots = production.shots(only.scene, only.shot)
    return tuple(PlacedLine(scene, shot, line) for scene, shot in shots for line in shot.line)


def kept_path(production: Production, placed: PlacedLine) -> Path:
    """Return where a line's breakdown is kept."""
    return production.folder / "breakdowns" / placed.scene.id / f"{placed.line.id}.toml"
