"""Edges of the rules, each worked out by hand: a turned-round comparison fails here."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from lipsync.fit.backtrace import open_demands
from lipsync.fit.closures import closure_costs
from lipsync.fit.cost_matrix import AllowedFittings, CostMatrix, Demand
from lipsync.fit.fitting import fit
from lipsync.fit.optimum import solve
from lipsync.fit.schedule import turns_of
from tests.fit.build import frame_us, job_of, sounds_from, vowel_between


def costs_on(job: object, code: str) -> list[int]:
    """Return the frames on which a piece costs something by the rule of closures."""
    codes = list(job.mouth_set.by_code)  # type: ignore[attr-defined]
    frames = range(len(job.on_camera))  # type: ignore[attr-defined]
    costs = closure_costs(job, turns_of(job), {frame: frame for frame in frames}, codes)  # type: ignore[arg-type]
    return [frame for frame in frames if costs[frame, codes.index(code)]]


def test_a_sound_that_ends_at_a_frames_start_is_not_heard_on_it() -> None:
    """At 24: AA from frame 12 to the very start of frame 24. Rest may not be worn on 12 to 23, and may on 24."""
    job = job_of((vowel_between(12, 24),))
    assert job.sounds[0].end_us == frame_us(24)
    assert costs_on(job, "REST") == list(range(12, 24))


def test_closed_lips_cost_while_others_are_heard_but_not_on_their_way_nor_while_they_are_heard() -> None:
    """AA to frame 12, M from 12 to 18, AA to 24: closed lips are free on 11, on their way, and on 12 to 17."""
    job = job_of(sounds_from("AA1:500 M250 AA1:250"))
    assert costs_on(job, "SHUT") == [*range(11), *range(18, 24)]
    # Open lips cost on the two frames that the closure is worn on at least.
    assert costs_on(job, "OPEN2") == [12, 13]


def test_a_character_that_rests_with_closed_lips_rests_on_them() -> None:
    job = job_of(sounds_from("SIL800 AA1:200"), rests_on="SHUT")
    assert set(fit(job).pieces[:8]) == {"SHUT"}
    assert costs_on(job, "SHUT") == list(range(20, 24))  # AA is heard from frame 19.2: on the picture of 20 first


def test_of_too_many_demands_the_cheapest_are_given_up() -> None:
    """Ten for one frame, each for a piece of its own: nine are followed, one of these is met, and all others paid."""
    frames, pieces = 1, 10
    matrix = CostMatrix(
        unlike=np.zeros((frames, pieces), dtype=np.int64),
        change=np.zeros((pieces, pieces), dtype=np.int64),
        unseen_change=np.zeros((pieces, pieces), dtype=np.int64),
        allowed=(AllowedFittings.ALL,),
        unseen=(False,),
        closures=np.zeros(pieces, dtype=np.bool_),
        shortest=1,
        short_price=0,
        longest=1,
        long_price=np.zeros(frames, dtype=np.int64),
        demands=tuple(Demand(0, 0, frozenset({at}), 10 + at) for at in range(10)),
    )
    assert open_demands(matrix) == [tuple(range(1, 10))]
    best = solve(matrix)
    assert best.pieces == (9,)
    assert best.cost == sum(10 + at for at in range(9))


def test_a_demand_is_open_on_the_frames_of_its_span_that_the_shot_has() -> None:
    spans = ((-2, 1), (3, 9), (-5, 9), (7, 8), (-3, -1))
    problem = SimpleNamespace(unlike=range(5), demands=[Demand(*span, frozenset(), 1) for span in spans])
    assert open_demands(problem) == [(0, 2), (0, 2), (2,), (1, 2), (1, 2)]  # type: ignore[arg-type]
