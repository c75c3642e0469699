"""How the uses of one piece are served: the fewest pressings for given fittings, and what each of them serves.

In come uses of puppets whose heads take the same mouths, how often the piece is put on in each, and what is reckoned
with; out comes a `Serving`. A quick way (quick_serving.py) is taken where it needs no more than must be in any case;
else an integer program finds the fewest (hand_over_network.py).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BoardUse:
    """A row of the plan in which the piece lies on a puppet's board, from the first day to the last, as numbers."""

    puppet: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Held:
    """So many pressings that are there, each put on `fitted` times; on a puppet's board or, without one, in a box."""

    count: int
    fitted: int = 0
    puppet: str = ""


@dataclass(frozen=True, slots=True)
class Rules:
    """What pressings are reckoned with.

    Attributes:
        lasts: after how many fittings one is used up; None if never.
        change_over: days between the last on one puppet and the first on another.
        spares: how many more there are to be than serve.
        held: those that are there.
        since: the day on whose evening they were there; the plan begins later.
    """

    lasts: int | None = None
    change_over: int = 0
    spares: int = 0
    held: tuple[Held, ...] = ()
    since: int = 0


@dataclass(frozen=True, slots=True)
class PressingLane:
    """What one pressing serves: uses by their place, each with its fittings; `held`: which of those there."""

    held: int | None
    stays: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Serving:
    """How all uses are served: each pressing's lane, and spares that are made beyond what is left over."""

    lanes: tuple[PressingLane, ...]
    spares_made: int

    @property
    def to_make(self) -> int:
        """Pressings to make."""
        return sum(lane.held is None for lane in self.lanes) + self.spares_made

    @property
    def serving(self) -> int:
        """Pressings that serve, old ones and new ones."""
        return len(self.lanes)

    def counted(self, rules: Rules) -> int:
        """Return a number that grows with the pressings that are made, and less with those that were there and serve.

        One that is made counts more than all that were there.
        """
        old = sum(lane.held is not None for lane in self.lanes)
        return self.to_make * (sum(held.count for held in rules.held) + 1) + old
