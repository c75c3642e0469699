"""Filmed lips beside their words: what tests/learn_lips.py learns from and tests/measure_lips.py measures on.

In comes a folder with `manifest.jsonl` and recordings: a line a clip with `id`, `wav`, `text`, `speaker`, `fps`,
`frames` and `lips`: for each of `gap` (between the inner edges of the lips) and `outer_w` (between the corners of the
mouth) one number a picture, in whatever unit, null where no face was seen. Picture k shows the lips at k/fps + 0 to
10 ms. Out come `Clip`s: opening 1 is the 95th percentile of the speaker's gap in speech, width is in standard
deviations about the mean of the speaker's width in speech. Speech lasts from the first phoneme to the last.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt

import lipsync
from lipsync.errors import LipsyncError
from lipsync.model import Breakdown
from lipsync.timing import frame_start_us
from lipsync.track import Sound, sounds_of

Floats = npt.NDArray[np.float64]

# Of the time in which a picture is taken the middle: 0 to 10 ms after its start.
SHUTTER_US = 5_000


@dataclass(frozen=True)
class Clip:
    """A clip: its sounds, and for each picture opening and width of the lips (nan: no face), and what is speech."""

    id: str
    speaker: str
    rate: Fraction
    sounds: tuple[Sound, ...]
    opening: Floats
    width: Floats
    speech: npt.NDArray[np.bool_]
    levels_db: tuple[float, ...] = ()

    @property
    def moments_us(self) -> list[int]:
        """When each picture is taken."""
        return [frame_start_us(frame, self.rate) + SHUTTER_US for frame in range(len(self.speech))]


def clips(folder: Path, broken_down: Mapping[str, Breakdown] | None = None) -> list[Clip]:
    """Return the clips of a folder, each broken down unless that is given; those that cannot be are named."""
    rows = [json.loads(row) for row in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines()]
    found = list(_clips(folder, rows, broken_down or {}))
    by_speaker: defaultdict[str, list[Clip]] = defaultdict(list)
    for clip in found:
        by_speaker[clip.speaker].append(clip)
    return [one for own in by_speaker.values() for one in _normal(own)]


def _clips(folder: Path, rows: Sequence[dict], known: Mapping[str, Breakdown]) -> Iterator[Clip]:  # type: ignore[type-arg]
    for row in rows:
        try:
            breakdown = known.get(row["id"]) or lipsync.break_down(folder / row["wav"], row["text"])
        except LipsyncError as error:
            print(f"{row['id']}: {error}")  # noqa: T201
            continue
        sounds = sounds_of(breakdown, row["id"], 0)
        gap, width = (
            np.array([np.nan if value is None else value for value in row["lips"][key]]) for key in ("gap", "outer_w")
        )
        if not sounds or np.isnan(gap).all():
            print(f"{row['id']}: no face or no sound")  # noqa: T201
            continue
        rate = Fraction(row["fps"])
        starts = np.array([frame_start_us(frame, rate) for frame in range(len(gap) + 1)])
        speech = (starts[1:] > sounds[0].start_us) & (starts[:-1] < sounds[-1].end_us)
        yield Clip(row["id"], row["speaker"], rate, sounds, gap, width, speech)


def _normal(own: Sequence[Clip]) -> Iterator[Clip]:
    """Yield one speaker's clips with opening and width in that speaker's own measure."""
    gap, width = (np.concatenate([getattr(clip, side)[clip.speech] for clip in own]) for side in ("opening", "width"))
    wide, middle, deviation = np.nanpercentile(gap, 95), np.nanmean(width), np.nanstd(width)
    for clip in own:
        yield replace(clip, opening=clip.opening / wide, width=(clip.width - middle) / deviation)
