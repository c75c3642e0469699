"""What an order takes to make: work, moulds, batches and price; in total, for each piece and for each week.

In: the rows of an order (pressings.py) and the studio's figures (making.py). Out: a `MakingCost`. The numbers have
these names everywhere; a number is only there if its figure is given:

    pressings   pressings to make
    minutes     of work: for each pressing the same
    moulds      moulds to make: the first, and another when one is worn out; earlier orders count in its wear
    batches     fillings of the oven or the tray; pieces of one kind share a batch, those of different weeks do not
    price       of what the pressings are made of

A week is a calendar week, Monday to Sunday, as ISO 8601 numbers them ("2026-W49"): that of the day on which a
pressing is first on a board, so that it must be made by then. Without a plan there are no weeks.
"""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from lipsync.workshop.making import Making, MakingFigures
from lipsync.workshop.order_rows import PressingRow

_CENTS = Decimal("0.01")

# The figure that each number is reckoned from; a mould need not be reckoned for every piece.
FIGURE_OF = {"minutes": "minutes_a_pressing", "batches": "pressings_a_batch", "price": "price_a_pressing"}


@dataclass(frozen=True, slots=True)
class Cost:
    """What a number of pressings take; None for what no figure is given for."""

    pressings: int
    minutes: float | None = None
    moulds: int | None = None
    batches: int | None = None
    price: Decimal | None = None

    @property
    def hours(self) -> float | None:
        """The work in hours."""
        return None if self.minutes is None else self.minutes / 60


@dataclass(frozen=True, slots=True)
class MakingCost:
    """What an order takes to make.

    Attributes:
        pieces: the cost of each row of the order, without batches, which pieces share.
        weeks: the name and the cost of each week, in order; without a plan a single one without a name. Empty if
            nothing is to be made.
        total: the cost of all.
        currency: what prices are in.
        not_given: for "minutes", "batches" and "price": the pieces to make without this figure, as (character, code),
            if other pieces have it.
    """

    pieces: tuple[Cost, ...]
    weeks: tuple[tuple[str, Cost], ...]
    total: Cost
    currency: str
    not_given: Mapping[str, tuple[tuple[str, str], ...]]

    @property
    def left_out(self) -> dict[tuple[tuple[str, str], ...], tuple[str, ...]]:
        """For each group of pieces that no figure is given for, the numbers in whose sums they are not."""
        found: dict[tuple[tuple[str, str], ...], tuple[str, ...]] = {}
        for number, pieces in self.not_given.items():
            found[pieces] = (*found.get(pieces, ()), number)
        return found


def week_of(day: datetime.date) -> str:
    """Return the calendar week of a day, as ISO 8601 writes it.

    >>> week_of(datetime.date(2026, 12, 31)), week_of(datetime.date(2027, 1, 4))
    ('2026-W53', '2027-W01')
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02}"


@dataclass(frozen=True, slots=True)
class _Pressing:
    """One pressing to make: its week, the kind of pieces with which it shares a batch, and what it takes."""

    week: str
    kind: tuple[str, int | None]
    minutes: float | None
    price: Decimal | None
    is_moulded: bool
    new_mould: bool


def making_cost(making: Making, rows: Sequence[PressingRow], *, planned: bool) -> MakingCost | None:
    """Return what an order takes to make, or None if no figure is given for any of its pieces.

    Args:
        making: the studio's figures.
        rows: the pieces of the order.
        planned: whether there is a shooting plan; if not, days mean nothing.
    """
    figures = [making.figures_of(row.character, row.code, row.material) for row in rows]
    if all(one == MakingFigures() for one in figures):
        return None
    pieces = [tuple(_pressings(row, own, planned=planned)) for row, own in zip(rows, figures, strict=True)]
    weeks: defaultdict[str, list[_Pressing]] = defaultdict(list)
    for pressing in (one for own in pieces for one in own):
        weeks[pressing.week].append(pressing)
    by_week = tuple((week, _cost(weeks[week], batches=_batches(weeks[week]))) for week in sorted(weeks))
    batches = [cost.batches for _, cost in by_week if cost.batches is not None]
    every = [one for own in pieces for one in own]
    return MakingCost(
        tuple(map(_cost, pieces)),
        by_week,
        _cost(every, batches=sum(batches) if batches else None),
        making.currency,
        dict(_not_given(rows, figures)),
    )


def _pressings(row: PressingRow, figures: MakingFigures, *, planned: bool) -> Iterator[_Pressing]:
    price = None if figures.price_a_pressing is None else Decimal(str(figures.price_a_pressing))
    lasts = figures.pressings_a_mould
    for place, day in enumerate(row.needed_by):
        yield _Pressing(
            week_of(day) if planned else "",
            (row.material, figures.pressings_a_batch),
            figures.minutes_a_pressing,
            price,
            lasts is not None,
            lasts is not None and (row.ordered_before + place) % lasts == 0,
        )


def _cost(pressings: Sequence[_Pressing], batches: int | None = None) -> Cost:
    minutes = [one.minutes for one in pressings if one.minutes is not None]
    prices = [one.price for one in pressings if one.price is not None]
    moulded = any(one.is_moulded for one in pressings)
    return Cost(
        len(pressings),
        sum(minutes) if minutes else None,
        sum(one.new_mould for one in pressings) if moulded else None,
        batches,
        sum(prices, Decimal(0)).quantize(_CENTS) if prices else None,
    )


def _batches(pressings: Iterable[_Pressing]) -> int | None:
    """Return how many batches there are: pieces with the same material and the same batch size share batches."""
    kinds = Counter(one.kind for one in pressings)
    filled = [-(-many // holds) for (_, holds), many in kinds.items() if holds is not None]
    return sum(filled) if filled else None


def _not_given(
    rows: Sequence[PressingRow], figures: Sequence[MakingFigures]
) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    """Yield for each number the pieces to make without its figure."""
    made = [(row, own) for row, own in zip(rows, figures, strict=True) if row.to_make]
    for number, name in FIGURE_OF.items():
        without = tuple(dict.fromkeys((row.character, row.code) for row, own in made if getattr(own, name) is None))
        if without and len(without) < len({(row.character, row.code) for row, _ in made}):
            yield number, without
