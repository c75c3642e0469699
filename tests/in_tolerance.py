"""Whether closed lips and lip to teeth are seen: random words on every rate and manner of changing.

In comes a mouth set; out come, for P, B, M and for F, V, how many are heard, how many no frame within the film
tolerance shows (picture at most two frames ahead of its sound and one behind, as ITU-R Report BS.1204 quotes the film
standards), and how many of these the track does not name as lost. Words are drawn from the pronouncing dictionary,
sounds last 30 to 200 ms, one word in five has a pause before it (tests/fit/build.py).
"""

from __future__ import annotations

import gzip
import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from importlib.resources import files
from itertools import product

from fit.build import job_of, speech

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.fit.mouthset import MouthSet
from lipsync.timing import US_PER_S
from lipsync.track import FrameTrack, Sound

TEXTS = 150
CLASSES = {"P": "P B M", "B": "P B M", "M": "P B M", "F": "F V", "V": "F V"}


@cache
def texts() -> list[tuple[Sound, ...]]:
    data = gzip.decompress((files("lipsync") / "text" / "data" / "cmudict.dict.gz").read_bytes()).decode()
    dictionary = [line.split()[1:] for line in data.splitlines()]
    seed = random.Random(1204)
    return [speech(seed.choices(dictionary, k=seed.randint(3, 8)), seed) for _ in range(TEXTS)]


def unseen(job: Job, track: FrameTrack) -> Iterator[Sound]:
    """Yield the sounds that no frame within the tolerance shows, in exact arithmetic."""
    for sound in job.sounds:
        if sound.symbol in CLASSES:
            start = Fraction(sound.start_us) * job.rate / US_PER_S
            near = [frame for frame in range(max(0, int(start) - 3), len(track.pieces)) if -2 <= frame - start <= 1]
            own = {piece.code for piece in job.mouth_set.sizes[job.mouth_set.shapes_of(sound.symbol)[0]]}
            if not any(track.pieces[frame] in own for frame in near):
                yield sound


def print_tolerance(mouth_set: MouthSet) -> None:
    """Print a row for each rate and manner of changing."""
    print(f"  tolerance         random words, {TEXTS} texts: not seen of how many (not seen and not named)")  # noqa: T201
    for rate, on in product((24, 25, 30), ("ones", "twos", "mixed")):
        heard: Counter[str] = Counter()
        missing: Counter[str] = Counter()
        silent: Counter[str] = Counter()
        settings = FittingSettings.model_validate({"on": on})
        for sounds in texts():
            job = job_of(sounds, mouth_set, Fraction(rate), settings)
            track = fit(job)
            named = {lost.sound for lost in track.lost}
            heard.update(CLASSES[sound.symbol] for sound in sounds if sound.symbol in CLASSES)
            for sound in unseen(job, track):
                missing[CLASSES[sound.symbol]] += 1
                silent[CLASSES[sound.symbol]] += sound not in named
        rows = (f"{name} {missing[name]} of {heard[name]} ({silent[name]})" for name in ("P B M", "F V"))
        print(f"    at {rate}, on {on:5}  {', '.join(rows)}")  # noqa: T201
