"""The changes that a person can ask for, each a table that is checked before anything is done.

In: JSON as the browser sends it. Out: one of the classes below. Times are whole microseconds from the line's `in`
point, parts are counted from 0 as they stand, frames from 0 in the line's shot.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter

from lipsync.desk.fields import Body, Code, FrameField, PlaceField, Symbol, TextField, Time, Version
from lipsync.model import LEAST_FACTOR, MOST_FACTOR
from lipsync.text.accents import Accent


class MoveBoundary(Body):
    """Move a boundary of a part: 0 is its start, the last one its end; `alone` leaves the neighbour where it is."""

    kind: Literal["move-boundary"]
    part: PlaceField
    boundary: PlaceField
    to_us: Time
    alone: bool = False


class MovePart(Body):
    """Move a whole part, its inner boundaries in proportion."""

    kind: Literal["move-part"]
    part: PlaceField
    start_us: Time
    end_us: Time


class SetPhoneme(Body):
    """Say that another phoneme is heard."""

    kind: Literal["set-phoneme"]
    part: PlaceField
    phoneme: PlaceField
    symbol: Symbol


class SplitPhoneme(Body):
    """Say that a phoneme ends earlier than it stands, and another follows within its time."""

    kind: Literal["split-phoneme"]
    part: PlaceField
    phoneme: PlaceField
    at_us: Time
    symbol: Symbol


class DropPhoneme(Body):
    """Take a phoneme out; its time goes to the one before, or, if it is the first, to the one after."""

    kind: Literal["drop-phoneme"]
    part: PlaceField
    phoneme: PlaceField


class SplitWord(Body):
    """Make two words of one, the second beginning with a phoneme of it."""

    kind: Literal["split-word"]
    part: PlaceField
    phoneme: PlaceField
    first: TextField
    second: TextField


class JoinWords(Body):
    """Make one word of two that follow each other."""

    kind: Literal["join-words"]
    part: PlaceField
    text: TextField


class Retype(Body):
    """Write a word otherwise; `listen` listens to that part again, else only its letters change."""

    kind: Literal["retype"]
    part: PlaceField
    text: TextField
    listen: bool = True


class Pronounce(Body):
    """Say how a word is spoken here, and listen to that part again."""

    kind: Literal["pronounce"]
    part: PlaceField
    symbols: Annotated[list[Symbol], Field(min_length=1, max_length=40)]


class AddWord(Body):
    """Add a word that is heard in the silence around a time, and listen for it there."""

    kind: Literal["add-word"]
    text: TextField
    at_us: Time


class PlaceWords(Body):
    """Say that these words are heard from one time to another; what was computed there gives way.

    Attributes:
        listen: listen for them there; else they are spread over that time, each phoneme in proportion.
        symbols: how a single word is spoken, in ARPAbet; found from its letters if not given.
    """

    kind: Literal["place-words"]
    text: TextField
    start_us: Time
    end_us: Time
    listen: bool = False
    symbols: Annotated[list[Symbol], Field(min_length=1, max_length=40)] | None = None


class AddCue(Body):
    """Add a sound that is no word."""

    kind: Literal["add-cue"]
    name: Annotated[TextField, StringConstraints(max_length=40)]
    start_us: Time
    end_us: Time


class NothingSaid(Body):
    """Say that voice without text is nothing that is said, such as a noise: it is asked about no more."""

    kind: Literal["nothing-said"]
    start_us: Time
    end_us: Time


class DeletePart(Body):
    """Take a word or cue out."""

    kind: Literal["delete-part"]
    part: PlaceField


class ConfirmPart(Body):
    """Say that a word or cue is right as it stands."""

    kind: Literal["confirm-part"]
    part: PlaceField


class PutPiece(Body):
    """Put a piece on a frame."""

    kind: Literal["put-piece"]
    frame: FrameField
    code: Code


class ForbidPiece(Body):
    """Keep a piece off a frame."""

    kind: Literal["forbid-piece"]
    frame: FrameField
    code: Code


class FreeFrame(Body):
    """Take back whatever was put on a frame or forbidden there."""

    kind: Literal["free-frame"]
    frame: FrameField


class SetChecked(Body):
    """Say that the line was listened to as it stands, or take that back."""

    kind: Literal["set-checked"]
    checked: bool


class TakeNewer(Body):
    """Let the newer computation that waits replace what stands."""

    kind: Literal["take-newer"]


class DropNewer(Body):
    """Let what stands stay, and drop the newer computation that waits."""

    kind: Literal["drop-newer"]


ChangeRequest = (
    MoveBoundary
    | MovePart
    | SetPhoneme
    | SplitPhoneme
    | DropPhoneme
    | SplitWord
    | JoinWords
    | Retype
    | Pronounce
    | AddWord
    | PlaceWords
    | AddCue
    | NothingSaid
    | DeletePart
    | ConfirmPart
    | PutPiece
    | ForbidPiece
    | FreeFrame
    | SetChecked
    | TakeNewer
    | DropNewer
)


class ChangeBody(Body):
    """A change, and the version of the line that the person saw when asking for it."""

    version: Version
    change: Annotated[ChangeRequest, Field(discriminator="kind")]


class EntryFields(Body):
    """What a line's scene file says of it, as far as it can be changed here; None where it says nothing."""

    text: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=5000)]
    in_us: Time | None = None
    out_us: Time | None = None
    voice_factor: Annotated[float, Field(ge=LEAST_FACTOR, le=MOST_FACTOR)] | None = None
    begins: (
        Annotated[int, Field(ge=-1_000_000, le=1_000_000)]
        | Annotated[str, StringConstraints(min_length=1, max_length=40)]
    )


class EntryBody(Body):
    """What a line's entry is to say, and what it said when the person saw it."""

    was: EntryFields
    entry: EntryFields


class SetPronunciation(Body):
    """Say how a word is spoken in the whole production, in ARPAbet, in place of what the production says of it."""

    kind: Literal["set-pronunciation"]
    word: Annotated[TextField, StringConstraints(max_length=60)]
    symbols: Annotated[list[Symbol], Field(min_length=1, max_length=40)]


class DropPronunciation(Body):
    """Take out what the production says of how a word is spoken."""

    kind: Literal["drop-pronunciation"]
    word: Annotated[TextField, StringConstraints(max_length=60)]


class SetAccent(Body):
    """Say with which accent the line's character speaks; `was` is what the person saw."""

    kind: Literal["set-accent"]
    was: Accent
    accent: Accent


class WholeBody(Body):
    """What the production's file is to say for all its lines."""

    change: Annotated[SetPronunciation | DropPronunciation | SetAccent, Field(discriminator="kind")]


class VersionBody(Body):
    """Undo, redo, or listen: the version that the person saw."""

    version: Version


class PrintBody(Body):
    """Print the line's shot: its sheet, its packet, the charts of its characters, or its preview."""

    kind: Literal["sheet", "packet", "chart", "preview"]


class StopBody(Body):
    """Stop what is being printed."""


CHANGE_BODY: TypeAdapter[ChangeBody] = TypeAdapter(ChangeBody)
ENTRY_BODY: TypeAdapter[EntryBody] = TypeAdapter(EntryBody)
WHOLE_BODY: TypeAdapter[WholeBody] = TypeAdapter(WholeBody)
VERSION_BODY: TypeAdapter[VersionBody] = TypeAdapter(VersionBody)
PRINT_BODY: TypeAdapter[PrintBody] = TypeAdapter(PrintBody)
STOP_BODY: TypeAdapter[StopBody] = TypeAdapter(StopBody)
