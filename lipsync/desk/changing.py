"""Makes a change that a person asks for to the record of a line.

In: the record (`Kept`), the change, and what else is needed of the line (`Around`). Out: the new record. The computed
breakdown stays as it was computed: a change becomes a correction beside it. A line that was marked as checked loses
that mark with any change.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from lipsync.align.settings import LineSettings
from lipsync.app.amend.levels import measured
from lipsync.audio.recording import Recording
from lipsync.breakdown import breakdown_file as record
from lipsync.breakdown.breakdown_file import Kept
from lipsync.breakdown.corrections import label_of
from lipsync.desk import bodies, boundaries, choices, placing, retyping
from lipsync.desk.again import spoken_again, typed_again, word_added
from lipsync.desk.boundaries import part_at, refuse, with_parts
from lipsync.fit.mouthset import MouthSet
from lipsync.model import Breakdown, Cue, Word
from lipsync.timing import seconds_of


@dataclass(frozen=True, slots=True)
class Around:
    """What a change may need to know of the line beside its record.

    Attributes:
        recording: reads the line's sound; it is called only by changes that listen to it.
        settings: how the line is listened to: the production's own pronunciations, the speaker's accent.
        mouth_set: the character's mouth set.
        frames: how many frames the shot has.
        filmed: frames that are in the can.
        filmed_us: the same as spans of the line's own time, in microseconds.
    """

    recording: Callable[[], Recording]
    settings: LineSettings
    mouth_set: MouthSet
    frames: int
    filmed: frozenset[int] = frozenset()
    filmed_us: tuple[tuple[int, int], ...] = ()


def changed(kept: Kept, change: bodies.ChangeRequest, around: Around) -> Kept:
    """Return the record of a line after a change.

    Raises:
        InputError: if the change cannot be made, with the reason.
        LineError: if the sound is needed and cannot be read.
    """
    new = _changed(kept, change, around)
    check_filmed(kept, new, around)
    return new


def _changed(kept: Kept, change: bodies.ChangeRequest, around: Around) -> Kept:
    if isinstance(change, bodies.SetChecked):
        return replace(kept, checked=change.checked)
    if isinstance(change, bodies.TakeNewer | bodies.DropNewer):
        if kept.newer is None:
            raise refuse("no newer waits")
        return record.accept_newer(kept)[0] if isinstance(change, bodies.TakeNewer) else replace(kept, newer=None)
    if isinstance(change, bodies.PutPiece | bodies.ForbidPiece | bodies.FreeFrame):
        return replace(kept, pieces=_pieces(kept, change, around), checked=False)
    if isinstance(change, bodies.NothingSaid):
        return _nothing_said(kept, change)
    before = kept.breakdown
    wanted = _wanted(before, change, around)
    return replace(kept.corrected_to(measured(before, wanted, around.recording)), checked=False)


def _nothing_said(kept: Kept, change: bodies.NothingSaid) -> Kept:
    span = (change.start_us, change.end_us)
    for one in kept.breakdown.voice_without_text:
        if one.start_us < span[1] and span[0] < one.end_us:
            return kept.with_nothing_said(one.start_us, one.end_us)
    raise refuse("no voice without text", start=seconds_of(span[0]), end=seconds_of(span[1]))


def summary(kept: Kept | None, change: bodies.ChangeRequest) -> str:
    """Return what a change did, in a few words, for the list of steps."""
    parts = kept.breakdown.parts if kept else ()
    index = getattr(change, "part", None)
    name = f' "{label_of(parts[index])}"' if isinstance(index, int) and index < len(parts) else ""
    if isinstance(change, bodies.PutPiece | bodies.ForbidPiece):
        name = f" {change.code}"
    elif isinstance(change, bodies.AddWord | bodies.PlaceWords):
        name = f' "{change.text}"'
    return f"{change.kind.replace('-', ' ')}{name}"


def _pieces(
    kept: Kept, change: bodies.PutPiece | bodies.ForbidPiece | bodies.FreeFrame, around: Around
) -> tuple[record.PieceChoice, ...]:
    if change.frame >= around.frames:
        raise refuse("frame after the shot", frames=around.frames)
    if isinstance(change, bodies.PutPiece):
        return choices.piece_put(kept, change.frame, change.code, around.mouth_set)
    if isinstance(change, bodies.ForbidPiece):
        return choices.piece_forbidden(kept, change.frame, change.code, around.mouth_set)
    return choices.frame_freed(kept, change.frame)


def _wanted(now: Breakdown, change: bodies.ChangeRequest, around: Around) -> Breakdown:
    match change:
        case bodies.MoveBoundary():
            return boundaries.boundary_moved(now, change.part, change.boundary, change.to_us, alone=change.alone)
        case bodies.MovePart():
            return boundaries.part_moved(now, change.part, change.start_us, change.end_us)
        case bodies.SetPhoneme():
            return retyping.phoneme_set(now, change.part, change.phoneme, change.symbol)
        case bodies.SplitPhoneme():
            return retyping.phoneme_split(now, change.part, change.phoneme, change.at_us, change.symbol)
        case bodies.DropPhoneme():
            return retyping.phoneme_dropped(now, change.part, change.phoneme)
        case bodies.SplitWord():
            return retyping.word_split(now, change.part, change.phoneme, change.first, change.second)
        case bodies.JoinWords():
            return retyping.words_joined(now, change.part, change.text)
        case bodies.PlaceWords():
            said = placing.spoken_as(change.text, change.symbols, around.settings)
            span = (change.start_us, change.end_us)
            if change.listen:
                return placing.words_between(around.recording(), now, said, span)
            return placing.words_spread(now, said, span)
        case bodies.AddCue():
            return _with_cue(now, change, around)
        case bodies.AddWord():
            added = word_added(around.recording(), now, change.at_us, change.text, around.settings)
            return with_parts(now, sum(part.end_us <= change.at_us for part in now.parts), 0, *added)
        case bodies.DeletePart():
            part_at(now, change.part)
            return with_parts(now, change.part, 1)
        case bodies.ConfirmPart():
            return with_parts(now, change.part, 1, part_at(now, change.part))
    return _heard_again(now, change, around)


def _with_cue(now: Breakdown, change: bodies.AddCue, around: Around) -> Breakdown:
    known = around.mouth_set.cues
    if change.name not in known:
        raise refuse("cue that is not there", f"[{change.name}]", known=", ".join(known))
    return retyping.cue_added(now, change.name, change.start_us, change.end_us)


def _heard_again(now: Breakdown, change: bodies.ChangeRequest, around: Around) -> Breakdown:
    assert isinstance(change, bodies.Retype | bodies.Pronounce)
    word = retyping.word_at(now, change.part)
    if isinstance(change, bodies.Pronounce):
        heard = spoken_again(around.recording(), now, change.part, change.symbols)
    elif change.listen:
        heard = typed_again(around.recording(), now, change.part, change.text, around.settings)
    else:
        heard = (replace(word, text=change.text),)
    return with_parts(now, change.part, 1, *heard)


def check_filmed(before: Kept, after: Kept, around: Around) -> None:
    """Check that nothing changes that is heard or worn on filmed frames.

    Raises:
        InputError: if anything there changes.
    """
    was, would_be = before.breakdown, after.breakdown
    for start_us, end_us in around.filmed_us:
        if _heard_in(was, start_us, end_us) != _heard_in(would_be, start_us, end_us):
            span_s = {"start": seconds_of(max(0, start_us)), "end": seconds_of(max(0, end_us))}
            raise refuse("heard on filmed frames", "", **span_s)
    if _chosen_on(before, around.filmed) != _chosen_on(after, around.filmed):
        raise refuse("chosen on filmed frames")


def _chosen_on(kept: Kept, frames: frozenset[int]) -> set[record.PieceChoice]:
    return {choice for choice in kept.pieces if choice.frame in frames}


def _heard_in(breakdown: Breakdown, start_us: int, end_us: int) -> list[tuple[str, int, int]]:
    """Return the phonemes and cues heard within a span, cut to it."""
    sounds = [
        (sound.symbol, sound.start_us, sound.end_us)
        for part in breakdown.parts
        for sound in (part.phonemes if isinstance(part, Word) else ())
    ]
    sounds += [(label_of(part), part.start_us, part.end_us) for part in breakdown.parts if isinstance(part, Cue)]
    return sorted((name, max(a, start_us), min(b, end_us)) for name, a, b in sounds if a < end_us and start_us < b)
