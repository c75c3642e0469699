"""A line unlike its character's others gets a factor of its own where that is clearly better, and only there."""

from typing import ClassVar

import pytest

from lipsync.align import own_voice
from lipsync.align.own_voice import CLEARLY, LAST_FACTORS, UNLIKE, search_as_spoken
from lipsync.align.recogniser import NotFoundError
from lipsync.align.search import AlignedWord, Alignment
from lipsync.audio.features import RATE_HZ

LEAST = -5.0
FOUND = 0.7  # the factor that is found from the line


@pytest.fixture
def heard(monkeypatch):
    """What was tried; with `supports`, the support under each factor, None where nothing is found."""

    class Tried(list):
        supports: ClassVar = {}
        ticks = 100

    tried = Tried()

    def answer(samples, words, factor, model=None):
        tried.append(factor)
        support = tried.supports.get(factor)
        if support is None:
            raise NotFoundError("made up")
        return Alignment((AlignedWord(0, (0, 1), support, tried.ticks),), factor or FOUND, "plain")

    monkeypatch.setattr(own_voice, "find_words", answer)
    return tried


def search(factor):
    return search_as_spoken((), (), factor, LEAST)


def test_a_line_like_the_others_is_searched_once(heard):
    heard.supports = {1.3: UNLIKE, None: 0.0}
    assert (search(1.3).factor, search(1.3).effort) == (1.3, "plain")
    assert set(heard) == {1.3}


@pytest.mark.parametrize(
    ("gain", "factor", "effort"), [(CLEARLY + 0.1, FOUND, "other factor"), (CLEARLY - 0.1, 1.3, "plain")]
)
def test_a_line_unlike_the_others_has_its_own_if_that_is_clearly_better(heard, gain, factor, effort):
    heard.supports = {1.3: UNLIKE - 0.5, None: UNLIKE - 0.5 + gain}
    found = search(1.3)
    assert (found.factor, found.effort) == (factor, effort)
    assert heard == [1.3, None]


@pytest.mark.parametrize(("seconds", "last"), [(40, LAST_FACTORS), (300, LAST_FACTORS), (301, ())])
def test_only_lines_of_more_than_five_minutes_are_given_up_without_the_usual_factors(heard, seconds, last):
    with pytest.raises(NotFoundError):
        search_as_spoken(range(seconds * RATE_HZ), (), 1.3, LEAST)
    assert heard == [1.3, None, *last]


def test_a_line_that_is_not_found_in_the_characters_voice(heard):
    heard.supports = {None: 0.0}
    assert (search(1.3).factor, search(1.3).effort) == (FOUND, "other factor")


def test_before_a_lone_line_is_refused_the_usual_voices_are_tried(heard):
    first, second, third, last = LAST_FACTORS
    heard.supports = {None: LEAST - 1, first: LEAST - 1, second: LEAST + 0.5, third: 0.0, last: 0.0}
    found = search(None)
    assert (found.factor, found.effort) == (second, "other factor")
    assert heard == [None, first, second]


def test_a_word_or_two_tell_no_factor(heard):
    heard.supports = {1.3: LEAST + 1, None: 0.0}
    heard.ticks = 99
    assert search(1.3).factor == 1.3
    heard.supports = {1.3: LEAST - 1, None: 0.0}
    assert search(1.3).factor == FOUND


def test_where_nothing_helps_the_best_is_told_of(heard):
    heard.supports = {1.3: -30.0, None: -28.0, 1.0: -29.0, 1.15: -27.5, 0.87: None}
    assert search(1.3).factor == 1.15
    assert heard == [1.3, None, *LAST_FACTORS]


def test_where_nothing_is_found_it_says_so(heard):
    with pytest.raises(NotFoundError, match="under no factor"):
        search(None)
    assert heard == [None, *LAST_FACTORS]
