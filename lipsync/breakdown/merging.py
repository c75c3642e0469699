"""Merges a new computation of a line into what is kept of it; what a person has touched is never overwritten.

In: what was kept, and the new computation. Out: what is to be kept now, and messages for the person.

    nobody has touched the line                      the new computation replaces the old
    corrected; text and sound are the same           the new computation replaces the old, the corrections stay
    checked; text and sound are the same             likewise if nothing that is heard changes; else the new one waits
    corrected or checked; text or sound has changed  the old computation stands, the new one waits beside it
    placed by hand, nothing computed before          likewise: otherwise the words would stand there twice

Rows that were edited in place count as corrections and become corrections. `accept_newer` takes a computation that
waits. Corrections then move along with their words: unchanged where the sound is the same, earlier or later where
only the `in` point moved. On a new recording a correction of times alone means nothing and is dropped; corrected
phonemes, a split or a join are scaled to where the word is heard now.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from lipsync.breakdown.corrections import Correction, all_heard_alike, bare_word
from lipsync.breakdown.kept import Computation, Kept, Source
from lipsync.breakdown.rebase import edits_in_place, move, offset_between
from lipsync.message import Message, Where
from lipsync.model import Breakdown
from lipsync.wording import phrase

# What `difflib` calls a change -> kind of the phrase for it.
_CHANGES = {"replace": "word replaced", "delete": "word gone", "insert": "word added"}


def merge(
    old: Kept | None, source: Source, computed: Breakdown, *, line: str, engine: str
) -> tuple[Kept, list[Message]]:
    """Return what is to be kept of a line that was computed again, and what a person should know."""
    fresh = Kept(line, source, computed, engine)
    if old is None:
        return fresh, []
    if old.by_hand and computed.parts:
        return _waiting(old, fresh, phrase("why: heard now"))
    if source.alike(old.source) and computed.duration_us == old.computed.duration_us:
        return _computed_again(old, fresh)
    why = "; ".join(_changes(old.source, source)) or phrase("why: length")
    if old.corrections or old.checked or old.edited:
        return _waiting(old, fresh, why)
    return _said_again(old, replace(fresh, pieces=old.pieces)), list(_on_pieces(old, f"{why}; "))


def _said_again(old: Kept, kept: Kept) -> Kept:
    """Return what is kept with what a person said of the same sound before: where nothing is said."""
    offset_us = offset_between(old, Computation(kept.source, kept.computed, kept.engine))
    if offset_us is None:
        return kept
    for one in old.nothing_said:
        start_us, end_us = max(0, one.start_us + offset_us), min(kept.computed.duration_us, one.end_us + offset_us)
        if start_us < end_us:
            kept = kept.with_nothing_said(start_us, end_us)
    return kept


def _waiting(old: Kept, fresh: Kept, why: str) -> tuple[Kept, list[Message]]:
    state = "corrected" if old.corrections or old.edited else "checked"
    message = _told("stands", old.line, why=why, state=state)
    return replace(old, newer=Computation(fresh.source, fresh.computed, fresh.engine)), [message]


def _computed_again(old: Kept, fresh: Kept) -> tuple[Kept, list[Message]]:
    """Return what is kept, and messages, where text and sound are the same: every correction stays."""
    if old.checked and not old.edited and not all_heard_alike(old.computed.parts, fresh.computed.parts):
        return _waiting(old, fresh, phrase("why: checked"))
    moved = move(old.corrections, old.computed, fresh.computed, 0)
    # A correction whose replaced parts are no longer computed stays as added parts.
    added = [Correction((), c.parts, c.note) for c, _ in moved.dropped if c.parts]
    kept = replace(fresh, corrections=(*moved.corrections, *added), checked=old.checked, pieces=old.pieces)
    kept = _said_again(old, kept)
    messages = [
        _on_dropped(old.line, correction, reason) for correction, reason in moved.dropped if not correction.parts
    ]
    if old.edited:
        corrected = kept.corrected_to(old.breakdown)
        new = [correction for correction in corrected.corrections if correction not in kept.corrections]
        kind = "edited by hand" if new else "edited without effect"
        messages.append(_told(kind, old.line, parts=_named(new)))
        kept = corrected
    return kept, messages


def accept_newer(kept: Kept) -> tuple[Kept, list[Message]]:
    """Return what is kept once the newer computation is taken, and what became of the corrections."""
    newer = kept.newer
    if newer is None:
        return kept, [_told("nothing newer", kept.line)]
    offset_us = offset_between(kept, newer)
    edits = edits_in_place(kept, newer.breakdown, offset_us) if kept.edited and offset_us is not None else ()
    moved = move((*kept.corrections, *edits), kept.computed, newer.breakdown, offset_us)
    messages = [_told("newer taken", kept.line)]
    if moved.corrections:
        kind = "corrections moved by guess" if offset_us is None else "corrections moved"
        messages.append(_told(kind, kept.line, parts=_named(moved.corrections)))
    messages += [_on_dropped(kept.line, correction, reason) for correction, reason in moved.dropped]
    if kept.edited and offset_us is None:
        messages.append(_told("edits dropped", kept.line))
    if offset_us != 0:
        messages += _on_pieces(kept)
    taken = Kept(kept.line, newer.source, newer.breakdown, newer.engine, moved.corrections, pieces=kept.pieces)
    return _said_again(kept, taken), messages


def _named(corrections: Sequence[Correction]) -> str:
    return ", ".join(f'"{correction.label}"' for correction in corrections)


def _told(kind: str, line: str, **facts: object) -> Message:
    return Message.of(kind, Where(place=line, line=line), **facts)


def _on_dropped(line: str, correction: Correction, reason: str) -> Message:
    note = phrase("note of a correction", note=correction.note) if correction.note else ""
    return _told("correction dropped", line, part=correction.label, reason=reason, note=note)


def _on_pieces(kept: Kept, why: str = "") -> Iterator[Message]:
    if kept.pieces:
        frames = ", ".join(str(frame) for frame in sorted({choice.frame for choice in kept.pieces}))
        yield _told("pieces to check", kept.line, why=why, frames=frames)


def _changes(old: Source, new: Source) -> Iterator[str]:
    """Yield what differs between two sources."""
    if old.text != new.text:
        yield phrase("why: text", changes=", ".join(_word_changes(old.text, new.text)) or phrase("why: same words"))
    if old.fingerprint != new.fingerprint:
        moved = old.recording == new.recording and (old.in_us, old.out_us) != (new.in_us, new.out_us)
        yield phrase("why: in or out") if moved else phrase("why: recording", recording=new.recording)


def _word_changes(old: str, new: str) -> Iterator[str]:
    """Yield which words differ.

    >>> list(_word_changes("Mind the lamp, keeper.", "Mind that old lamp."))
    ['"the" is now "that old"', '"keeper." is gone']
    """
    before, after = old.split(), new.split()
    matcher = SequenceMatcher(None, [*map(bare_word, before)], [*map(bare_word, after)], autojunk=False)
    for tag, i1, i2, j1, j2 in matcher.get_opcodes():
        if tag != "equal":
            yield phrase(_CHANGES[tag], before=" ".join(before[i1:i2]), after=" ".join(after[j1:j2]))
