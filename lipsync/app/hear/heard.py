"""What is known of a production's lines once they are heard: `Heard`, with a `HeardLine` for each line that was done.

Also: which lines are asked for (`Only`); where they are (`PlacedLine`); where a line's breakdown is kept, in
`breakdowns/SCENE/LINE.toml` of the production; and messages about lines that are no faults, such as doubts.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from lipsync.breakdown.breakdown_file import Kept
from lipsync.errors import InputError
from lipsync.fit.fit_job import VoiceRange
from lipsync.folders import files_in, is_folder
from lipsync.message import Message, Where, listed
from lipsync.production.production_tables import Line, Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report
from lipsync.seen import SeenFile
from lipsync.text.script import key_of
from lipsync.wording import worded


@dataclass(frozen=True, slots=True)
class Only:
    """The part of a production that is asked for: a scene, a shot, or all of it.

    Attributes:
        scene: id of the scene.
        shot: the shot, as `Production.shots` takes it.
        these: only these of the shots above, by scene and id; all of them if None.
    """

    scene: str | None = None
    shot: str | None = None
    these: frozenset[tuple[str, str]] | None = None

    def shots(self, production: Production) -> tuple[tuple[Scene, Shot], ...]:
        """Return the shots meant, each with its scene.

        Raises:
            InputError: if there is no such scene or shot.
        """
        found = production.shots(self.scene, self.shot)
        return found if self.these is None else tuple(one for one in found if (one[0].id, one[1].id) in self.these)


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A line with its scene and shot; `alone` tells whether no other line of the production has its id."""

    scene: Scene
    shot: Shot
    line: Line
    alone: bool = True

    @property
    def key(self) -> str:
        """The line's name on a command line: its id, with its scene where other scenes have that id too."""
        return self.line.id if self.alone else f"{self.scene.id}:{self.line.id}"

    @property
    def place(self) -> str:
        """Its place in words, for messages."""
        return f'[[shot]] "{self.shot.id}" [[line]] "{self.line.id}"'

    @property
    def where(self) -> Where:
        """The place of messages about it: its entry in its scene's file."""
        return Where(str(self.scene.path), self.place, self.scene.id, self.shot.id, self.line.id)

    def where_in(self, file: Path) -> Where:
        """Return the place of messages about it that concern another file, such as its breakdown."""
        return Where(str(file), "", self.scene.id, self.shot.id, self.line.id)


class ToMeasure(Enum):
    """What is measured of a line's sound besides its breakdown: pitches are needed only by who makes sheets."""

    NOTHING = "nothing"
    LEVELS = "levels"
    ALL = "levels and pitches"


@dataclass(frozen=True, slots=True)
class HeardLine:
    """A line with its breakdown.

    Attributes:
        placed: the line with its scene and shot.
        kept: what is kept of it; `kept.breakdown` is the breakdown in force.
        begins_us: when its recording begins, in microseconds from the shot's first frame.
        levels_db: the recording's level on each frame of the shot, in dB below full scale; -120 where it is not
            heard; empty if not measured.
        pitches_hz: the pitch of each of its sounds (`sounds_of`), None where it has none; empty if not measured.
        inputs: the state of its recording and of its breakdown's file, taken before they were read (seen.py).
        file_code: the code of its breakdown's file (line_hearing.py); empty if that is not known.
    """

    placed: PlacedLine
    kept: Kept
    begins_us: int
    levels_db: tuple[float, ...]
    pitches_hz: tuple[float | None, ...] = ()
    inputs: tuple[SeenFile, ...] = ()
    file_code: str = ""


@dataclass(frozen=True, slots=True)
class Heard:
    """Lines that were done, in order, and what is to be said of them and of the others.

    Attributes:
        lines: the lines.
        report: what is to be said.
        ranges: how quietly and loudly each character speaks over the whole production, where these are not all lines;
            None where they are, and tell it themselves.
    """

    lines: tuple[HeardLine, ...]
    report: Report
    ranges: Mapping[str, VoiceRange | None] | None = None


