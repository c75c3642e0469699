"""The ladder of searches, the voice factor and the cutting of long lines, with the recogniser's answers made up."""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
import soxr

from lipsync.errors import LineError
from lipsync.listen import first_look, pieces, search, voice
from lipsync.listen.align_pocketsphinx import (
    LADDER,
    FirstPass,
    NotFoundError,
    TickPhone,
    TickWord,
    align_ticks,
    free_scores,
)
from lipsync.listen.belongs import LEAST_SUPPORT, check_speed, check_support
from lipsync.listen.derive import Pronunciation
from lipsync.listen.recording import Recording, read_recording
from lipsync.listen.search import Heard, Search, find_words

RATE = 16_000
ONE_WORD = [[("M",)]]


def found(score=-100, ticks=20):
    silence = TickWord(None, 0, (TickPhone("SIL", 0, 30, -100),))
    return (silence, TickWord(0, 0, (TickPhone("M", 30, ticks, score),)))


def samples(seconds=2.0):
    return np.random.default_rng(5).normal(size=round(seconds * RATE), scale=500).astype(np.int16)


def rough_of(spans):
    """A first pass that finds these words, and is of no use for more."""
    return lambda sound, words, beams: SimpleNamespace(spans=tuple(spans), beams=None)


@pytest.fixture
def asked(monkeypatch):
    """A recogniser that finds words only under the last of so many (length, beams) that it was asked with."""

    class Asked(list):
        finds_at = 0

    asked = Asked()

    class Answer:
        def __init__(self, sound, words, beams=LADDER[0]):
            asked.append((round(len(sound) / (2 * RATE), 2), beams))

        def words(self):
            if len(asked) <= asked.finds_at:
                raise NotFoundError("made up")
            return found()

    monkeypatch.setattr(first_look, "FirstPass", Answer)
    monkeypatch.setattr(search.recogniser, "free_scores", lambda sound: np.zeros(300))
    monkeypatch.setattr(pieces, "FirstPass", rough_of([(None, 0, 30), (0, 30, 160), (None, 160, 200)]))
    return asked


def test_the_ladder_goes_no_further_than_it_must(asked):
    result = find_words(samples(), ONE_WORD, 1.0, fine=False)
    assert (result.effort, len(asked)) == ("plain", 1)


def test_a_line_without_long_silences_is_searched_roughly_only_once(asked, monkeypatch):
    spans = ((None, 0, 30), (0, 30, 160), (None, 160, 200))
    rough = SimpleNamespace(spans=spans, beams=LADDER[0], words=found)
    monkeypatch.setattr(pieces, "FirstPass", lambda *_: rough)
    assert find_words(samples(), ONE_WORD, 1.0, fine=False).effort == "plain"
    assert asked == []
    rough.beams = LADDER[1]  # found by a wider search: the ladder begins at its foot
    assert find_words(samples(), ONE_WORD, 1.0, fine=False).effort == "plain"
    assert [beams for _, beams in asked] == [LADDER[0]]


def test_other_factors_come_before_wider_beams(asked):
    efforts = []
    for failures in range(20):
        asked.clear()
        asked.finds_at = failures
        try:
            efforts.append(find_words(samples(), ONE_WORD, 1.0, fine=False).effort)
        except NotFoundError:
            break
    assert efforts == ["plain"] + ["other factor"] * len(first_look.BESIDE) + ["wider"] * (1 + len(first_look.BESIDE))
    assert [beams for _, beams in asked] == [LADDER[0]] * 7 + [LADDER[1]] * 7
    assert len({factor for factor, _ in asked}) == 7


def test_times_are_of_the_recording_whatever_the_factor(asked):
    """30 ticks of 10 ms and the half window of 7.812 ms, at the recording's own speed."""
    for factor in (0.8, 1.0, 1.25):
        asked.clear()
        (word,) = find_words(samples(), ONE_WORD, factor, fine=False).words
        assert word.times_us[0] == pytest.approx((300_000 + 7_812) / factor, abs=1)
        assert word.times_us[1] == pytest.approx((500_000 + 7_812) / factor, abs=1)
        assert word.support == -5.0  # -100 over 20 ticks, against 0 for free choice


