"""Moves corrections from one computed breakdown to a newer one.

In: corrections of the old breakdown, the new breakdown, and by how much later the same sound is in the new one (None
if it is another recording). Out: corrections of the new breakdown, and those that cannot move, each with the reason.
A correction moves with its words: the old and the new list of words are aligned, and a word found in both is the
same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

from lipsync.breakdown.correction_faults import correction_faults
from lipsync.breakdown.corrections import Correction, Replaced, by_hand, label_of, same_words, sound_of, times_of
from lipsync.breakdown.disagreeing import DISAGREE_US
from lipsync.breakdown.kept import Computation, Kept
from lipsync.breakdown.laying import lay, stretched
from lipsync.model import Breakdown, Cue, Part
from lipsync.wording import phrase


@dataclass(frozen=True, slots=True)
class Moved:
    """What became of corrections.

    Attributes:
        corrections: those that moved, as corrections of the new breakdown.
        dropped: those that did not, as they were, each with the reason.
    """

    corrections: tuple[Correction, ...]
    dropped: tuple[tuple[Correction, str], ...]


def offset_between(old: Kept, new: Computation) -> int | None:
    """Return by how many microseconds later the same sound is in a newer computation; None for another recording.

    Where an in or out point of the same recording moved, the sound counts as the same if the times of most words
    differ by as much as the in points, to within `DISAGREE_US`.
    """
    if old.source.fingerprint == new.source.fingerprint:
        return 0
    if old.source.recording != new.source.recording:
        return None
    offset_us = (old.source.in_us or 0) - (new.source.in_us or 0)
    went = same_words(old.computed.parts, new.breakdown.parts)
    apart = [
        abs(new.breakdown.parts[j].start_us - old.computed.parts[i].start_us - offset_us) for i, j in went.items()
    ]
    return offset_us if apart and median(apart) <= DISAGREE_US else None


class _CannotMoveError(Exception):
    """A correction, or a part, cannot move; holds the kind of the reason (wording.py)."""

    def __init__(self, kind: str) -> None:
        super().__init__(phrase(kind))


def move(corrections: Sequence[Correction], old: Breakdown, new: Breakdown, offset_us: int | None) -> Moved:
    """Move corrections from the old computed breakdown to the new one."""
    went = same_words(old.parts, new.parts)
    moved: list[Correction] = []
    dropped = []
    for correction in corrections:
        try:
            there = _moved(correction, old, new, went, offset_us)
            if any(correction_faults(new, [*moved, there])):
                raise _CannotMoveError("not moved: place taken")
            moved.append(there)
        except _CannotMoveError as reason:
            dropped.append((correction, str(reason)))
    return Moved(tuple(moved), tuple(dropped))


def _moved(
    correction: Correction, old: Breakdown, new: Breakdown, went: Mapping[int, int], offset_us: int | None
) -> Correction:
    if any(ref.index not in went for ref in correction.replaces):
        raise _CannotMoveError("not moved: part gone")
    indexes = [went[ref.index] for ref in correction.replaces]
    if offset_us is None:
        refs = tuple(Replaced.at(index, new) for index in indexes)
        return Correction(refs, _fitted(correction, old, [new.parts[index] for index in indexes]), correction.note)
    seen = [_seen(ref, old, offset_us) for ref in correction.replaces]
    refs = tuple(Replaced(i, label_of(new.parts[i]), *times) for i, times in zip(indexes, seen, strict=True))
    parts = tuple(later(part, offset_us) for part in correction.parts)
    if parts and parts[-1].end_us > new.duration_us:
        raise _CannotMoveError("not moved: after the end")
    return Correction(refs, parts, correction.note)


def _seen(ref: Replaced, old: Breakdown, offset_us: int) -> tuple[int | None, int | None]:
    """Return where the replaced part was when it was corrected, in the times of the new breakdown."""
    start_us, end_us = ref.start_us, ref.end_us
    if start_us is None or end_us is None:
        start_us, end_us = old.parts[ref.index].start_us, old.parts[ref.index].end_us
    return (None, None) if start_us + offset_us < 0 else (start_us + offset_us, end_us + offset_us)


def later(part: Part, offset_us: int) -> Part:
    """Return a part moved to a later time, or to an earlier one if the offset is below 0.

    >>> later(Cue("gasp", 1000, 3000), -1000)
    Cue(name='gasp', start_us=0, end_us=2000, corrected=False)
    """
    if part.start_us + offset_us < 0:
        raise _CannotMoveError("not moved: before the beginning")
    if isinstance(part, Cue):
        return replace(part, start_us=part.start_us + offset_us, end_us=part.end_us + offset_us)
    moved = [replace(p, start_us=p.start_us + offset_us, end_us=p.end_us + offset_us) for p in part.phonemes]
    return replace(part, phonemes=tuple(moved))


def _fitted(correction: Correction, old: Breakdown, there: Sequence[Part]) -> tuple[Part, ...]:
    """Return the corrected parts, scaled to the span in which the new recording has what they replace."""
    if not there:
        raise _CannotMoveError("not moved: added")
    if not correction.parts:
        return ()
    before = [old.parts[ref.index] for ref in correction.replaces]
    if [(label_of(p), sound_of(p)) for p in before] == [(label_of(p), sound_of(p)) for p in correction.parts]:
        raise _CannotMoveError("not moved: only times")
    start_us, end_us = correction.parts[0].start_us, correction.parts[-1].end_us
    first_us, new_us = there[0].start_us, there[-1].end_us - there[0].start_us
    try:
        return tuple(
            stretched(
                part,
                *(first_us + (t - start_us) * new_us // (end_us - start_us) for t in (part.start_us, part.end_us)),
            )
            for part in correction.parts
        )
    except ValueError:
        raise _CannotMoveError("not moved: no room") from None


def edits_in_place(kept: Kept, new: Breakdown, offset_us: int) -> tuple[Correction, ...]:
    """Return a correction for each word that was edited in place and that a new computation has otherwise."""
    laid = lay(kept.computed, kept.corrections)
    went = same_words(kept.computed.parts, new.parts)
    return tuple(
        Correction((Replaced.at(index, kept.computed),), (by_hand(part),))
        for part, index in zip(laid.parts, laid.origins, strict=True)
        if index is not None and index in went and _otherwise(part, new.parts[went[index]], offset_us)
    )


def _otherwise(part: Part, theirs: Part, offset_us: int) -> bool:
    return sound_of(part) != sound_of(theirs) or tuple(t + offset_us for t in times_of(part)) != times_of(theirs)
