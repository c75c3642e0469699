"""One line: from its recording and its text to its breakdown.

In: the path of the recording, the text, and `LineSettings`. Out: a `Breakdown`, times from the `in` point.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from lipsync.align.aligning import align, cleared
from lipsync.align.recogniser import NotFoundError
from lipsync.align.rejection import too_long
from lipsync.align.search import telling_part
from lipsync.align.time_limit import OutOfPatienceError, patience
from lipsync.align.voice import LineSound, find_factor
from lipsync.audio.recording import Recording, read_recording
from lipsync.errors import InputError
from lipsync.model import LEAST_FACTOR, MOST_FACTOR, Breakdown
from lipsync.text.accents import ACCENTS, AMERICAN, Accent
from lipsync.text.dictionary import OwnList, pronounce
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, Token, tokens_of
from lipsync.text.variants import as_spoken

# What a breakdown was computed with; raised by one whenever the same line would come out otherwise.
ENGINE = "pocketsphinx 5.1.1, listen 11"


@dataclass(frozen=True, slots=True)
class LineSettings:
    """What is known of a line beside its sound and text.

    Attributes:
        pronunciations: the production's own: a word in small letters -> its pronunciations in ARPAbet with stress.
        voice_factor: the character's; None to find it from this line alone.
        in_us: where the line begins in the file; None for its start.
        out_us: where it ends; None for the file's end.
        accent: the speaker's.
    """

    pronunciations: OwnList = field(default_factory=dict)
    voice_factor: float | None = None
    in_us: int | None = None
    out_us: int | None = None
    accent: Accent = AMERICAN

    def __post_init__(self) -> None:
        if self.accent not in ACCENTS:
            known = " or ".join(f'"{accent}"' for accent in ACCENTS)
            raise InputError.one("", "accent", f"{self.accent!r} is none that is known; write {known}")
        if self.voice_factor is not None and not LEAST_FACTOR <= self.voice_factor <= MOST_FACTOR:
            remedy = f"write a number from {LEAST_FACTOR:g} to {MOST_FACTOR:g}, or leave it out to have it found"
            text = f"{self.voice_factor:g} is no voice that can be heard; {remedy}"
            raise InputError.one("", "voice_factor", text)


def listen(path: str | os.PathLike[str], text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of one recorded line.

    Raises:
        LineError: if the recording or the text cannot be used, or they do not belong together.
    """
    settings = settings or LineSettings()
    return listen_to(read_recording(path, settings.in_us, settings.out_us), text, settings)


def listen_to(recording: Recording, text: str, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of a recording that has been read already; its part is the settings' part."""
    settings = settings or LineSettings()
    tokens = tokens_of(text, recording.path)
    said = pronunciations_of(tokens, settings, recording.path)
    return align(recording, tokens, said, text, settings.voice_factor)


def voice_factor_of(lines: Sequence[tuple[Recording, str, LineSettings]]) -> float:
    """Return the voice factor under which a few lines of one character, each with its text, are best supported.

    Raises:
        LineError: if a text holds nothing to be heard, or the search takes too long.
    """
    spoken = [
        (recording, pronunciations_of(tokens_of(text, recording.path), own, recording.path))
        for recording, text, own in lines
    ]
    try:
        with patience(sum(recording.duration_us for recording, _ in spoken)):
            sounds = [sound for recording, said in spoken if said for sound in _telling(recording, said)]
            return find_factor(sounds) if sounds else 1.0
    except OutOfPatienceError:
        raise too_long(spoken[0][0]) from None


def _telling(recording: Recording, said: Sequence[Sequence[Pronunciation]]) -> Iterator[LineSound]:
    """Yield what of a line tells of its voice; nothing where a long one is not found."""
    with suppress(NotFoundError):
        yield telling_part(cleared(recording.samples), [[p.bare for p in word] for word in said])


def pronunciations_of(
    tokens: Sequence[Token], settings: LineSettings, path: str = ""
) -> list[Sequence[Pronunciation]]:
    """Return for each word of a text, in order, the ways to say it here."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    said = [pronounce(word, settings.pronunciations, path) for word in words]
    return as_spoken(tokens, said, settings.accent)