def test_scores_are_compared_over_the_ticks_of_the_words(asked):
    heard = Search((Heard(0, (0, 1), -10, 30), Heard(0, (1, 2), 0, 10)), 1.0, "plain")
    assert heard.support == -7.5


@pytest.mark.parametrize("best", [0.5, 0.56, 0.7, 0.87, 0.95, 1.0, 1.2, 1.4, 1.75, 2.0])
def test_the_factor_is_the_top_of_the_curve(monkeypatch, best):
    tried = []

    def standing(lines, factor):
        tried.append(factor)
        return 0, -((math.log(factor) - math.log(best)) ** 2)

    monkeypatch.setattr(voice, "_standing", standing)
    factor = voice.find_factor([(samples(), ONE_WORD)])
    assert factor == pytest.approx(min(max(best, voice.FACTORS[0]), voice.FACTORS[-1]), rel=0.02)
    assert len(tried) == len(set(tried)) <= 7


def test_a_factor_under_which_fewer_lines_fail_is_better(monkeypatch):
    fails = {factor: -2 for factor in voice.FACTORS} | {1.15: -1}
    monkeypatch.setattr(voice, "_standing", lambda lines, factor: (fails[factor], -10 + fails[factor]))
    assert voice.find_factor([(samples(), ONE_WORD)] * 3) == pytest.approx(1.15, rel=0.01)


def test_where_nothing_can_be_found_the_factor_is_one(monkeypatch):
    tried = []
    monkeypatch.setattr(voice, "_standing", lambda lines, factor: tried.append(factor) or (-1, -math.inf))
    assert voice.find_factor([(samples(), ONE_WORD)]) == 1.0
    assert sorted(tried) == list(voice.FACTORS)


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


def cut(monkeypatch, seconds, rough, words):
    monkeypatch.setattr(pieces, "FirstPass", rough_of(rough))
    return pieces.pieces_of(np.zeros(seconds * RATE, np.int16), words, 1.0)


def test_a_short_line_is_one_piece(monkeypatch):
    rough = [(None, 0, 40), (0, 40, 900), (None, 900, 1000), (1, 1000, 2960), (None, 2960, 3000)]
    (piece,) = cut(monkeypatch, 30, rough, ONE_WORD * 2)
    assert (piece.first_sample, piece.end_sample, piece.first_word, piece.end_word) == (0, 30 * RATE, 0, 2)


def test_long_silences_are_left_off_both_ends_but_for_half_a_second(monkeypatch):
    rough = [(None, 0, 1000), (0, 1000, 1500), (None, 1500, 1700), (1, 1700, 2000), (None, 2000, 9000)]
    (piece,) = cut(monkeypatch, 90, rough, ONE_WORD * 2)
    assert (piece.first_sample / RATE, piece.end_sample / RATE) == (9.5, 20.5)


def test_a_long_line_is_cut_in_its_silences(monkeypatch):
    """Ten words of 8 s with silences of a second between them, 90 s: cut after every second word."""
    rough = []
    for word in range(10):
        rough += [(word, word * 900, word * 900 + 800), (None, word * 900 + 800, word * 900 + 900)]
    found = cut(monkeypatch, 90, rough, ONE_WORD * 10)
    assert [(piece.first_word, piece.end_word) for piece in found] == [(0, 2), (2, 4), (4, 6), (6, 8), (8, 10)]
    assert [piece.first_sample / RATE for piece in found] == [0, 17.5, 35.5, 53.5, 71.5]
    assert all(a.end_sample == b.first_sample for a, b in pairwise(found))
    assert found[-1].end_sample / RATE == 89.5


@pytest.mark.parametrize(("factor", "cuts"), [(1.0, 1), (1.15, 1), (0.87, 1), (1.16, 2), (0.86, 2)])
def test_a_long_line_is_cut_once_if_its_voice_is_near_the_recorded_speed(asked, monkeypatch, factor, cuts):
    rough = []
    for place in range(10):
        rough += [(place, place * 900, place * 900 + 800), (None, place * 900 + 800, place * 900 + 900)]
    made = []
    monkeypatch.setattr(pieces, "FirstPass", lambda *a: made.append(a) or SimpleNamespace(spans=rough, beams=None))
    monkeypatch.setattr(search, "find_factor", lambda lines: factor)
    assert find_words(np.zeros(90 * RATE, np.int16), ONE_WORD * 10, None, fine=False).factor == factor
    assert len(made) == cuts


