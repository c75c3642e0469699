"""Words that a person places by hand: what they are, from when to when.

In: a breakdown, words, and the time that they take. Out: the breakdown with these words. Of the parts that were
there, a part inside that time is taken out, and a part that reaches into it is shortened. Without listening, the time
is divided among the phonemes in proportion to how long each usually lasts.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.align.durations import usual_us
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import Recording
from lipsync.breakdown.corrections import by_hand
from lipsync.breakdown.laying import LEAST_US, least_us, stretched
from lipsync.desk.again import found_between, said_of
from lipsync.desk.boundaries import refuse
from lipsync.errors import InputError
from lipsync.model import Breakdown, Part, Phoneme, Word
from lipsync.phonemes import split_stress
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord
from lipsync.timing import seconds_of

Span = tuple[int, int]
Said = tuple[Sequence[SpokenWord], Sequence[Sequence[Pronunciation]]]


def spoken_as(text: str, symbols: Sequence[str] | None, settings: LineSettings) -> Said:
    """Return the words of a text and how each is said.

    `symbols` is the pronunciation of a single word, which may then be spelt in any letters.

    Raises:
        InputError: if the pronunciation of a word is not known.
    """
    if symbols:
        return [SpokenWord(text, ((text.lower(),),))], [(Pronunciation(tuple(symbols), "hand"),)]
    try:
        return said_of(text, settings, ())
    except InputError as error:
        raise refuse("or say how it is spoken", f'"{text}"', reason=error.problems[0].text) from None


def words_spread(breakdown: Breakdown, said: Said, span: Span) -> Breakdown:
    """Return the breakdown with words over a span, its time divided among their phonemes.

    Raises:
        InputError: if the span is not inside the recording, or is too short.
    """
    words, ways = said
    symbols = [way[0].symbols for way in ways]
    check_span(breakdown, span, [word.text for word in words], sum(map(len, symbols)) * LEAST_US)
    edges = iter(_edges(span, [usual_us(split_stress(symbol)[0]) for word in symbols for symbol in word]))
    start_us = next(edges)
    placed: list[Part] = []
    for word, way in zip(words, ways, strict=True):
        phonemes: list[Phoneme] = []
        for bare, stress in map(split_stress, way[0].symbols):
            end_us = next(edges)
            phonemes.append(Phoneme(bare, start_us, end_us, stress))
            start_us = end_us
        placed.append(Word(word.text, tuple(phonemes), way[0].origin))
    return with_placed(breakdown, placed)


def words_between(recording: Recording, breakdown: Breakdown, said: Said, span: Span) -> Breakdown:
    """Return the breakdown with words listened for within a span.

    Raises:
        InputError: if they are not found there.
    """
    check_span(breakdown, span, [word.text for word in said[0]], LEAST_US)
    return with_placed(breakdown, found_between(recording, breakdown, span, *said))


def check_span(breakdown: Breakdown, span: Span, texts: Sequence[str], least: int) -> None:
    """Check that a span is inside the recording and has room.

    Raises:
        InputError: if it does not.
    """
    start_us, end_us = span
    place = f'"{" ".join(texts)}"'
    if not start_us + least <= end_us:
        raise refuse("time too short", place, least=seconds_of(least))
    if end_us > breakdown.duration_us:
        raise refuse("time not in the recording", place, end=seconds_of(breakdown.duration_us))


def with_placed(breakdown: Breakdown, placed: Sequence[Part]) -> Breakdown:
    """Return the breakdown with parts placed in it; other parts at their time are shortened or taken out."""
    start_us, end_us = placed[0].start_us, placed[-1].end_us
    before = [kept for part in breakdown.parts if part.start_us < start_us and (kept := _until(part, start_us))]
    after = [
        kept
        for part in breakdown.parts
        if part.start_us >= start_us and part.end_us > end_us and (kept := _from(part, end_us))
    ]
    parts = (*before, *map(by_hand, placed), *after)
    return Breakdown(
        breakdown.text,
        breakdown.duration_us,
        parts,
        breakdown.voice_factor,
        breakdown.effort,
        breakdown.rejection,
        breakdown.voice_without_text,
    )


def _until(part: Part, end_us: int) -> Part | None:
    if part.end_us <= end_us:
        return part
    return by_hand(stretched(part, part.start_us, end_us)) if end_us - part.start_us >= least_us(part) else None


def _from(part: Part, start_us: int) -> Part | None:
    if part.start_us >= start_us:
        return part
    return by_hand(stretched(part, start_us, part.end_us)) if part.end_us - start_us >= least_us(part) else None


def _edges(span: Span, weights: Sequence[float]) -> list[int]:
    """Return where phonemes begin, and where the last ends: each lasts `LEAST_US` and its share of the rest.

    >>> _edges((0, 103_000), [100.0, 300.0, 600.0])
    [0, 11000, 42000, 103000]
    """
    start_us, end_us = span
    spare_us = end_us - start_us - LEAST_US * len(weights)
    edges, reached = [start_us], 0.0
    for number, weight in enumerate(weights, start=1):
        reached += weight
        edges.append(start_us + number * LEAST_US + round(spare_us * reached / sum(weights)))
    edges[-1] = end_us
    return edges
