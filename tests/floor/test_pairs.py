"""On twos two frames are one pose: where one of them is in the can, the other keeps its piece.

Pairs are counted from the shot's first frame (common practice: an exposure sheet on twos has an entry on every other
row from the first). Locks may begin and end anywhere, so half a pair may be filmed at either end of one.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest

from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.floor.locking import lock
from tests.fit.build import job_of, sounds_from
from tests.floor.build import pieces_of, planned, printed, production_of, the_plan

# Words close together, so that mouths would change on every frame if they could, and a silence in which they rest.
SOUNDS = sounds_from("P60 AA1:90 M60 IY1:80 | F70 OW1:90 SIL700 B60 UW1:90 T60 AE1:80 | V60 IY1:90")


def filmed_somewhere(seed: random.Random, job):
    """Two ranges, each of any length and begun anywhere, in any pieces: what was filmed was filmed."""
    codes, found = list(job.mouth_set.by_code), {}
    for _ in range(2):
        first = seed.randrange(len(job.on_camera))
        for frame in range(first, min(len(job.on_camera), first + seed.randint(1, 9))):
            found[frame] = seed.choice(codes)
    return found


@pytest.mark.parametrize("on", ["twos", "mixed"])
def test_the_other_frame_of_a_pair_keeps_its_piece(on) -> None:
    seed, halves = random.Random(5), 0
    job = job_of(SOUNDS, settings=FittingSettings(on=on))
    closed = {piece.code for s in "PBMFV" for piece in job.mouth_set.sizes[job.mouth_set.shapes_of(s)[0]]}
    for _ in range(100):
        there = replace(job, filmed=filmed_somewhere(seed, job))
        track = fit(there)
        for frame, code in there.filmed.items():
            assert track.pieces[frame] == code
            if (other := frame ^ 1) not in there.filmed and other < len(job.on_camera):
                halves += 1
                same = track.pieces[other] == code
                assert same or (on == "mixed" and {track.pieces[other], code} & closed)
        for before, after in pairwise(track.fittings):
            if after.frame % 2 and not {after.frame - 1, after.frame} <= set(there.filmed):
                assert on == "mixed"
                assert {before.code, after.code} & closed
    assert halves > 100


def test_on_ones_the_next_frame_is_free() -> None:
    job = job_of(SOUNDS)
    free = fit(job)
    changed = next(f.frame for f in free.fittings if f.frame % 2 and free.pieces[f.frame - 1] != f.code)
    there = fit(replace(job, filmed={changed - 1: free.pieces[changed - 1]}))
    assert there.pieces == free.pieces


@pytest.mark.parametrize("fixed", ["pinned", "forbidden", "gone"])
def test_a_person_has_the_last_word_and_a_piece_that_is_gone_is_not_asked_for(fixed) -> None:
    job = job_of(SOUNDS, settings=FittingSettings(on="twos"))
    there = {
        "pinned": replace(job, filmed={4: "OPEN2"}, pinned={5: "RING1"}),
        "forbidden": replace(job, filmed={4: "OPEN2"}, forbidden={5: frozenset({"OPEN2"})}),
        "gone": replace(job, filmed={4: "OLD9"}),
    }[fixed]
    pieces = fit(there).pieces
    assert pieces[4] == there.filmed[4]
    assert pieces[5] != pieces[4]
    assert fixed != "pinned" or pieces[5] == "RING1"


def test_locked_by_half_the_next_frame_holds(tmp_path) -> None:
    """By hand: frames 1 to 9 are locked, 9 and 10 are a pair; RING1 was on 9, so it is on 10 too, and not on 11."""
    production = production_of(tmp_path, file={"fitting": {"on": "twos"}})
    printed(production, the_plan(planned(production)))
    lock(production, "010", (1, 9), ["9=heron:RING1"])
    pieces = pieces_of(the_plan(planned(production)))["heron"]
    assert pieces[8:10] == ("RING1", "RING1")
    assert pieces[10] != "RING1"
