"""The voice factor of each character: set by hand in the production, or found from its first lines and kept.

A line in another voice (a falsetto, a whisper) may have its own `voice_factor` in the scene's file; such lines are
not among those that the character's is found from, and neither are lines whose sound and text do not match.

In: a production. Out: by how much a character's recordings are slowed for the recogniser. What was found is kept in
`voices.toml` of the production, and holds until one of the lines that it was found from changes: its recording, its
text, a setting that bears on it. While there are fewer of them than could be, a new line lets it be found again.

    form = "lipsync voices 2"
    [voices.heron]
    voice_factor = 1.32                  left out where none of its lines could be used
    found_from = [                       the lines that it was found from, each with a code of all that it depends on
        { line = "010-a", fingerprint = "5a41c0d2e9f1" },
    ]
    passed_over = [ ... ]                lines that were tried, and whose sound and text do not match

Form 1 had no fingerprints: what it holds is found again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import tomli_w

from lipsync.app.heard import Only, PlacedLine, lines_of
from lipsync.app.line_settings import line_fingerprint, tokens_or_none
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.production.production_tables import Id, VoiceFactor
from lipsync.production.values import Production
from lipsync.text.script import SpokenWord
from lipsync.tomlfile import Table, read_table

# Chosen: four lines of a few seconds give the same factor as forty, within one step of the search.
FROM_LINES = 4

# More lines of one character are not tried: one whose texts are all wrong would be listened to twice over (chosen).
MOST_TRIED = 12


class TriedLine(Table):
    """A line, and the code of all that what is found from it depends on."""

    line: Id
    fingerprint: str


class Voice(Table):
    """A voice factor, the lines that it was found from, and those that were tried and did not match."""

    voice_factor: VoiceFactor | None = None
    found_from: tuple[TriedLine | str, ...] = ()
    passed_over: tuple[TriedLine, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The ids of the lines that it was found from."""
        return tuple(one if isinstance(one, str) else one.line for one in self.found_from)


class VoicesFile(Table):
    """`voices.toml` as its file holds it."""

    form: Literal["lipsync voices 1", "lipsync voices 2"]
    voices: Mapping[Id, Voice] = {}


@dataclass(frozen=True, slots=True)
class FactorFound:
    """The factor found from a character's lines, None if none matches; the lines used, and those passed over."""

    factor: float | None
    used: tuple[PlacedLine, ...]
    passed_over: tuple[PlacedLine, ...]


# Finds the voice factor from a character's lines, which are given in their order.
Find = Callable[[tuple[PlacedLine, ...]], FactorFound]


@dataclass(slots=True)
class Voices:
    """The voice factors of a production's characters, each looked up once for a run.

    Attributes:
        production: the production.
        find: finds a factor that is not known.
    """

    production: Production
    find: Find
    _factors: dict[str, float | None] = field(default_factory=dict)

    def of(self, character: str) -> float | None:
        """Return a character's factor; None if none was found, and each line is to find its own.

        Raises:
            InputError: for faults in `voices.toml`.
            OutputError: if it cannot be written.
        """
        set_by_hand = self.production.file.characters[character].voice_factor
        if set_by_hand is not None:
            return set_by_hand
        if character not in self._factors:
            known = known_voices(self.production).get(character)
            if known is None or not _holds(self.production, character, known):
                known = self._found(character)
            self._factors[character] = known.voice_factor if known else None
        return self._factors[character]

    def _found(self, character: str) -> Voice | None:
        candidates = candidates_of(self.production, character)
        if not candidates:
            return None
        tried = self.find(candidates)
        used, passed_over = (tuple(map(self._tried, lines)) for lines in (tried.used, tried.passed_over))
        voice = Voice(voice_factor=tried.factor, found_from=used, passed_over=passed_over)
        path = _path(self.production)
        with alone(path):
            _write(path, {**known_voices(self.production), character: voice})
        return voice

    def _tried(self, placed: PlacedLine) -> TriedLine:
        return TriedLine(line=placed.line.id, fingerprint=line_fingerprint(self.production, placed))


def candidates_of(production: Production, character: str) -> tuple[PlacedLine, ...]:
    """Return the lines that may tell of a character's voice, in order: with words, and no factor of their own."""
    return tuple(
        placed
        for placed in lines_of(production, Only())
        if placed.line.character == character
        and placed.line.voice_factor is None
        and any(isinstance(token, SpokenWord) for token in tokens_or_none(placed.line.text))
    )


def known_voices(production: Production) -> dict[str, Voice]:
    """Return what `voices.toml` holds of each character.

    Raises:
        InputError: for faults in it.
    """
    path = _path(production)
    return dict(read_table(path, VoicesFile).voices) if path.exists() else {}


def _holds(production: Production, character: str, voice: Voice) -> bool:
    """Whether what was found still holds: its lines are there and unchanged, and no more could be had of new ones."""
    there = {placed.line.id: placed for placed in candidates_of(production, character)}
    tried = (*voice.found_from, *voice.passed_over)
    for one in tried:
        if isinstance(one, str) or one.line not in there:
            return False
        if line_fingerprint(production, there[one.line]) != one.fingerprint:
            return False
    untried = there.keys() - {one.line for one in tried if isinstance(one, TriedLine)}
    return len(voice.found_from) >= FROM_LINES or len(tried) >= MOST_TRIED or not untried


def _path(production: Production) -> Path:
    return production.folder / "voices.toml"


def _write(path: Path, voices: Mapping[str, Voice]) -> None:
    tables = {name: voice.model_dump(exclude_none=True, exclude_defaults=True) for name, voice in voices.items()}
    write_whole(path, tomli_w.dumps({"form": "lipsync voices 2", "voices": tables}).encode())
