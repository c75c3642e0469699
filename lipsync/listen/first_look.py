"""First look: which pronunciations and silences a line has, and about where, by the recogniser.

In: samples, the pronunciations of each word, and the voice factor. Out: readings of the line: the phones in order,
each where the recogniser placed it, in steps of 5 ms at the voice factor.

The ladder. "plain": at the voice factor; "other factor": at factors beside it, where that finds nothing; "wider": all
of them with wider beams, where those find nothing. Readings at other factors than the voice's were found to differ,
but none to be nearer to hand-placed labels: so the first that is found is taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.listen import align_pocketsphinx as recogniser
from lipsync.listen.acoustic_model import BEGIN, END, INSIDE, SINGLE
from lipsync.listen.align_pocketsphinx import (
    HALF_WINDOW_US,
    LADDER,
    FirstPass,
    NotFoundError,
    Samples,
    Symbols,
    TickWord,
)
from lipsync.listen.features import STEP_US
from lipsync.listen.second_look import Placed
from lipsync.listen.voice import slowed
from lipsync.phonemes import SILENCE
from lipsync.timing import us_of_sample

BESIDE = (0.93, 1.08, 0.85, 1.17, 1.3, 0.75)  # times the voice factor
EFFORTS = ("plain", "other factor", "wider")

Words = Sequence[Sequence[Symbols]]


@dataclass(frozen=True, slots=True)
class Reading:
    """A line as the recogniser read it.

    Attributes:
        words: what it found, in ticks of the sound slowed by the voice factor times `ratio`.
        phones: the same in steps at the voice factor, the first and the last a silence.
        ratio: the factor beside the voice's.
        effort: which step of the ladder it took.
    """

    words: tuple[TickWord, ...]
    phones: tuple[Placed, ...]
    ratio: float
    effort: str


def read(samples: Samples, words: Words, factor: float, begun: FirstPass | None = None) -> Reading:
    """Return the first reading up the ladder; `begun` is a first pass already made of the same at this factor.

    Raises:
        NotFoundError: if there is none at its end.
    """
    for effort, ratio in _steps():
        beams = LADDER[effort == "wider"]
        try:
            if effort == "plain" and begun is not None and begun.beams == beams:
                found = begun.words()
            else:
                found = FirstPass(slowed(samples, factor * ratio), words, beams).words()
        except NotFoundError:
            continue
        return Reading(found, tuple(_phones(found, ratio)), ratio, effort)
    raise NotFoundError("no search finds the words")


def _steps() -> Iterator[tuple[str, float]]:
    yield "plain", 1.0
    yield from (("other factor", ratio) for ratio in BESIDE)
    yield from (("wider", ratio) for ratio in (1.0, *BESIDE))


def _phones(found: Sequence[TickWord], ratio: float) -> Iterator[Placed]:
    if found[0].word is not None:  # a line may always begin and end in silence
        yield Placed(SILENCE, 0.0)
    for word in found:
        last = len(word.phones) - 1
        for k, phone in enumerate(word.phones):
            place = SINGLE if last == 0 else BEGIN if k == 0 else END if k == last else INSIDE
            yield Placed(phone.symbol, _step(phone.start_tick, ratio), place)
    if found[-1].word is not None:
        end = found[-1].phones[-1]
        yield Placed(SILENCE, _step(end.start_tick + end.ticks, ratio))


def _step(tick: int, ratio: float) -> float:
    """Return the step, at the voice factor, of what a tick at a ratio to it shows."""
    return (us_of_sample(tick, recogniser.TICK_RATE_HZ) + HALF_WINDOW_US) / STEP_US / ratio