def lines_of(production: Production, only: Only) -> tuple[PlacedLine, ...]:
    """Return the lines meant, in order.

    Raises:
        InputError: if there is no such scene or shot.
    """
    shots = only.shots(production)
    times = Counter(line.id for scene in production.scenes for shot in scene.shots for line in shot.line)
    return tuple(PlacedLine(scene, shot, line, times[line.id] == 1) for scene, shot in shots for line in shot.line)


def line_called(production: Production, called: str, asked_in: Path) -> PlacedLine:
    """Return a line by its id, or as SCENE/LINE (or SCENE:LINE) where several scenes have it.

    Raises:
        InputError: if there is no such line, or it may be several.
    """
    scene, _, id = called.replace(":", "/").rpartition("/")
    lines = lines_of(production, Only())
    found = [one for one in lines if one.line.id == id and scene in ("", one.scene.id)]
    if not found:
        known = listed([one.key for one in lines], called)
        raise InputError.of("no such line", Where(str(asked_in)), line=called, known=known)
    if len(found) > 1:
        known = " or ".join(f"{one.scene.id}/{id}" for one in found)
        raise InputError.of("several lines", Where(str(asked_in)), line=called, known=known)
    return found[0]


def kept_path(production: Production, placed: PlacedLine) -> Path:
    """Return where a line's breakdown is kept."""
    return production.folder / "breakdowns" / placed.scene.id / f"{placed.line.id}.toml"


def kept_names(production: Production, lines: Iterable[PlacedLine]) -> list[str]:
    """Return where the breakdowns of lines are kept, as text: of thousands, far quicker than paths are made."""
    folder = os.path.join(production.folder, "breakdowns", "")
    return [f"{folder}{one.scene.id}{os.sep}{one.line.id}.toml" for one in lines]


def recording_names(production: Production, lines: Iterable[PlacedLine]) -> list[str]:
    """Return where the recordings of lines lie, as text; one outside the production is named by its whole path."""
    folder = str(production.folder)
    return [os.path.join(folder, one.line.recording) for one in lines]


# A line with at least so many words, of which at least this part is doubtful, is reported as mostly doubtful. Chosen:
# in 38 recordings of people and 320 synthesised lines, lines of five words or more had at most a third of their words
# doubtful; with another line's text nearly all words are.
_LEAST_WORDS, _MOST_DOUBTFUL = 5, 0.6


def of_production(production: Production) -> Iterator[Message]:
    """Yield messages about a production: breakdowns of no scene, no line yet, and pronunciations in no line."""
    scenes = {scene.id for scene in production.scenes}
    for folder in files_in(production.folder / "breakdowns", ""):
        if folder.name not in scenes and is_folder(folder) and (kept := files_in(folder, ".toml")):
            yield Message.of("breakdowns of no scene", Where(str(folder)), count=len(kept))
    lines = [line for _, shot in production.shots(None, None) for line in shot.line]
    if not lines:
        yield Message.of("no line yet", Where(str(production.folder / "scenes")))
        return
    spoken = key_of(" ".join(line.text for line in lines))
    for word in production.file.pronunciations:
        if key_of(word) not in spoken:
            where = Where(str(production.folder / "production.toml"), "[pronunciations]")
            yield Message.of("pronunciation of no line", where, word=word)


def of_line(placed: PlacedLine, kept: Kept) -> Iterator[Message]:
    """Yield messages about a line: why all of it is doubtful, else voice without text, and many doubtful words."""
    stands = kept.breakdown
    if stands.rejection is not None:
        why, remedy = worded(f"rejection: {stands.rejection}", {})
        yield Message.of("all doubtful", placed.where, why=why, remedy=remedy)
        return
    for one in stands.voice_without_text:
        yield Message.of("voice without text", placed.where, start=f"{one.start_s:.3f}", end=f"{one.end_s:.3f}")
    words = stands.words
    doubtful = sum(word.doubtful for word in words)
    if len(words) >= _LEAST_WORDS and doubtful >= _MOST_DOUBTFUL * len(words):
        yield Message.of("mostly doubtful", placed.where, doubtful=doubtful, words=len(words))
