"""The front end and the model, written out in numpy, against the recogniser itself."""

import os
from typing import ClassVar

import numpy as np
import pocketsphinx
import pytest

from lipsync.align import fine
from lipsync.align.acoustic_model import BEGIN, END, INSIDE, SINGLE, AcousticModel, terms_of
from lipsync.align.fine import (
    PAUSE,
    RARE_PAUSE,
    REACH,
    PhoneInWord,
    Rough,
    StepFeatures,
    _beside,
    _pause,
    _phones,
    _spans,
    _state_scores,
    look,
)
from lipsync.align.recogniser import model_folder
from lipsync.align.semi_markov import NoPathError
from lipsync.audio.features import CEPSTRA, PER_TICK, change_of, features_of, mel_powers, product
from lipsync.audio.recording import read_recording
from lipsync.phonemes import PHONEMES

LATE = 205  # samples: the recogniser's first window is 410 long and begins with the sound


@pytest.fixture(scope="module")
def model():
    return AcousticModel(model_folder())


@pytest.fixture(scope="module")
def samples(sample_folder):
    return read_recording(sample_folder / "recordings" / "010-a.wav").samples


@pytest.fixture(scope="module")
def engine(samples, tmp_path_factory):
    """What the recogniser itself logs of a sound: cepstra before their mean is taken off, scores of all states."""
    folder = tmp_path_factory.mktemp("engine")
    decoder = pocketsphinx.Decoder(
        lm=None, dict=os.devnull, loglevel="FATAL", mfclogdir=str(folder), senlogdir=str(folder), compallsen=True
    )
    decoder.add_word("w0", "P UH R", True)
    decoder.set_align_text("w0")
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()
    cepstra = np.frombuffer((folder / "000000000.mfc").read_bytes()[4:], ">f4").reshape(-1, CEPSTRA)
    log = (folder / "000000000.sen").read_bytes()
    scores = np.frombuffer(log[log.index(b"endhdr\n") + 11 :], "<i2").reshape(len(cepstra), -1)
    return cepstra.astype(float), scores


def test_the_cepstra_are_the_recognisers_own(samples, engine):
    cepstra, _ = engine
    ours = features_of(mel_powers(samples[LATE:]))[::PER_TICK, :CEPSTRA]
    count = min(len(ours), len(cepstra))
    theirs = cepstra[:count] - cepstra[:count].mean(axis=0)
    # The first ticks differ, for our first window is half empty, and so the noise tracker begins elsewhere.
    difference = np.abs(ours[20 : count - 5] - theirs[20 : count - 5])
    assert np.median(difference) < 0.02
    assert np.percentile(difference, 99) < 0.3
    assert np.std(theirs) > 0.5


