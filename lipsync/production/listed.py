"""What lists, edits, scripts and recordings say, before it is put together: the values that all readers return.

Each reader (dialogue_list.py, edit_list.py, timeline_file.py, script_text.py, subtitle_file.py, recording_names.py)
returns a `Listing`; joining.py puts them together. What a row does not say is None. Names are as written in the file:
none is looked up in the production yet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lipsync.errors import Problem
from lipsync.message import Message

# Which source a listing is of.
Kind = Literal["list", "edit", "script", "subtitles", "names"]


@dataclass(frozen=True, slots=True)
class Listed:
    """What one row, event or speech says, as it is written there.

    Attributes:
        file: the file that says it.
        place: the row or event in it, such as "row 12".
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
        """Whether it says something of a line, and not only of a shot."""
        return any(one is not None for one in (self.line, self.character, self.text, self.recording))

    def fault(self, what: str, text: str) -> Problem:
        """Return a problem of this row: `what` is the field, `text` what is wrong and what to do."""
        return Problem(self.file, f"{self.place} {what}".strip(), text)


@dataclass(frozen=True, slots=True)
class EditEvent:
    """A clip of an edit, or a marker. Frames are counted from midnight by timecode.

    Attributes:
        file: the edit.
        place: which event or clip, in words.
        kind: a sound, a picture, or a marker: a name at one frame.
        names: what it is called, the surest name first: file, clip, reel.
        record: its first frame in the edit, and the frame after its last.
        source: the same in its recording, by the recording's own timecode; None of a marker.
    """

    file: str
    place: str
    kind: Literal["sound", "picture", "marker"]
    names: tuple[str, ...]
    record: tuple[int, int]
    source: tuple[int, int] | None = None

    def fault(self, what: str, text: str) -> Problem:
        """Return a problem of this row: `what` is the field, `text` what is wrong and what to do."""
        return Problem(self.file, f"{self.place} {what}".strip(), text)


@dataclass(frozen=True, slots=True)
class Listing:
    """What one file says.

    Attributes:
        kind: which source it is.
        file: its path.
        rows: what it says, in order; of an edit empty.
        events: the clips and markers of an edit.
        drop: whether an edit counts in drop-frame timecode.
        problems: what is wrong with it.
        messages: what is to be known of how it was read.
    """

    kind: Kind
    file: str
    rows: tuple[Listed, ...] = ()
    events: tuple[EditEvent, ...] = ()
    drop: bool = False
    problems: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()
