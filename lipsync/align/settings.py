"""What is known of a line before it is listened to, and what listens to it; without all that listening takes.

In: what files and people say of a line and of its character's voice. Out: `LineSettings` and `VoiceProfile`, checked.
Whether a line that was listened to still holds is told by these, so it can be told without loading the recogniser.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from lipsync.errors import InputError
from lipsync.model import LEAST_FACTOR, MOST_FACTOR
from lipsync.text.accents import ACCENTS, AMERICAN, Accent

if TYPE_CHECKING:
    from lipsync.text.dictionary import OwnList

# What a breakdown was computed with. Raise the last number by 1 with every change that changes any line's breakdown
# by more than the rounding of a confidence.
ENGINE = "pocketsphinx 5.1.1, listen 13"


# How well a line fits at a voice factor: the sum of its scores, and its ticks of speech; None if it is not found.
Fit = tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class VoiceProfile:
    """What is known of a character's voice from its lines.

    Attributes:
        factor: the voice factor.
        transform: the transform of the acoustic model's means at that factor (`adaptation.py`), of shape (stream,
            width, 1 + width); empty if it is not known.
    """

    factor: float
    transform: tuple[tuple[tuple[float, ...], ...], ...] = ()


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
