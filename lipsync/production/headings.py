"""The columns of a dialogue list, known by their headings in plain words, or by a house's own.

In: the cells of a row. Out: for each column which field it is. Case, blanks and signs do not count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

Field = Literal["scene", "shot", "line", "character", "text", "recording", "begins", "in", "out", "frames", "start"]
FIELDS: tuple[Field, ...] = get_args(Field)

# Field -> other headings that mean it: plain words, chosen. A house's own stand in production.toml.
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

# A row is one of headings if it has as many that are known, among them one that tells which line it is; chosen:
# titles and remarks above a list have fewer.
_LEAST_KNOWN = 2
_PLACES = ("shot", "line", "recording")


@dataclass(frozen=True, slots=True)
class ListColumns:
    """Which column is which field, and what is to be said of the others."""

    fields: Mapping[Field, int]
    twice: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def are_headings(self) -> bool:
        """Whether this is a row of headings."""
        return len(self.fields) >= _LEAST_KNOWN and any(name in self.fields for name in _PLACES)


def columns_of(cells: Sequence[object], own: Mapping[str, Field]) -> ListColumns:
    """Return what the columns under these headings are.

    Args:
        cells: a row of the list.
        own: a house's own headings.

    >>> columns_of(["Scene", "Wer", "", "Notes"], {"wer": "character"}).fields
    {'scene': 0, 'character': 1}
    """
    known = {_plain(name): field for field in FIELDS for name in (field, *MEANT[field])}
    known |= {_plain(name): field for name, field in own.items()}
    fields: dict[Field, int] = {}
    twice: list[str] = []
    unknown: list[str] = []
    for place, cell in enumerate(cells):
        if not isinstance(cell, str) or not cell.strip():
            continue
        field = known.get(_plain(cell))
        if field is None:
            unknown.append(" ".join(cell.split()))
        elif field in fields:
            twice.append(" ".join(cell.split()))
        else:
            fields[field] = place
    return ListColumns(fields, tuple(twice), tuple(unknown))


def _plain(heading: str) -> str:
    return "".join(letter for letter in heading.casefold() if letter.isalnum())
