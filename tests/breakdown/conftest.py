"""A line of Low Tide Post, and any breakdown that the model allows."""

from collections.abc import Callable

import pytest
from hypothesis import strategies as st

from lipsync.model import ORIGINS, Breakdown, Cue, Part, Phoneme, Rejection, UntoldVoice, Word
from lipsync.phonemes import PHONEMES, VOWELS, split_stress

Make = Callable[..., Word]


def word_of(text: str, sounds: str, *times_ms: int, level_db: float | None = None, **given) -> Word:
    """A word from its dictionary symbols and the boundaries in milliseconds."""
    symbols = [split_stress(symbol) for symbol in sounds.split()]
    assert len(times_ms) == len(symbols) + 1
    spans = zip(symbols, times_ms, times_ms[1:], strict=False)
    phonemes = tuple(Phoneme(s, start * 1000, end * 1000, stress, level_db) for (s, stress), start, end in spans)
    return Word(text, phonemes, **given)


@pytest.fixture(scope="session")
def word() -> Make:
    return word_of


@pytest.fixture(scope="session")
def line() -> Breakdown:
    """Mind the lamp [breath] keeper: part 0 to 4, 2 s."""
    return Breakdown(
        "Mind the lamp, keeper.",
        2_000_000,
        (
            word_of("Mind", "M AY1 N D", 100, 160, 300, 360, 400, level_db=-20.5, confidence=0.98),
            word_of("the", "DH AH0", 400, 440, 500, confidence=0.9),
            word_of("lamp", "L AE1 M P", 500, 560, 700, 780, 850, level_db=-18.25, confidence=0.3),
            Cue("breath", 900_000, 1_200_000),
            word_of("keeper", "K IY1 P ER0", 1200, 1280, 1400, 1480, 1700, origin="guess", confidence=0.75),
        ),
        voice_factor=1.08,
    )


_SOUNDS = st.sampled_from([(s, stress) for s in PHONEMES for stress in ((None, 0, 1, 2) if s in VOWELS else (None,))])
_LEVELS = st.none() | st.floats(allow_nan=False)
# Any length; most of them such as are heard.
_LENGTHS_US = st.integers(1, 300_000) | st.integers(1, 10**12)
_GAPS_US = st.just(0) | _LENGTHS_US


@st.composite
def _part_lists(
    draw: st.DrawFn, texts: st.SearchStrategy[str], lengths: st.SearchStrategy[int]
) -> tuple[list[Part], int]:
    parts: list[Part] = []
    at_us = 0
    for is_word in draw(st.lists(st.integers(0, 4).map(bool), max_size=7)):
        at_us += draw(st.just(0) | lengths)
        corrected = draw(st.booleans())
        if not is_word:
            parts.append(Cue(draw(texts), at_us, at_us := at_us + draw(lengths), corrected))
            continue
        phonemes = []
        for symbol, stress in draw(st.lists(_SOUNDS, min_size=1, max_size=5)):
            end_us = at_us + draw(lengths)
            phonemes.append(Phoneme(symbol, at_us, end_us, stress, draw(_LEVELS)))
            at_us = end_us
        confidence = draw(st.none() | st.floats(0, 1))
        parts.append(Word(draw(texts), tuple(phonemes), draw(st.sampled_from(ORIGINS)), confidence, corrected))
    return parts, at_us


@st.composite
def _untold(draw: st.DrawFn, duration_us: int) -> tuple[UntoldVoice, ...]:
    edges = sorted(draw(st.sets(st.integers(0, duration_us), max_size=6)))
    return tuple(UntoldVoice(*edge) for edge in zip(edges[::2], edges[1::2], strict=False))


@pytest.fixture(scope="session")
def any_breakdown() -> Callable[..., st.SearchStrategy[Breakdown]]:
    """A strategy for whatever the model allows (levels and factors are numbers)."""

    @st.composite
    def strategy(draw: st.DrawFn, texts: st.SearchStrategy[str] | None = None) -> Breakdown:
        words = st.text() if texts is None else texts
        parts, at_us = draw(_part_lists(words, _LENGTHS_US))
        factor = st.floats(0, exclude_min=True, allow_infinity=False)
        duration_us = at_us + draw(_GAPS_US)
        found = draw(st.none() | st.sampled_from(Rejection)), draw(_untold(duration_us))
        return Breakdown(draw(words), duration_us, tuple(parts), draw(factor), draw(words), *found)

    return strategy


@pytest.fixture(scope="session")
def same_length() -> Callable[..., st.SearchStrategy[tuple[Breakdown, ...]]]:
    """A strategy for several breakdowns of the same sound, with words in common."""

    @st.composite
    def strategy(draw: st.DrawFn, count: int) -> tuple[Breakdown, ...]:
        # Few words and coarse times, so that parts coincide, meet and repeat.
        words, lengths = st.sampled_from(["tide", "post", "lamp", "the"]), st.integers(1, 12).map(lambda n: n * 700)
        drawn = [draw(_part_lists(words, lengths)) for _ in range(count)]
        duration_us = max(at_us for _, at_us in drawn) + draw(st.just(0) | lengths) or 1000
        return tuple(Breakdown("any", duration_us, tuple(parts)) for parts, _ in drawn)

    return strategy
