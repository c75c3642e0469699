"""Shots and lines while lists and edits are put together: what each source says of them, not yet resolved.

These values change while joining.py and the modules that it calls work on them.
"""

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

# The name of a recording -> its length in microseconds; None if it cannot be read.
Duration = Callable[[str], int | None]


@dataclass(frozen=True, slots=True)
class SaidLine:
    """A line that is said somewhere in a recording: its id, its words, who says them."""

    id: str
    text: str
    character: str


# A recording and the lines said in it -> start and end, in microseconds, of each line that is found, by id; messages.
Cut = Callable[[str, Sequence[SaidLine]], tuple[Mapping[str, tuple[int, int]], tuple[Message, ...]]]


@dataclass
class ShotDraft:
    """What is said of a shot.

    Attributes:
        scene: its scene's id.
        id: its id.
        present: the shot as the production has it; None if it is new.
        listed_frames: its length by the list, in frames.
        listed_start: the timecode of its first frame, by the list.
        edit_frames: its length by the edit, in frames.
        edit_start: the timecode of its first frame, by the edit.
        said_at: the row of the list that said any of this first, for faults.
        in_edit: whether an edit shows it.
    """

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
        """Its length in frames, by the edit, the list or the production; None if none says it."""
        there = self.present.frames if self.present else None
        return next((one for one in (self.edit_frames, self.listed_frames, there) if one is not None), None)

    @property
    def start(self) -> str:
        """The timecode of its first frame, by the edit, the list or the production."""
        there = self.present.start if self.present else None
        return self.edit_start or self.listed_start or there or "00:00:00:00"


@dataclass
class Draft:
    """What is said of a line.

    Attributes:
        row: the row or event that names it first.
        scene: its scene's id.
        shot: its shot's id.
        id: its id; None until it has one.
        present: the line as the production has it, with its shot; None if it is new.
        edit: the event of the edit that is this line.
        recording: the recording that is named for the line.
        character: who speaks, by a script or subtitles.
        text: what is said, by a script or subtitles.
        points_us: start and end in its recording, in microseconds, as found by listening.
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
        """Its recording as the row, else the recording's name, else the production calls it; None if none does."""
        there = self.present[1].recording if self.present else None
        return self.row.recording or self.recording or there


@dataclass
class Joining:
    """What is put together: drafts of shots and lines, and what is to be said.

    Attributes:
        production: the production as it is.
        names: its scenes, shots and characters by name.
        index: the recordings.
        shots: drafts by scene and shot.
        drafts: drafts of lines.
        kept: drafts of lines that stay as they are, since they were not found in their recording.
        whole_lines: scenes of which all lines are listed: a line that is not listed is gone.
        whole_shots: scenes of which all shots are in the edit: a shot that is not in it is gone.
        problems: faults; if there is any, nothing is taken.
        unplaced: why single lines or shots are left out.
        messages: what else is to be known.
    """

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
        """Return the draft of a shot; a new draft has only what the production says."""
        if (scene, shot) not in self.shots:
            there = self.names.scenes.get(scene)
            present = next((one for one in there.shots if one.id == shot), None) if there else None
            self.shots[scene, shot] = ShotDraft(scene, shot, present)
        return self.shots[scene, shot]
