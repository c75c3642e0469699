"""Fewer fittings against a higher visual cost, for a scene, as rows for a table or a plot.

In: the jobs of a scene and how long it is. Out: a `TradeOff` for each price of a fitting. Each point is an optimum:
no other track has both fewer fittings and less cost in everything else.

Days are an estimate from the studio's own figures: at its present settings an animator finishes `seconds_a_day` of
film in a day. Each fitting more or less takes or saves `work.minutes_a_fitting` of a day of `work.hours_a_day`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.optimum import solve
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh

# Prices of a fitting that a curve shows beside the present one; chosen: each about a third higher than the last.
PRICES = (0.0, 0.02, 0.05, 0.08, 0.12, 0.16, 0.2, 0.25, 0.32, 0.4, 0.5, 0.65, 0.8, 1.0, 1.3, 1.7, 2.2, 3.0)


@dataclass(frozen=True, slots=True)
class Scope:
    """How long a scene is, and how much of it is finished in a day.

    Attributes:
        frames: the frames of all its shots, each shot counted once.
        rate: frames a second.
        seconds_a_day: seconds of film that an animator finishes in a day at the present settings.
    """

    frames: int
    rate: Fraction
    seconds_a_day: float = 2.0

    def __post_init__(self) -> None:
        if self.frames < 0 or self.rate <= 0 or self.seconds_a_day <= 0:
            raise ValueError(f"a scene has frames, a rate and seconds a day above 0, not {self}")

    @property
    def days(self) -> float:
        """Days of animation at the present settings."""
        return self.frames / float(self.rate) / self.seconds_a_day


@dataclass(frozen=True, slots=True)
class TradeOff:
    """One point of the curve.

    Attributes:
        price: the price of a fitting.
        fittings: how often a piece is put on.
        visual: visual cost: how unlike the mouths are to what is said.
        other: the cost of leaps, short and long holds, closures off their sound, and missed vowels.
        days: estimated days of animation.
        present: whether it is the point of the present setting.
    """

    price: float
    fittings: int
    visual: float
    other: float
    days: float
    present: bool


def with_price(settings: FittingSettings, price: float) -> FittingSettings:
    """Return the settings with another price for a fitting."""
    return settings.model_copy(update={"price": settings.price.model_copy(update={"fitting": price})})


def trade_off(jobs: Sequence[Job], scope: Scope, prices: Sequence[float] = PRICES) -> tuple[TradeOff, ...]:
    """Return the curve of a scene, the highest price last; `jobs` are its characters in its shots.

    The present setting, and the work that a fitting takes, are those of the first job; its price is among the points.

    Raises:
        ValueError: if there is no job.
    """
    if not jobs:
        raise ValueError("a curve needs at least one character in one shot")
    settings = jobs[0].settings
    present = settings.price.fitting
    points = [_point(jobs, price) for price in sorted({*prices, present})]
    usual = next(fittings for price, fittings, _, _ in points if price == present)
    a_fitting = settings.work.days_a_fitting
    return tuple(
        TradeOff(
            price, fittings, visual, other, max(0.0, scope.days + a_fitting * (fittings - usual)), price == present
        )
        for price, fittings, visual, other in points
    )


def _point(jobs: Sequence[Job], price: float) -> tuple[float, int, float, float]:
    fittings, visual, other = 0, 0.0, 0.0
    for job in jobs:
        changed = replace(job, settings=with_price(job.settings, price))
        weighing = weigh(changed, turns_of(changed))
        costs = weighing.costs(weighing.pieces(solve(weighing.problem).pieces))
        fittings += costs.fittings
        visual += costs.visual
        other += costs.total - costs.visual - costs.fitting
    return price, fittings, visual, other
