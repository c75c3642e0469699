"""The ladder of searches, the voice factor and the cutting of long lines, with the recogniser's answers made up."""

import itertools
import math

import numpy as np
import pytest
import soxr

from lipsync.align import coarse, search, voice
from lipsync.align.acoustic_fit import EVERY, Fits
from lipsync.align.coarse import RoughWord
from lipsync.align.confidence import Confidence
from lipsync.align.mending import Examined
from lipsync.align.own_voice import search_as_spoken
from lipsync.align.recogniser import (
    LADDER,
    PARTS,
    NotFoundError,
    TickPhone,
    TickWord,
    align_ticks,
    find_roughly,
)
from lipsync.align.rejection import LEAST_SAID, LEAST_SUPPORT, agrees, is_too_fast
from lipsync.align.search import AlignedWord, Alignment, chunks_of, find_words, telling_part
from lipsync.audio.recording import Recording, read_recording
from lipsync.model import FACTORS
from lipsync.text.morphology import Pronunciation

RATE = 16_000
ONE_WORD = [[("M",)]]


def samples(seconds=2.0):
    return np.random.default_rng(5).normal(size=round(seconds * RATE), scale=500).astype(np.int16)


def rough_of(spans):
    """A first pass that finds these words, each a place, a first tick and the tick after the last."""
    found = tuple(TickWord(place, 0, start, end) for place, start, end in spans)
    return lambda sound, words, beams: found


@pytest.fixture
def asked(monkeypatch):
    """A recogniser that finds words only under the last of so many (length, beams) that it was asked with."""

    class Asked(list):
        finds_at = 0

    asked = Asked()

    def answer(sound, words, beams):
        asked.append((round(len(sound) / (2 * RATE), 2), beams))
        if len(asked) <= asked.finds_at:
            raise NotFoundError("made up")
        return (TickWord(None, 0, 0, 30), TickWord(0, 0, 30, 50), TickWord(None, 0, 50, 200))

    monkeypatch.setattr(coarse, "find_roughly", answer)
    return asked


def test_the_ladder_goes_no_further_than_it_must(asked):
    found = find_words(samples(), ONE_WORD, 1.0)
    assert (found.effort, len(asked)) == ("plain", 1)


def test_other_factors_come_before_wider_beams(asked):
    efforts = []
    for failures in range(20):
        asked.clear()
        asked.finds_at = failures
        try:
            efforts.append(coarse.first_look(samples(), ONE_WORD, 1.0).effort)
        except NotFoundError:
            break
    assert efforts == ["plain"] + ["other factor"] * len(coarse.BESIDE) + ["wider"] * (1 + len(coarse.BESIDE))
    assert [beams for _, beams in asked] == [LADDER[0]] * 7 + [LADDER[1]] * 7
    assert len({factor for factor, _ in asked}) == 7


def test_times_are_of_the_recording_whatever_the_factor(asked):
    """30 ticks of 10 ms and the half window of 7.812 ms, at the recording's own speed."""
    for failures, factor in itertools.product((0, 1, 3), (0.8, 1.0, 1.25)):
        asked.clear()
        asked.finds_at = failures
        (word,) = coarse.first_look(samples(), ONE_WORD, factor).words
        slower = factor * (1.0, *coarse.BESIDE)[failures]
        assert word.start_us == pytest.approx((300_000 + 7_812) / slower, abs=1)
        assert word.end_us == pytest.approx((500_000 + 7_812) / slower, abs=1)


def test_support_is_the_mean_over_the_ticks_of_the_words():
    heard = Alignment((AlignedWord(0, (0, 1), -10, 30), AlignedWord(0, (1, 2), 0, 10)), 1.0, "plain")
    assert heard.support == -7.5


class Told:
    """A model of which each phoneme's first of two states fits as a table says, row by row, and the second worse."""

    def __init__(self, rows):
        self.rows = rows

    def densities(self, terms, phone):
        return self.rows.get(phone, [-50.0] * terms.shape[1])

    def alone(self, found):
        fits = np.array(list(found)).T
        return np.stack([fits, fits - 100], axis=2)


