"""Finds the corrections that lead from one breakdown to another.

In: the computed breakdown, its corrections so far, and the breakdown that a person wants: made at the desk, read from
an interval file, or edited in place. Out: corrections which, laid over the computed breakdown, give the phonemes and
times of the wanted one. A correction that still holds stays as it is, with its note. A computed part that was only
shortened beside a correction does not become a correction. A part that a person marked as corrected becomes one even
where nothing else differs: it was confirmed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lipsync.breakdown.corrections import Correction, Replaced, all_heard_alike, by_hand, heard_alike, paired
from lipsync.breakdown.laying import Laid, lay
from lipsync.model import Breakdown, Part


def corrections_between(computed: Breakdown, wanted: Breakdown, note: str = "") -> tuple[Correction, ...]:
    """Return the corrections that lead from a computed breakdown to the wanted one.

    Raises:
        ValueError: if the two are not of the same length of sound.
    """
    return corrections_to(computed, (), wanted, note)


def corrections_to(
    computed: Breakdown, corrections: Sequence[Correction], wanted: Breakdown, note: str = ""
) -> tuple[Correction, ...]:
    """Return the corrections that lead to the wanted breakdown; of those so far, the ones that still hold are kept.

    Raises:
        ValueError: if what was computed and what is wanted are not of the same length of sound.
    """
    if computed.duration_us != wanted.duration_us:
        raise ValueError(f"the recording lasts {computed.duration_us} us, the wanted one {wanted.duration_us} us")
    corrections = [correction for correction in corrections if not _is_back(correction, computed, wanted)]
    laid = lay(computed, corrections)
    steps = _steps(laid, wanted)
    touched = {laid.owners[i] for step in steps if step.changed for i in step.old}
    result = [correction for owner, correction in enumerate(corrections) if owner not in touched]
    for step in steps:
        if step.changed:
            result += _correction(step, laid, wanted, (computed, corrections, note))
    if not corrections or all_heard_alike(lay(computed, result).parts, wanted.parts):
        return _sorted(result)
    # A part that was shortened beside a correction which is now gone would get its computed length again. The person
    # saw it shortened, so it is corrected to stay so.
    for step in steps:
        if not step.changed:
            result += _kept_shortened(step, laid, wanted, computed)
    if all_heard_alike(lay(computed, result).parts, wanted.parts):
        return _sorted(result)
    return corrections_to(computed, (), wanted, note)


def _is_back(correction: Correction, computed: Breakdown, wanted: Breakdown) -> bool:
    """Whether a correction deletes a part that the wanted breakdown has again as it was computed."""
    deleted = () if correction.parts else correction.replaces
    return any(heard_alike(computed.parts[ref.index], part) for ref in deleted for part in wanted.parts)


@dataclass(frozen=True, slots=True)
class _EditStep:
    """Indices of parts that stand now, of those that they are to become, and whether that is a change."""

    old: range
    new: range
    changed: bool


def _steps(laid: Laid, wanted: Breakdown) -> list[_EditStep]:
    """Return the steps from what stands to what is wanted; all parts of a correction that changes are in one step."""
    steps = [
        _EditStep(old, new, _differ([laid.parts[i] for i in old], [wanted.parts[j] for j in new]))
        for old, new in paired(laid.parts, wanted.parts)
    ]
    for owner in {owner for owner in laid.owners if owner is not None}:
        own = [k for k, step in enumerate(steps) if any(laid.owners[i] == owner for i in step.old)]
        first, last = own[0], own[-1]
        within = steps[first : last + 1]
        if any(step.changed for step in within):
            old, new = (
                range(within[0].old.start, within[-1].old.stop),
                range(within[0].new.start, within[-1].new.stop),
            )
            steps[first : last + 1] = [_EditStep(old, new, changed=True)]
    return steps


def _differ(before: Sequence[Part], after: Sequence[Part]) -> bool:
    if not all_heard_alike(before, after):
        return True
    return any(new.corrected and not old.corrected for old, new in zip(before, after, strict=True))


def _correction(
    step: _EditStep, laid: Laid, wanted: Breakdown, was: tuple[Breakdown, Sequence[Correction], str]
) -> list[Correction]:
    computed, corrections, note = was
    owners = sorted({owner for i in step.old if (owner := laid.owners[i]) is not None})
    indexes = {index for i in step.old if (index := laid.origins[i]) is not None}
    indexes |= {ref.index for owner in owners for ref in corrections[owner].replaces}
    if not _differ([computed.parts[i] for i in sorted(indexes)], [wanted.parts[j] for j in step.new]):
        return []  # the correction is withdrawn: the computed parts stand again, or the added ones are gone
    parts = tuple(by_hand(wanted.parts[j]) for j in step.new)
    refs = tuple(Replaced.at(index, computed) for index in sorted(indexes))
    notes = [note] if note else [corrections[owner].note for owner in owners if corrections[owner].note]
    return [Correction(refs, parts, " / ".join(notes))]


def _kept_shortened(step: _EditStep, laid: Laid, wanted: Breakdown, computed: Breakdown) -> list[Correction]:
    return [
        Correction((Replaced.at(index, computed),), (by_hand(wanted.parts[j]),))
        for i, j in zip(step.old, step.new, strict=True)
        if (index := laid.origins[i]) is not None and not heard_alike(laid.parts[i], computed.parts[index])
    ]


def _sorted(corrections: Sequence[Correction]) -> tuple[Correction, ...]:
    """Return corrections in the order of time, so that the same corrections give the same file."""
    return tuple(
        sorted(
            corrections,
            key=lambda c: (
                c.parts[0].start_us if c.parts else c.replaces[0].start_us or 0,
                [r.index for r in c.replaces],
            ),
        )
    )
