"""The columns of a dialogue list, known by their headings: usual words, or the studio's own.

In: the cells of a row. Out: which column is which field. Case, spaces and signs do not count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from lipsync.production.letters import letters_of

Field = Literal["scene", "shot", "line", "character", "text", "recording", "begins", "in", "out", "frames", "start"]
FIELDS: tuple[Field, ...] = get_args(Field)

# Field -> other headings that mean it: usual words (chosen). A studio's own stand in production.toml.
MEANT: Mapping[Field, tuple[str, ...]] = {
    "scene": ("sc", "scene id", "scene no", "scene number"),
    "shot": ("shot id", "shot no", "shot number"),
    "line": ("line id", "line no", "line number", "id"),
    "character": ("who", "speaker", "role", "character name"),
    "text": ("dialogue", "dialog", "speech", "words", "spoken", "what is said"),
    "recording": ("file", "file name", "filename", "sound", "sound file", "audio", "wav"),
    "begins": ("begin", "begins at", "line begins", "line start"),
    "in": ("in point", "recording in", "source in"),
    "out": ("out point", "recording out", "source out"),
    "frames": ("length", "shot length", "shot frames", "length in frames"),
    "start": ("shot start", "start timecode", "shot timecode"),
}

# A row is the row of headings if it has at least so many known ones, and at least one of `_PLACES` (chosen: titles
# and remarks above a list have fewer).
_LEAST_KNOWN = 2
_PLACES = ("shot", "line", "recording")


@dataclass(frozen=True, slots=True)
class ListColumns:
    """The columns of a list.

    Attributes:
        fields: the index of each field's column, from 0.
        twice: headings that mean a field which another column has already.
        unknown: headings that mean no field.
    """

    fields: Mapping[Field, int]
    twice: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def are_headings(self) -> bool:
        """Whether this is a row of headings."""
        return len(self.fields) >= _LEAST_KNOWN and any(name in self.fields for name in _PLACES)


def columns_of(cells: Sequence[object], own: Mapping[str, Field]) -> ListColumns:
    """Return which columns these headings name.

    Args:
        cells: a row of the list.
        own: the studio's own headings, and the fields that they mean.

    >>> columns_of(["Scene", "Wer", "", "Notes"], {"wer": "character"}).fields
    {'scene': 0, 'character': 1}
    """
    known = {letters_of(name): field for field in FIELDS for name in (field, *MEANT[field])}
    known |= {letters_of(name): field for name, field in own.items()}
    fields: dict[Field, int] = {}
    twice: list[str] = []
    unknown: list[str] = []
    for place, cell in enumerate(cells):
        if not isinstance(cell, str) or not cell.strip():
            continue
        field = known.get(letters_of(cell))
        if field is None:
            unknown.append(" ".join(cell.split()))
        elif field in fields:
            twice.append(" ".join(cell.split()))
        else:
            fields[field] = place
    return ListColumns(fields, tuple(twice), tuple(unknown))