def test_support_is_how_much_worse_a_word_fits_than_whatever_fits_best():
    """By hand: M lies in rows 1 and 2, AA in row 3."""
    model = Told({"M": [-9.0, -5.0, -6.0, -1.0, -9.0], "AA": [-1.0, -9.0, -2.0, -3.0, -7.0], "S": [-30.0] * 5})
    fits = Fits(model, np.zeros((5 * EVERY, 39)))
    assert fits.support(("M", "AA"), EVERY * np.array([1.0, 2.7, 3.9])) == pytest.approx((0 - 4 - 2) / 3)
    assert fits.support(("AA",), EVERY * np.array([1.2, 1.5])) == pytest.approx(0.0)  # between rows: the next one
    assert fits.support(("M",), EVERY * np.array([4.5, 5.0])) == pytest.approx(-2.0)  # behind the last: the last


@pytest.mark.parametrize("best", [0.5, 0.56, 0.7, 0.87, 0.95, 1.0, 1.2, 1.4, 1.75, 2.0])
def test_the_factor_is_the_top_of_the_curve(monkeypatch, best):
    tried = []

    def standing(lines, known, factor):
        tried.append(factor)
        return 0, -((math.log(factor) - math.log(best)) ** 2)

    monkeypatch.setattr(voice, "_standing", standing)
    factor = voice.find_factor([(samples(), ONE_WORD)])
    assert factor == pytest.approx(min(max(best, FACTORS[0]), FACTORS[-1]), rel=0.02)
    assert len(tried) == len(set(tried)) <= 7


def test_a_factor_under_which_fewer_lines_fail_is_better(monkeypatch):
    fails = {factor: -2 for factor in FACTORS} | {1.15: -1}
    monkeypatch.setattr(voice, "_standing", lambda lines, known, factor: (fails[factor], -10 + fails[factor]))
    assert voice.find_factor([(samples(), ONE_WORD)] * 3) == pytest.approx(1.15, rel=0.01)


def test_where_nothing_can_be_found_the_factor_is_one(monkeypatch):
    tried = []
    monkeypatch.setattr(voice, "_standing", lambda lines, known, factor: tried.append(factor) or (-1, -math.inf))
    assert voice.find_factor([(samples(), ONE_WORD)]) == 1.0
    assert sorted(tried) == list(FACTORS)


def test_what_is_known_of_a_line_is_not_searched_again(monkeypatch):
    """By hand: -900 in 90 ticks and -300 in 10 are -12 a tick; the third line is not found."""
    asked = []

    def aligned(sound, words):
        asked.append(len(sound))
        if words is lost:
            raise NotFoundError("no")
        return [TickPhone("M", 0, 0, 10, -300), TickPhone("SIL", None, 10, 50, -9999)]

    lost = [[("L",)]]
    monkeypatch.setattr(voice, "align_ticks", aligned)
    known = [{1.0: (-900, 90)}, {}, {}]
    lines = [(samples(), ONE_WORD), (samples(), ONE_WORD), (samples(), lost)]
    assert voice._standing(lines, known, 1.0) == (-1, -12.0)
    assert known == [{1.0: (-900, 90)}, {1.0: (-300, 10)}, {1.0: None}]
    assert len(asked) == 2
    assert voice._standing(lines, known, 1.0) == (-1, -12.0)
    assert len(asked) == 2
    assert voice._standing(lines[2:], [{1.0: None}], 1.0) == (-1, -math.inf)


def test_slowing_lowers_and_lengthens():
    tone = (10_000 * np.sin(2 * np.pi * 1000 * np.arange(RATE) / RATE)).astype(np.int16)
    for factor in (0.75, 1.0, 1.5):
        slow = voice.slowed(tone, factor)
        assert len(slow) == pytest.approx(RATE * factor, abs=2)
        peak = np.abs(np.fft.rfft(slow[1000:-1000].astype(float))).argmax() * RATE / (len(slow) - 2000)
        assert peak == pytest.approx(1000 / factor, abs=3)


def test_slowing_in_blocks_leaves_no_seam(monkeypatch):
    """Against the resampler, given the whole in one go."""
    sound = samples(7.3)
    monkeypatch.setattr(voice, "_BLOCK", RATE)
    for factor in (0.945, 1.234):
        whole = soxr.resample(sound.astype(np.float64), RATE, RATE * factor, "HQ")
        assert np.array_equal(voice.slowed(sound, factor), np.rint(whole).astype(np.int16))