def test_the_scores_are_the_recognisers_own(model, samples, engine):
    _, scores = engine
    terms = terms_of(features_of(mel_powers(samples[LATE:]))[::PER_TICK])
    phones = sorted(PHONEMES)
    count = min(terms.shape[1], len(scores))
    states = np.concatenate([model.states(phone) for phone in phones])
    ours = np.hstack([model.scores(model.densities(terms, phone), model.states(phone)) for phone in phones])
    theirs = scores[:, scores.shape[1] - 5126 :][:, states].astype(float) * -1024 * np.log(1.0001)
    alike = [np.corrcoef(ours[t], theirs[t])[0, 1] for t in range(40, count - 10, 10)]
    # It sums the four nearest of 128 Gaussians, we all of them: the best states agree, the hopeless ones less.
    assert np.median(alike) > 0.97
    first = [
        phones[int(ours[t].argmax()) // 3] == phones[int(theirs[t].argmax()) // 3] for t in range(40, count - 10)
    ]
    assert np.mean(first) > 0.9


def test_a_product_in_blocks_is_the_product():
    generator = np.random.default_rng(1)
    for rows in (0, 1, 63, 64, 5000):
        left, right = generator.normal(size=(rows, 26)), generator.normal(size=(26, 128))
        assert product(left, right) == pytest.approx(left @ right)


def test_a_phone_may_lie_anywhere_in_its_word_and_a_little_around():
    words = [Rough(("AA", "M"), 300, 340), Rough(("S",), 340, 360), Rough(("P",), 390, 420)]
    phones = list(_phones(words, 800))
    assert [(phone.symbol, phone.place) for phone in phones] == [
        ("SIL", SINGLE),
        ("AA", BEGIN),
        ("M", END),
        ("SIL", PAUSE),
        ("S", SINGLE),
        ("SIL", PAUSE),
        ("P", SINGLE),
        ("SIL", SINGLE),
    ]
    assert _spans(phones, 800) == [
        (0, 300 + REACH),
        *[(300 - REACH, 340 + REACH)] * 2,
        (340 - REACH, 340 + REACH),
        (340 - REACH, 360 + REACH),
        (360 - REACH, 390 + REACH),
        (390 - REACH, 420 + REACH),
        (420 - REACH, 800),
    ]


def test_where_the_recogniser_found_a_word_may_reach_the_ends_of_the_sound_or_lie_beyond_them():
    phones = list(_phones([Rough(("AA",), 20, 380), Rough(("S",), -90, -60), Rough(("M",), 480, 500)], 400))
    spans = _spans(phones, 400)
    assert spans[1] == (0, 400)
    assert spans[3] == (0, 1)  # a step at least, where there is any
    assert spans[5] == (399, 400)


def test_the_silence_before_a_first_stop_may_last_as_long_as_the_stop_may():
    words = [Rough(("P",), 300, 340), Rough(("AA",), 350, 400)]
    assert _spans(list(_phones(words, 800)), 800)[0] == (0, 340 + REACH)
    assert _spans(list(_phones([Rough(("M", "P"), 300, 340)], 800)), 800)[0] == (0, 300 + REACH)


def test_a_phone_that_is_neither_first_nor_last_of_its_word_is_inside_it():
    places = [phone.place for phone in _phones([Rough(("S", "T", "AA", "P"), 10, 50)], 60)]
    assert places == [SINGLE, BEGIN, INSIDE, INSIDE, END, SINGLE]


class PlainModel:
    """A model whose log likelihoods are easily told: that of a state is the number of the step times the state's."""

    ALONE: ClassVar = {"SIL": [3], "AA": [5], "S": [7]}
    BETWEEN: ClassVar = {
        ("SIL", "SIL", "AA", SINGLE): [3],
        ("AA", "SIL", "S", SINGLE): [11],
        ("SIL", "AA", "S", PAUSE): [3],
        ("S", "AA", "AA", SINGLE): [13],
        ("AA", "S", "SIL", SINGLE): [17],
        ("SIL", "AA", "SIL", SINGLE): [3],
    }

    def states(self, symbol):
        return np.array(self.ALONE[symbol])

    def states_between(self, *asked):
        return np.array(self.BETWEEN[asked])

    def densities(self, terms, symbol):
        return [(terms[0][:, :1], terms[0][:, :1] * 0)]

    def scores(self, densities, states):
        ((numbers, best),) = densities
        return numbers * states + best


def numbered_steps(count, unlikely=0.0):
    """Features of so many steps, the first of each its number, for `PlainModel`."""
    features = np.zeros((count, 39))
    features[:, 0] = np.arange(count)
    return StepFeatures(features, np.full(count, unlikely), np.arange(count) / 10, 1.0)


def test_the_score_of_a_phone_is_partly_its_own_and_partly_that_between_its_neighbours():
    places = [("SIL", SINGLE), ("AA", SINGLE), ("SIL", PAUSE), ("S", SINGLE), ("AA", SINGLE), ("SIL", SINGLE)]
    phones = [PhoneInWord(symbol, place, 0, 0) for symbol, place in places]
    spans = [(0, 9), (4, 12), (8, 20), (10, 24), (18, 30), (25, 40)]
    scores = _state_scores(PlainModel(), numbered_steps(40, unlikely=2.0), phones, spans)
    # By hand: 0.6 of the phone's own and 0.4 of that between its neighbours; of silence, less what makes it unlikely.
    slopes = [3, 0.6 * 5 + 0.4 * 11, 3, 0.6 * 7 + 0.4 * 13, 0.6 * 5 + 0.4 * 17, 3]
    for (symbol, _), (first, end), slope, score in zip(places, spans, slopes, scores, strict=True):
        expected = [[0.2 * (slope * step - (2 if symbol == "SIL" else 0)) / 2] for step in range(first, end)]
        assert score == pytest.approx(np.array(expected)), symbol  # 0.2 flattens it; two steps are a tick


@pytest.mark.parametrize(("is_pause", "ends"), [(True, 69.5), (False, 80.5)])
def test_what_is_looked_for_in_a_line_and_where_its_phones_are_put(monkeypatch, is_pause, ends):
    words = [Rough(("AA", "M"), 30, 70), Rough(("S",), 80, 100)]
    lasting = {"AA": np.full(120, -1.0), "M": np.full(120, -2.0), "S": np.full(120, -4.0)}
    asked = []

    def log_durations(rough, steps, factor):
        assert (list(rough), steps, factor) == ([(("AA", "M"), 40), (("S",), 20)], 120, 1.0)
        return lasting

    def beginnings(ranges, boundary):
        asked.append((ranges, boundary))
        # The span's first step and the step in which each begins for certain; half of that step lies before.
        begins = [(0, 0), (0, 31), (0, 51), (25, 70), (35, 81), (55, 101)]
        shares = [np.eye(1, len(one.scores), at - first)[0] for one, (first, at) in zip(ranges, begins, strict=True)]
        return shares if is_pause else [*shares[:3], None, *shares[4:]]

    monkeypatch.setattr(fine, "log_durations", log_durations)
    monkeypatch.setattr(fine, "beginnings", beginnings)
    monkeypatch.setattr(fine, "_state_scores", lambda *given: [np.zeros((b - a, 3)) for a, b in given[3]])
    first, second = look(None, numbered_steps(120), words)
    assert first.tolist() == [[30.5, 50.5], [50.5, ends]]
    assert second.tolist() == [[80.5, 100.5]]
    ((ranges, boundary),) = asked
    assert [one.first for one in ranges] == [0, 0, 0, 70 - REACH, 80 - REACH, 100 - REACH]
    durations = [None if one.durations is None else one.durations[0] for one in ranges]
    assert durations == [None, -1.5, -3.0, None, -6.0, None]  # one and a half times what a duration's logarithm is
    # A pause was found there, from 70 to 80: 80 ms are 16 steps. No other silence may be left out.
    assert [(one.pause, one.least) for one in ranges] == [*[(None, 1)] * 3, (0.0, 16), *[(None, 1)] * 2]
    assert boundary == pytest.approx(1.5 * np.log(np.arange(120) / 10 + 0.8))


def test_a_pause_is_longer_before_a_stop_whose_closure_is_as_silent():
    rough = [Rough(("AA",), 100, 140), Rough(("S",), 140, 160), Rough(("P",), 190, 220)]
    _, _, unfound, s, found, p, _ = _phones(rough, 400)
    assert _pause(unfound, s, 1.0) == (RARE_PAUSE, 16)  # 80 ms in steps of 5
    assert _pause(found, p, 1.0) == (0.0, 32)
    assert _pause(found, p, 0.5) == (0.0, 16)
    assert _pause(found, s, 1.03125) == (
        0.0,
        16,
    )  # 16.5 is rounded to the even one, so not a microsecond more is asked


def test_a_word_sounds_into_the_next_one_whether_a_pause_may_lie_between_or_not():
    places = [("SIL", SINGLE), ("P", SINGLE), ("SIL", PAUSE), ("DH", SINGLE), ("SIL", SINGLE)]
    phones = [PhoneInWord(symbol, place, 0, 0) for symbol, place in places]
    assert [_beside(phones, at, -1) for at in range(5)] == ["SIL", "SIL", "P", "P", "DH"]
    assert [_beside(phones, at, 1) for at in range(5)] == ["P", "DH", "DH", "SIL", "SIL"]
    assert _beside(phones[1:], 1, -1) == "P"
    assert _beside(phones[1:], 0, -1) == "SIL"


def test_phones_that_do_not_fit_are_no_path(model, samples):
    powers = mel_powers(samples[:8000])  # half a second is 100 steps: 33 phones at most
    steps = len(powers)
    sound = StepFeatures(features_of(powers), np.zeros(steps), change_of(powers), 1.0)
    with pytest.raises(NoPathError):
        look(model, sound, [Rough(("AA",) * 60, 1, 99)])


def test_a_spectrum_changes_where_a_tone_begins_and_nowhere_in_an_even_one():
    time_s = np.arange(16_000) / 16_000
    noise = np.random.default_rng(3).normal(size=16_000) * 20
    tone = np.where(time_s < 0.5, 0, 8000 * np.sin(2 * np.pi * 440 * time_s))
    change = change_of(mel_powers((noise + tone).astype(np.int16)))
    assert abs(int(change.argmax()) - 100) <= 3  # step 100 is 0.5 s
    assert change[130:170].max() < change[100] / 2
