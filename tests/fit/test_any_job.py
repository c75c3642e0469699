"""What holds for every job, however odd: random shots with all that people may have done to them."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings, Holds, Leads, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.keys import keys
from lipsync.fit.mouthset import CUES, MouthSet
from lipsync.fit.why import why
from lipsync.phonemes import PHONEMES, VOWELS
from lipsync.timing import frame_at, frame_start_us
from lipsync.track import Sound
from lipsync.workshop.piece_selection import reduced_sets
from tests.fit.build import MOUTH_SETS, job_of, small_set, sounds_from

RATES = [Fraction(text) for text in ("12", "24", "24000/1001", "25", "30000/1001", "50", "60", "7/2")]


def odd_sounds(seed: random.Random) -> tuple[Sound, ...]:
    """Sounds of two lines that begin before the shot, overlap, follow at once or after long silences, any length."""
    sounds = []
    for line in ("l1", "l2"):
        at_us = seed.randint(-400_000, 800_000)
        for part in range(seed.randint(0, 12)):
            at_us += seed.choice([0, 0, 0, 15_000, 400_000])
            end_us = at_us + seed.choice([1, 1000, 10_000, 30_000, 80_000, 150_000, 1_500_000])
            symbol = seed.choice([*PHONEMES, *(f"[{cue}]" for cue in CUES)])
            stress = seed.choice([0, 1, 2]) if symbol in VOWELS else None
            level = seed.choice([None, -120.0, -30.0, 0.0])
            sounds.append(Sound(line, part, symbol, symbol, at_us, end_us, stress, level))
            at_us = end_us
    seed.shuffle(sounds)
    return tuple(sounds)


def odd_job(seed: random.Random) -> Job:
    mouth_set = seed.choice([*MOUTH_SETS.values(), small_set()])
    frames = seed.choice([0, 1, 2, 10, 60])
    codes = list(mouth_set.by_code)
    shortest = seed.randint(1, 4)
    some = [frame for frame in range(frames) if seed.random() < 0.1]
    return job_of(
        odd_sounds(seed),
        mouth_set,
        seed.choice(RATES),
        FittingSettings(
            on=seed.choice(["ones", "twos", "mixed"]),
            lead=Leads(**{k: seed.randint(-4, 4) for k in ("lips_closed", "lip_to_teeth", "vowels", "others")}),
            price=Prices(fitting=seed.choice([0.0, 0.25, 1000.0]), jump=seed.choice([0.0, 1.0])),
            hold=Holds(
                shortest=shortest, longest=shortest + seed.randint(0, 8), shortest_rest=seed.choice([0, 6, 96])
            ),
        ),
        on_camera=tuple(seed.random() < 0.9 for _ in range(frames)),
        rests_on=seed.choice(codes),
        filmed={frame: seed.choice([*codes, "OLD", None]) for frame in some if seed.random() < 0.5},
        pinned={frame: seed.choice(codes) for frame in some if seed.random() < 0.5},
        forbidden={frame: frozenset(seed.sample(codes, len(codes) - 1)) for frame in some},
    )


def test_600_odd_jobs() -> None:
    seed = random.Random(600)
    for number in range(600):
        job = odd_job(seed)
        track = fit(job)
        assert [piece is not None for piece in track.pieces] == list(job.seen)
        for frame, piece in enumerate(track.pieces):
            if frame in job.filmed:
                assert piece == job.filmed[frame]
            elif piece is not None and frame in job.pinned:
                assert piece == job.pinned[frame]
            elif piece is not None:
                assert piece in job.mouth_set.by_code
                assert piece not in job.forbidden.get(frame, ())
        # Sounds are shown in the order in which they are heard, each in one stretch.
        shown = [sound for sound in track.serves if sound is not None]
        order = sorted(job.sounds, key=lambda s: (s.start_us, s.end_us))
        places = [order.index(sound) for sound in shown]
        assert places == sorted(places)
        assert sum(key.hold for key in keys(track, job)) == sum(job.seen)
        assert fit(replace(job, sounds=tuple(order))) == track
        if number % 20 == 0 and any(job.seen):
            why(job, job.seen.index(True))


def test_long_silences_rest() -> None:
    seed = random.Random(61)
    rests = 0
    for _ in range(200):
        job = odd_job(seed)
        job = replace(job, filmed={}, pinned={}, forbidden={})
        track = fit(job)
        for frame in range(len(track.pieces)):
            if track.pieces[frame] is not None and silent_around(job, frame):
                assert track.pieces[frame] == job.rests_on
                rests += 1
    assert rests > 120


def silent_around(job: Job, frame: int) -> bool:
    """Whether nothing is heard near a frame: no sound whose lead, tolerance and place in the crowd could reach it."""
    # Lips open before the first sound (rules.OPENS_US), within 0.35 s at the most.
    reach = (
        8
        + frame_at(350_000, job.rate)
        + sum(1 for s in job.sounds if abs(frame_at(s.start_us, job.rate) - frame) < 30)
    )
    reach = max(reach, job.settings.hold.shortest_rest + 2)
    first = frame_start_us(max(0, frame - reach), job.rate)
    last = frame_start_us(frame + reach, job.rate)
    return all(sound.end_us <= first or sound.start_us >= last for sound in job.sounds)


def test_changes_fall_on_twos() -> None:
    seed = random.Random(62)
    for _ in range(200):
        job = replace(odd_job(seed), filmed={}, pinned={}, forbidden={})
        fittings = fit(job).fittings
        closed = {piece.code for s in "PBMFV" for piece in job.mouth_set.sizes[job.mouth_set.shapes_of(s)[0]]}
        for before, after in pairwise(fittings):
            back = not job.on_camera[after.frame - 1]
            closure = job.settings.on == "mixed" and {before.code, after.code} & closed
            assert job.settings.on == "ones" or after.frame % 2 == 0 or back or closure


def test_a_set_of_two_pieces() -> None:
    """The smallest there is; one piece is no set (tests/sample/test_mouthset_faults.py)."""
    two = small_set().model_dump()
    two["piece"] = two["piece"][:2]
    two["phonemes"] = {symbol: ("shut" if symbol in "PBM" else "rest",) for symbol in PHONEMES}
    two["cues"] = dict.fromkeys(CUES, "rest")
    mouth_set = MouthSet.model_validate(two)
    job = job_of(sounds_from("P90 AA1:200 F90"), mouth_set)
    assert set(fit(job).pieces) == {"RE", "SH"}
    assert why(job, 1).pieces[0].code == "SH"
    assert [(row.pieces, row.codes) for row in reduced_sets([job])] == [(2, ("RE", "SH"))]
