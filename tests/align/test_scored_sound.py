"""A stretch of a line: its features are found once, whichever models score it, and are those of the stretch alone."""

import numpy as np
import pytest

from lipsync.align.acoustic_model import PHONES, acoustic_model
from lipsync.align.adaptation import NONE
from lipsync.align.scored_sound import ScoredSound, ScoredStretches, SlowedSound

SAMPLES = np.random.default_rng(4).normal(0, 2_000, 16_000).astype(np.int16)
SPAN = (0, 500_000)


def test_two_models_score_the_same_features():
    plain, moved = acoustic_model(), acoustic_model().moved(NONE + 0.01)
    stretches = ScoredStretches(SAMPLES)
    first, second = stretches.of(*SPAN, 1.2, plain), stretches.of(*SPAN, 1.2, moved)
    assert second.sound is first.sound
    assert second.model is moved
    assert stretches.of(*SPAN, 1.2, moved) is second
    alone = ScoredSound(SlowedSound(SAMPLES[:8_000], 1.2), moved).alone
    assert np.array_equal(second.alone, alone)
    assert not np.array_equal(first.alone, alone)
    assert alone.shape == (second.ticks, len(PHONES), 3)


# By hand: 100,010 us at 16 kHz lie between samples 1600 and 1601; the stretch begins with the one behind.
@pytest.mark.parametrize(
    ("span", "factor", "part"), [(SPAN, 1.0, slice(0, 8_000)), ((100_010, 500_000), 1.2, slice(1_601, 8_000))]
)
def test_another_stretch_or_another_factor_has_other_features(span, factor, part):
    stretches = ScoredStretches(SAMPLES)
    before = stretches.of(*SPAN, 1.2, acoustic_model())
    found = stretches.of(*span, factor, acoustic_model())
    assert found.sound is not before.sound
    assert np.array_equal(found.samples, SAMPLES[part])
    assert np.array_equal(found.sound.features, SlowedSound(SAMPLES[part], factor).features)
