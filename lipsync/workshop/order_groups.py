"""What an order says to make, grouped by scene, puppet, week or character.

In: the rows of an order (pressings.py). Out: `GroupRow`s. A pressing belongs to the scene and the puppet for which it
is first on a board, and to the calendar week of that day. A spare belongs to no scene and no puppet, and to the week
of the first day on which its piece is on a board. So the rows of any grouping sum to all that is to be made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from lipsync.workshop.making_cost import week_of
from lipsync.workshop.order_rows import FirstNeed, PressingRow

Grouping = Literal["scene", "character", "puppet", "week"]

_GROUPS: dict[Grouping, Callable[[PressingRow, FirstNeed], str]] = {
    "scene": lambda _, need: need.scene,
    "character": lambda row, _: row.character,
    "puppet": lambda _, need: need.puppet,
    "week": lambda _, need: week_of(need.day),
}


@dataclass(frozen=True, slots=True)
class GroupRow:
    """How many pressings of a piece to make for a group; `group` is None for spares that belong to none."""

    group: str | None
    character: str
    code: str
    to_make: int


def grouped(rows: Sequence[PressingRow], by: Grouping, *, planned: bool) -> tuple[GroupRow, ...]:
    """Return what is to be made by group, those of no group last; without a plan weeks have no names.

    >>> import datetime
    >>> needs = (FirstNeed(datetime.date(2026, 11, 30), "heron-1", "pier"), FirstNeed(datetime.date(2026, 11, 30)))
    >>> row = PressingRow("heron", "REST", 9, 2, 1, 1, 0, 1, to_make=2, needs=needs)
    >>> for one in grouped([row], "scene", planned=True):
    ...     print(one)
    GroupRow(group='pier', character='heron', code='REST', to_make=1)
    GroupRow(group=None, character='heron', code='REST', to_make=1)
    """
    named = _GROUPS[by]
    counts = Counter(
        ("" if by == "week" and not planned else named(row, need), at)
        for at, row in enumerate(rows)
        for need in row.needs
    )
    ordered = sorted(counts.items(), key=lambda one: (not one[0][0], one[0]))
    if by == "character":
        ordered = sorted(counts.items(), key=lambda one: one[0][1])
    return tuple(GroupRow(group or None, rows[at].character, rows[at].code, many) for (group, at), many in ordered)
