"""What the pages of an order need to know, in one value."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from lipsync.fit.mouthset import MouthSet
from lipsync.paper.making_page import MadePiece
from lipsync.paper.piece_pictures import Art
from lipsync.paper.sheet_words import Words
from lipsync.workshop.making_cost import MakingCost
from lipsync.workshop.order_groups import Grouping, GroupRow
from lipsync.workshop.order_rows import Board, HandOver, PressingRow
from lipsync.workshop.shooting import Shoot, ShootingPlan

# The numbers of a piece, in the order of the columns; `PressingRow` and `Words` have them under these names.
NUMBERS = (
    *("frames_seen", "times_fitted", "boards", "at_once", "changing_over", "used_up", "spares", "pressings"),
    *("there", "on_the_way", "unneeded", "to_make"),
)


@dataclass(frozen=True, slots=True)
class OrderCharacter:
    """One character's part of an order.

    Attributes:
        name: as it is printed.
        puppets: how many there are of it.
        mouth_set: its mouth set.
        rows: its pieces, in the order of the set.
        boards: what lies on the board of each of its puppets.
        shoots: its puppets' rows of the shooting plan; none if there is no plan.
        unplanned: its shots that no puppet is to shoot.
        art: the studio's own pictures.
        hand_overs: who hands which of its pieces to whom.
        parts: what its parts are called that are no mouths, by code.
        alone: whether it is a single puppet whose head takes no other's mouths, of several puppets.
    """

    name: str
    puppets: int
    mouth_set: MouthSet
    rows: tuple[PressingRow, ...]
    boards: tuple[Board, ...]
    shoots: tuple[Shoot, ...] = ()
    unplanned: tuple[str, ...] = ()
    art: Mapping[str, Art] = field(default_factory=dict)
    hand_overs: tuple[HandOver, ...] = ()
    parts: Mapping[str, str] = field(default_factory=dict)
    alone: bool = False


@dataclass(frozen=True, slots=True)
class OrderJob:
    """An order, and how it is printed.

    Attributes:
        production: the film's title.
        characters: a part for each, and for each of its groups of heads where there are several.
        plan: the shooting plan.
        planned: whether there is one.
        dated: the production's date.
        page: the paper.
        words: the studio's words.
        alerts: what must be known.
        revision: which revision it is, and its stamp, in words; or that it is none.
        changed: what stands above the changes.
        changes: what changed since the revision before, in words.
        counted: when the stock was counted.
        making: what it takes to make; None if the studio gives no figures.
        pieces: what the pieces are called, in the order of `making.pieces`.
        by: what it is grouped by as well; None if by nothing.
        groups: what is to be made, so grouped.
    """

    production: str
    characters: tuple[OrderCharacter, ...]
    plan: ShootingPlan
    planned: bool
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    alerts: tuple[str, ...] = ()
    revision: str = ""
    changed: str = ""
    changes: tuple[str, ...] = ()
    counted: datetime.date | None = None
    making: MakingCost | None = None
    pieces: tuple[MadePiece, ...] = ()
    by: Grouping | None = None
    groups: tuple[GroupRow, ...] = ()


def numbers_of(row: PressingRow) -> tuple[int, ...]:
    """Return a row's numbers in the order of the columns."""
    return tuple(getattr(row, number) for number in NUMBERS)
