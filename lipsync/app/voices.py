"""The voice factor of each character: set by hand in the production, or found once from its first lines and kept.

A line in another voice (a falsetto, a whisper) may have its own `voice_factor` in the scene's file; such lines are
not among those that the character's is found from.

In: a production. Out: by how much a character's recordings are slowed for the recogniser. What was found is kept in
`voices.toml` of the production; take a character's table out of it, and the factor is found again.

    form = "lipsync voices 1"
    [voices.heron]
    voice_factor = 1.32
    found_from = ["010-a", "010-b"]      ids of the lines that it was found from
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Literal

import tomli_w

from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.folders import is_there
from lipsync.production.production_tables import Id, VoiceFactor
from lipsync.production.values import Production
from lipsync.tomlfile import Table, read_table

# Chosen: four lines of a few seconds give the same factor as forty, within one step of the search.
FROM_LINES = 4


class Voice(Table):
    """A voice factor and the lines that it was found from."""

    voice_factor: VoiceFactor
    found_from: tuple[str, ...] = ()


class VoicesFile(Table):
    """`voices.toml` as its file holds it."""

    form: Literal["lipsync voices 1"]
    voices: Mapping[Id, Voice] = {}


# Finds a factor from a character's first lines, and tells their ids; None where none of them can be used.
Find = Callable[[Production, str], tuple[float | None, tuple[str, ...]]]


def voice_factor(production: Production, character: str, find: Find) -> float | None:
    """Return a character's factor; `find` is called if it is not known yet, and None if it finds nothing.

    Raises:
        InputError: for faults in `voices.toml`.
        OutputError: if it cannot be written.
    """
    set_by_hand = production.file.characters[character].voice_factor
    if set_by_hand is not None:
        return set_by_hand
    path = production.folder / "voices.toml"
    known = _read(path)
    if character not in known:
        factor, lines = find(production, character)
        if factor is None:
            return None
        with alone(path):
            known = _read(path)  # others may have been found meanwhile
            if character not in known:
                known[character] = Voice(voice_factor=factor, found_from=lines)
                _write(path, known)
    return known[character].voice_factor


def check_voices(production: Production) -> None:
    """Raise an InputError for faults in `voices.toml`."""
    _read(production.folder / "voices.toml")


def _read(path: Path) -> dict[str, Voice]:
    return dict(read_table(path, VoicesFile).voices) if is_there(path) else {}


def _write(path: Path, voices: Mapping[str, Voice]) -> None:
    tables = {
        name: {"voice_factor": voice.voice_factor, "found_from": list(voice.found_from)}
        for name, voice in voices.items()
    }
    write_whole(path, tomli_w.dumps({"form": "lipsync voices 1", "voices": tables}).encode())
