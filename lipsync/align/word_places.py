"""Where to put a word of the text that was not said.

In: what is heard in the place of each word of a stretch. Out: one `AlignedWord` for each word, in order, none empty.
If something else is heard in the place of a word, the word is put over that; if nothing is heard, it is put between
its neighbours, and kept short.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from lipsync.align.search import AlignedWord

LONGEST_US = 50_000  # chosen: each phoneme of a missing word takes at most so much of the pause in its place
LEAST_US = 5_000  # chosen: and at least so much; if the pause is too short, its neighbours are shortened


def places_of(
    lengths: Sequence[int], found: Sequence[Sequence[AlignedWord]], first: Mapping[int, AlignedWord], duration_us: int
) -> list[AlignedWord]:
    """Return each word of the text where it is put.

    Args:
        lengths: how many phonemes each word has.
        found: what is heard in the place of each word: it twice or once, something else, or nothing.
        first: where words were found at first, for those in whose place something else is heard: place -> word.
        duration_us: the length of the stretch.
    """
    laid: list[AlignedWord | None] = []
    for place, own in enumerate(found):
        if place in first and len(own) == 1:
            laid.append(_over(first[place], own[0]))
        else:
            laid.append(max(own, key=lambda heard: heard.support, default=None))
    for place, heard in enumerate(laid):
        if heard is None:
            laid[place] = _squeezed(laid, place, lengths[place], duration_us)
    return [heard for heard in laid if heard is not None]


def _over(word: AlignedWord, heard: AlignedWord) -> AlignedWord:
    """Return a word with the start and end of what is heard in its place; its phonemes keep their proportions."""
    (begin_us, *_, end_us), (start_us, *_, stop_us) = word.times_us, heard.times_us
    # Each phoneme gets 1 microsecond before the rest is shared out, so that none is rounded to nothing.
    share = (stop_us - start_us - len(word.times_us) + 1) / (end_us - begin_us)
    edges = tuple(start_us + k + round((edge - begin_us) * share) for k, edge in enumerate(word.times_us))
    return replace(word, times_us=edges)


def _evenly(start_us: int, end_us: int, count: int) -> tuple[int, ...]:
    """Return the edges of `count` equal parts.

    >>> _evenly(0, 100, 4)
    (0, 25, 50, 75, 100)
    """
    return tuple(start_us + (end_us - start_us) * k // count for k in range(count + 1))


def _squeezed(laid: list[AlignedWord | None], place: int, phonemes: int, duration_us: int) -> AlignedWord:
    """Return a word of which nothing is heard: in the middle of the pause at its place, made longer if needed."""
    missing_us = LEAST_US * phonemes - (_next_us(laid, place, duration_us) - _last_us(laid, place))
    if missing_us > 0:
        _shorten(laid, place, missing_us)
    start_us, end_us = _last_us(laid, place), _next_us(laid, place, duration_us)
    spare_us = max(0, end_us - start_us - LONGEST_US * phonemes) // 2
    return AlignedWord(0, _evenly(start_us + spare_us, end_us - spare_us, phonemes), 0.0, 1)


def _last_us(laid: Sequence[AlignedWord | None], place: int) -> int:
    return next((one.times_us[-1] for one in reversed(laid[:place]) if one), 0)


def _next_us(laid: Sequence[AlignedWord | None], place: int, duration_us: int) -> int:
    return next((one.times_us[0] for one in laid[place + 1 :] if one), duration_us)


def _shorten(laid: list[AlignedWord | None], place: int, missing_us: int) -> None:
    """Take half of the missing time from the last phoneme before a place, and half from the first one behind it."""
    before_it = [at for at in range(place) if laid[at]][-1:]
    beside = [*before_it, *[at for at in range(place + 1, len(laid)) if laid[at]][:1]]
    for at in beside:
        word = laid[at]
        assert word is not None
        times = list(word.times_us)
        if at < place:
            times[-1] -= min(-(-missing_us // len(beside)), (times[-1] - times[-2]) // 2)
        else:
            times[0] += min(-(-missing_us // len(beside)), (times[1] - times[0]) // 2)
        laid[at] = replace(word, times_us=tuple(times))
