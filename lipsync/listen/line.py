"""One line: from its recording and its text to its breakdown.

In: the path of the recording, the text, and `LineSettings`. Out: a `Breakdown`, times from the `in` point.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field

from lipsync.listen.align import align
from lipsync.listen.derive import Pronunciation
from lipsync.listen.dictionary import OwnList, pronounce
from lipsync.listen.recording import Recording, read_recording
from lipsync.listen.script import SpokenWord, tokens_of
from lipsync.listen.voice import LineSound, find_factor
from lipsync.model import Breakdown
from lipsync.timing import US_PER_S

# What a breakdown was computed with; raised by one whenever the same line would come out otherwise.
ENGINE = "pocketsphinx 5.1.1, listen 2"

VOICE_US = 30 * US_PER_S  # chosen: so much of a character's speech tells the voice


@dataclass(frozen=True, slots=True)
class LineSettings:
    """What is known of a line beside its sound and text.

    Attributes:
        pronunciations: the production's own: a word in small letters -> its pronunciations in ARPAbet with stress.
        voice_factor: the character's; None to find it from this line alone.
        in_us: where the line begins in the file; None for its start.
        out_us: where it ends; None for the file's end.
        fine: whether to look a second time for the boundaries; off, to see what that gains.
    """

    pronunciations: OwnList = field(default_factory=dict)
    voice_factor: float | None = None
    in_us: int | None = None
    out_us: int | None = None
    fine: bool = True


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
    said = _said(recording, text, settings.pronunciations)
    return align(recording, tokens, said, text, settings.voice_factor, fine=settings.fine)


def find_voice(lines: Iterable[tuple[Recording, str]], own: OwnList | None = None) -> float:
    """Return the voice factor of a character from some of its lines: the first that make up half a minute.

    Args:
        lines: recordings with their texts.
        own: the production's pronunciations.

    Raises:
        LineError: if a text cannot be spoken.
    """
    some: list[LineSound] = []
    total_us = 0
    for recording, text in lines:
        if said := _said(recording, text, own or {}):
            some.append((recording.samples, [[one.bare for one in ways] for ways in said]))
            total_us += recording.duration_us
        if total_us >= VOICE_US:
            break
    return find_factor(some) if some else 1.0


def _said(recording: Recording, text: str, own: OwnList) -> list[tuple[Pronunciation, ...]]:
    words = [token for token in tokens_of(text, recording.path) if isinstance(token, SpokenWord)]
    return [pronounce(word, own, recording.path) for word in words]
