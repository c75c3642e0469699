"""The curve of fittings against cost, and two ways of fitting side by side."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

import pytest

from lipsync.fit.fit_settings import FittingSettings, Prices
from lipsync.fit.fitting import fit
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from lipsync.workshop.side_by_side import side_by_side
from lipsync.workshop.trade_off import Scope, trade_off
from tests.fit.build import MOUTH_SETS, job_of, speech


def jobs() -> list:
    seed = random.Random(11)
    return [job_of(speech([["B", "AA1", "K", "IY0", "S", "UW1"]] * 4, seed)) for _ in range(3)]


def test_dearer_fittings_are_fewer_and_all_else_costs_more() -> None:
    curve = trade_off(jobs(), Scope(960, Fraction(24)))
    assert [point.price for point in curve] == sorted({point.price for point in curve})
    fittings = [point.fittings for point in curve]
    rest = [point.visual + point.other for point in curve]
    assert fittings == sorted(fittings, reverse=True)
    assert all(a <= b + 1e-6 for a, b in itertools.pairwise(rest))
    assert fittings[0] > fittings[-1]


def test_the_present_setting_is_marked_and_its_days_are_the_studios_own() -> None:
    settings = FittingSettings(price=Prices(fitting=0.33))
    curve = trade_off([replace(job, settings=settings) for job in jobs()], Scope(960, Fraction(24), 4.0), (0.0, 5.0))
    assert [point.price for point in curve] == [0.0, 0.33, 5.0]
    assert [point.present for point in curve] == [False, True, False]
    # 960 frames are 40 s; at 4 s a day 10 days. Each fitting more takes 3 of the 480 minutes of a day.
    assert curve[1].days == pytest.approx(10.0)
    assert curve[0].days == pytest.approx(10.0 + (curve[0].fittings - curve[1].fittings) * 3 / 480)
    assert curve[2].days < 10.0


def test_no_job_no_curve() -> None:
    with pytest.raises(ValueError, match="at least one character"):
        trade_off([], Scope(10, Fraction(24)))
    with pytest.raises(ValueError, match="seconds a day above 0"):
        Scope(10, Fraction(24), 0.0)


def test_side_by_side_with_itself_is_the_same() -> None:
    found = side_by_side(jobs(), jobs(), {"heron": 2})
    assert found.frames_that_differ == 0
    assert found.distance == 0.0
    assert (found.one.fittings, found.one.visual) == (found.other.fittings, found.other.visual)
    assert found.frames == sum(len(job.on_camera) for job in jobs())
    # Counted in another way.
    weighings = [weigh(job, turns_of(job)) for job in jobs()]
    costs = [weighing.costs(fit(weighing.job).pieces) for weighing in weighings]
    assert found.one.fittings == sum(cost.fittings for cost in costs)
    assert found.one.visual == pytest.approx(sum(cost.visual for cost in costs), abs=1e-3)
    price = jobs()[0].settings.price.fitting
    assert found.one.cost == pytest.approx(found.one.visual + price * found.one.fittings)
    worn = {code for job in jobs() for code in fit(job).pieces}
    assert found.one.pieces_needed == {"heron": 2 * len(worn)}


def test_a_smaller_set_and_a_dearer_price_show() -> None:
    small = [replace(job, mouth_set=MOUTH_SETS["driftwood"]) for job in jobs()]
    found = side_by_side(jobs(), small, {"heron": 1})
    assert found.other.visual > found.one.visual
    assert found.other.pieces_needed["heron"] < found.one.pieces_needed["heron"]
    dear = [replace(job, settings=FittingSettings(price=Prices(fitting=2.0))) for job in jobs()]
    found = side_by_side(jobs(), dear, {"heron": 1})
    assert found.other.fittings < found.one.fittings
    assert found.frames_that_differ > 0
    assert found.distance > 0


def test_different_scenes_are_no_pair() -> None:
    with pytest.raises(ValueError, match="same characters on the same frames"):
        side_by_side(jobs(), jobs()[:2], {})
    hidden = [replace(job, on_camera=(False, *job.on_camera[1:])) for job in jobs()]
    with pytest.raises(ValueError, match="same characters on the same frames"):
        side_by_side(jobs(), hidden, {})
