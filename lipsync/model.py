"""What listening finds in a line. The values are frozen, and an impossible one raises ValueError when it is built.

Times are whole microseconds from the start of the line's recording (its `in` point). A `Breakdown` holds words with
their phonemes, and cues, in time; between them is silence. The values in the time of a shot are in track.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Literal

from lipsync.phonemes import PHONEMES, SILENCE, VOWELS
from lipsync.timing import seconds_of

# Voice factors that are tried (chosen): steps of 15 % over the range met in recordings, 1 in the middle. The factor
# that is used may lie between two of them (align/voice.py).
FACTORS = (0.56, 0.65, 0.75, 0.87, 1.0, 1.15, 1.32, 1.52, 1.75)

# The voice factors that a person may set. Chosen: the voices met so far need 0.7 to 1.7.
LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0

# Where a pronunciation is from: the production's own list, the dictionary, the network's guess, or a person.
Origin = Literal["production", "dictionary", "guess", "hand"]
ORIGINS: tuple[Origin, ...] = ("production", "dictionary", "guess", "hand")

# Below this confidence a word is doubtful: shown for a person to check before filming.
DOUBTFUL_BELOW = 0.5

# The shortest stretch of voice without text that is reported (chosen: about three frames at 24).
UNTOLD_US = 120_000


def _check_span(what: object, start_us: int, end_us: int) -> None:
    if not 0 <= start_us < end_us:
        raise ValueError(f"{what} must begin at 0 or later and end after it begins, not {start_us} to {end_us} us")


def _check_order(spans: Sequence[Phoneme] | Sequence[Part] | Sequence[UntoldVoice]) -> None:
    for before, after in pairwise(spans):
        if after.start_us < before.end_us:
            raise ValueError(f"{after} begins before {before} ends")


@dataclass(frozen=True, slots=True)
class Phoneme:
    """One speech sound in time.

    Attributes:
        symbol: ARPAbet without stress, or SIL for silence.
        start_us: first microsecond.
        end_us: first microsecond after it.
        stress: 0 none, 1 primary, 2 secondary; None for consonants and silence.
        level_db: root-mean-square level in dB below full scale; None if not measured.
    """

    symbol: str
    start_us: int
    end_us: int
    stress: int | None = None
    level_db: float | None = None

    def __post_init__(self) -> None:
        _check_span(self.symbol, self.start_us, self.end_us)
        if self.symbol not in PHONEMES and self.symbol != SILENCE:
            raise ValueError(f"{self.symbol!r} is no ARPAbet phoneme")
        if self.stress is not None and (self.symbol not in VOWELS or self.stress not in (0, 1, 2)):
            raise ValueError(f"stress {self.stress!r} on {self.symbol}: vowels have 0, 1 or 2, other sounds None")

    @property
    def start_s(self) -> float:
        """Start in seconds."""
        return seconds_of(self.start_us)

    @property
    def end_s(self) -> float:
        """End in seconds."""
        return seconds_of(self.end_us)


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word: phonemes that follow each other without a gap.

    Attributes:
        text: the word as it stands in the line's text.
        phonemes: at least one, each beginning where the one before ends.
        origin: where the pronunciation is from.
        confidence: how sure it is, 0 to 1, that this word is what is said here and that each of its phonemes begins
            within a frame at 24 of where it was put (`align/confidence.py`). None if not judged.
        corrected: whether a person has corrected it.
    """

    text: str
    phonemes: tuple[Phoneme, ...]
    origin: Origin = "dictionary"
    confidence: float | None = None
    corrected: bool = False

    def __post_init__(self) -> None:
        if not self.phonemes:
            raise ValueError(f"word {self.text!r} has no phonemes")
        for before, after in pairwise(self.phonemes):
            if after.start_us != before.end_us:
                raise ValueError(f"word {self.text!r}: {after.symbol} must begin where {before.symbol} ends")
        if any(phoneme.symbol == SILENCE for phoneme in self.phonemes):
            raise ValueError(f"word {self.text!r} holds a silence; split it in two words")
        if self.confidence is not None and not 0 <= self.confidence <= 1:
            raise ValueError(f"word {self.text!r}: confidence {self.confidence} is not from 0 to 1")

    @property
    def start_us(self) -> int:
        """First microsecond."""
        return self.phonemes[0].start_us

    @property
    def end_us(self) -> int:
        """First microsecond after it."""
        return self.phonemes[-1].end_us

    @property
    def start_s(self) -> float:
        """Start in seconds."""
        return seconds_of(self.start_us)

    @property
    def end_s(self) -> float:
        """End in seconds."""
        return seconds_of(self.end_us)

    @property
    def doubtful(self) -> bool:
        """Whether the word, or where it lies, is too unsure to film it unchecked."""
        return not self.corrected and self.confidence is not None and self.confidence < DOUBTFUL_BELOW