def cut(seconds, ticks):
    rough = [RoughWord(0, start * 10_000, end * 10_000) for place, start, end in ticks if place is not None]
    return [
        (piece.start_us / 1e6, piece.end_us / 1e6, list(range(piece.first, piece.first + len(piece.words))))
        for piece in chunks_of(rough, seconds * 1_000_000)
    ]


def test_a_short_line_is_one_piece():
    rough = [(None, 0, 40), (0, 40, 900), (None, 900, 1000), (1, 1000, 2960), (None, 2960, 3000)]
    assert cut(30, rough) == [(0, 30, [0, 1])]


def test_long_silences_are_left_off_both_ends_but_for_half_a_second():
    rough = [(None, 0, 1000), (0, 1000, 1500), (None, 1500, 1700), (1, 1700, 2000), (None, 2000, 9000)]
    assert cut(90, rough) == [(9.5, 20.5, [0, 1])]


def test_a_long_line_is_cut_in_its_silences():
    """Ten words of 8 s with silences of a second between them, 90 s: cut after every second word."""
    rough = []
    for word in range(10):
        rough += [(word, word * 900, word * 900 + 800), (None, word * 900 + 800, word * 900 + 900)]
    assert cut(90, rough) == [
        (0, 17.5, [0, 1]),
        (17.5, 35.5, [2, 3]),
        (35.5, 53.5, [4, 5]),
        (53.5, 71.5, [6, 7]),
        (71.5, 89.5, [8, 9]),
    ]


@pytest.mark.parametrize(("factor", "cuts"), [(1.0, 1), (1.15, 1), (0.87, 1), (1.16, 2), (0.86, 2)])
def test_a_long_line_is_searched_once_if_its_voice_is_near_the_recorded_speed(monkeypatch, factor, cuts):
    rough = []
    for place in range(10):
        rough += [(place, place * 900, place * 900 + 800), (None, place * 900 + 800, place * 900 + 900)]
    made = []
    answer = rough_of(rough)
    monkeypatch.setattr(coarse, "find_roughly", lambda *a: made.append(a) or answer(*a))
    monkeypatch.setattr(search, "find_factor", lambda lines: factor)
    monkeypatch.setattr(search, "_second_look", lambda *_: iter(()))
    assert find_words(samples(90), ONE_WORD * 10, None).factor == factor
    assert len(made) == cuts


def test_short_silences_and_the_last_one_are_no_cuts():
    rough = [(0, 0, 2000), (None, 2000, 2009), (1, 2009, 3800), (None, 3800, 4000)]
    assert len(cut(40, rough)) == 1


def test_speech_without_silences_is_cut_between_words():
    """Ten words of 12 s without a silence, 120 s: cut before the word that begins 45 s or more after the last cut."""
    rough = [(place, place * 1200, place * 1200 + 1200) for place in range(10)]
    assert cut(120, rough) == [(0, 48, [0, 1, 2, 3]), (48, 96, [4, 5, 6, 7]), (96, 120, [8, 9])]


def test_where_nothing_is_found_at_the_recorded_speed_the_factor_is_found_from_all_of_it(asked, monkeypatch):
    asked.finds_at = 14  # the whole ladder
    given = []
    monkeypatch.setattr(search, "find_factor", lambda lines: given.append(len(lines[0][0])) or 1.5)
    found = find_words(samples(), ONE_WORD, None)
    assert (found.factor, found.effort, given) == (1.5, "plain", [2 * RATE])


def test_a_long_line_that_is_not_found_is_not_aligned_whole_under_every_factor(asked, monkeypatch):
    """Each search of it costs as much as the line is long, and finding phonemes in all of it the square of that."""
    asked.finds_at = 100
    monkeypatch.setattr(search, "find_factor", lambda lines: pytest.fail("it was"))
    with pytest.raises(NotFoundError):
        find_words(samples(31), ONE_WORD, None)
    assert [beams for _, beams in asked] == list(LADDER)


