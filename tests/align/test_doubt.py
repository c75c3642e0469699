"""Doubt: wrong, missing and doubled words are doubted where they are, and their neighbours keep their times."""

import itertools
import tomllib
from importlib import resources

import numpy as np
import pytest
import soundfile

from lipsync.align.acoustic_model import PHONES, AcousticModel
from lipsync.align.competing_paths import PRICE, Lattice
from lipsync.align.confidence import Confidence, confidences, figures
from lipsync.align.evidence import LONGEST_PART_US, Evidence, stretches_of
from lipsync.align.line import listen
from lipsync.align.recogniser import model_folder
from lipsync.align.scored_sound import ScoredSound, SlowedSound
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import read_recording
from lipsync.model import Rejection
from lipsync.phonemes import PHONEMES

FRAME_US = 1_000_000 / 24
FACTOR = 1.42  # of this line, as it is found from it alone

EDGE = {"Poor"}  # begins the line a frame after its label says, for its P is as silent as the room: may be doubted
LAMP = "Poor old lamp. The wind has blown you out, hasn’t it?"  # line 010-a
SAID = [("P", "UH", "R"), ("OW", "L", "D"), ("L", "AE", "M", "P"), ("DH", "AH"), ("W", "IH", "N", "D")]


@pytest.fixture(scope="module")
def path(sample_folder):
    return sample_folder / "recordings" / "010-a.wav"


@pytest.fixture(scope="module")
def own(path):
    """The line under its own text."""
    return listen(path, LAMP, LineSettings(voice_factor=FACTOR))


