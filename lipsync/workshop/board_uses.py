"""How the uses of one piece are served: the fewest pressings for given fittings, and what each of them serves.

In: uses of puppets whose heads take the same mouths, how often the piece is put on in each, and the `Rules`. Out: a
`Serving`. A quick way (quick_serving.py) is taken if it needs no more pressings than any way must have; else an
integer program finds the fewest (hand_over_network.py).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BoardUse:
    """A row of the plan in which the piece lies on a puppet's board; first and last day are numbers of days."""

    puppet: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Held:
    """`count` pressings that exist already, each put on `fitted` times; `puppet` has them, empty for the store."""

    count: int
    fitted: int = 0
    puppet: str = ""


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules by which pressings are counted.

    Attributes:
        lasts: after how many fittings a pressing is used up; None if never.
        change_over: days that pass between a pressing's last day on one puppet and its first on another.
        spares: how many pressings there must be beyond those that serve.
        held: the pressings that exist already.
        since: the day, as a number, on whose evening these were counted; the plan begins later.
    """

    lasts: int | None = None
    change_over: int = 0
    spares: int = 0
    held: tuple[Held, ...] = ()
    since: int = 0


@dataclass(frozen=True, slots=True)
class Lying:
    """Where a pressing lies: on whose board, and the last day that it is needed there; None in the store."""

    puppet: str = ""
    until: int | None = None

    def reaches(self, use: BoardUse, rules: Rules) -> bool:
        """Return whether it can serve a use that does not begin before those that it has served."""
        return self.puppet == use.puppet or self.until is None or self.until + rules.change_over < use.first

    def after(self, use: BoardUse) -> Lying:
        """Return where it lies while and after it serves a use."""
        if self.until is None or self.puppet != use.puppet:
            return Lying(use.puppet, use.last)
        return Lying(self.puppet, max(self.until, use.last))


def lying(held: Held | None, rules: Rules) -> Lying:
    """Return where a pressing lies before the plan: one that exists already where it was counted."""
    return Lying(held.puppet, rules.since) if held is not None and held.puppet else Lying()


@dataclass(frozen=True, slots=True)
class PressingLane:
    """What one pressing serves.

    Attributes:
        held: the index in `Rules.held` if the pressing exists already; None if it is to be made.
        stays: the uses that it serves, each as its index and how often the pressing is put on in it.
    """

    held: int | None
    stays: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Serving:
    """How all uses are served: the lane of each pressing, and how many spares are made because too few are left."""

    lanes: tuple[PressingLane, ...]
    spares_made: int

    @property
    def to_make(self) -> int:
        """The number of pressings to make, spares included."""
        return sum(lane.held is None for lane in self.lanes) + self.spares_made

    @property
    def serving(self) -> int:
        """The number of pressings that serve, old and new."""
        return len(self.lanes)

    def counted(self, rules: Rules) -> int:
        """Return the number by which servings are compared: the smaller, the better.

        Each existing pressing that serves counts 1; each that is made counts more than all existing ones together.
        """
        old = sum(lane.held is not None for lane in self.lanes)
        return self.to_make * (sum(held.count for held in rules.held) + 1) + old
