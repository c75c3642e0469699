"""The front end and the model, written out in numpy, against the recogniser itself; and the forward-backward sums."""

import itertools
import os

import numpy as np
import pocketsphinx
import pytest

from lipsync.listen.acoustic_model import AcousticModel
from lipsync.listen.align_pocketsphinx import model_folder
from lipsync.listen.features import CEPSTRA, PER_TICK, features_of, mel_powers, product
from lipsync.listen.recording import read_recording
from lipsync.listen.second_look import NoPathError, Placed, _backward, _forward, _medians, _spans, look
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
    features = features_of(mel_powers(samples[LATE:]))[::PER_TICK]
    phones = sorted(PHONEMES)
    count = min(len(features), len(scores))
    states = np.concatenate([model.states(phone) for phone in phones])
    ours = np.hstack([model.scores(model.densities(features, phone), model.states(phone)) for phone in phones])
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


def test_forward_and_backward_sum_over_all_paths():
    """Against the definition: every way through nine states in twelve steps, one by one."""
    generator = np.random.default_rng(2)
    steps, states = 12, 9
    scores, stay, leave = (
        generator.normal(size=(steps, states)),
        np.log(np.full(states, 0.6)),
        np.log(np.full(states, 0.4)),
    )
    band = (np.zeros(steps, int), np.full(steps, states))
    ahead = _forward(scores, stay, leave, band)
    entering = _backward(scores, stay, leave, band, ahead)
    total, expected = 0.0, np.zeros((steps, states // 3))
    for jumps in itertools.combinations(range(1, steps), states - 1):
        path = np.searchsorted(jumps, np.arange(steps), side="right")
        moved = np.diff(path, append=states - 1)
        weight = np.exp(
            scores[np.arange(steps), path].sum()
            + sum(leave[s] if m else stay[s] for s, m in zip(path[:-1], moved[:-1], strict=True))
        )
        total += weight
        for phone, start in enumerate((0, jumps[2], jumps[5])):
            expected[start, phone] += weight
    assert np.exp(ahead[-1, -1]) == pytest.approx(total)
    assert entering == pytest.approx(expected / total)


def test_the_median_of_a_start():
    entering = np.zeros((10, 2))
    entering[0, 0] = 1
    entering[[4, 5, 6], 1] = (0.25, 0.5, 0.25)
    assert _medians(entering) == pytest.approx([0, 4.5])


def test_phones_may_be_moved_but_not_past_each_other():
    spans = _spans([Placed("SIL", 0), Placed("AA", 300), Placed("M", 320), Placed("SIL", 700)], 800)
    assert spans[0][0] == 0
    assert spans[-1][1] == 800
    assert all(before[0] <= after[0] and before[1] <= after[1] for before, after in itertools.pairwise(spans))
    assert spans[1] == (150, 470)


def test_phones_that_do_not_fit_are_no_path(model, samples):
    features = features_of(mel_powers(samples[:8000]))  # half a second is 100 steps: 33 phones at most
    phones = [Placed("SIL", 0), *(Placed("AA", k) for k in range(60)), Placed("SIL", 99)]
    with pytest.raises(NoPathError):
        look(model, features, phones, np.zeros(len(features)))
