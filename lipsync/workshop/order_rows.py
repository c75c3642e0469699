"""The values that an order consists of: pressings of each piece, each puppet's board, and who hands what to whom.

The numbers have these names everywhere:

    frames seen                    frames on which the piece is seen, over the shots that are planned
    times fitted                   how often it is put on in them, each shot counted once
    pieces on the puppet's board   for each puppet, the pieces that its scenes need; one of each lies on its board
    at once                        the number of boards on which the piece lies on the busiest day
    changing over                  additional pressings, for a piece is on no board while it goes to another puppet
    used up                        additional pressings, because clay is used up
    spares                         additional pressings beyond all these
    pressings needed               the sum of these four: at once, changing over, used up, spares
    there                          pressings that exist, as counted
    on the way                     pressings that are ordered and have not come yet
    pressings to make              pressings that are needed and neither there nor on the way
    needed no more                 pressings there or on the way that the plan does not need
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lipsync.workshop.shooting import Heads, Material, character_of
from lipsync.workshop.stock import StockFile


@dataclass(frozen=True, slots=True)
class FirstNeed:
    """When a pressing to make is first on a board, on whose, and for which scene; both are empty for a spare."""

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
        at_once: how many boards have it on the busiest day.
        used_up: pressings beyond those at once, because clay is used up.
        spares: pressings beyond all those that serve.
        changing_over: pressings beyond those at once, because others are between two puppets.
        there: pressings that exist and can be used.
        on_the_way: pressings that are ordered and have not come yet.
        assumed: how many of those on the way are not in the stock file although the piece was counted: what orders
            said, minus what is there and what broke. A pressing that broke unrecorded is among them.
        to_make: pressings to make.
        needs: when and where each pressing to make is first needed, by day; spares from the first day on.
        awaited: for each pressing on the way that is needed the day on which it is first needed on a board, in order.
        heads: the puppets whose heads take it; empty if it is for all puppets of the character.
        exact: whether it is certain that fewer would not be enough.
        ordered_before: pressings that earlier orders said to make.
        worn_out: pressings that were counted as there and are used up; they are not among `there`.
        material: what it is made of.
        worn_spares: how many fittings are left in each spare that is there and more than half used up.
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
    worn_spares: tuple[int, ...] = ()

    @property
    def needed_by(self) -> tuple[datetime.date, ...]:
        """For each pressing to make the day on which it is first needed on a board, in order."""
        return tuple(need.day for need in self.needs)

    @property
    def pressings(self) -> int:
        """The number of pressings that are needed."""
        return self.at_once + self.changing_over + self.used_up + self.spares

    @property
    def unneeded(self) -> int:
        """The number of pressings there or on the way that the plan does not need."""
        return max(0, self.there + self.on_the_way + self.to_make - self.pressings)


def worn_out_pieces(rows: Iterable[PressingRow]) -> tuple[str, ...]:
    """Return how many of which pieces were counted as there and are used up, in words: number, code, whose."""
    return tuple(f"{row.worn_out} {row.code} of {row.character}" for row in rows if row.worn_out)


def worn_spares_of(rows: Iterable[PressingRow]) -> tuple[str, ...]:
    """Return whose spares are worn, in words: code, whose, and how many fittings are left."""
    return tuple(
        f"{row.code} of {row.character} ({', '.join(map(str, row.worn_spares))})" for row in rows if row.worn_spares
    )


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
    """A piece that goes from one puppet's board to another's.

    Attributes:
        day: the first day on which it is needed there.
        code: the piece.
        giver: the puppet that had it.
        taker: the puppet that gets it.
        free: the day from which on the giver needs it no more.
    """

    day: datetime.date
    code: str
    giver: str
    taker: str
    free: datetime.date

    @property
    def character(self) -> str:
        """The puppets' character."""
        return character_of(self.taker)


# A piece of heads that take the same mouths: character, heads, code.
PieceKey = tuple[str, Heads, str]


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What an order is computed from beside the plan.

    Attributes:
        heads: for each character its puppets, in groups whose heads take the same mouths; a character that is not in
            it has a single group.
        stock: what was counted; None if nothing was.
        ordered: for each piece how many pressings earlier orders said to make.
    """

    heads: Mapping[str, tuple[Heads, ...]] = field(default_factory=dict)
    stock: StockFile | None = None
    ordered: Mapping[PieceKey, int] = field(default_factory=dict)


# Character, scene and shot of a track that no puppet is to shoot.
Unplanned = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Order:
    """What the workshop makes, what lies on each board, who hands what to whom, and what the plan leaves out.

    Attributes:
        rows: the pieces, by character and in the order of its mouth set.
        boards: the boards, in the order in which the plan names puppets.
        unplanned: (character, scene, shot) of each track that no puppet is to shoot; nothing is made for it.
        hand_overs: the hand-overs, by day.
        late: (puppet, scene, shot) of what is not filmed although its days were over when the stock was counted.
    """

    rows: tuple[PressingRow, ...]
    boards: tuple[Board, ...]
    unplanned: tuple[Unplanned, ...]
    hand_overs: tuple[HandOver, ...] = ()
    late: tuple[tuple[str, str, str], ...] = ()
