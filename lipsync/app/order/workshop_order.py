"""An order for the workshop as a value, and as plain rows for programs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lipsync.app.order.order_record import OrderRevision
from lipsync.workshop.making_cost import Cost, MakingCost
from lipsync.workshop.order_groups import Grouping, GroupRow
from lipsync.workshop.order_rows import Order, PressingRow
from lipsync.workshop.shooting import Heads, ShootingPlan


@dataclass(frozen=True, slots=True)
class WorkshopOrder:
    """What the workshop makes.

    Attributes:
        order: its numbers.
        plan: the shooting plan that it follows.
        planned: whether the plan is the studio's own; False if there is none.
        alerts: its alerts.
        heads: (character's id, puppets) for each group of puppets whose heads take the same mouths.
        revision: its revision; None if it is only looked at.
        is_new: whether the revision is not kept yet.
        before: the letter of the revision before; empty if there is none.
        changes: what changed since then, in words.
        making: what it takes to make, by the studio's own figures; None if it gives none.
        by: what it is grouped by as well; None if by nothing.
        groups: what is to be made, so grouped.
    """

    order: Order
    plan: ShootingPlan
    planned: bool
    alerts: tuple[str, ...] = ()
    heads: tuple[tuple[str, Heads], ...] = ()
    revision: OrderRevision | None = None
    is_new: bool = False
    before: str = ""
    changes: tuple[str, ...] = ()
    making: MakingCost | None = None
    by: Grouping | None = None
    groups: tuple[GroupRow, ...] = ()

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each character and piece, and for each of its groups of heads where there are several."""
        return [
            {
                "character": row.character,
                "code": row.code,
                "heads": list(row.heads),
                "frames_seen": row.frames_seen,
                "times_fitted": row.times_fitted,
                "boards": list(self.boards_with(row)),
                "at_once": row.at_once,
                "changing_over": row.changing_over,
                "used_up": row.used_up,
                "spares": row.spares,
                "pressings_needed": row.pressings,
                "there": row.there,
                "worn_out": row.worn_out,
                "on_the_way": row.on_the_way,
                "pressings_to_make": row.to_make,
                "needed_no_more": row.unneeded,
                "needed_by": self.needed_by(row),
                **{key: costs[key] for key in ("minutes", "moulds", "price")},
            }
            for row, costs in zip(self.order.rows, self._costs, strict=True)
        ]

    @property
    def _costs(self) -> list[dict[str, Any]]:
        nothing = [Cost(row.to_make) for row in self.order.rows]
        return [cost_record(cost) for cost in (self.making.pieces if self.making else nothing)]

    @property
    def making_record(self) -> dict[str, Any] | None:
        """What it takes to make, in all and by week; None if the studio gives no figures."""
        if self.making is None:
            return None
        return {
            "currency": self.making.currency,
            "total": cost_record(self.making.total),
            "weeks": [{"week": week, **cost_record(cost)} for week, cost in self.making.weeks if week],
            "not_given": {
                number: [{"character": who, "code": code} for who, code in pieces]
                for number, pieces in self.making.not_given.items()
            },
        }

    @property
    def group_records(self) -> list[dict[str, Any]]:
        """A row for each group and piece to make; that of spares, which belong to none, is None."""
        return [
            {"group": one.group, "character": one.character, "code": one.code, "pressings_to_make": one.to_make}
            for one in self.groups
        ]

    @property
    def hand_overs(self) -> list[dict[str, Any]]:
        """A row for each piece that goes from one puppet's board to another's."""
        return [
            {"day": one.day.isoformat(), "code": one.code, "giver": one.giver, "taker": one.taker}
            for one in (self.order.hand_overs if self.planned else ())
        ]

    def needed_by(self, row: PressingRow) -> list[str]:
        """Return the first day of each pressing to make; none without a plan."""
        return [day.isoformat() for day in row.needed_by] if self.planned else []

    @property
    def boards(self) -> dict[str, list[str]]:
        """The pieces on each puppet's board."""
        return {board.puppet: list(board.codes) for board in self.order.boards}

    def boards_with(self, row: PressingRow) -> tuple[str, ...]:
        """Return the puppets that have a piece on their boards."""
        return tuple(
            board.puppet
            for board in self.order.boards
            if board.character == row.character
            and row.code in board.codes
            and (not row.heads or board.puppet in row.heads)
        )


def cost_record(cost: Cost) -> dict[str, Any]:
    """Return a cost as plain values."""
    return {
        "pressings": cost.pressings,
        "minutes": None if cost.minutes is None else round(cost.minutes, 2),
        "moulds": cost.moulds,
        "batches": cost.batches,
        "price": None if cost.price is None else float(cost.price),
    }
