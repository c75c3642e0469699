"""The sums over all ways to lay phones through a sound, against the definition, way by way; and durations."""

import itertools

import numpy as np
import pytest

from lipsync.align.durations import _TABLE, log_durations
from lipsync.align.fine import _median
from lipsync.align.semi_markov import NoPathError, SegmentRange, beginnings
from lipsync.phonemes import PHONEMES, VOWELS


def ways_within(scores):
    """Return the sum over all splits of a phone's steps into its states, each of one step at least."""
    steps, states = scores.shape
    total = 0.0
    for cuts in itertools.combinations(range(1, steps), states - 1):
        state_at = np.searchsorted(cuts, np.arange(steps), side="right")
        total += np.exp(scores[np.arange(steps), state_at].sum())
    return total


def weighed(stretches, starts, ends, boundary):
    """Return the weight of one way: where each phone that is there begins and ends."""
    weight = np.exp(sum(boundary[start] for start in starts[1:]))
    for one, start, end in zip(stretches, starts, ends, strict=True):
        if start < one.first or end > one.end or end - start < one.least:
            return 0.0
        part = one.scores[start - one.first : end - one.first]
        if one.durations is None:
            weight *= np.exp(part.max(axis=1).sum() + (one.pause or 0.0))
        else:
            weight *= ways_within(part) * np.exp(one.durations[end - start - 1])
    return weight


def summed(stretches, boundary):
    """Return the same as `beginnings` by trying every choice of pauses and every row of boundaries."""
    steps = stretches[-1].end
    pauses = [k for k, one in enumerate(stretches) if one.pause is not None]
    found = {}
    for kept in itertools.product([False, True], repeat=len(pauses)):
        there = [k for k in range(len(stretches)) if k not in pauses or kept[pauses.index(k)]]
        sums = found[kept] = [np.zeros(len(one.scores)) for one in stretches]
        for cuts in itertools.combinations(range(1, steps), len(there) - 1):
            starts = (0, *cuts)
            weight = weighed([stretches[k] for k in there], starts, (*cuts, steps), boundary)
            for k, start in zip(there, starts, strict=True):
                if weight:
                    sums[k][start - stretches[k].first] += weight
    whole = sum(sums[0].sum() for sums in found.values())
    taken = [sum(f[0].sum() for kept, f in found.items() if kept[i]) / whole > 0.5 for i in range(len(pauses))]
    shares = []
    for k in range(len(stretches)):
        total = found[tuple(taken)][k]
        left_out = k in pauses and not taken[pauses.index(k)]
        shares.append(None if left_out else total / total.sum())
    return shares


@pytest.mark.parametrize("long", [400, 1])
@pytest.mark.parametrize("seed", range(40))
def test_beginnings_are_the_sum_over_all_ways(seed, long, monkeypatch):
    monkeypatch.setattr("lipsync.align.semi_markov.TOGETHER", 1 + seed % 4)
    monkeypatch.setattr("lipsync.align.semi_markov.LONG", long)
    generator = np.random.default_rng(seed)
    steps = 13
    spans = [(0, 5), (1, 9), (2, 12), (4, 13)] if seed % 2 else [(0, 13)] * 4
    silent = (0, 3) if seed % 3 else ()
    stretches = [
        SegmentRange(
            first,
            generator.normal(scale=3, size=(last - first, 3)),
            None if k in silent else generator.normal(size=steps),
        )
        for k, (first, last) in enumerate(spans)
    ]
    boundary = generator.normal(size=steps)
    expected = summed(stretches, boundary)
    for ours, theirs in zip(beginnings(stretches, boundary), expected, strict=True):
        assert ours == pytest.approx(theirs, abs=2e-3)


@pytest.mark.parametrize("seed", range(40))
def test_a_pause_is_there_where_most_ways_have_it(seed):
    generator = np.random.default_rng(seed)
    steps = 12
    spans = [(0, 6), (0, 9), (2, 10), (3, 12)] if seed % 2 else [(0, 12)] * 4
    pause = generator.normal(scale=4)
    stretches = [
        SegmentRange(first, generator.normal(scale=2, size=(last - first, 3)), *more)
        for (first, last), more in zip(
            spans,
            ((None,), (generator.normal(size=steps),), (None, pause, 2), (generator.normal(size=steps),)),
            strict=True,
        )
    ]
    boundary = generator.normal(size=steps)
    for ours, theirs in zip(beginnings(stretches, boundary), summed(stretches, boundary), strict=True):
        if theirs is None:
            assert ours is None
        else:
            assert ours == pytest.approx(theirs, abs=2e-3)


