"""Searches a line in its character's voice, and in another where the line is unlike the others: a falsetto, a boom.

In: samples, the pronunciations of each word, and the character's voice factor, None where none is known. Out: the
`Alignment` that stands. Where another factor than the character's was needed, its effort is at least "other factor".

Measured on 15 synthesised lines in four voices, at the factor of their voice: support (`support`) from -1.2 to -0.7;
made a squeak or a boom and heard at the old factor, -4.5 to -1.2, at a factor found for each -1.8 to -0.7. There the
old factor costs six to nine points within 20 ms. Lines of people have -3.7 to -1.0, half of them above -1.8.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lipsync.align.acoustic_model import AcousticModel
from lipsync.align.coarse import EFFORTS, LONG_S, Words
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.search import Alignment, find_words
from lipsync.audio.features import RATE_HZ

UNLIKE = -2.2  # chosen, see above: below it a line's own factor is looked for
CLEARLY = 0.6  # chosen: and taken if it gains so much
LEAST_TICKS = 100  # chosen: from less than a second of speech no factor can be told
# Of most men and women; for lines under whose own best factor the text is not supported.
LAST_FACTORS = (0.93, 1.15, 1.0, 0.87)


def search_as_spoken(
    samples: Samples, words: Words, factor: float | None, least_support: float, model: AcousticModel | None = None
) -> Alignment:
    """Return the search in the character's voice, or in the line's own where that is clearly better.

    Args:
        samples: the sound.
        words: the pronunciations of each word.
        factor: the character's; None to find it from this line.
        least_support: what the search must have; where it has less, more factors are tried.
        model: the acoustic model, adapted to the character at its factor; the recogniser's own if None.

    Raises:
        NotFoundError: if the words are not found under any.
    """
    best: Alignment | None = None
    long = len(samples) > LONG_S * RATE_HZ
    for tried in (factor, *_others(factor, long=long)):
        if best is not None and not _unlike(best, tried, least_support):
            continue
        try:
            found = find_words(samples, words, tried, model if tried == factor else None)
        except NotFoundError:
            continue
        if best is None:
            best = found if tried == factor else _beside(found)
        elif found.support > best.support + (CLEARLY if best.support >= least_support else 0.0):
            best = _beside(found)
    if best is None:
        raise NotFoundError("the words are found under no factor")
    return best


def _unlike(best: Alignment, next_factor: float | None, least_support: float) -> bool:
    """Return whether what was found is bad enough to try the next factor; None is the line's own."""
    speaks = sum(word.ticks for word in best.words) >= LEAST_TICKS
    return best.support < (UNLIKE if next_factor is None and speaks else least_support)


def _others(factor: float | None, *, long: bool) -> Iterator[float | None]:
    if factor is not None:
        yield None
    if not long:  # it has words enough to find its factor from, and each search costs
        yield from LAST_FACTORS


def _beside(search: Alignment) -> Alignment:
    return replace(search, effort=max(search.effort, "other factor", key=EFFORTS.index))