@pytest.fixture(scope="module")
def lattice_of(path):
    """Ways through the first seconds of the line, for any words."""
    samples = read_recording(path).samples[: 16_000 * 18 // 10]
    sound = ScoredSound(SlowedSound(samples, FACTOR), AcousticModel(model_folder()))
    return lambda words: Lattice(sound, words)


def test_what_is_gained_is_what_the_other_words_gain(lattice_of):
    """Against the definition: the line heard as if the other words had been written."""
    written = lattice_of(SAID)
    left_out, twice = written.left_out(), written.twice()
    for place, word in enumerate(SAID):
        without = lattice_of([*SAID[:place], *SAID[place + 1 :]]).total
        doubled = lattice_of([*SAID[:place], word, *SAID[place:]]).total
        assert left_out[place] == pytest.approx(without - written.total)
        assert twice[place] == pytest.approx(doubled - written.total)


def test_what_is_heard_instead_is_worth_what_is_gained(lattice_of):
    words = [*SAID[:2], ("B", "UH", "CH", "ER"), *SAID[3:]]
    written = lattice_of(words)
    gained, heard = written.otherwise(), written.heard_instead(2)
    assert int(gained.argmax()) == 2
    assert {"AE", "M"} & set(heard)  # it says "lamp"
    as_heard = lattice_of([*words[:2], heard, *words[3:]]).total
    price = len(heard) * (PRICE + np.log(len(PHONES)))
    assert gained[2] == pytest.approx(as_heard - written.total - price)


def test_each_phoneme_begins_somewhere(lattice_of):
    for starts in lattice_of(SAID).starts():
        assert starts.sum(axis=0) == pytest.approx(1.0)
        assert (starts >= 0).all()


@pytest.mark.parametrize("gap_us", [0, 50_000, 200_000, 1_500_000])
def test_stretches_hold_all_words_and_none_is_long(gap_us):
    edges = [k * (400_000 + gap_us) + 700_000 for k in range(300)]
    spans = [(edge, edge + 400_000) for edge in edges]
    duration_us = spans[-1][1] + 900_000
    found = list(stretches_of(spans, duration_us))
    assert [found[0].first, *(one.end for one in found)] == [*(one.first for one in found), 300]
    for one in found:
        assert 0 <= one.start_us <= spans[one.first][0]
        assert spans[one.end - 1][1] <= one.end_us <= duration_us
        assert spans[one.end - 1][1] - spans[one.first][0] <= LONGEST_PART_US
    assert all(before.end_us <= after.start_us for before, after in itertools.pairwise(found))


def test_the_table_has_a_row_for_each_figure_and_each_phoneme():
    table = tomllib.loads((resources.files("lipsync.align") / "data" / "doubt.toml").read_text("utf-8"))
    ((said, exact),) = figures([("M",)], [evidence()], table["lasts"])
    assert set(table) == {"said", "exact", "lasts"}
    assert set(table["said"]) == {*said, "even"}
    assert set(table["exact"]) == {*exact, "even"}
    assert set(table["lasts"]) == set(PHONEMES)


def evidence(**others):
    told = {
        "ticks": 12.0,
        "otherwise": -20.0,
        "left_out": -80.0,
        "twice": -60.0,
        "fits": (-0.5,),
        "fits_alone": (-1.0,),
        "contrast": (6.0,),
        "lasts": (12.0,),
        "strays": (0.05,),
    }
    return Evidence(**told | others)


def test_confidence_is_both_figures_in_one():
    assert Confidence(0.9, 0.5).confidence == 0.45
    assert Confidence(1.0, 1.0).confidence == 1.0


WORSE = {"otherwise": 150.0, "fits": (-6.0,), "fits_alone": (-7.0,)}


@pytest.mark.parametrize("name", [*WORSE, "twice"])
def test_evidence_against_a_word_makes_it_less_likely_said(name):
    (good,) = confidences([("M",)], [evidence()])
    (bad,) = confidences([("M",)], [evidence(**{name: WORSE.get(name, 100.0)})])
    assert bad.said < good.said
    assert good.said > 0.99


def test_all_of_it_leaves_no_doubt():
    (bad,) = confidences([("M",)], [evidence(**WORSE)])
    assert bad.said < 0.01


def test_a_boundary_that_may_be_elsewhere_is_less_exact():
    found = [confidences([("M",)], [evidence(strays=(stray,))])[0].exact for stray in (0.01, 0.1, 0.5, 0.9)]
    assert found == sorted(found, reverse=True)


def doubted(breakdown):
    return {word.text for word in breakdown.words if word.doubtful}


def moved_us(breakdown, own, without=()):
    """By how much the starts of the words that both have differ, some words left out."""
    ours, theirs = ([w for w in one.words if w.text not in without] for one in (breakdown, own))
    assert [word.text for word in ours] == [word.text for word in theirs]
    return [abs(a.start_us - b.start_us) for a, b in zip(ours, theirs, strict=True)]


@pytest.mark.parametrize(
    ("word", "other"), [("lamp", "butcher"), ("wind", "kettle"), ("blown", "seven"), ("out", "me")]
)
def test_a_replaced_word_is_doubted_and_its_neighbours_keep_their_times(path, own, word, other):
    heard = listen(path, LAMP.replace(word, other), LineSettings(voice_factor=FACTOR))
    assert doubted(heard) - doubted(own) - EDGE == {other}
    assert max(moved_us(heard, own, (word, other))) <= FRAME_US
    assert {one.text: one for one in heard.words}[other].confidence < 0.2
    (wrong,) = (one for one in heard.words if one.text == other)
    (right,) = (one for one in own.words if one.text == word)
    assert abs(wrong.start_us - right.start_us) <= 2 * FRAME_US


@pytest.mark.parametrize(("before", "extra"), [("old", "butcher"), ("blown", "seven"), ("Poor", "kettle")])
def test_a_word_missing_from_the_recording_is_doubted_where_it_is_written(path, own, before, extra):
    heard = listen(path, LAMP.replace(before, f"{before} {extra}"), LineSettings(voice_factor=FACTOR))
    assert extra in doubted(heard)
    assert doubted(heard) - doubted(own) - {extra} <= set()
    assert max(moved_us(heard, own, (extra,))) <= FRAME_US


@pytest.mark.parametrize("word", ["lamp", "blown", "it"])
def test_a_word_said_twice_is_doubted_and_the_others_keep_their_times(tmp_path, path, own, word):
    """The word is cut into the recording once more, a tenth of a second after it ends."""
    sound, rate = soundfile.read(path)
    (once,) = (one for one in own.words if one.text == word)
    begin, end = (round(us / 1e6 * rate) for us in (once.start_us, once.end_us))
    pause = np.zeros(rate // 10)
    soundfile.write(tmp_path / "twice.wav", np.concatenate([sound[:end], pause, sound[begin:]]), rate)
    heard = listen(tmp_path / "twice.wav", LAMP, LineSettings(voice_factor=FACTOR))
    assert doubted(heard) - doubted(own) - EDGE == {word}
    later_us = 100_000 + once.end_us - once.start_us
    for ours, theirs in zip(heard.words, own.words, strict=True):
        if ours.text != word:
            shift = later_us if theirs.start_us > once.start_us else 0
            assert abs(ours.start_us - theirs.start_us - shift) <= FRAME_US


def test_another_text_is_rejected_and_laid_all_doubtful(path):
    text = "Seven letters came this morning, and none of them were mine."
    found = listen(path, text, LineSettings(voice_factor=FACTOR))
    assert found.rejection is Rejection.NOT_SAID
    assert [word.text for word in found.words] == text.replace(",", "").rstrip(".").split()
    assert all(word.doubtful for word in found.words)
