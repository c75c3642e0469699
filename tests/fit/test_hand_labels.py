"""People, not machines: closures of two recordings, fitted at the times that a person placed, are all seen.

The labels are those of tests/align/test_hand_labels.py, from the source package of praatio (MIT). The tolerance is
that of tests/fit/test_seen.py.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.phonemes import VOWELS
from lipsync.timing import us_of_seconds
from lipsync.track import Sound
from tests.align.test_hand_labels import LINES, labels
from tests.align.test_hand_labels import package as package
from tests.fit.build import MOUTH_SETS, job_of
from tests.fit.test_seen import CLASSES, RATES, unseen


def labelled(package: Path, begins_us: int) -> list[tuple[Sound, ...]]:
    """Return each recording's sounds, begun at a time of the shot; a label of two phones has half for each."""
    found = []
    for name, (_, grid, tier) in LINES.items():
        sounds = []
        for label, start_s, end_s in labels(package, grid, tier):
            symbols = [symbol for symbol in label.split("+") if symbol.isalpha()]
            edges = (
                [start_s + (end_s - start_s) * n / len(symbols) for n in range(len(symbols) + 1)] if symbols else []
            )
            for symbol, from_s, to_s in zip(symbols, edges, edges[1:], strict=False):
                times = (begins_us + us_of_seconds(at_s) for at_s in (from_s, to_s))
                sounds.append(Sound(name, 0, symbol, name, *times, 1 if symbol in VOWELS else None, None))
        found.append(tuple(sounds))
    return found


@pytest.mark.parametrize("mouth_set", MOUTH_SETS)
@pytest.mark.parametrize("on", ["ones", "mixed"])
@pytest.mark.parametrize("rate", RATES, ids=str)
def test_every_closure_is_seen(package: Path, rate: Fraction, on: str, mouth_set: str) -> None:
    """Wherever in a frame the line begins, on ones and on twos with closures on ones."""
    closures = 0
    for begins_us in range(0, 84_000, 7_000):
        for sounds in labelled(package, begins_us):
            job = job_of(sounds, mouth_set, rate, FittingSettings(on=on))  # type: ignore[arg-type]
            track = fit(job)
            assert unseen(job, track) == []
            assert not [lost for lost in track.lost if lost.sound.symbol in CLASSES]
            closures += sum(sound.symbol in CLASSES for sound in sounds)
    # Counted by hand in the texts, "Bobby ripped the ledger" and "Mary rolled the barrel": three and two.
    assert closures == 12 * 5
