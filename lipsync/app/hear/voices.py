"""The voice of each character: its factor, set by hand or found from its first lines, and its profile.

In: a production. Out: a `VoiceProfile` for each character. What was found is kept in `voices.toml`, in the form that
formats/voices.md describes.

A line in another voice (a falsetto, a whisper) may have its own `voice_factor` in the scene's file. The character's
voice is not found from such lines, nor from lines whose sound and text do not match.

A voice holds until one of the lines that it was found from changes: its recording, its words, or a setting that it
depends on. Then it is found again; if the new factor is about the same, the old one is kept, so that no line is
listened to again for a small difference. A voice of few lines is found again once there are twice as many. Lines that
a person has checked come first then, and count whether or not they seem to match: their words are known.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal, Self

import tomli_w
from pydantic import AfterValidator, BeforeValidator

from lipsync.align.settings import Fit, VoiceProfile
from lipsync.app.hear.heard import Only, PlacedLine, kept_path, lines_of
from lipsync.app.hear.line_settings import (
    Carried,
    code_of_file,
    line_fingerprint,
    recording_of,
    source_of,
    tokens_or_none,
)
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.work.in_hand import InHand
from lipsync.app.work.workers import Workers
from lipsync.breakdown.breakdown_file import read
from lipsync.errors import InputError, LineError
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.folders import is_there
from lipsync.message import Message, Where
from lipsync.production.production_tables import Id, VoiceFactor, checked_id
from lipsync.production.values import Production
from lipsync.text.script import SpokenWord
from lipsync.tomlfile import Table, bytes_of, table_of

# Chosen: four lines of a few seconds give the same factor as forty, within one step of the search.
FROM_LINES = 4

# Lines that a voice is found from at the most (chosen: more change it little, and each is listened to once more).
MOST_TRIED = 12


def _numbers(row: object) -> object:
    """Return the numbers of a row of text; the forms before have lists of numbers."""
    try:
        return tuple(map(float, row.split())) if isinstance(row, str) else row
    except ValueError:
        raise ValueError(
            f"{row!r} is no row of numbers; remove the character's table, and it is found again"
        ) from None


def _line_key(text: str) -> str:
    """Return the key of a line (`PlacedLine.key`): its id, with its scene where other scenes have that id too."""
    for id in text.split(":", maxsplit=1):
        checked_id(id)
    return text


LineKey = Annotated[str, AfterValidator(_line_key)]


class TriedLine(Table):
    """A line that was tried, and a code of all that a voice found from it depends on."""

    line: LineKey
    fingerprint: str


class Voice(Table):
    """What was found of a voice, and from which lines: a table of `voices.toml`."""

    voice_factor: VoiceFactor | None = None
    by_hand: bool = False
    found_from: tuple[TriedLine | str, ...] = ()
    adapted_from: tuple[TriedLine, ...] = ()
    passed_over: tuple[TriedLine, ...] = ()
    transform: tuple[tuple[Annotated[tuple[float, ...], BeforeValidator(_numbers)], ...], ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The ids of the lines that its factor was found from."""
        return tuple(one if isinstance(one, str) else one.line for one in self.found_from)

    @property
    def tried(self) -> tuple[TriedLine | str, ...]:
        """Every line that was tried."""
        return (*self.found_from, *self.adapted_from, *self.passed_over)

    @property
    def profile(self) -> VoiceProfile | None:
        """The voice profile for listening; None if nothing is known of the voice."""
        return None if self.voice_factor is None else VoiceProfile(self.voice_factor, self.transform)


class VoicesFile(Table):
    """`voices.toml` as its file holds it."""

    form: Literal["lipsync voices 1", "lipsync voices 2", "lipsync voices 3"]
    voices: Mapping[Id, Voice] = {}


# How well lines fit at the voice factors that were tried, by their keys.
LineFits = Mapping[str, Mapping[float, Fit]]


