"""Cues move with the voice: worked out by hand from levels that are written down."""

from __future__ import annotations

from itertools import groupby

import pytest

from lipsync.fit.fitting import fit
from tests.fit.build import job_of, sounds_from

# A laugh of five bursts a second at 24 frames: two frames loud, three soft.
BURSTS = [-20.0, -20.0, -45.0, -45.0, -45.0]


def openings(cue: str, levels: list[float], frames: int = 24) -> list[float]:
    """Return how far the mouth opens on each frame of a cue of a second, after half a second of silence."""
    sounds = sounds_from(f"SIL500 [{cue}]{1000 * frames // 24}")
    job = job_of(sounds, on_camera=(True,) * (frames + 24))
    heard = [-120.0] * 12 + levels[:frames]
    heard += [-120.0] * (len(job.on_camera) - len(heard))
    job = job_of(sounds, on_camera=job.on_camera, levels_db=tuple(heard))
    return [job.mouth_set.by_code[str(code)].lips.opening for code in fit(job).pieces[12 : 12 + frames]]


def test_a_laugh_opens_with_its_bursts_and_takes_few_fittings() -> None:
    worn = openings("laugh", BURSTS * 5)
    loud = [worn[at] for at in range(24) if at % 5 < 2]
    soft = [worn[at] for at in range(24) if at % 5 == 3]
    assert min(loud[1:-1]) > max(soft[:-1])
    assert len([*groupby(worn)]) <= 2 * 5 + 2


def test_a_scream_follows_the_level() -> None:
    worn = openings("scream", [-40.0 + at for at in range(24)])
    assert worn[-4] > worn[2]
    assert max(worn) >= 0.6


def test_a_hum_stays_closed_and_an_even_cue_stays_still() -> None:
    assert set(openings("hum", BURSTS * 5)) == {0.0}
    assert len({*openings("breath", [-30.0] * 24)[2:-2]}) == 1


@pytest.mark.parametrize("cue", ["scream", "laugh", "gasp"])
def test_before_a_soft_onset_the_mouth_is_no_wider_than_on_it(cue: str) -> None:
    frames = 48
    sounds = sounds_from(f"SIL1000 [{cue}]{1000 * frames // 24}")
    rising = [-120.0] * 24 + [-45.0 + 0.6 * at for at in range(frames)] + [-120.0] * 24
    job = job_of(sounds, on_camera=(True,) * len(rising), levels_db=tuple(rising))
    worn = [job.mouth_set.by_code[str(code)].lips.opening for code in fit(job).pieces]
    assert max(worn[:24]) <= max(worn[24:30])
    assert max(worn[24:30]) < max(worn[60:72])
