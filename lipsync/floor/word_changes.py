"""What changed of a character's words: which moved, which are new, which are gone.

In: the cells of two states. Out: `Change`s, in the order of frames.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher

from lipsync.floor.changes import Change
from lipsync.floor.spans import Span
from lipsync.paper.rows import Cell, HeardSpan

Pair = tuple[HeardSpan, HeardSpan]

# Of more words than these only the first and the last are named (all chosen).
_MOST_NAMED = 6
_FIRST_NAMED = 3
_LAST_NAMED = 2


def word_changes(name: str, before: Sequence[Cell], after: Sequence[Cell]) -> Iterator[Change]:
    """Yield what changed of a character's words; `name` is its name, the cells are one a frame."""
    was, now = ([heard for cell in cells for heard in cell.begins] for cells in (before, after))
    matcher = SequenceMatcher(None, [_key(h) for h in was], [_key(h) for h in now], autojunk=False)
    pairs: list[Pair] = []
    for what, a, a_end, b, b_end in matcher.get_opcodes():
        if what == "equal":
            pairs += zip(was[a:a_end], now[b:b_end], strict=True)
            continue
        yield from _moves(name, pairs)
        pairs = []
        yield _replaced(name, was[a:a_end], now[b:b_end], len(after) - 1)
    yield from _moves(name, pairs)


def _key(heard: HeardSpan) -> tuple[str, str]:
    return heard.kind, heard.text


def _replaced(name: str, was: Sequence[HeardSpan], now: Sequence[HeardSpan], last: int) -> Change:
    """Return the change of words that replaced others; `last` is the shot's last frame."""
    all_of = [*was, *now]
    span, old = _span(now or all_of), _span(was) if was else None
    span, old = (min(span[0], last), min(span[1], last)), old if old != span else None
    if all(heard.kind == "pause" for heard in all_of):
        return Change("pause" if now else "no pause", *span, name, also=old)
    return Change("words", *span, name, now=_named(now), was=_named(was), also=old)


def _moves(name: str, pairs: Sequence[Pair]) -> Iterator[Change]:
    """Yield what changed of words with the same text: moves, new ends, new doubts."""
    start = 0
    while start < len(pairs):
        shifts = [_shift(pairs[start])]
        end = start + 1
        # Times are rounded to frames: a move by a frame and a half moves some words by 1 and some by 2 frames.
        while end < len(pairs) and (by := _shift(pairs[end])) and max(*shifts, by) - min(*shifts, by) <= 1:
            if shifts[0] == 0 or by * shifts[0] < 0:
                break
            shifts.append(by)
            end += 1
        if shifts[0]:
            was, now = zip(*pairs[start:end], strict=True)
            least, most = min(shifts, key=abs), max(shifts, key=abs)
            yield Change("moved", *_span(now), name, now=_named(now), by=(least, most), also=_span(was))
        for pair in pairs[start:end]:
            yield from _of_word(name, *pair, moved=bool(shifts[0]))
        start = end


def _shift(pair: Pair) -> int:
    return pair[1].first - pair[0].first


def _of_word(name: str, was: HeardSpan, now: HeardSpan, *, moved: bool) -> Iterator[Change]:
    if not moved and was.last != now.last:
        yield Change("lasts", now.first, now.last, name, now=_named([now]), also=_span([was]))
    if was.doubtful != now.doubtful:
        yield Change("doubt" if now.doubtful else "no doubt", now.first, now.first, name, now=_named([now]))


def _span(heard: Sequence[HeardSpan]) -> Span:
    return min(h.first for h in heard), max(h.last for h in heard)


def _named(heard: Sequence[HeardSpan]) -> str:
    """Return words as a change tells them: of many only the first and the last; a pause has no text."""
    texts = [h.text for h in heard if h.text]
    if len(texts) > _MOST_NAMED:
        texts = [*texts[:_FIRST_NAMED], "…", *texts[-_LAST_NAMED:]]
    return " ".join(texts)