@dataclass(frozen=True, slots=True)
class VoiceFound:
    """What was found from a character's lines.

    Attributes:
        profile: the voice profile; None if no line matches its text.
        used: the lines that its factor was found from.
        adapted: further lines that the profile was found from.
        passed_over: lines that were tried and do not match, or cannot be read.
        fits: how well those that were used and adapted fit at voice factors.
    """

    profile: VoiceProfile | None
    used: tuple[PlacedLine, ...]
    adapted: tuple[PlacedLine, ...]
    passed_over: tuple[PlacedLine, ...]
    fits: LineFits = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class VoiceTask:
    """A voice to be found.

    Attributes:
        production: its production; scenes and mouth sets may be left out.
        candidates: the character's lines, those that a person has checked first, as many as may be tried.
        by_hand: the factor, where it is set by hand.
        before: what was known of the voice until now.
        unchanged: the keys of the lines that this was found from and that are the same still.
        fits: how well lines fit at voice factors, as far as it is known.
        checked: how many of the first lines a person has checked: their words are known.
        carried: what the lines' recordings hold; they are read where they lie if there is nothing.
    """

    production: Production
    candidates: tuple[PlacedLine, ...]
    by_hand: float | None
    before: VoiceProfile | None = None
    unchanged: frozenset[str] = frozenset()
    fits: LineFits = field(default_factory=dict)
    checked: int = 0
    carried: Carried = field(default_factory=dict)

    def __str__(self) -> str:
        """Return whose voice it is."""
        return self.candidates[0].line.character

    def recordings(self) -> Mapping[str, Path]:
        """Return the recordings of its lines (workers.py: `Travelling`)."""
        return {one.line.recording: self.production.folder / one.line.recording for one in self.candidates}

    def packed(self) -> Self:
        """Return it: it reads nothing but recordings."""
        return self

    def carrying(self, recordings: Carried) -> Self:
        """Return it with what the recordings hold."""
        return replace(self, carried=recordings)


Find = Callable[[VoiceTask], VoiceFound]
# Seconds to find a voice, roughly (measured): each line tried is searched several times.
_FINDING_S = 5.0


