"""Where a computation and the corrections that are laid over it say different things.

In: a computed breakdown, and corrections that may have been made to an earlier one. Out: sentences for a person, who
alone can say which is right. That a correction differs from the computation that it was made to is no disagreement:
that is its purpose.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lipsync.breakdown.corrections import Correction, label_of, sound_of
from lipsync.breakdown.laying import Laid
from lipsync.model import Breakdown, Part, Word
from lipsync.timing import seconds_of
from lipsync.wording import phrase

# A new computation and a correction further apart than this disagree: two people who place the same boundaries agree
# within 20 ms in 94 % of cases (Hosom 2009, Speech Communication 51(4):352-368).
DISAGREE_US = 20_000


def without_room(computed: Breakdown, laid: Laid) -> Iterator[str]:
    """Yield the computed parts that the corrections squeeze to the least, or leave no room for."""
    for index in laid.squeezed:
        yield phrase("part squeezed", part=_computed_part(computed, index))
    for index in laid.left_out:
        yield phrase("part left out", part=_computed_part(computed, index))


def _computed_part(computed: Breakdown, index: int) -> str:
    part = computed.parts[index]
    return phrase("computed part", index=index, label=label_of(part), start=part.start_s, end=part.end_s)


def moved_away(correction: Correction, computed: Breakdown) -> Iterator[str]:
    """Yield each boundary of a correction that a computation newer than it puts more than `DISAGREE_US` away."""
    now = [computed.parts[ref.index] for ref in correction.replaces]
    seen = [(ref.start_us, ref.end_us) for ref in correction.replaces]
    moved = any(
        span not in ((None, None), (part.start_us, part.end_us)) for span, part in zip(seen, now, strict=True)
    )
    if not moved or not correction.parts:
        return
    for name, corrected_us, computed_us in _boundaries(correction.parts, now):
        if abs(corrected_us - computed_us) > DISAGREE_US:
            yield phrase(
                "boundary moved",
                index=correction.replaces[0].index,
                label=correction.label,
                boundary=name,
                corrected=seconds_of(corrected_us),
                computed=seconds_of(computed_us),
            )


def _boundaries(corrected: Sequence[Part], now: Sequence[Part]) -> Iterator[tuple[str, int, int]]:
    """Yield name, corrected time and computed time of each boundary; inner ones where the phonemes are the same."""
    yield "start", corrected[0].start_us, now[0].start_us
    if [sound_of(part) for part in corrected] == [sound_of(part) for part in now]:
        for mine, theirs in zip(corrected, now, strict=True):
            if isinstance(mine, Word) and isinstance(theirs, Word):
                inner = zip(mine.phonemes[1:], theirs.phonemes[1:], strict=True)
                yield from ((p.symbol, p.start_us, q.start_us) for p, q in inner)
    yield "end", corrected[-1].end_us, now[-1].end_us
