"""How large each sound's mouth is, 0 to 1, and the lips that follow from it.

In: a job's sounds in order. Out: for each how loud it is in its character's range, and how large its mouth
is. A vowel's mouth is larger if the vowel is loud, stressed, or long for its line, by the studio's weights
(`[fitting.size]`); but it stays within bounds set by loudness, so that a whisper stays small whatever its stress, and
a shout large. A consonant has the mean loudness of the vowels of its word.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from lipsync.fit.fit_job import VoiceRange
from lipsync.fit.fit_settings import Sizes
from lipsync.fit.lips import LipsRow, row_of
from lipsync.fit.mouthset import CUES, MouthSet
from lipsync.phonemes import VOWELS
from lipsync.track import Sound

MIDDLING = 0.5  # the size of a sound of which nothing is known, such as a cue that is not in CUES

# How far stress and length can move the size from the loudness. Chosen: just under a quarter, so that of three sizes
# a whisper never gets more than the smallest, and a shout never less than the largest.
_LEEWAY = 0.24

# Stress of a vowel -> size of the mouth by stress alone. Chosen.
_STRESS = {1: 1.0, 2: 0.5, 0: 0.2, None: 0.5}


@dataclass(frozen=True, slots=True)
class Strength:
    """How strongly a sound is spoken: loudness in the character's range and size of the mouth, both 0 to 1."""

    loudness: float
    size: float


def strengths(sounds: Sequence[Sound], voice: VoiceRange | None, weights: Sizes) -> tuple[Strength, ...]:
    """Return how strongly each sound is spoken; without a voice range, or a level, loudness is MIDDLING."""
    loud = [_loudness(sound, voice) for sound in sounds]
    words: defaultdict[tuple[str, int], list[float]] = defaultdict(list)
    lengths: defaultdict[str, list[int]] = defaultdict(list)
    for sound, level in zip(sounds, loud, strict=True):
        if sound.symbol in VOWELS:
            lengths[sound.line].append(sound.end_us - sound.start_us)
            if level is not None:
                words[sound.line, sound.part].append(level)
    usual_us = {line: median(found) for line, found in lengths.items()}
    found: list[Strength] = []
    for sound, level in zip(sounds, loud, strict=True):
        if sound.is_cue:
            found.append(Strength(MIDDLING, CUES.get(sound.symbol.strip("[]"), MIDDLING)))
        elif sound.symbol in VOWELS:
            found.append(Strength(MIDDLING if level is None else level, _size(sound, level, usual_us, weights)))
        else:
            word = words.get((sound.line, sound.part))
            level = fmean(word) if word else MIDDLING
            found.append(Strength(level, level))
    return tuple(found)


def _loudness(sound: Sound, voice: VoiceRange | None) -> float | None:
    return None if voice is None or sound.level_db is None else voice.loudness(sound.level_db)


def _size(sound: Sound, level: float | None, usual_us: dict[str, float], weights: Sizes) -> float:
    """Return a vowel's size: the weighted mean of the sizes by loudness, stress and length, bounded by loudness."""
    # A vowel of the line's median length gives 0.5, one of twice that length or more gives 1.
    length = min(1.0, (sound.end_us - sound.start_us) / (2 * usual_us[sound.line]))
    asked = [(weights.stress, _STRESS[sound.stress]), (weights.length, length)]
    if level is not None:
        asked.append((weights.loudness, level))
    total = sum(weight for weight, _ in asked)
    size = sum(weight * value for weight, value in asked) / total if total else MIDDLING
    if level is None:
        return size
    return min(level + _LEEWAY, max(level - _LEEWAY, size))


def lips_of(mouth_set: MouthSet, shape: str, size: float) -> LipsRow:
    """Return what the lips do for a shape in a size from 0 to 1: what the piece of that size does.

    The pieces of a shape divide the sizes equally. The lips of two pieces are not mixed: so which of the two is worn
    depends on how the sound is spoken, and not on the sounds beside it.
    """
    pieces = mouth_set.sizes[shape]
    return row_of(pieces[min(len(pieces) - 1, int(size * len(pieces)))].lips)
