"""Judges a line by the acoustic model adapted to its voice, and aligns it again by that model if words are doubtful.

In: the sound, the pronunciations of each word, and the alignment by the recogniser's own model. Out: the line with
its confidences (`Examined`).

A voice unlike those that the model was trained on fits badly everywhere, and its words look wrong. So the model is
adapted to the line first, starting from the character's voice where that is known. If a word is doubtful even then,
the unfamiliar voice may have led the first search to a wrong pronunciation or a wrong place. So the word's other
pronunciations are tried, and then the whole line is aligned again by the best path under the adapted model.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace

from lipsync.align.acoustic_model import AcousticModel, acoustic_model
from lipsync.align.adaptation import Transform, adapted
from lipsync.align.coarse import FirstLook, RoughWord, Words
from lipsync.align.competing_paths import Lattice
from lipsync.align.confidence import Confidence
from lipsync.align.evidence import FoundWord, stretches_of
from lipsync.align.mending import Examined, Models, examined, share_said
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.scored_sound import ScoredSound, ScoredStretches, SlowedSound
from lipsync.align.search import Alignment, refined
from lipsync.align.small_words import SmallWordsHeard, judged_again
from lipsync.audio.features import PER_TICK, STEP_US

LONGEST_US = 12_000_000  # chosen: for a longer line the best path, whose time grows with the square, is too slow
CLEARLY = 0.1  # chosen: a rise of `share_said` by less than this is chance
AGAIN_BELOW = 0.5  # chosen: a word is doubtful here if the probability that it was said is lower
MOST_WAYS = 4  # chosen: at most so many pronunciations of a word are tried; each costs a second look


def heard_by_own_model(
    samples: Samples, words: Words, search: Alignment, voice: Transform | None, placing: AcousticModel | None = None
) -> Examined:
    """Return a line with its confidences under the model adapted to it.

    Args:
        samples: the sound.
        words: the pronunciations of each word.
        search: their alignment.
        voice: the transform of the character's voice; None if it is not known.
        placing: the acoustic model by which `search` was made; the recogniser's own if None.
    """
    sound = ScoredStretches(samples)
    model = adapted(sound, words, search, voice)
    if voice is None:
        # The adapted model places the boundaries of the words nearer to where people do (tests/MEASURED.md).
        with suppress(NotFoundError):
            search, placing = refined(samples, words, search.rough, search.factor, model), model
    best = examined(sound, words, search, Models(placing or acoustic_model(), model))
    if sound.duration_us <= LONGEST_US and _doubtful(best):
        best, model = _otherwise_laid(sound, words, search, voice, best, model)
    return against_small_words(sound, words, best, model)


def _otherwise_laid(
    sound: ScoredStretches,
    words: Words,
    search: Alignment,
    voice: Transform | None,
    best: Examined,
    model: AcousticModel,
) -> tuple[Examined, AcousticModel]:
    """Return the best of three alignments of a line with doubtful words, and the model by which it was judged.

    They are: as it was, with the doubtful words in other pronunciations, and aligned again as a whole.
    """
    respoken = in_likelier_ways(sound, words, search, best, model)
    if respoken is not None:
        other = examined(sound, words, respoken, Models(model, model))
        if share_said(other) > share_said(best):
            best, search = other, respoken
    if not _doubtful(best):
        return best, model
    try:
        again = realigned(sound.samples, words, search, model)
    except NotFoundError:
        return best, model
    moved = adapted(sound, words, again, voice)
    other = examined(sound, words, again, Models(model, moved))
    return (other, moved) if share_said(other) > share_said(best) + CLEARLY else (best, model)


def against_small_words(sound: ScoredStretches, words: Words, line: Examined, model: AcousticModel) -> Examined:
    """Return a line with new confidences, which take into account the small words that may have been said instead.

    Args:
        sound: that of the line.
        words: the pronunciations of each word.
        line: the words where they were put, and their confidences.
        model: judges them.
    """
    aligned = line.search.words
    spans = [(word.times_us[0], word.times_us[-1]) for word in aligned]
    judged: list[Confidence] = []
    for stretch in stretches_of(spans, sound.duration_us):
        own = slice(stretch.first, stretch.end)
        placed = [
            FoundWord(ways[word.pronunciation], tuple(time_us - stretch.start_us for time_us in word.times_us))
            for ways, word in zip(words[own], aligned[own], strict=True)
        ]
        heard = SmallWordsHeard(sound.of(stretch.start_us, stretch.end_us, line.search.factor, model), placed)
        judged += judged_again(heard, words[own], line.confidences[own])
    return replace(line, confidences=tuple(judged))


def _doubtful(line: Examined) -> list[int]:
    """Return the places in the text of the words that were probably not said."""
    return [place for place, one in enumerate(line.confidences) if one.said < AGAIN_BELOW]


def in_likelier_ways(
    sound: ScoredStretches, words: Words, search: Alignment, line: Examined, model: AcousticModel
) -> Alignment | None:
    """Return an alignment with the doubtful words in their likeliest pronunciations; None if it has these already.

    In each turn all doubtful words are tried at once, each in its next pronunciation: each is judged by itself.
    """
    doubtful = [place for place in _doubtful(line) if len(words[place]) > 1]
    said = {place: {search.words[place].pronunciation: line.confidences[place].said} for place in doubtful}
    for turn in range(1, min(MOST_WAYS, max((len(words[place]) for place in doubtful), default=0))):
        ways = {
            place: (search.words[place].pronunciation + turn) % len(words[place])
            for place in doubtful
            if turn < len(words[place])
        }
        with suppress(NotFoundError):
            other = refined(sound.samples, words, _said_in(search, ways), search.factor, model)
            judged = examined(sound, words, other, Models(model, model), mended_from=math.inf)
            for place, way in ways.items():
                said[place][way] = judged.confidences[place].said
    chosen = {place: max(own, key=own.__getitem__) for place, own in said.items()}
    if all(search.words[place].pronunciation == way for place, way in chosen.items()):
        return None
    with suppress(NotFoundError):
        return refined(sound.samples, words, _said_in(search, chosen), search.factor, model)
    return None


def _said_in(search: Alignment, ways: Mapping[int, int]) -> FirstLook:
    """Return where the words of an alignment lie, some in other pronunciations: `ways` has place -> pronunciation."""
    rough = search.rough
    own = (replace(word, pronunciation=ways.get(place, word.pronunciation)) for place, word in enumerate(rough.words))
    return replace(rough, words=tuple(own))


def realigned(samples: Samples, words: Words, search: Alignment, model: AcousticModel) -> Alignment:
    """Return a line aligned again by the best path under a model, in the pronunciations chosen before.

    Raises:
        NotFoundError: if no path leads through all words, or the second look fails.
    """
    said = [ways[word.pronunciation] for ways, word in zip(words, search.words, strict=True)]
    ticks = Lattice(ScoredSound(SlowedSound(samples, search.factor), model), said).word_ticks()
    if not ticks:
        raise NotFoundError("no path leads through all words")
    tick_us = PER_TICK * STEP_US / search.factor
    rough = tuple(
        RoughWord(word.pronunciation, round(first * tick_us), round(end * tick_us))
        for word, (first, end) in zip(search.words, ticks, strict=True)
    )
    return refined(samples, words, FirstLook(rough, search.effort), search.factor, model)
