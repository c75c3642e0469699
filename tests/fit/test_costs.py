"""The track that is fitted is the cheapest there is, counted piece by piece along every track of small shots."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from lipsync.fit.cost_matrix import FORBIDDEN, UNIT, AllowedFittings, CostMatrix, Demand
from lipsync.fit.costs import Costs, _span
from lipsync.fit.fit_settings import FittingSettings, Holds, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.optimum import solve
from lipsync.fit.rules import must_price
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from tests.fit.build import job_of, small_set, sounds_from, speech
from tests.fit.first_form import pieces_by_rule

MUST = 1e6


def price_of(costs: Costs) -> float:
    return costs.total + MUST * costs.missed


def test_no_track_of_300_small_shots_is_cheaper() -> None:
    seed = random.Random(7)
    symbols = ["P", "M", "F", "AA1", "IH0", "T", "OW1", "K"]
    for _ in range(300):
        frames = seed.randint(2, 5)
        sounds = speech([seed.choices(symbols, k=seed.randint(1, 4))], seed, seed.randint(-60_000, 60_000))
        on_camera = tuple(seed.random() < 0.9 for _ in range(frames))
        settings = FittingSettings(
            on=seed.choice(["ones", "twos", "mixed"]),
            price=Prices(fitting=seed.uniform(0, 1), jump=seed.uniform(0, 1), short_hold=seed.uniform(0, 1)),
            hold=Holds(shortest=seed.randint(1, 2), longest=seed.randint(2, 3), shortest_rest=2),
        )
        job = job_of(sounds, small_set(), settings=settings, on_camera=on_camera)
        if seed.random() < 0.3:
            job = replace(job, filmed={0: seed.choice(["RE", "OP", "SH", None, "OLD"])})
        weighing = weigh(job, turns_of(job))
        found = solve(weighing.problem)
        least = min(
            (
                price_of(weighing.costs(weighing.pieces(columns)))
                for columns in product(range(len(weighing.codes)), repeat=len(weighing.frames))
                if allowed(weighing.problem, columns)
            ),
            default=0.0,
        )
        missed = weighing.costs(weighing.pieces(found.pieces)).missed
        assert found.cost / UNIT - must_price(job) / UNIT * missed == pytest.approx(least - MUST * missed, abs=1e-5)
        assert price_of(weighing.costs(weighing.pieces(found.pieces))) == pytest.approx(least, abs=1e-5)


def test_no_price_buys_off_a_sound_that_must_be_seen() -> None:
    """At the highest prices that may be set: B, then F, a frame and a half each, in a shot of twelve frames."""
    dear = dict.fromkeys(Prices.model_fields, 1000.0)
    for prices in ({"short_hold": 900.0, "fitting": 1.0}, dear, dear | {"missed_stress": 0.0}):
        for on in ("ones", "mixed"):
            settings = FittingSettings(on=on, price=Prices(**prices), hold=Holds(shortest=12, longest=12))
            for text in ("B60 F60", "AA1:60 B60 IY1:60 F60 OW1:60"):
                job = job_of(sounds_from(text), settings=settings, on_camera=(True,) * 12)
                lost = [missed.sound.symbol for missed in fit(job).lost]
                assert not {"B", "F"} & set(lost)


def allowed(problem: object, columns: tuple[int, ...]) -> bool:
    """Whether every piece may be worn where it is, and may be put on there."""
    unlike, rules, closures = problem.unlike, problem.allowed, problem.closures  # type: ignore[attr-defined]
    for at, column in enumerate(columns):
        if unlike[at, column] >= FORBIDDEN:
            return False
        if at and columns[at - 1] != column:
            closure = closures[column] or closures[columns[at - 1]]
            if rules[at] == 2 or (rules[at] == 1 and not closure):
                return False
    return True


def test_costs_of_a_track_by_hand() -> None:
    """A stressed AA of 0.6 s fills the whole shot of 12 frames: held, so that it is all its shape's, the open mouth.

    That is 0.75 from rest in opening (weight 1) and 0.1 in width (0.8): d = sqrt(0.5625 + 0.008) = 0.755315. A
    stressed AA counts 1 * 1.5 * (0.75 + 0.5 / 2) = 1.5 a frame, and where lips are unsure by s, d adds
    sqrt(d² + s²) - s.
    """
    job = job_of(sounds_from("AA1:600"), small_set(), on_camera=(True,) * 12)
    weighing = weigh(job, turns_of(job))
    costs = weighing.costs(("RE", "OP", *(["RE"] * 10)))
    # From the third frame on nothing but AA has a hand in the lips, to a hundredth.
    assert weighing.asked.rows[5] == pytest.approx((0.8, 0.6, 0.1, 0.0, 0.0), abs=0.03)
    unsure = weighing.asked.unsure[5]
    assert weighing.visual[5, 0] / UNIT == pytest.approx(1.5 * ((0.755315**2 + unsure**2) ** 0.5 - unsure), abs=0.06)
    assert costs.fittings == 3
    assert costs.fitting == pytest.approx(2 * 0.14)
    assert costs.jump == pytest.approx(2 * 0.2 * (0.755315 - 0.6), abs=1e-4)
    assert costs.short_hold == pytest.approx(2 * 0.1)  # two holds of one frame each
    assert costs.missed_stress == 0.0  # it is seen on frame 1
    assert weighing.costs(("RE",) * 12).missed_stress == 3.0
    assert costs.missed == 0


def test_never_dearer_than_the_first_form() -> None:
    seed = random.Random(9)
    for _ in range(40):
        words = [seed.choices(["P", "T", "AA1", "IY0", "F", "S", "UW1", "N", "K"], k=4) for _ in range(6)]
        job = job_of(speech(words, seed))
        turns = turns_of(job)
        weighing = weigh(job, turns)
        best, rule = weighing.costs(fit(job).pieces), weighing.costs(pieces_by_rule(job, turns))
        assert price_of(best) <= price_of(rule) + 1e-6


def test_what_is_filmed_stays_and_what_it_leaves_out_is_named() -> None:
    sounds = sounds_from("SIL200 AA1:200 M120 AA1:200")
    free = fit(job_of(sounds))
    closed = [frame for frame, piece in enumerate(free.pieces) if piece == "SHUT"]
    filmed = {frame: "OLD1" for frame in range(closed[-1] + 3)}  # a piece that the set no longer has
    track = fit(job_of(sounds, filmed=filmed))
    assert all(track.pieces[frame] == "OLD1" for frame in filmed)
    assert {(lost.sound.symbol, lost.sound.start_us) for lost in track.lost} >= {("M", 400_000)}
    assert all("filmed, and wear OLD1" in lost.reason for lost in track.lost)
    # Off camera when it was filmed, whatever the shot says now.
    assert fit(job_of(sounds, filmed={0: None})).pieces[0] is None


def test_fitting_goes_on_from_what_is_filmed() -> None:
    sounds = sounds_from("AA1:500")
    track = fit(job_of(sounds, filmed={0: "OPEN1", 1: "OPEN1", 2: "OPEN1"}))
    assert track.pieces[:3] == ("OPEN1",) * 3
    dear = FittingSettings(price=Prices(fitting=100.0))
    assert fit(job_of(sounds, settings=dear, filmed={0: "OPEN1"})).pieces[1:10] == ("OPEN1",) * 9


@pytest.mark.parametrize("on", ["ones", "twos", "mixed"])
def test_what_a_person_pinned_or_forbade_holds(on: str) -> None:
    sounds = sounds_from("SIL500 AA1:400 SIL500")
    settings = FittingSettings(on=on)  # type: ignore[arg-type]
    track = fit(job_of(sounds, settings=settings, pinned={3: "GRIT", 15: "POUT"}, forbidden={8: frozenset({"REST"})}))
    assert (track.pieces[3], track.pieces[15]) == ("GRIT", "POUT")
    assert track.pieces[8] != "REST"
    assert track.pieces[2] == "REST"


def test_dear_fittings_are_fewer() -> None:
    """Known of every optimum of a sum: the dearer one part, the less of it."""
    seed = random.Random(3)
    job = job_of(speech([["D", "AA1", "K", "IY0", "S", "UW1"]] * 5, seed))
    fittings = []
    for price in (0.0, 0.1, 0.3, 1.0, 5.0, 50.0):
        settings = FittingSettings(price=Prices(fitting=price))
        fittings.append(len(fit(replace(job, settings=settings)).fittings))
    assert fittings == sorted(fittings, reverse=True)
    assert fittings[0] > fittings[-1]


def test_every_sound_that_is_missed_counts() -> None:
    """P, M and B share their frames, and are three sounds."""
    free = job_of(sounds_from("AA1:300 P10 M10 B10 AA1:300"))
    job = replace(free, filmed=dict.fromkeys(range(len(free.on_camera)), "OPEN2"))
    track, weighing = fit(job), weigh(job, turns_of(job))
    assert [lost.sound.symbol for lost in track.lost if lost.sound.symbol in "PMB"] == ["P", "M", "B"]
    assert weighing.costs(track.pieces).missed == 3


def test_one_filmed_frame_is_not_why_a_vowel_is_lost() -> None:
    settings = FittingSettings(price=Prices(missed_stress=0.0, fitting=2.0))
    free = job_of(sounds_from("IY1:200 B90 AA1:30 M90 IY1:200"), settings=settings)
    (lost,) = fit(free).lost
    assert lost.reason.startswith("it is too short beside what is seen around it")
    shut = fit(free).pieces.index("SHUT")
    (lost,) = fit(replace(free, filmed={shut: "SHUT"})).lost
    assert lost.reason.startswith("it is too short beside what is seen around it")


def test_frames_that_are_filmed_or_pinned_are_why_a_closure_is_lost() -> None:
    free = job_of(sounds_from("AA1:250 P80 AA1:250"))
    (lost,) = fit(
        replace(free, filmed=dict.fromkeys(range(7), "OPEN2"), pinned=dict.fromkeys(range(7, 10), "OPEN2"))
    ).lost
    assert lost.reason == "the frames on which it could be seen are filmed or ruled by hand, and wear OPEN2"


def test_a_demand_may_begin_before_the_shot_and_end_after_it() -> None:
    spans = {
        span: list(_span(Demand(*span, frozenset(), 0), 5)) for span in ((-2, 9), (1, 3), (4, 4), (5, 8), (-3, -1))
    }
    assert spans == {(-2, 9): [0, 1, 2, 3, 4], (1, 3): [1, 2, 3], (4, 4): [4], (5, 8): [], (-3, -1): []}


def test_the_total_is_the_sum_of_all_costs() -> None:
    costs = Costs(
        visual=1,
        fittings=1000,
        fitting=2,
        jump=4,
        short_hold=8,
        long_hold=16,
        closed_lips=32,
        missed_stress=64,
        missed=1000,
    )
    assert costs.total == 127


def test_each_cost_along_a_track_by_hand() -> None:
    """A on three frames, B on one, and C on five, put on while off camera. In millionths."""
    job = job_of((), small_set(), settings=FittingSettings(price=Prices(fitting=0.5)), on_camera=(True,) * 9)
    fitting = 500_000
    change = np.zeros((3, 3), dtype=np.int64)
    change[0, 1], change[1, 2], change[2, 0] = fitting + 7, fitting + 1000, fitting + 50_000
    problem = CostMatrix(
        unlike=np.zeros((9, 3), dtype=np.int64),
        change=change,
        unseen_change=np.full((3, 3), 9999, dtype=np.int64),
        allowed=(AllowedFittings.ALL,) * 9,
        unseen=tuple(frame == 4 for frame in range(9)),
        closures=np.zeros(3, dtype=bool),
        shortest=2,
        short_price=10,
        longest=2,
        long_price=np.array([1, 2, 4, 8, 16, 32, 64, 128, 256]),
        demands=(
            Demand(0, 2, frozenset({1}), 100),  # not met: a stressed vowel
            Demand(2, 3, frozenset({1}), 200),  # met by B
            Demand(4, 9, frozenset({0, 1}), 300),  # not met: three sounds that must be seen
            Demand(3, 4, frozenset({0}), 400),  # not met: a vowel
        ),
    )
    visual, closed = np.zeros((9, 3), dtype=np.int64), np.zeros((9, 3), dtype=np.int64)
    visual[2], closed[3] = (3, 50, 50), (60, 5, 60)
    weighing = replace(
        weigh(job, turns_of(job)),
        codes=("A", "B", "C"),
        frames=tuple(range(9)),
        visual=visual,
        closed=closed,
        must=(0, 1, 3, 0),
        problem=problem,
    )
    costs = weighing.costs(["A", "A", "A", "B", "C", "C", "C", "C", "C"])
    assert costs.fittings == 3
    assert costs.missed == 3
    millionths = {
        "visual": 3,
        "fitting": 2 * fitting,  # the first is on before the shot begins
        "jump": 7,  # from A to B; nobody sees C put on
        "short_hold": 10,
        "long_hold": 4 + 64 + 128 + 256,  # the third frame of A, and from the third on those of C
        "closed_lips": 5,
        "missed_stress": 100 + 400,
    }
    assert {name: round(getattr(costs, name) * UNIT) for name in millionths} == millionths


def test_a_piece_that_stays_on_costs_no_fitting() -> None:
    job = job_of((), small_set(), on_camera=(True,) * 8)
    weighing = weigh(job, turns_of(job))
    assert (weighing.costs(("RE",) * 8).fittings, weighing.costs(("RE",) * 8).fitting) == (1, 0)
    unseen = replace(job, on_camera=(False,) * 8)
    nothing = weigh(unseen, turns_of(unseen)).costs((None,) * 8)
    assert (nothing.fittings, nothing.fitting, nothing.total) == (0, 0, 0)