def test_short_silences_and_the_last_one_are_no_cuts(monkeypatch):
    rough = [(0, 0, 2000), (None, 2000, 2009), (1, 2009, 3800), (None, 3800, 4000)]
    assert len(cut(monkeypatch, 40, rough, ONE_WORD * 2)) == 1


def test_speech_without_silences_is_cut_between_words(monkeypatch):
    """Ten words of 12 s without a silence, 120 s: cut before the word that begins 45 s or more after the last cut."""
    rough = [(place, place * 1200, place * 1200 + 1200) for place in range(10)]
    found = cut(monkeypatch, 120, rough, ONE_WORD * 10)
    assert [(piece.first_word, piece.end_word) for piece in found] == [(0, 4), (4, 8), (8, 10)]
    assert [piece.first_sample / RATE for piece in found] == [0, 48, 96]


def test_where_the_rough_search_fails_a_short_line_is_searched_whole(monkeypatch):
    def fail(*_):
        raise NotFoundError("made up")

    monkeypatch.setattr(pieces, "FirstPass", fail)
    assert pieces.pieces_of(samples(2), ONE_WORD, 1.0) == (pieces.Piece(0, 2 * RATE, 0, 1),)
    with pytest.raises(NotFoundError):
        pieces.pieces_of(samples(31), ONE_WORD, 1.0)


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
        words = [word for word in found if word.word is not None]
        assert words[-1].pronunciation == place
        assert [phone.symbol for phone in words[-1].phones] == ["B", "L", "UW"]


def test_free_choice_covers_every_tick(sample_folder):
    sound = read_recording(sample_folder / "recordings" / "020-c.wav").samples
    scores = free_scores(sound)
    assert len(scores) == pytest.approx(len(sound) / 160, abs=3)
    assert np.isfinite(scores).all()
    assert (scores[:-2] < 0).all()


def line(seconds=2.0):
    sound = samples(seconds)
    sound.flags.writeable = False
    return Recording("heron.wav", sound, round(seconds * 1e6), "0" * 16)


def test_more_than_25_phonemes_a_second_are_refused():
    said = [[Pronunciation(("M",), "dictionary"), Pronunciation(("M", "IY1"), "dictionary")]]
    check_speed(line(), said * 50)
    with pytest.raises(LineError, match=r"heron\.wav: text: has at least 51 phonemes, too many for 2 s"):
        check_speed(line(), said * 51)


def test_a_line_without_support_is_refused():
    check_support(line(), Search((Heard(0, (0, 1), LEAST_SUPPORT, 10),), 1.0, "plain"))
    with pytest.raises(LineError, match=r"heron\.wav: text: is not what is said in the recording; check that text"):
        check_support(line(), Search((Heard(0, (0, 1), LEAST_SUPPORT - 0.1, 10),), 1.0, "plain"))


def test_a_long_line_is_roughly_searched_a_part_at_a_time(monkeypatch, sample_folder):
    """Against the search of the whole: the same words, each within 50 ms; parts of four seconds stand for minutes."""
    for name, value in (("PART_S", 4), ("END_S", 1), ("LONG_S", 5)):
        monkeypatch.setattr(pieces, name, value)
    line = voice.slowed(read_recording(sample_folder / "recordings" / "020-c.wav").samples, 0.8)
    said = [[("UW", "P", "S")], [("M", "AY")], [("F", "UH", "T")], [("IH", "Z")], [("B", "L", "UW")]]
    sound, words = np.concatenate([line] * 6), said * 6
    whole = [span for span in FirstPass(sound, words).spans if span[0] is not None]
    parts = [span for span in pieces._by_parts(sound, words) if span[0] is not None]
    assert [place for place, *_ in parts] == [place for place, *_ in whole]
    assert max(abs(own[1] - other[1]) for own, other in zip(parts, whole, strict=True)) <= 5
