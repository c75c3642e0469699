"""What an order says: pressings of each piece, what lies on each puppet's board, who hands what to whom.

The numbers have these names everywhere:

    frames seen                    frames on which the piece is seen, over the shots that are planned
    times fitted                   how often it is put on in them, each shot once
    pieces on the puppet's board   for each puppet, the pieces that its scenes need; one of each lies on its board
    at once                        on the busiest day, the boards on which the piece lies
    changing over                  more, since a piece is on nobody's board while it goes from puppet to puppet
    used up                        more, since clay is used up
    spares                         more than all these
    pressings needed               these four
    there, on the way              pressings that there are, as counted, and that are ordered and not there yet
    pressings to make              those that are needed and neither there nor on the way
    needed no more                 those there or on the way that the plan does not need
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lipsync.workshop.shooting import Heads, Material, character_of
from lipsync.workshop.stock import StockFile


@dataclass(frozen=True, slots=True)
class FirstNeed:
    """When a pressing to make is first on a board, whose, and for which scene; a spare is on nobody's, for none."""

    day: datetime.date
    puppet: str = ""
    scene: str = ""


@dataclass(frozen=True, slots=True)
class PressingRow:
    """One piece for heads that take the same mouths, as the workshop is to make it.

    Attributes:
        character: the character's id.
        code: the piece.
        frames_seen: frames on which it is seen, over the shots that are planned.
        times_fitted: how often it is put on in them.
        boards: how many puppets have it on their boards, over the whole shoot.
        at_once: boards with it on the busiest day.
        used_up: pressings that follow on because clay is used up, beyond those at once.
        spares: pressings beyond these.
        changing_over: pressings that follow on while others go from puppet to puppet.
        there: pressings that there are and that can be used.
        on_the_way: pressings that are ordered and not there yet.
        assumed: how many of those nobody wrote down, though the piece was counted: what orders said, less
            what there is and what broke. A piece that broke and was not written down is among them.
        to_make: pressings to make.
        needs: when and where each of these is first needed, by day; spares from the first day on.
        awaited: the day on which each pressing that is on the way is first needed on a board, in order; of those
            that are needed at all.
        heads: the puppets whose heads take it; of none alone if empty.
        exact: whether it is known that fewer would not be enough.
        ordered_before: pressings that earlier orders said to make.
        worn_out: pressings that were counted as there and are used up; they are not among `there`.
        material: what it is made of.
    """

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    boards: int
    at_once: int
    used_up: int
    spares: int
    changing_over: int = 0
    there: int = 0
    on_the_way: int = 0
    assumed: int = 0
    to_make: int = 0
    needs: tuple[FirstNeed, ...] = ()
    awaited: tuple[datetime.date, ...] = ()
    heads: Heads = ()
    exact: bool = True
    ordered_before: int = 0
    worn_out: int = 0
    material: Material = "clay"

    @property
    def needed_by(self) -> tuple[datetime.date, ...]:
        """The day on which each pressing to make is first needed on a board, in order."""
        return tuple(need.day for need in self.needs)

    @property
    def pressings(self) -> int:
        """Pressings that are needed."""
        return self.at_once + self.changing_over + self.used_up + self.spares

    @property
    def unneeded(self) -> int:
        """Pressings there or on the way that the plan does not need."""
        return max(0, self.there + self.on_the_way + self.to_make - self.pressings)


def worn_out_pieces(rows: Iterable[PressingRow]) -> tuple[str, ...]:
    """Return how many of which pieces were counted as there and are used up, in words: number, code, whose."""
    return tuple(f"{row.worn_out} {row.code} of {row.character}" for row in rows if row.worn_out)


@dataclass(frozen=True, slots=True)
class Board:
    """The pieces on one puppet's board, in the order of the mouth set."""

    puppet: str
    codes: tuple[str, ...]

    @property
    def character(self) -> str:
        """The puppet's character."""
        return character_of(self.puppet)


@dataclass(frozen=True, slots=True)
class HandOver:
    """A piece that goes from one puppet's board to another's, for the first day on which it is needed there."""

    day: datetime.date
    code: str
    giver: str
    taker: str
    free: datetime.date

    @property
    def character(self) -> str:
        """The puppets' character."""
        return character_of(self.taker)


# A piece for heads that take the same mouths: character, heads, code.
PieceKey = tuple[str, Heads, str]


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What an order is reckoned with beside the plan.

    Attributes:
        heads: of each character its puppets, in groups whose heads take the same mouths; all of them where not named.
        stock: what was counted; None if nothing was.
        ordered: pressings of each piece that orders said to make before.
    """

    heads: Mapping[str, tuple[Heads, ...]] = field(default_factory=dict)
    stock: StockFile | None = None
    ordered: Mapping[PieceKey, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Order:
    """What the workshop makes, what lies on each board, who hands what to whom, and what the plan leaves out.

    Attributes:
        rows: the pieces, by character and in the order of its mouth set.
        boards: by puppet, in the order of the plan.
        unplanned: character, scene and shot of each track that no puppet is to shoot; nothing is made for it.
        hand_overs: by day.
        late: puppet, scene and shot of what is not filmed although its days were over when the stock was counted.
    """

    rows: tuple[PressingRow, ...]
    boards: tuple[Board, ...]
    unplanned: tuple[tuple[str, str, str], ...]
    hand_overs: tuple[HandOver, ...] = ()
    late: tuple[tuple[str, str, str], ...] = ()
