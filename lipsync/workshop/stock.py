"""How many of each piece there are: `stock.toml` of a production, as the workshop counts its drawers and boards.

    counted = 2026-12-05      # on this day's evening

    [[piece]]
    character = "heron"
    code = "OPEN2"
    puppet = "heron-1"        # on whose board; left out: in the store, for any of the character's puppets
    there = 1                 # that can be used
    fitted = 13               # how often each of these has been put on; 0 if left out

    [[piece]]
    character = "heron"
    code = "OPEN2"
    there = 2
    broke = 1                 # broken, lost or used up, in all
    ordered = 3               # on the way; left out: what orders say, less what is there and what broke

A piece may have several rows. A piece without a row was not counted: then the plan counts from its first day, and
what orders said to make is taken to be on the way.

In: the file. Out: a checked `StockFile`; `stock_faults` names what does not fit the production.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping
from typing import Annotated

from pydantic import Field, StringConstraints

from lipsync.tomlfile import Table, shown
from lipsync.workshop.shooting import Heads, no_such_piece

FILE = "stock.toml"

# The largest number that a row may have (chosen).
MOST_COUNTED, MOST_FITTED = 9_999, 1_000_000

_Count = Annotated[int, Field(ge=0, le=MOST_COUNTED)]


class StockRow(Table):
    """Pressings of a piece in one place and with the same wear."""

    character: str
    code: str
    puppet: Annotated[str, StringConstraints(max_length=50)] = ""
    there: _Count = 0
    fitted: Annotated[int, Field(ge=0, le=MOST_FITTED)] = 0
    broke: _Count = 0
    ordered: _Count | None = None


class StockFile(Table):
    """What was counted, and the day on whose evening it was counted."""

    counted: datetime.date
    piece: tuple[StockRow, ...] = ()

    def rows_of(self, character: str, heads: Heads, code: str) -> tuple[StockRow, ...]:
        """Return the rows of a piece for these heads; a row without a puppet is for any head."""
        return tuple(
            row
            for row in self.piece
            if (row.character, row.code) == (character, code) and (not row.puppet or row.puppet in heads)
        )


def stock_faults(
    stock: StockFile, codes: Mapping[str, Collection[str]], heads: Mapping[str, tuple[Heads, ...]]
) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each row that does not fit the production.

    Args:
        stock: what was counted.
        codes: the codes of each character's pieces.
        heads: for each character its puppets, in groups whose heads take the same mouths.
    """
    for place, row in enumerate(stock.piece or (), start=1):
        if not row or row.character is None or row.code is None:
            continue
        where = f"[[piece]] {place}"
        yield from ((f"{where} {what}", text) for what, text in no_such_piece(row.character, row.code, codes))
        groups = heads.get(row.character, ())
        known = [puppet for group in groups for puppet in group]
        if row.puppet and known and row.puppet not in known:
            text = f"{row.character} has no puppet {shown(row.puppet)}; its puppets are {', '.join(known)}"
            yield f"{where} puppet", text
        if not row.puppet and len(groups) > 1:
            text = f"is missing; not all heads of {row.character} take the same mouths: name one that takes these"
            yield f"{where} puppet", text