@dataclass(frozen=True, slots=True)
class Cue:
    """A sound that is no word, where it is heard: breath, laugh, gasp."""

    name: str
    start_us: int
    end_us: int
    corrected: bool = False

    def __post_init__(self) -> None:
        _check_span(f"cue [{self.name}]", self.start_us, self.end_us)

    @property
    def start_s(self) -> float:
        """Start in seconds."""
        return seconds_of(self.start_us)

    @property
    def end_s(self) -> float:
        """End in seconds."""
        return seconds_of(self.end_us)


Part = Word | Cue


class Rejection(StrEnum):
    """Why the text of a line is taken not to be what its recording says; the sentences are in wording.py.

    The words of a rejected line are placed as well as can be, and each of them is doubtful.
    """

    NOT_SAID = "not said"  # its words were found, and other sounds fit far better in their places
    NOT_FOUND = "not found"  # no search finds its words: they are spread evenly over the voice that is heard
    TOO_FAST = "too fast"  # more phonemes than anybody can say in the time; spread too
    NO_SPEECH = "no speech"  # an even noise, in which nobody speaks; spread too
    TOO_SHORT = "too short"  # most of what is heard lies outside the words and cues
    STOPPED = "stopped"  # the search took too long and was stopped; spread too
    NOT_READ = "not read"  # the text cannot be read, or a word has no pronunciation; no word is placed
    NOT_HEARD = "not heard"  # nobody has listened to it yet; a person may place its words all the same


@dataclass(frozen=True, slots=True)
class UntoldVoice:
    """A stretch of voice that no word and no cue of the text covers: "voice without text"."""

    start_us: int
    end_us: int

    def __post_init__(self) -> None:
        _check_span("voice without text", self.start_us, self.end_us)

    @property
    def start_s(self) -> float:
        """Start in seconds."""
        return seconds_of(self.start_us)

    @property
    def end_s(self) -> float:
        """End in seconds."""
        return seconds_of(self.end_us)


@dataclass(frozen=True, slots=True)
class Breakdown:
    """A line's words, cues and phonemes in time.

    Attributes:
        text: what is said, as it was given.
        duration_us: length of the recording.
        parts: words and cues in the order in which they are heard; between them is silence.
        voice_factor: by how much the recording was slowed (above 1) or sped up for the recogniser.
        effort: name of the search that gave the result (align/coarse.py).
        rejection: why the text is taken not to be what is said; None if it is.
        voice_without_text: stretches of voice that no word and no cue covers, in order.
    """

    text: str
    duration_us: int
    parts: tuple[Part, ...]
    voice_factor: float = 1.0
    effort: str = "plain"
    rejection: Rejection | None = None
    voice_without_text: tuple[UntoldVoice, ...] = ()

    def __post_init__(self) -> None:
        _check_order(self.parts)
        _check_order(self.voice_without_text)
        if self.voice_without_text and self.voice_without_text[-1].end_us > self.duration_us:
            last = self.voice_without_text[-1]
            raise ValueError(f"{last} ends after the recording, which lasts {self.duration_us} us")
        if self.parts and self.parts[-1].end_us > self.duration_us:
            raise ValueError(f"{self.parts[-1]} ends after the recording, which lasts {self.duration_us} us")

    @property
    def words(self) -> tuple[Word, ...]:
        """The words, in order."""
        return tuple(part for part in self.parts if isinstance(part, Word))

    @property
    def cues(self) -> tuple[Cue, ...]:
        """The cues, in order."""
        return tuple(part for part in self.parts if isinstance(part, Cue))

    @property
    def phonemes(self) -> tuple[Phoneme, ...]:
        """The phonemes without a gap from 0 to the end, with SIL for silence and for cues.

        >>> word = Word("ah", (Phoneme("AA", 200_000, 500_000, stress=1),))
        >>> [(p.symbol, p.start_s, p.end_s) for p in Breakdown("ah", 700_000, (word,)).phonemes]
        [('SIL', 0.0, 0.2), ('AA', 0.2, 0.5), ('SIL', 0.5, 0.7)]
        """
        return tuple(self._gapless())

    def _gapless(self) -> Iterator[Phoneme]:
        reached_us = 0
        for word in self.words:
            if word.start_us > reached_us:
                yield Phoneme(SILENCE, reached_us, word.start_us)
            yield from word.phonemes
            reached_us = word.end_us
        if self.duration_us > reached_us:
            yield Phoneme(SILENCE, reached_us, self.duration_us)
