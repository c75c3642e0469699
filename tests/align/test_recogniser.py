"""A decoder that has searched other sounds finds what a new one finds; after a failure it is not used again."""

import numpy as np
import pytest

from lipsync.align import recogniser
from lipsync.align.line import LineSettings, pronunciations_of
from lipsync.align.recogniser import LADDER, PARTS, NotFoundError, align_ticks, beginning, find_roughly
from lipsync.audio.recording import read_recording
from lipsync.text.script import tokens_of

OWN = LineSettings(pronunciations={"scuppet": (("S", "K", "AH1", "P", "AH0", "T"),)})


@pytest.fixture
def idle(monkeypatch):
    """The decoders that wait, none at first."""
    waiting = {beams: [] for beams in (*LADDER, PARTS)}
    monkeypatch.setattr(recogniser, "_idle", waiting)
    return waiting


@pytest.fixture(scope="module")
def sounds(sample_folder, sample_lines):
    """Some lines of two voices, as samples and the pronunciations of their words."""
    found = []
    for row in [row for row in sample_lines if "in" not in row][:4]:
        said = pronunciations_of(tokens_of(row["text"]), OWN)
        found.append((read_recording(sample_folder / row["wav"]).samples, [[w.bare for w in ways] for ways in said]))
    return found


@pytest.mark.parametrize("search", [align_ticks, find_roughly, lambda *sound: beginning(*sound, LADDER[0])])
def test_what_a_decoder_heard_before_changes_nothing(idle, sounds, search):
    alone = []
    for sound in sounds:
        idle[LADDER[0]].clear()
        alone.append(search(*sound))
    assert len(idle[LADDER[0]]) == 1
    assert [search(*sound) for sound in reversed(sounds)] == alone[::-1]
    assert len(idle[LADDER[0]]) == 1  # one was enough


def test_after_a_failure_a_new_decoder_is_built(idle, sounds):
    (samples, words), built = sounds[0], align_ticks(*sounds[0])
    (decoder,) = idle[LADDER[0]]
    with pytest.raises(NotFoundError):
        align_ticks(samples[:800], words)  # 50 ms: no room for them
    assert decoder not in idle[LADDER[0]]
    assert align_ticks(samples, words) == built


def test_a_decoder_that_knows_many_words_or_heard_a_long_sound_is_not_kept(idle, sounds, monkeypatch):
    samples, words = sounds[0]
    monkeypatch.setattr(recogniser, "MOST_WORDS", sum(map(len, words)))
    find_roughly(samples, words)
    assert not idle[LADDER[0]]
    monkeypatch.undo()
    monkeypatch.setattr(recogniser, "_idle", idle)
    long = np.concatenate([samples, np.zeros(recogniser.LONGEST_KEPT_S * 16_000, np.int16)])
    find_roughly(long, words)
    assert not idle[LADDER[0]]
