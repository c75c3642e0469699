"""What an order takes to make, and what is to be made for each group, as a part of the order's pages.

In: the `MakingCost` (workshop/making_cost.py) and the names of the pieces; or what is to be made by group
(workshop/order_groups.py). Out: blocks on a `Flow`, on a page of their own. A column is printed only if a figure for
it is given.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from lipsync.paper.flow import REPORT, Flow, Heading, TableColumn, cells, put_list, put_text
from lipsync.paper.lettering import composed
from lipsync.paper.marks import Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.making_cost import Cost, MakingCost
from lipsync.workshop.order_groups import Grouping, GroupRow

_ROW_MM, _BASE_MM, _TITLE_MM, _ABOVE_MM, _TOTAL_RULE_MM = 5.6, 4.0, 8.0, 3.0, 0.35

# The right edges of the numbers, from the right, and their width: parts of the page's inner width.
_RIGHT, _STEP = 1.0, 0.12


@dataclass(frozen=True, slots=True)
class MadePiece:
    """The names of a piece: its character's, its code, its own."""

    character: str
    code: str
    name: str


# The label of a number, and the function that writes it; in the order of the columns.
_Number = tuple[str, Callable[[Cost], str]]


def numbers_of_cost(costs: Sequence[Cost], words: Words, currency: str) -> tuple[_Number, ...]:
    """Return the numbers that at least one of some costs has."""
    every: tuple[tuple[str, str, Callable[[Cost], str]], ...] = (
        ("pressings", words.to_make, lambda cost: str(cost.pressings)),
        ("hours", words.hours, lambda cost: "" if cost.hours is None else f"{cost.hours:.1f}"),
        ("moulds", words.moulds, lambda cost: "" if cost.moulds is None else str(cost.moulds)),
        ("batches", words.batches, lambda cost: "" if cost.batches is None else str(cost.batches)),
        (
            "price",
            words.price_in.format(currency=currency),
            lambda cost: "" if cost.price is None else f"{cost.price:.2f}",
        ),
    )
    return tuple(
        (label, written)
        for number, label, written in every
        if any(getattr(cost, number) is not None for cost in costs)
    )


def monday_of(week: str) -> str:
    """Return the first day of a calendar week.

    >>> monday_of("2026-W49"), monday_of("")
    ('2026-11-30', '')
    """
    return datetime.date.fromisoformat(f"{week}-1").isoformat() if week else ""


def put_making(flow: Flow, words: Words, made: MakingCost, pieces: Sequence[MadePiece]) -> None:
    """Put what an order takes to make; `pieces` are in the order of `made.pieces`."""
    flow.turn()
    flow.put(_TITLE_MM, partial(_titled, words.making))
    for text in (words.making_how, *figures_missing(words, made)):
        put_text(flow, text)
    flow.space(_ABOVE_MM)
    numbers = numbers_of_cost([made.total], words, made.currency)
    if any(week for week, _ in made.weeks):
        told = [((week, monday_of(week)), cost) for week, cost in made.weeks]
        _put_table(flow, (words.week, words.from_day), numbers, [*told, ((words.total, ""), made.total)])
        flow.space(_ABOVE_MM)
    rows = [
        ((f"{composed(piece.character)}  {piece.code}", piece.name), cost)
        for piece, cost in zip(pieces, made.pieces, strict=True)
        if cost.pressings
    ]
    if rows:
        numbers = numbers_of_cost([made.total], words, made.currency)
        _put_table(flow, (words.code, words.name), numbers, [*rows, ((words.total, ""), made.total)])


def grouped_by(words: Words, by: Grouping) -> str:
    """Return what a grouping is called: one of its groups."""
    return {"scene": words.scene, "character": words.character, "puppet": words.puppet, "week": words.week}[by]


def group_name(words: Words, by: Grouping, group: str | None) -> str:
    """Return what a group is called; None is that of spares, or of all weeks where no days are planned."""
    if group is not None:
        return group
    return words.no_week if by == "week" else words.spares


def put_groups(flow: Flow, words: Words, by: Grouping, groups: Sequence[GroupRow]) -> None:
    """Put what is to be made by scene, character, puppet or week, a block for each."""
    flow.turn()
    flow.put(_TITLE_MM, partial(_titled, words.to_make_by.format(group=grouped_by(words, by))))
    told: dict[str | None, list[str]] = {}
    sums: Counter[str | None] = Counter()
    for one in groups:
        piece = f"{one.character} {one.code}"
        told.setdefault(one.group, []).append(words.make_count.format(code=piece, count=one.to_make))
        sums[one.group] += one.to_make
    for group, texts in told.items():
        put_list(flow, f"{group_name(words, by, group)}: {sums[group]}", texts)
    if not told:
        put_text(flow, words.make_none)


def figures_missing(words: Words, made: MakingCost) -> Iterator[str]:
    """Yield in words what is not in the sums, since a figure is not given."""
    names = {"minutes": words.hours, "batches": words.batches, "price": words.price_in.format(currency=made.currency)}
    for pieces, numbers in made.left_out.items():
        codes = ", ".join(f"{who} {code}" for who, code in pieces)
        yield words.figure_missing.format(figure="; ".join(names[number] for number in numbers), pieces=codes)


def _put_table(
    flow: Flow, names: tuple[str, str], numbers: Sequence[_Number], rows: Sequence[tuple[tuple[str, str], Cost]]
) -> None:
    """Put a table of costs; its last row is the total."""
    first = _RIGHT - _STEP * len(numbers)
    columns = [
        TableColumn(names[0], at=0.0, width=0.24, number=False, size_pt=10, bold=True, whole=True),
        TableColumn(names[1], at=0.25, width=first - 0.25, number=False, size_pt=9, whole=True),
        *(
            TableColumn(label, at=first + _STEP * (at + 1), width=_STEP * 0.9, size_pt=10, whole=True)
            for at, (label, _) in enumerate(numbers)
        ),
    ]
    blocks = [
        partial(
            _row, flow.heading, columns, [*named, *(written(cost) for _, written in numbers)], at == len(rows) - 1
        )
        for at, (named, cost) in enumerate(rows)
    ]
    flow.put_rows(columns, [(_ROW_MM, block) for block in blocks])


def _row(
    heading: Heading, columns: Sequence[TableColumn], texts: Sequence[str], is_total: bool, y_mm: float
) -> Iterator[Mark]:
    right_mm = heading.width_mm - MARGIN_X_MM
    yield Rule(MARGIN_X_MM, y_mm, right_mm, y_mm, _TOTAL_RULE_MM) if is_total else row_rule(right_mm, y_mm + _ROW_MM)
    yield from cells(columns, texts, heading, y_mm + _BASE_MM)


def _titled(title: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + REPORT.section_base_mm, composed(title), REPORT.section_pt, bold=True)
