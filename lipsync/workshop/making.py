"""The studio's own figures of what making pieces takes, as people write them in production.toml; all are optional.

    [making]
    currency = "EUR"            # what prices are in

    [making.clay]               # of each pressing of a clay piece
    minutes_a_pressing = 20     # work at the bench
    pressings_a_mould = 30      # after so many a mould is worn out; each piece has a mould of its own
    pressings_a_batch = 12      # so many go into the oven, or on a tray, at once
    price_a_pressing = 1.50     # of what it is made of

    [making.hard]               # of each hard or printed part; without pressings_a_mould no mould is reckoned
    minutes_a_pressing = 6
    pressings_a_batch = 40
    price_a_pressing = 3.20

    [[making.piece]]            # where one piece is unlike the others
    character = "heron"
    code = "OPEN3"
    minutes_a_pressing = 45

In: the table `[making]`. Out: a checked `Making`; `making_faults` names what does not fit the production.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Annotated

from pydantic import Field, StringConstraints

from lipsync.tomlfile import Table
from lipsync.workshop.shooting import piece_faults

_Many = Annotated[int, Field(ge=1, le=100_000)]

# How many pressings a mould or a batch has.
FIGURES = ("minutes_a_pressing", "pressings_a_mould", "pressings_a_batch", "price_a_pressing")


class MakingFigures(Table):
    """What making one pressing takes; None for a figure that is not given."""

    minutes_a_pressing: Annotated[float, Field(gt=0, le=100_000)] | None = None
    pressings_a_mould: _Many | None = None
    pressings_a_batch: _Many | None = None
    price_a_pressing: Annotated[float, Field(ge=0, le=1_000_000)] | None = None


class OwnFigures(MakingFigures):
    """The figures of one piece that are not those of other pieces of its material."""

    character: str
    code: str


class Making(Table):
    """The studio's figures: for clay pieces, for hard ones, and for single pieces that are unlike the others."""

    currency: Annotated[str, StringConstraints(strip_whitespace=True, max_length=8)] = ""
    clay: MakingFigures = MakingFigures()
    hard: MakingFigures = MakingFigures()
    piece: tuple[OwnFigures, ...] = ()

    def figures_of(self, character: str, code: str, material: str) -> MakingFigures:
        """Return the figures of a piece: its own; where it has none, those of its material, "clay" or "hard"."""
        kind = self.clay if material == "clay" else self.hard
        own = next((one for one in self.piece if (one.character, one.code) == (character, code)), None)
        if own is None:
            return kind
        given = {name: getattr(own, name) for name in FIGURES if getattr(own, name) is not None}
        return kind.model_copy(update=given)

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault if there are prices but no currency."""
        given = [one for one in (self.clay, self.hard, *(self.piece or ())) if one is not None]
        if self.currency == "" and any(one.price_a_pressing is not None for one in given):
            yield "currency", 'is missing; say what the prices are in, such as currency = "EUR"'


def making_faults(making: Making, codes: Mapping[str, Collection[str]]) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each `[[piece]]` that no character has, that occurs twice, or gives no figure.

    Args:
        making: the figures.
        codes: the codes of each character's pieces.
    """
    rows = making.piece or ()
    yield from piece_faults(rows, codes)
    for row, one in enumerate(rows, start=1):
        if one and one.code is not None and not one.model_fields_set.intersection(FIGURES):
            text = f"says nothing of {one.code}; give one of {', '.join(FIGURES)}, or take it out"
            yield f"[[piece]] {row}", text
