"""Each phoneme and cue with each mouth set that ships: held alone, it wears its shapes, in order, between rests."""

from __future__ import annotations

from itertools import groupby

import pytest

from lipsync.fit.fitting import fit
from lipsync.fit.mouthset import CUES
from lipsync.phonemes import PHONEMES, VOWELS
from tests.fit.build import MOUTH_SETS, job_of, sounds_from

SOUNDS = [*(f"{s}1" if s in VOWELS else s for s in PHONEMES), *(f"[{cue}]" for cue in CUES)]


def test_there_are_sets() -> None:
    assert len(MOUTH_SETS) >= 2


@pytest.mark.parametrize("name", MOUTH_SETS)
@pytest.mark.parametrize("sound", SOUNDS)
def test_it_wears_its_shapes(name: str, sound: str) -> None:
    mouth_set = MOUTH_SETS[name]
    text = f"SIL500 {sound}{':' if sound[-1].isdigit() else ''}600"
    track = fit(job_of(sounds_from(text), name))
    shapes = [mouth_set.by_code[str(code)].shape for code in track.pieces]
    # Heard from frame 12 to 26.4; the lips open before it, by way of other shapes, and close after it.
    own = mouth_set.shapes_of(sound.rstrip("1"))
    worn = [shape for shape, _ in groupby(shapes[14:25])]
    assert [shape for shape in worn if shape in own] == list(own)
    assert len(worn) <= 2 * len(own) - 1  # from one half of a diphthong to the other by one more at the most
    assert set(shapes[:5]) == {mouth_set.rest}
    assert set(shapes[28:]) == {mouth_set.rest}
    assert track.lost == ()


@pytest.mark.parametrize("name", MOUTH_SETS)
@pytest.mark.parametrize("sound", [s for s in SOUNDS if s.endswith("1")])
def test_a_vowel_held_for_three_seconds_keeps_its_shape_to_its_end(name: str, sound: str) -> None:
    mouth_set = MOUTH_SETS[name]
    track = fit(job_of(sounds_from(f"N80 {sound}:3000"), name))
    last = mouth_set.shapes_of(sound.rstrip("1"))[-1]
    # It ends at 3.08 s, frame 73.9: the last frame that is still its own is 72.
    assert {mouth_set.by_code[str(code)].shape for code in track.pieces[48:73]} == {last}
