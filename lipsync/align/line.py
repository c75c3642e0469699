"""From the recording and the text of one line to its breakdown.

In: the path of the recording, the text, and `LineSettings`. Out: a `Breakdown`, times from the `in` point.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property, reduce
from operator import add

from lipsync.align.adaptation import NONE, VOICE_CAUTION, Accumulated, accumulated, transform_of
from lipsync.align.aligning import align, cleared
from lipsync.align.mending import examined
from lipsync.align.recogniser import NotFoundError
from lipsync.align.rejection import agrees, holds_no_speech, is_too_fast
from lipsync.align.scored_sound import ScoredStretches
from lipsync.align.search import Alignment, find_words, telling_part
from lipsync.align.settings import Fit, LineSettings, VoiceProfile
from lipsync.align.time_limit import OutOfPatienceError, patience
from lipsync.align.voice import LineSound, find_factor
from lipsync.audio.recording import Recording, read_recording
from lipsync.model import Breakdown
from lipsync.text.dictionary import pronounce
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, Token, tokens_of
from lipsync.text.variants import as_spoken

FACTOR_FROM = 4  # chosen: four lines of a few seconds give the same factor as forty, within one step of the search


# The least support of a line from which a voice is learned. Measured: no line has less with its own text, and hardly
# any has more with another line's text (rejection.py).
LEAST_OF_VOICE = -3.7


@dataclass(frozen=True, eq=False)
class VoiceLine:
    """A line of a character from which its voice is found. What several steps of that need is found once.

    Attributes:
        recording: its sound.
        text: what is said.
        settings: what else is known of it.
        fits: how well its telling part fits at the voice factors that were tried.
    """

    recording: Recording
    text: str
    settings: LineSettings
    fits: dict[float, Fit] = field(default_factory=dict)
    _searched: dict[float, Alignment] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def said(self) -> list[Sequence[Pronunciation]]:
        """The pronunciations of each word; none if there are no words, or too many for the time."""
        said = pronunciations_of(tokens_of(self.text, self.recording.path), self.settings, self.recording.path)
        return said if said and not is_too_fast(self.recording, said) else []

    @cached_property
    def sound(self) -> LineSound:
        """The samples as they are searched, and the pronunciations of each word without stress."""
        return cleared(self.recording.samples), [[way.bare for way in word] for word in self.said]

    @cached_property
    def _stretches(self) -> ScoredStretches:
        return ScoredStretches(self.sound[0])

    def accumulated(self, search: Alignment) -> Accumulated:
        """Return the sums of the line from which a voice is learned."""
        return accumulated(self._stretches, self.sound[1], search)

    def searched(self, factor: float) -> Alignment:
        """Return the words in time by the recogniser's own model at a voice factor.

        Raises:
            NotFoundError: if they are not found.
        """
        if factor not in self._searched:
            self._searched[factor] = find_words(*self.sound, factor)
        return self._searched[factor]

    def agrees_at_once(self, factor: float) -> bool:
        """Return whether the text certainly is what is said, by the recogniser's own model at a voice factor.

        This is much quicker than `listen_to`. If the answer is False, that may still find that text and sound agree:
        it adapts the model to the voice.
        """
        if not self.said or holds_no_speech(self.recording):
            return False
        with suppress(NotFoundError, OutOfPatienceError), patience(self.recording.duration_us):
            search = self.searched(factor)
            return agrees(examined(self._stretches, self.sound[1], search, mended_from=math.inf))
        return False


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


def matches(line: VoiceLine, factor: float | None) -> bool:
    """Return whether a line's text is what is said in it: whether `listen_to` would not reject it.

    `factor` is that of the voice; None to find it from the line.
    """
    if factor is None:
        return listen_to(line.recording, line.text, line.settings).rejection is None
    settings = replace(line.settings, voice=VoiceProfile(factor))
    return line.agrees_at_once(factor) or listen_to(line.recording, line.text, settings).rejection is None


def voice_factor_of(lines: Sequence[VoiceLine]) -> float:
    """Return the voice factor at which a few lines of one character fit their texts best; 1.0 if none is found."""
    spoken = [line for line in lines if line.said]
    with suppress(OutOfPatienceError), patience(sum(line.recording.duration_us for line in spoken)):
        telling = [(sound, line.fits) for line in spoken for sound in _telling(line.sound)]
        sounds, fits = [sound for sound, _ in telling], [known for _, known in telling]
        return find_factor(sounds, fits) if sounds else 1.0
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
    for place, line in enumerate(lines):
        with suppress(NotFoundError, OutOfPatienceError), patience(line.recording.duration_us):
            if line.said and ((search := line.searched(factor)).support >= LEAST_OF_VOICE or place < known):
                heard.append(line.accumulated(search))
    if not heard:
        return VoiceProfile(factor)
    transform = transform_of(reduce(add, heard), NONE, VOICE_CAUTION)
    return VoiceProfile(factor, tuple(tuple(tuple(map(float, row)) for row in own) for own in transform.round(5)))


def _telling(sound: LineSound) -> Iterator[LineSound]:
    """Yield the part of a line from which its voice factor is found; nothing if a long line's words are not found."""
    with suppress(NotFoundError):
        yield telling_part(*sound)


def pronunciations_of(
    tokens: Sequence[Token], settings: LineSettings, path: str = ""
) -> list[Sequence[Pronunciation]]:
    """Return the pronunciations of each word of a text, in order, by the line's settings and the words beside it."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    said = [pronounce(word, settings.pronunciations, path) for word in words]
    return as_spoken(tokens, said, settings.accent)