@dataclass(slots=True)
class Voices:
    """The voices of a production's characters, each looked up once for a run.

    Attributes:
        production: the production.
        find: finds a voice that is not known.
        workers: the workers that find it.
        index: knows the codes of recordings, and what was found of lines that are still the same.
    """

    production: Production
    find: Find
    workers: Workers = field(default_factory=Workers)
    index: ProductionIndex | None = None
    _profiles: dict[str, VoiceProfile | None] = field(default_factory=dict)
    _known: dict[str, Voice] | None = None
    _candidates: dict[str, tuple[PlacedLine, ...]] | None = None

    def of(self, character: str) -> VoiceProfile | None:
        """Return what is known of a character's voice; None if nothing is, and each line is to find its own.

        Raises:
            InputError: for faults in `voices.toml`.
            OutputError: if it cannot be written.
        """
        self.find_all([character])
        return self._profiles[character]

    def read(self) -> Mapping[str, Voice]:
        """Return what `voices.toml` held when it was first read.

        Raises:
            InputError: for faults in it.
        """
        if self._known is None:
            self._known = known_voices(self.production)
        return self._known

    def is_known(self, character: str) -> bool:
        """Return whether a voice has been looked up, or what is kept of it holds."""
        if character not in self._profiles:
            by_hand = self.production.file.characters[character].voice_factor
            known = self.read().get(character)
            if known is None or not self._holds(character, known, by_hand):
                return False
            self._profiles[character] = known.profile
        return True

    def standing(self, character: str) -> tuple[bool, VoiceProfile | None]:
        """Return whether a character's voice is known and holds, and its profile; nothing is listened to.

        Raises:
            InputError: for faults in `voices.toml`.
        """
        if self.is_known(character):
            return True, self._profiles[character]
        if self._lines(character):
            return False, None
        by_hand = self.production.file.characters[character].voice_factor
        return True, None if by_hand is None else VoiceProfile(by_hand)

    def find_again(self) -> None:
        """Find the voices that were found once and do not hold any more.

        Raises:
            InputError: for faults in `voices.toml`.
            OutputError: if it cannot be written.
        """
        self.find_all([one for one in self.production.file.characters if one in self.read()])

    def _lines(self, character: str) -> tuple[PlacedLine, ...]:
        """Return the lines that a character's voice may be found from."""
        if self._candidates is None:
            self._candidates = candidates_of(self.production)
        return self._candidates.get(character, ())

    def find_all(self, characters: Iterable[str]) -> None:
        """Find the voices of characters that are not known.

        Raises:
            InputError: for faults in `voices.toml`.
            OutputError: if it cannot be written.
        """
        unknown = [character for character in dict.fromkeys(characters) if not self.is_known(character)]
        if not unknown:
            return
        with InHand(self.production.folder) as in_hand:
            free = [character for character in unknown if in_hand.take(f"voice {character}")]
            left = [character for character in unknown if character not in free]
            if left:
                self.workers.tell(Message.of("another run", Where(str(self.production.folder))))
            self._find(free)
            for character in free:
                in_hand.let_go(f"voice {character}")
            for character in left:
                in_hand.wait(f"voice {character}", lambda: self.workers.running(()))
        self._known = None  # another run has found some
        self._find([character for character in left if not self.is_known(character)])

    def _find(self, characters: Iterable[str]) -> None:
        searched: list[tuple[str, VoiceTask]] = []
        for character in characters:
            by_hand = self.production.file.characters[character].voice_factor
            if candidates := self._lines(character):
                checked = _checked(self.production, candidates)
                known_first = (*checked, *(one for one in candidates if one not in checked))[:MOST_TRIED]
                few = tuple(replace(one, scene=replace(one.scene, shots=())) for one in known_first)
                small = replace(self.production, scenes=(), mouth_sets={}, read_from=())
                before, unchanged = self._before(character, few)
                fits = {one.key: self._fits(one) for one in few}
                task = VoiceTask(small, few, by_hand, before, unchanged, fits, len(checked))
                searched.append((character, task))
            else:
                self._profiles[character] = None if by_hand is None else VoiceProfile(by_hand)
        tasks = [task for _, task in searched]
        # The first is worth no process: with one alone, all others would wait for it.
        for place, outcome in self.workers.each(self.find, tasks, _FINDING_S * (len(tasks) - 1)):
            character, task = searched[place]
            nothing = VoiceFound(None, (), (), task.candidates)
            found = outcome.found or nothing
            self._keep_fits(task.candidates, found.fits)
            self._profiles[character] = self._kept(character, task.by_hand, found).profile

    def _before(self, character: str, candidates: Iterable[PlacedLine]) -> tuple[VoiceProfile | None, frozenset[str]]:
        """Return what was known of a voice until now, and which of the lines it was found from are unchanged."""
        known = self.read().get(character)
        if known is None or known.profile is None:
            return None, frozenset()
        tried = set(known.tried)
        return known.profile, frozenset(one.key for one in candidates if self._tried(one, cues=False) in tried)

    def _fits(self, placed: PlacedLine) -> Mapping[float, Fit]:
        """Return what the index knows of how well a line fits at voice factors."""
        kept = self.index and self.index.get("fits", placed.key, self._tried(placed, cues=False).fingerprint)
        return {factor: None if fit is None else (fit[0], fit[1]) for factor, fit in kept or ()}

    def _keep_fits(self, lines: Iterable[PlacedLine], fits: LineFits) -> None:
        for one in lines:
            if self.index is not None and fits.get(one.key):
                code = self._tried(one, cues=False).fingerprint
                self.index.put("fits", one.key, code, list(fits[one.key].items()))

    def _kept(self, character: str, by_hand: float | None, found: VoiceFound) -> Voice:
        """Write what was found of a voice; the file is in the order of characters, whatever the order of finding."""
        used, adapted = (tuple(self._tried(one, cues=False) for one in own) for own in (found.used, found.adapted))
        passed_over = tuple(self._tried(one, cues=True) for one in found.passed_over)
        path = _path(self.production)
        with alone(path):
            known, profile = known_voices(self.production), found.profile
            voice = Voice(
                voice_factor=profile.factor if profile else None,
                by_hand=by_hand is not None,
                found_from=used,
                adapted_from=adapted,
                passed_over=passed_over,
                transform=profile.transform if profile else (),
            )
            all_known = {**known, character: voice}
            order = [*self.production.file.characters]
            places = {one: order.index(one) if one in order else len(order) for one in all_known}
            _write(path, {one: all_known[one] for one in sorted(all_known, key=lambda one: (places[one], one))})
        return voice

    def _tried(self, placed: PlacedLine, *, cues: bool) -> TriedLine:
        code_of = code_of_file if self.index is None else self.index.code
        code = line_fingerprint(self.production, placed, cues=cues, code_of=code_of)
        return TriedLine(line=placed.key, fingerprint=code)

    def _holds(self, character: str, voice: Voice, by_hand: float | None) -> bool:
        """Whether a voice holds: its lines are there and unchanged, and there are not twice as many lines now."""
        if voice.by_hand != (by_hand is not None) or (by_hand is not None and voice.voice_factor != by_hand):
            return False
        there = {placed.key: placed for placed in self._lines(character)}
        for one in voice.tried:
            if isinstance(one, str) or one.line not in there:
                return False
            # With a cue where there was voice without text, a line that was passed over may match.
            if self._tried(there[one.line], cues=one in voice.passed_over) != one:
                return False
        tried = len(voice.tried)
        return tried >= MOST_TRIED or len(there) < 2 * tried


