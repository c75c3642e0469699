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
        name: its name, as printed.
        puppets: the number of its puppets.
        mouth_set: its mouth set.
        rows: its pieces, in the order of the set.
        boards: the board of each of its puppets.
        shoots: its puppets' rows of the shooting plan; empty without a plan.
        unplanned: its shots that no puppet is to shoot.
        art: the studio's own pictures.
        hand_overs: who hands which of its pieces to whom.
        parts: the names of its replacement parts that are not mouths, by code.
        alone: whether this is one of several puppets, with a head that takes no other puppet's mouths.
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
        characters: a part for each character; for each group of heads, if a character has several.
        plan: the shooting plan.
        planned: whether the plan has rows.
        dated: the production's date.
        page: the paper.
        words: the studio's words.
        alerts: what must be known before it is used.
        revision: its revision and stamp, in words; or words that say that it was not ordered.
        changed: the title above the changes.
        changes: what changed since the revision before, in words.
        counted: when the stock was counted.
        making: what it takes to make; None if the studio gives no figures.
        pieces: the names of the pieces, in the order of `making.pieces`.
        by: what it is also grouped by; None for no groups.
        groups: what is to be made for each of these groups.
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