def test_phones_that_have_no_room_are_no_path():
    narrow = [
        SegmentRange(0, np.zeros((5, 3)), np.zeros(5)) for _ in range(2)
    ]  # two of three steps each do not fit into five
    with pytest.raises(NoPathError):
        beginnings(narrow, np.zeros(5))


def test_scores_far_apart_do_not_fall_below_the_smallest_number():
    scores = np.random.default_rng(5).normal(scale=40, size=(300, 3)) - 500
    stretches = [
        SegmentRange(0, scores, None),
        SegmentRange(0, scores[::-1], np.zeros(300)),
        SegmentRange(0, scores, None),
    ]
    for shares in beginnings(stretches, np.zeros(300)):
        assert np.isfinite(shares).all()
        assert shares.sum() == pytest.approx(1)


def test_every_phoneme_has_a_duration_that_is_one_of_speech():
    assert set(_TABLE) == set(PHONEMES)
    # Klatt (1979), Synthesis by rule of segmental durations, in Lindblom & Ohman: inherent durations in citation
    # forms are 50 to 280 ms, least ones 20 to 150 (from memory); running speech lies between.
    assert all(20 < np.exp(mean) < 280 for mean, _ in _TABLE.values())
    # Of the vowels the diphthongs are the longest (Klatt 1979, the same table).
    diphthongs = {"AW", "AY", "OY"}
    assert min(_TABLE[v][0] for v in diphthongs) > max(_TABLE[v][0] for v in VOWELS - diphthongs)


def test_durations_are_likeliest_at_the_lines_own_rate():
    words = [("AA", "S"), ("S", "AA", "AA", "S")] * 4
    table_ms = [sum(np.exp(_TABLE[symbol][0]) for symbol in symbols) for symbols in words]
    for slower in (0.7, 1.0, 1.6):
        for factor in (0.8, 1.0, 1.3):
            lasts = [slower * word_ms / 5 * factor for word_ms in table_ms]
            found = log_durations(list(zip(words, lasts, strict=True)), 900, factor)
            assert set(found) == {"AA", "S"}
            open_vowel = found["AA"]
            # the line's rate counts 24 times, the table's 5 times
            expected = np.exp(_TABLE["AA"][0]) * slower ** (24 / 29) / 5 * factor
            assert abs(open_vowel.argmax() + 1 - expected) <= 0.5


def test_a_vowel_can_be_held_and_a_stop_cannot():
    found = log_durations([(("OW", "T"), 30.0)], 500, 1.0)
    assert found["OW"][399] > -25  # two seconds
    assert found["T"][399] < -35


def paused(seed, steps=24):
    """Phones with a pause between each two that may be there or not."""
    generator = np.random.default_rng(seed)
    phone = lambda: SegmentRange(0, generator.normal(scale=2, size=(steps, 3)), generator.normal(size=steps))  # noqa: E731
    pauses = [
        SegmentRange(0, generator.normal(scale=2, size=(steps, 3)), None, generator.normal(scale=3), 2) for _ in "ab"
    ]
    silence = SegmentRange(0, generator.normal(scale=2, size=(steps, 3)), None)
    return [silence, phone(), pauses[0], phone(), pauses[1], phone(), silence], np.zeros(steps)


@pytest.mark.parametrize("seed", range(60))
def test_each_phone_that_is_there_begins_half_a_step_after_the_one_before_or_later(seed):
    medians = [_median(shares) for shares in beginnings(*paused(seed)) if shares is not None]
    assert np.diff(medians).min() >= 0.45  # half a step, less what a pause that is all but sure moves


@pytest.mark.parametrize("lost", [0.5, 2.0, 8.0])
def test_a_phone_held_for_seconds_is_not_cut_short(lost):
    """Its two states lose the same at every other step, so that any way through it loses as much as any other."""
    steps = 1500
    even = np.arange(steps)[:, None] % 2 == np.arange(2)
    held = SegmentRange(0, -lost * even, np.zeros(steps))
    short = SegmentRange(0, np.where(np.arange(steps) < 1400, -50.0, 0.0)[:, None] * np.ones(2), np.zeros(steps))
    held.scores[1400:] = -50.0
    _, begins = beginnings([held, short], np.zeros(steps))
    assert np.argmax(begins) == 1400
    assert begins[1390:1411].sum() == pytest.approx(1.0)
