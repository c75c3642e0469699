"""The types of the fields of a change: times, places, symbols and texts, each with its limits.

In: values as JSON has them. Out: the same values, checked and never converted.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from lipsync.phonemes import split_stress

# The longest time (chosen): no line is longer than two hours.
LONGEST_US = 7_200_000_000
_MOST_PARTS = 100_000


def _symbol(text: str) -> str:
    split_stress(text)
    return text


def _printable(text: str) -> str:
    if not text.isprintable():
        raise ValueError("holds a character that does not print; write it in one line")
    return text


Time = Annotated[int, Field(ge=0, le=LONGEST_US)]
PlaceField = Annotated[int, Field(ge=0, lt=_MOST_PARTS)]
FrameField = Annotated[int, Field(ge=0, lt=1_000_000)]
Symbol = Annotated[str, StringConstraints(max_length=4), AfterValidator(_symbol)]
TextField = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200), AfterValidator(_printable)
]
Code = Annotated[str, StringConstraints(min_length=1, max_length=12)]
Version = Annotated[str, StringConstraints(max_length=64)]


class Body(BaseModel):
    """A table in which every key is known and nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
