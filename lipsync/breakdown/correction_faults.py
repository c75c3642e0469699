"""Finds what does not fit together in what is kept of a line.

In: a computed breakdown and its corrections, or choices of pieces. Out: pairs of place and sentence, the places named
as in the file. `Kept` cannot be built with such a fault; reading a file reports all of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise

from lipsync.breakdown.corrections import Correction, PieceChoice, label_of
from lipsync.breakdown.laying import Wall, walls_of
from lipsync.model import Breakdown
from lipsync.timing import seconds_of

Fault = tuple[str, str]


def correction_faults(computed: Breakdown, corrections: Sequence[Correction]) -> Iterator[Fault]:
    """Yield where corrections do not fit the computed breakdown, or each other."""
    labels = [label_of(part) for part in computed.parts]
    counts = Counter(ref.index for correction in corrections for ref in correction.replaces)
    for number, correction in enumerate(corrections):
        place = f"[[corrected]] {number}"
        for ref in correction.replaces:
            if ref.index >= len(labels) or labels[ref.index] != ref.text:
                yield (
                    place,
                    f'replaces part {ref.index} "{ref.text}", but {_what_is_there(ref.index, ref.text, labels)}',
                )
            if counts[ref.index] > 1:
                yield place, f'part {ref.index} "{ref.text}" is replaced more than once; keep one of the corrections'
        if correction.parts and correction.parts[-1].end_us > computed.duration_us:
            last = correction.parts[-1]
            yield (
                place,
                f'"{label_of(last)}" ends at {last.end_s} s, after the recording, which lasts '
                f"{seconds_of(computed.duration_us)} s; end it earlier",
            )
    yield from (("[[corrected]]", text) for text in _out_of_order(walls_of(corrections)))


def _what_is_there(index: int, text: str, labels: list[str]) -> str:
    there = f'that is "{labels[index]}"' if index < len(labels) else f"there are {len(labels)}, counted from 0"
    same = [str(i) for i, label in enumerate(labels) if label == text]
    return f'{there}; "{text}" is part {" or ".join(same)}' if same else f"{there}; none has that name"


def _out_of_order(walls: Sequence[Wall]) -> Iterator[str]:
    for before, after in pairwise(walls):
        if after.part.start_us < before.part.end_us:
            yield (
                f'"{label_of(after.part)}" begins at {after.part.start_s} s, before "{label_of(before.part)}" '
                f"ends at {before.part.end_s} s; corrected parts must not overlap"
            )
    placed = [(wall.index, label_of(wall.part)) for wall in walls if wall.index is not None]
    for (first, one), (second, other) in pairwise(placed):
        if second < first:
            yield f'"{other}" comes after "{one}" in time, but replaces an earlier part; keep them in their order'


def piece_faults(pieces: Sequence[PieceChoice]) -> Iterator[Fault]:
    """Yield contradictions among the pieces that were put on frames or forbidden there."""
    put_on = {choice.frame: choice.code for choice in pieces if not choice.forbidden}
    for choice, count in Counter(pieces).items():
        place = f"pieces, frame {choice.frame}"
        if not choice.forbidden and put_on[choice.frame] != choice.code:
            yield place, f"{choice.code} and {put_on[choice.frame]} are both put on it; keep one"
        if choice.forbidden and put_on.get(choice.frame) == choice.code:
            yield place, f"{choice.code} is put on it and also forbidden; keep one"
        if count > 1:
            yield place, f"{choice.code} is named {count} times; keep one"
