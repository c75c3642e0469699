"""A small word that is said and not in the text is told of, and a wrong one in its place; a line's own are not."""

import itertools

import numpy as np
import pytest

from lipsync.align.acoustic_model import STATES, acoustic_model
from lipsync.align.confidence import Confidence
from lipsync.align.evidence import FoundWord
from lipsync.align.line import LineSettings, listen
from lipsync.align.small_words import SMALL_WORDS, SmallWordsHeard, _Chain, _searched, _states, judged_again
from lipsync.phonemes import PHONEMES


def test_the_words_are_phonemes_and_short():
    assert {("DH", "AH"), ("AH",), ("AO", "L"), ("G", "OW")} <= set(SMALL_WORDS)
    assert all(1 <= len(word) <= 4 and set(word) <= set(PHONEMES) for word in SMALL_WORDS)
    assert len(set(SMALL_WORDS)) == len(SMALL_WORDS)


def paths(width, heads, ticks):
    """Every way through a chain, a state at each tick: on by one or past a silence, from either first state."""
    for moves in itertools.product((0, 1, STATES + 1), repeat=ticks - 1):
        for first in (0, STATES):
            states = [first]
            for move in moves:
                states.append(states[-1] + move)
                if states[-1] >= width or (move == STATES + 1 and states[-1] not in heads[1:]):
                    break
            else:
                if states[-1] in (width - 1, width - 1 - STATES):
                    yield states


def test_the_best_path_is_the_best_of_all():
    chance, ticks = np.random.default_rng(5), 9
    for _ in range(5):
        # Two words of a phone each, silences before, between and behind.
        width, heads = 5 * STATES, (STATES, 3 * STATES)
        chain = _Chain(
            chance.normal(0, 3, (ticks, width)), chance.normal(-1, 1, width), chance.normal(-1, 1, width), heads
        )

        def value(states, chain=chain):
            total = sum(chain.scores[tick, state] for tick, state in enumerate(states)) + chain.leave[states[-1]]
            for now, then in itertools.pairwise(states):
                total += chain.stay[now] if now == then else chain.leave[then - 1 if then == now + 1 else now]
            return total

        best = max(paths(width, heads, ticks), key=value)
        totals, moves, last = _searched([chain, chain])
        assert totals == pytest.approx([value(best)] * 2)
        assert _states(moves[1], int(last[1])).tolist() == best


@pytest.mark.parametrize("phone_us", [10_000, 30_000])
def test_where_there_is_no_room_for_a_word_more_nothing_is_told(phone_us):
    """A phone takes three ticks of 10 ms at least: between words that lie so close there is no room for another."""
    said = [("P", "EY", "P", "ER", "Z"), ("B", "OW", "T", "M", "AH", "N"), ("T", "AY", "D", "Z")] * 2
    words, start_us = [], 200_000
    for symbols in said:
        words.append(FoundWord(symbols, tuple(start_us + place * phone_us for place in range(len(symbols) + 1))))
        start_us = words[-1].end_us
    sound = np.random.default_rng(7).normal(0, 1000, 32_000).astype(np.int16)
    heard = SmallWordsHeard(sound, 1.0, words, acoustic_model())
    assert heard.gained_before(3) is None
    if phone_us == 10_000:  # not even for the text as it is written
        sure = [Confidence(0.95, 0.95)] * len(words)
        assert heard.gained_instead(2, [said[2]]) is None
        assert judged_again(heard, [[word] for word in said], sure) == sure


@pytest.mark.parametrize(
    ("id", "voice_factor", "text", "beside"),
    [
        ("040-b", 0.8, "But the last boat has gone out with tide.", {"with", "tide"}),
        ("020-b", 1.35, "Mind paint, please, Mr Clamp. It’s wet.", {"Mind", "paint"}),
    ],
)
def test_a_small_word_that_the_text_does_not_have_makes_one_beside_it_doubtful(
    sample_folder, sample_lines, id, voice_factor, text, beside
):
    row, settings = next(row for row in sample_lines if row["id"] == id), LineSettings(voice_factor=voice_factor)
    own, other = (listen(sample_folder / row["wav"], said, settings) for said in (row["text"], text))
    assert not [word.text for word in own.words if word.doubtful]
    doubted = {word.text for word in other.words if word.doubtful}
    assert doubted
    assert doubted <= beside
    assert other.rejection is None
