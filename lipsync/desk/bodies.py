"""The changes that a person can ask for, each a table that is checked before anything is done.

In: JSON as the browser sends it. Out: one of the classes below. Times are whole microseconds from the line's `in`
point, parts are counted from 0 as they stand, frames from 0 in the line's shot.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, TypeAdapter

from lipsync.phonemes import split_stress

# No line is longer (chosen): two hours.
_LONGEST_US = 7_200_000_000
_MOST_PARTS = 100_000


def _symbol(text: str) -> str:
    split_stress(text)
    return text


def _printable(text: str) -> str:
    if not text.isprintable():
        raise ValueError("holds a character that does not print; write it in one line")
    return text


Time = Annotated[int, Field(ge=0, le=_LONGEST_US)]
Place = Annotated[int, Field(ge=0, lt=_MOST_PARTS)]
Frame = Annotated[int, Field(ge=0, lt=1_000_000)]
Symbol = Annotated[str, StringConstraints(max_length=4), AfterValidator(_symbol)]
Text = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200), AfterValidator(_printable)
]
Code = Annotated[str, StringConstraints(min_length=1, max_length=12)]
Version = Annotated[str, StringConstraints(max_length=64)]


class Body(BaseModel):
    """A table in which every key is known and nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class MoveBoundary(Body):
    """Move a boundary of a part: 0 is its start, the last one its end; `alone` leaves the neighbour where it is."""

    kind: Literal["move-boundary"]
    part: Place
    boundary: Place
    to_us: Time
    alone: bool = False


class MovePart(Body):
    """Move a whole part, its inner boundaries in proportion."""

    kind: Literal["move-part"]
    part: Place
    start_us: Time
    end_us: Time


class SetPhoneme(Body):
    """Say that another phoneme is heard."""

    kind: Literal["set-phoneme"]
    part: Place
    phoneme: Place
    symbol: Symbol


class SplitPhoneme(Body):
    """Say that a phoneme ends earlier than it stands, and another follows within its time."""

    kind: Literal["split-phoneme"]
    part: Place
    phoneme: Place
    at_us: Time
    symbol: Symbol


class DropPhoneme(Body):
    """Take a phoneme out; its time goes to the one before, or, if it is the first, to the one after."""

    kind: Literal["drop-phoneme"]
    part: Place
    phoneme: Place


class SplitWord(Body):
    """Make two words of one, the second beginning with a phoneme of it."""

    kind: Literal["split-word"]
    part: Place
    phoneme: Place
    first: Text
    second: Text


class JoinWords(Body):
    """Make one word of two that follow each other."""

    kind: Literal["join-words"]
    part: Place
    text: Text


class Retype(Body):
    """Write a word otherwise; `listen` listens to that part again, else only its letters change."""

    kind: Literal["retype"]
    part: Place
    text: Text
    listen: bool = True


class Pronounce(Body):
    """Say how a word is spoken here, and listen to that part again."""

    kind: Literal["pronounce"]
    part: Place
    symbols: Annotated[list[Symbol], Field(min_length=1, max_length=40)]


class AddCue(Body):
    """Add a sound that is no word."""

    kind: Literal["add-cue"]
    name: Annotated[Text, StringConstraints(max_length=40)]
    start_us: Time
    end_us: Time


class DeletePart(Body):
    """Take a word or cue out."""

    kind: Literal["delete-part"]
    part: Place


class ConfirmPart(Body):
    """Say that a word or cue is right as it stands."""

    kind: Literal["confirm-part"]
    part: Place


class PutPiece(Body):
    """Put a piece on a frame."""

    kind: Literal["put-piece"]
    frame: Frame
    code: Code


class ForbidPiece(Body):
    """Keep a piece off a frame."""

    kind: Literal["forbid-piece"]
    frame: Frame
    code: Code


class FreeFrame(Body):
    """Take back whatever was put on a frame or forbidden there."""

    kind: Literal["free-frame"]
    frame: Frame


class SetChecked(Body):
    """Say that the line was listened to as it stands, or take that back."""

    kind: Literal["set-checked"]
    checked: bool


class TakeNewer(Body):
    """Let the newer computation that waits replace what stands."""

    kind: Literal["take-newer"]


Change = (
    MoveBoundary
    | MovePart
    | SetPhoneme
    | SplitPhoneme
    | DropPhoneme
    | SplitWord
    | JoinWords
    | Retype
    | Pronounce
    | AddCue
    | DeletePart
    | ConfirmPart
    | PutPiece
    | ForbidPiece
    | FreeFrame
    | SetChecked
    | TakeNewer
)


class ChangeBody(Body):
    """A change, and the version of the line that the person saw when asking for it."""

    version: Version
    change: Annotated[Change, Field(discriminator="kind")]


class VersionBody(Body):
    """Undo, redo, or listen: the version that the person saw."""

    version: Version


CHANGE_BODY: TypeAdapter[ChangeBody] = TypeAdapter(ChangeBody)
VERSION_BODY: TypeAdapter[VersionBody] = TypeAdapter(VersionBody)
