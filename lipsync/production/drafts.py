"""Shots and lines while lists and edits are put together: what each of these said of them, before it is resolved."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from lipsync.errors import Problem
from lipsync.message import Message
from lipsync.production.listed import EditEvent, Listed
from lipsync.production.naming import Names
from lipsync.production.production_tables import Line, Shot
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.values import Production

# A recording's length in microseconds; None if it cannot be read.
Duration = Callable[[str], int | None]


@dataclass(frozen=True, slots=True)
class SaidLine:
    """A line that is said somewhere in a recording: its id, its words, who says them."""

    id: str
    text: str
    character: str


# A recording and the lines said in it -> from when to when each is, if it is found, and what is to be known.
Cut = Callable[[str, Sequence[SaidLine]], tuple[Mapping[str, tuple[int, int]], tuple[Message, ...]]]


@dataclass
class ShotDraft:
    """What is said of a shot: by the list (`listed_`), by the edit (`edit_`), and as it is."""

    scene: str
    id: str
    present: Shot | None
    listed_frames: int | None = None
    listed_start: str | None = None
    edit_frames: int | None = None
    edit_start: str | None = None
    said_at: str = ""
    in_edit: bool = False

    @property
    def frames(self) -> int | None:
        """Its length; None if nobody says it."""
        there = self.present.frames if self.present else None
        return next((one for one in (self.edit_frames, self.listed_frames, there) if one is not None), None)

    @property
    def start(self) -> str:
        """The timecode of its first frame."""
        there = self.present.start if self.present else None
        return self.edit_start or self.listed_start or there or "00:00:00:00"


@dataclass
class Draft:
    """What is said of a line.

    Attributes:
        row: the row or event that names it first.
        scene: its scene's id.
        shot: its shot's id.
        id: its id, as soon as it has one.
        present: the line as it is, with its shot, if it is there.
        edit: the event of the edit that is this line.
        recording: what the names of recordings say, where the row says none.
        character: from a script, where the row says none.
        text: likewise.
        points_us: from when to when of its recording it is said, as found by listening.
    """

    row: Listed
    scene: str
    shot: str
    id: str | None
    present: tuple[Shot, Line] | None = None
    edit: EditEvent | None = None
    recording: str | None = None
    character: str | None = None
    text: str | None = None
    points_us: tuple[int, int] | None = None

    @property
    def line_id(self) -> str:
        """Its id; empty if it has none."""
        return self.id or ""

    @property
    def said_recording(self) -> str | None:
        """Its recording, as whoever names it calls it."""
        there = self.present[1].recording if self.present else None
        return self.row.recording or self.recording or there


@dataclass
class Joining:
    """What is put together: drafts of shots and lines, and what is to be said."""

    production: Production
    names: Names
    index: RecordingIndex
    shots: dict[tuple[str, str], ShotDraft] = field(default_factory=dict)
    drafts: list[Draft] = field(default_factory=list)
    kept: list[Draft] = field(default_factory=list)
    whole_lines: set[str] = field(default_factory=set)
    whole_shots: set[str] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)
    unplaced: list[Problem] = field(default_factory=list)
    messages: list[Message] = field(default_factory=list)

    def shot(self, scene: str, shot: str) -> ShotDraft:
        """Return the draft of a shot, which begins as what the production has."""
        if (scene, shot) not in self.shots:
            there = self.names.scenes.get(scene)
            present = next((one for one in there.shots if one.id == shot), None) if there else None
            self.shots[scene, shot] = ShotDraft(scene, shot, present)
        return self.shots[scene, shot]