def test_a_line_of_more_than_five_minutes_that_is_not_found_is_searched_whole_once_a_factor(monkeypatch):
    """Under the character's factor and under its own; each time in parts, then whole in the widest beams."""
    searched = []

    def nothing(sound, words, beams):
        searched.append((len(sound) // RATE, beams))
        raise NotFoundError("made up")

    monkeypatch.setattr(coarse, "find_roughly", nothing)
    monkeypatch.setattr(coarse, "beginning", nothing)
    with pytest.raises(NotFoundError):
        search_as_spoken(samples(310), ONE_WORD * 900, 1.0, LEAST_SUPPORT)
    assert searched == [(40, PARTS), (310, LADDER[True])] * 2


def test_of_a_long_line_only_a_piece_of_its_middle_tells_the_voice(monkeypatch):
    rough = []
    for place in range(10):
        rough += [(place, place * 900, place * 900 + 800), (None, place * 900 + 800, place * 900 + 900)]
    monkeypatch.setattr(coarse, "find_roughly", rough_of(rough))
    words = [[("AA", "M")], *ONE_WORD * 9]
    sound, said = telling_part(samples(90), words)
    assert (len(sound), len(said)) == (18 * RATE, 2)  # from 35.5 to 53.5 s, as cut below
    assert telling_part(samples(30), words)[1] == words


def test_the_recogniser_says_when_it_finds_nothing():
    with pytest.raises(NotFoundError):
        align_ticks(samples(0.1), [[("AA",) * 40]])


def test_the_recogniser_chooses_the_pronunciation(sample_folder):
    """The crab says "blue": offered "blue" and two other words, it hears blue."""
    sound = voice.slowed(read_recording(sample_folder / "recordings" / "020-c.wav").samples, 0.8)
    said = [("UW", "P", "S"), ("M", "AY"), ("F", "UH", "T"), ("IH", "Z")]
    for offered, place in (
        ([("G", "R", "IY", "N"), ("B", "L", "UW"), ("OY", "S", "T", "ER")], 1),
        ([("B", "L", "UW"), ("G", "R", "IY", "N")], 0),
    ):
        found = align_ticks(sound, [*([one] for one in said), offered])
        assert [phone.symbol for phone in found if phone.word == 4] == ["B", "L", "UW"]
        rough = find_roughly(sound, [*([one] for one in said), offered])
        assert next(one.pronunciation for one in rough if one.word == 4) == place


def line(seconds=2.0):
    sound = samples(seconds)
    sound.flags.writeable = False
    return Recording("heron.wav", sound, round(seconds * 1e6), "0" * 16)


def test_more_than_25_phonemes_a_second_are_too_fast():
    said = [[Pronunciation(("M",), "dictionary"), Pronunciation(("M", "IY1"), "dictionary")]]
    assert not is_too_fast(line(), said * 50)
    assert is_too_fast(line(), said * 51)


@pytest.mark.parametrize(
    ("support", "said", "expected"),
    [
        (LEAST_SUPPORT, (LEAST_SAID, LEAST_SAID), True),
        (LEAST_SUPPORT - 0.1, (1.0, 1.0), False),
        (0.0, (LEAST_SAID - 0.01, LEAST_SAID), False),
        (0.0, (0.0, 1.0), True),  # the second is nine times as long
        (0.0, (1.0, 0.0), False),
    ],
)
def test_a_line_agrees_that_is_supported_and_of_which_enough_is_said(support, said, expected):
    words = AlignedWord(0, (0, 100_000), support, 10), AlignedWord(0, (100_000, 1_000_000), support, 90)
    sure = tuple(Confidence(one, 1.0) for one in said)
    assert agrees(Examined(Alignment(words, 1.0, "plain"), sure)) == expected


def test_a_long_line_is_roughly_searched_a_part_at_a_time(monkeypatch, sample_folder):
    """Against the search of the whole: the same words, each within 50 ms; parts of four seconds stand for minutes."""
    for name, value in (("PART_S", 4), ("END_S", 1), ("LONG_S", 5)):
        monkeypatch.setattr(coarse, name, value)
    line = voice.slowed(read_recording(sample_folder / "recordings" / "020-c.wav").samples, 0.8)
    said = [[("UW", "P", "S")], [("M", "AY")], [("F", "UH", "T")], [("IH", "Z")], [("B", "L", "UW")]]
    sound, words = np.concatenate([line] * 6), said * 6
    whole = [one for one in find_roughly(sound, words) if one.word is not None]
    parts = [one for one in coarse._by_parts(sound, words) if one.word is not None]
    assert [one.word for one in parts] == [one.word for one in whole]
    assert max(abs(one.start_tick - other.start_tick) for one, other in zip(parts, whole, strict=True)) <= 5
