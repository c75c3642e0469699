"""From the recording and the text of one line to its breakdown.

In: the path of the recording, the text, and `LineSettings`. Out: a `Breakdown`, times from the `in` point.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import reduce
from operator import add

from lipsync.align.adaptation import NONE, VOICE_CAUTION, Accumulated, accumulated, transform_of
from lipsync.align.aligning import agrees_at_once, align, cleared
from lipsync.align.coarse import Words
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.rejection import is_too_fast
from lipsync.align.search import find_words, telling_part
from lipsync.align.time_limit import OutOfPatienceError, patience
from lipsync.align.voice import LineSound, VoiceProfile, find_factor
from lipsync.audio.recording import Recording, read_recording
from lipsync.errors import InputError
from lipsync.model import LEAST_FACTOR, MOST_FACTOR, Breakdown
from lipsync.text.accents import ACCENTS, AMERICAN, Accent
from lipsync.text.dictionary import OwnList, pronounce
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, Token, tokens_of
from lipsync.text.variants import as_spoken

# What a breakdown was computed with. Raise the last number by 1 with every change that changes any line's breakdown.
ENGINE = "pocketsphinx 5.1.1, listen 13"


FACTOR_FROM = 4  # chosen: four lines of a few seconds give the same factor as forty, within one step of the search


@dataclass(frozen=True, slots=True)
class LineSettings:
    """What is known of a line beside its sound and text.

    Attributes:
        pronunciations: the production's own: a word in small letters -> its pronunciations in ARPAbet with stress.
        voice_factor: set for this line by a person; None to take the factor of `voice`, or to find it from this line.
        in_us: where the line begins in the file, in microseconds; None for the file's start.
        out_us: where the line ends in the file, in microseconds; None for the file's end.
        accent: the speaker's.
        voice: what is known of the character's voice.
    """

    pronunciations: OwnList = field(default_factory=dict)
    voice_factor: float | None = None
    in_us: int | None = None
    out_us: int | None = None
    accent: Accent = AMERICAN
    voice: VoiceProfile | None = None

    def __post_init__(self) -> None:
        if self.accent not in ACCENTS:
            known = " or ".join(f'"{accent}"' for accent in ACCENTS)
            raise InputError.one("", "accent", f"{self.accent!r} is none that is known; write {known}")
        if self.voice_factor is not None and not LEAST_FACTOR <= self.voice_factor <= MOST_FACTOR:
            remedy = f"write a number from {LEAST_FACTOR:g} to {MOST_FACTOR:g}, or leave it out to have it found"
            text = f"{self.voice_factor:g} is no voice that can be heard; {remedy}"
            raise InputError.one("", "voice_factor", text)


# The least support of a line from which a voice is learned. Measured: no line has less with its own text, and hardly
# any has more with another line's text (rejection.py).
LEAST_OF_VOICE = -3.7
VoiceLine = tuple[Recording, str, LineSettings]  # a line of a character, its text, and what else is known of it


def listen(path: str | os.PathLike[str], text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of one recorded line.

    Raises:
        LineError: if the recording cannot be read or holds only silence, or the text holds
            no word and no cue, or a word that nobody has said how to speak.
    """
    settings = settings or LineSettings()
    return listen_to(read_recording(path, settings.in_us, settings.out_us), text, settings)


def listen_to(recording: Recording, text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of a recording that was read already, from `in_us` to `out_us` of these settings."""
    settings = settings or LineSettings()
    tokens = tokens_of(text, recording.path)
    said = pronunciations_of(tokens, settings, recording.path)
    return align(recording, tokens, said, text, settings.voice_factor, voice=settings.voice)


def matches(recording: Recording, text: str, settings: LineSettings) -> bool:
    """Return whether a text is what is said in a recording: whether `listen_to` would not reject it."""
    said = pronunciations_of(tokens_of(text, recording.path), settings, recording.path)
    if settings.voice is not None and agrees_at_once(recording, said, settings.voice.factor):
        return True
    return listen_to(recording, text, settings).rejection is None


def voice_factor_of(lines: Sequence[VoiceLine]) -> float:
    """Return the voice factor at which a few lines of one character fit their texts best; 1.0 if none is found."""
    spoken = list(_spoken(lines))
    with suppress(OutOfPatienceError), patience(sum(recording.duration_us for recording, _, _ in spoken)):
        sounds = [sound for _, samples, words in spoken for sound in _telling(samples, words)]
        return find_factor(sounds) if sounds else 1.0
    return 1.0


def voice_profile_of(lines: Sequence[VoiceLine], factor: float | None = None, *, known: int = 0) -> VoiceProfile:
    """Return the profile of a voice, learned from lines of one character, each with its text.

    Lines that do not agree with their text at the voice factor are left out.

    Args:
        lines: those whose words are best known come first; the more lines, the better. The first `FACTOR_FROM` give
            the factor.
        factor: the voice factor; None to find it.
        known: how many of the first lines certainly say their text: these are never left out.
    """
    factor = factor or voice_factor_of(lines[:FACTOR_FROM])
    heard: list[Accumulated] = []
    certain = {id(recording) for recording, _, _ in lines[:known]}
    for recording, samples, words in _spoken(lines):
        with suppress(NotFoundError, OutOfPatienceError), patience(recording.duration_us):
            search = find_words(samples, words, factor)
            if search.support >= LEAST_OF_VOICE or id(recording) in certain:
                heard.append(accumulated(samples, words, search))
    if not heard:
        return VoiceProfile(factor)
    transform = transform_of(reduce(add, heard), NONE, VOICE_CAUTION)
    return VoiceProfile(factor, tuple(tuple(tuple(map(float, row)) for row in own) for own in transform.round(5)))


def _spoken(lines: Sequence[VoiceLine]) -> Iterator[tuple[Recording, Samples, Words]]:
    """Yield the lines that have words, and not too many for their time: recording, cleaned samples, words."""
    for recording, text, own in lines:
        said = pronunciations_of(tokens_of(text, recording.path), own, recording.path)
        if said and not is_too_fast(recording, said):
            yield recording, cleared(recording.samples), [[p.bare for p in word] for word in said]


def _telling(samples: Samples, words: Words) -> Iterator[LineSound]:
    """Yield the part of a line from which its voice factor is found; nothing if a long line's words are not found."""
    with suppress(NotFoundError):
        yield telling_part(samples, words)


def pronunciations_of(
    tokens: Sequence[Token], settings: LineSettings, path: str = ""
) -> list[Sequence[Pronunciation]]:
    """Return the pronunciations of each word of a text, in order, by the line's settings and the words beside it."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    said = [pronounce(word, settings.pronunciations, path) for word in words]
    return as_spoken(tokens, said, settings.accent)
