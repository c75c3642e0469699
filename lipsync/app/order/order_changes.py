"""What changed from one revision of the order to the next, in the studio's words.

In: the states of two orders, and the studio's words. Out: sentences, one for each piece that changed, in the order of
the newer one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from lipsync.app.order.order_record import OrderedRow, OrderState
from lipsync.paper.sheet_words import Words
from lipsync.workshop.shooting import Heads


def order_changes(was: OrderState | None, now: OrderState, words: Words) -> tuple[str, ...]:
    """Return what changed since the order before, in sentences; empty for the first order."""
    if was is None:
        return ()
    return tuple(_changes(was, now, words))


def _changes(was: OrderState, now: OrderState, words: Words) -> Iterator[str]:
    gone = [text for text in was.missing if text not in now.missing]
    yield from (words.order_missing.format(now=text) for text in now.missing if text not in was.missing)
    yield from (words.order_no_missing.format(was=text) for text in gone)
    groups = _groups(was) | _groups(now)  # of each character the larger number
    before, after = ({_key(row, groups): row for row in state.pieces} for state in (was, now))
    for key in dict.fromkeys([*after, *before]):
        now_said = after.get(key) or _nothing(before[key])
        if told := list(_of_piece(before.get(key) or _nothing(now_said), now_said, words)):
            # Where not all heads take the same mouths, or did not, it is said whose piece it is.
            whose = f" ({', '.join(now_said.heads)})" if groups[now_said.character] > 1 else ""
            piece = f"{now_said.character} {now_said.code}{whose}"
            yield words.order_piece.format(piece=piece, changes="; ".join(told))
    if was.hand_overs != now.hand_overs:
        yield words.order_handed


def _groups(state: OrderState) -> Counter[str]:
    """Return for each character how many groups of heads there are that do not take the same mouths."""
    return Counter(character for character, _ in {(row.character, row.heads) for row in state.pieces})


def _key(row: OrderedRow, groups: Counter[str]) -> tuple[str, str, Heads]:
    """Return what a row is of; where all heads take the same mouths, it is the same whatever puppets there are."""
    return row.character, row.code, row.heads if groups[row.character] > 1 else ()


def _nothing(row: OrderedRow) -> OrderedRow:
    """Return the row of a piece that an order does not name: all counts 0."""
    return row.model_copy(update={"needed": 0, "there": 0, "on_the_way": 0, "make": 0, "unneeded": 0, "by": ()})


def _of_piece(was: OrderedRow, now: OrderedRow, words: Words) -> Iterator[str]:
    if was.needed != now.needed:
        yield words.order_needed.format(now=now.needed, was=was.needed)
    had, have = was.there + was.on_the_way + was.make, now.there + now.on_the_way
    if had != have:
        yield words.order_had.format(now=have, was=had)
    if now.make:
        yield words.order_make.format(count=now.make)
    if now.unneeded and now.unneeded != was.unneeded:
        yield words.order_unneeded.format(count=now.unneeded)
