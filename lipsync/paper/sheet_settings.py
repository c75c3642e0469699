"""How a studio wants its sheets: paper, size, ruling, columns, and the words that are printed.

In: the table `[sheet]` of a production. Out: `SheetSettings`; the type of each field says which values are allowed.
"""

from __future__ import annotations

from collections import Counter
from typing import Literal

from pydantic import field_validator

from lipsync.paper.sheet_words import Words
from lipsync.tomlfile import Table

# Columns that a sheet may have, in the order of the default; `character` stands for each character's own.
COLUMNS = ("frame", "feet", "timecode", "character", "brows", "eyes", "hands", "action", "camera", "notes", "filmed")
DEFAULT_COLUMNS = ("frame", "feet", "timecode", "character", "brows", "eyes", "action", "camera")


# Columns that each acting character has for itself.
FACE = ("brows", "eyes")

# Kinds of replacement parts that a studio lists by hand -> the column in which a sheet shows them.
PART_COLUMNS = {
    "brows": "brows",
    "lids": "eyes",
    "eyes": "eyes",
    "hands": "hands",
    "head": "action",
    "body": "action",
}


class SheetSettings(Table):
    """How the exposure sheet looks."""

    page: Literal["A4", "A3", "Letter", "Tabloid"] = "A4"
    orientation: Literal["portrait", "landscape"] = "portrait"
    form: Literal["standard", "large", "compact"] = "standard"
    rule_every: Literal["second", 8, 16, 24] = "second"
    columns: tuple[Literal[COLUMNS], ...] = DEFAULT_COLUMNS  # type: ignore[valid-type]
    # Ids of characters that have columns for brows and eyes even in shots in which they say nothing.
    faces: tuple[str, ...] = ()
    words: Words = Words()

    @field_validator("columns")
    @classmethod
    def _each_once(cls, columns: tuple[str, ...]) -> tuple[str, ...]:
        twice = [name for name, times in Counter(columns).items() if times > 1]
        if twice:
            raise ValueError(f"{', '.join(twice)} stands there more than once; name each column once")
        if "frame" not in columns:
            raise ValueError("has no frame, and a sheet without frame numbers cannot be worked from; add it")
        return columns
