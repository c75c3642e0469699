"""A transform of the model's means is found again that was put in, and little sound moves them little."""

import numpy as np
import pytest

from lipsync.align.acoustic_model import PHONES, STREAMS, WIDTH, acoustic_model, terms_of
from lipsync.align.adaptation import NONE, Accumulated, _of_phones, transform_of
from lipsync.phonemes import SILENCE

PHONES_SAID = ("AA", "IY", "S", "N", "UW", "EH", "M", "L", "T", "AE")


def drawn(count, transform=NONE, seed=0):
    """Features of so many ticks of each phoneme, drawn from its own means under a transform; and where they lie."""
    chance, model = np.random.default_rng(seed), acoustic_model()
    rows, phones = [], []
    for number, symbol in enumerate(PHONES_SAID):
        mean, inverse = model.gaussians(symbol)
        moved = np.einsum("sij,sgj->sgi", transform[:, :, 1:], mean) + transform[:, None, :, 0]
        chosen = chance.integers(mean.shape[1], size=(count, STREAMS))
        for one in chosen:
            means = np.concatenate([moved[stream, gaussian] for stream, gaussian in enumerate(one)])
            spread = np.concatenate([inverse[stream, gaussian] ** -0.5 for stream, gaussian in enumerate(one)])
            rows.append(means + 0.3 * spread * chance.normal(size=means.shape))
        phones.append((symbol, number * count, (number + 1) * count))
    return np.array(rows), phones


def moved_by(shift, scale):
    transform = NONE.copy()
    transform[:, :, 0] += shift
    transform[:, :, 1:] *= scale
    return transform


def test_the_transform_that_was_put_in_is_found_by_more_than_half_in_one_pass():
    shift = np.zeros((STREAMS, WIDTH))
    shift[0] = np.linspace(-3, 3, WIDTH)
    wanted = moved_by(shift, 1.0)
    features, phones = drawn(200, wanted)
    found = transform_of(_of_phones(acoustic_model(), features, phones), NONE, 1.0)
    model = acoustic_model()
    means = np.concatenate([model.gaussians(symbol)[0] for symbol in PHONES_SAID], axis=1)

    def away(transform):
        return (
            np.einsum("sij,sgj->sgi", transform[:, :, 1:] - wanted[:, :, 1:], means)[0]
            + (transform - wanted)[0, :, 0]
        )

    assert np.abs(away(found)).mean() < 0.5 * np.abs(away(NONE)).mean()


def test_a_model_moved_towards_a_voice_fits_it_better_and_silence_stays():
    features, phones = drawn(60, moved_by(np.full((STREAMS, WIDTH), 1.0), 1.2), seed=1)
    model = acoustic_model()
    moved = model.moved(transform_of(_of_phones(model, features, phones), NONE, 50.0))
    terms = terms_of(features)
    before, after = (one.alone(one.densities(terms, phone) for phone in PHONES).max(axis=2) for one in (model, moved))
    rows = [(k, PHONES.index(symbol)) for symbol, first, end in phones for k in range(first, end)]
    gains = [after[row] - before[row] for row in rows]
    assert np.mean(gains) > 0.5
    assert before[:, PHONES.index(SILENCE)] == pytest.approx(after[:, PHONES.index(SILENCE)])


def test_the_prior_counts_as_so_many_ticks():
    nothing = Accumulated(np.zeros((STREAMS, WIDTH, 1 + WIDTH, 1 + WIDTH)), np.zeros((STREAMS, WIDTH, 1 + WIDTH)), 0)
    assert transform_of(nothing, NONE, 100.0) == pytest.approx(NONE)
    features, phones = drawn(30, moved_by(np.full((STREAMS, WIDTH), 2.0), 1.0), seed=2)
    heard = _of_phones(acoustic_model(), features, phones)
    shifts = [np.abs(transform_of(heard, NONE, caution) - NONE).mean() for caution in (10.0, 1e3, 1e7)]
    assert shifts == sorted(shifts, reverse=True)
    assert shifts[-1] < 0.01 * shifts[0]
    voice = moved_by(np.full((STREAMS, WIDTH), 1.0), 1.0)
    assert transform_of(heard, voice, 1e9) == pytest.approx(voice, abs=1e-3)


def test_two_lines_count_as_their_sum():
    features, phones = drawn(20)
    half = len(features) // 2
    model = acoustic_model()
    whole = _of_phones(model, features, phones)
    first = _of_phones(model, features[:half], phones[: len(phones) // 2])
    rest = [(symbol, start - half, end - half) for symbol, start, end in phones[len(phones) // 2 :]]
    summed = first + _of_phones(model, features[half:], rest)
    assert summed.ticks == whole.ticks
    assert summed.square == pytest.approx(whole.square)
    assert summed.cross == pytest.approx(whole.cross)