def candidates_of(production: Production) -> dict[str, tuple[PlacedLine, ...]]:
    """Return for each character the lines that its voice may be found from: with words, without an own factor."""
    found: dict[str, list[PlacedLine]] = defaultdict(list)
    for placed in lines_of(production, Only()):
        said = () if placed.line.voice_factor is not None else tokens_or_none(placed.line.text)
        if any(isinstance(token, SpokenWord) for token in said):
            found[placed.line.character].append(placed)
    return {character: tuple(lines) for character, lines in found.items()}


def _checked(production: Production, candidates: tuple[PlacedLine, ...]) -> tuple[PlacedLine, ...]:
    """Return the lines that a person has checked, in order, as many as may be tried."""
    found: list[PlacedLine] = []
    for placed in candidates:
        with suppress(InputError, LineError):  # told where the line itself is read
            if len(found) < MOST_TRIED and _is_checked(production, placed):
                found.append(placed)
    return tuple(found)


def _is_checked(production: Production, placed: PlacedLine) -> bool:
    """Whether a person has checked a line with the text and the sound that it has now.

    Raises:
        InputError: if its breakdown cannot be read.
        LineError: if its recording cannot.
    """
    path = kept_path(production, placed)
    kept = read(path) if is_there(path) else None
    if kept is None or not kept.checked or kept.source.text != placed.line.text:
        return False
    return kept.source.alike(source_of(placed, recording_of(production, placed)))


def known_voices(production: Production) -> dict[str, Voice]:
    """Return what `voices.toml` holds of each character.

    Raises:
        InputError: for faults in it.
    """
    path = _path(production)
    return dict(_read(path, bytes_of(path)).voices) if is_there(path) else {}


@lru_cache(maxsize=1)
def _read(path: Path, content: bytes) -> VoicesFile:
    """Return what the file holds; several parts of a run ask, and it is long."""
    return table_of(path, content, VoicesFile)


def _path(production: Production) -> Path:
    return production.folder / "voices.toml"


def _write(path: Path, voices: Mapping[str, Voice]) -> None:
    tables = {name: voice.model_dump(exclude_none=True, exclude_defaults=True) for name, voice in voices.items()}
    for table in tables.values():
        if "transform" in table:  # as text: three files like this one would take longer to read than all else
            table["transform"] = [[" ".join(map(str, row)) for row in stream] for stream in table["transform"]]
    write_whole(path, tomli_w.dumps({"form": "lipsync voices 3", "voices": tables}).encode())
