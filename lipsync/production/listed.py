"""What lists, edits, scripts and recordings say, before it is put together: a row for each thing.

Each reader (dialogue_list.py, edit_list.py, timeline_file.py, script_text.py, subtitle_file.py, recording_names.py)
gives a `Listing`; joining.py puts them together. What a row does not say is None. Nothing here knows the production.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lipsync.errors import Problem
from lipsync.message import Message

# What a listing is of: a dialogue list; an edit; a script; subtitles; the names of recordings.
Kind = Literal["list", "edit", "script", "subtitles", "names"]


@dataclass(frozen=True, slots=True)
class Listed:
    """What one row, event or speech says, as it is written there.

    Attributes:
        file: where it stands.
        place: which row or event, such as "row 12".
        scene: the scene's id or title.
        shot: the shot's id.
        line: the line's id.
        character: who speaks: id or name.
        text: what is said.
        recording: the recording's name or path.
        begins: where the line begins: a frame number, or text as written_times.py has it.
        in_point: where it begins in the recording, as written_times.py has it; a number is seconds.
        out_point: where it ends there.
        frames: the length of the shot.
        start: the timecode of the shot's first frame.
    """

    file: str
    place: str
    scene: str | None = None
    shot: str | None = None
    line: str | None = None
    character: str | None = None
    text: str | None = None
    recording: str | None = None
    begins: int | str | None = None
    in_point: float | str | None = None
    out_point: float | str | None = None
    frames: int | None = None
    start: str | None = None

    @property
    def says_a_line(self) -> bool:
        """Whether it is about a line, and not of a shot alone."""
        return any(one is not None for one in (self.line, self.character, self.text, self.recording))

    def fault(self, what: str, text: str) -> Problem:
        """Return what is wrong with it."""
        return Problem(self.file, f"{self.place} {what}".strip(), text)


@dataclass(frozen=True, slots=True)
class EditEvent:
    """A clip of an edit, or a marker. Frames are counted from midnight by the edit's timecode, ends not included.

    Attributes:
        file: the edit.
        place: which event or clip, in words.
        kind: whether it is heard or seen; a marker is a name at a frame.
        names: what it is called, the surest first: file, clip, reel.
        record: from which frame of the edit to which.
        source: from which frame of the recording to which, by the recording's own timecode; None of a marker.
    """

    file: str
    place: str
    kind: Literal["sound", "picture", "marker"]
    names: tuple[str, ...]
    record: tuple[int, int]
    source: tuple[int, int] | None = None

    def fault(self, what: str, text: str) -> Problem:
        """Return what is wrong with it."""
        return Problem(self.file, f"{self.place} {what}".strip(), text)


@dataclass(frozen=True, slots=True)
class Listing:
    """What one file says: its rows, or events if it is an edit; what is wrong with it, and what is to be known.

    `drop` says that an edit counts in drop-frame timecode.
    """

    kind: Kind
    file: str
    rows: tuple[Listed, ...] = ()
    events: tuple[EditEvent, ...] = ()
    drop: bool = False
    problems: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()
