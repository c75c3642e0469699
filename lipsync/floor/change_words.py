"""What changed, in words: for paper, for a terminal and for programs. All words come from `sheet_words.Words`.

In: a `Change` and the number of the shot's first frame. Out: the frames concerned and what changed, each as text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from lipsync.floor.changes import Change, Kind, ModellingNote
from lipsync.floor.spans import Span
from lipsync.paper.sheet_words import Words

# Kind of change -> its words. Moves, new words and notes are put together from several, below.
_TEMPLATES: Mapping[Kind, Callable[[Words], str]] = {
    "title": lambda words: words.change_title,
    "rate": lambda words: words.change_rate,
    "film": lambda words: words.change_film,
    "numbers": lambda words: words.change_numbers,
    "timecode": lambda words: words.change_timecode,
    "length": lambda words: words.change_length,
    "alert": lambda words: words.change_alert,
    "no alert": lambda words: words.change_no_alert,
    "order": lambda words: words.change_order,
    "name": lambda words: words.change_name,
    "came": lambda words: words.change_came,
    "went": lambda words: words.change_went,
    "pause": lambda words: words.change_pause,
    "no pause": lambda words: words.change_no_pause,
    "lasts": lambda words: words.change_lasts,
    "doubt": lambda words: words.change_doubt,
    "no doubt": lambda words: words.change_no_doubt,
    "piece": lambda words: words.change_piece,
    "put on": lambda words: words.change_put_on,
    "held": lambda words: words.change_held,
    "phonemes": lambda words: words.change_phonemes,
    "retimed": lambda words: words.change_retimed,
    "shown": lambda words: words.change_shown,
    "lost": lambda words: words.change_lost,
    "seen": lambda words: words.change_seen,
    "beat": lambda words: words.change_beat,
    "no beat": lambda words: words.change_no_beat,
    "part": lambda words: words.change_part,
}


def place_of(change: Change, words: Words, first_frame: int) -> str:
    """Return the frames that a change concerns.

    >>> place_of(Change("piece", 4, 6), Words(), 1), place_of(Change("piece", 4, 4), Words(), 1)
    ('frames 5 to 7', 'frame 5')
    """
    return _frames((change.first, change.last), words, first_frame)


def text_of(change: Change, words: Words, first_frame: int) -> str:
    """Return what changed.

    >>> text_of(Change("moved", 4, 9, now="Mind the paint", by=(2, 2), also=(2, 7)), Words(), 1)
    '“Mind the paint” moved 2 frames later; was at frames 3 to 8'
    >>> text_of(Change("piece", 4, 4, now="OPEN1", was="SHUT"), Words(), 1)
    'new piece OPEN1, was SHUT'
    """
    if change.kind == "moved":
        return _moved(change, words, first_frame)
    if change.kind == "words":
        return _words(change, words)
    if change.kind == "note":
        now, was = _notes(change, words)
        return words.change_note.format(now=now, was=was)
    if change.kind == "piece" and not change.now:
        return words.change_off_camera.format(was=change.was)
    last = str(change.last + first_frame)
    was_last = str(change.also[1] + first_frame) if change.also else last
    now, was = (text or words.change_nothing for text in (change.now, change.was))
    return _TEMPLATES[change.kind](words).format(now=now, was=was, last=last, was_last=was_last)


def _notes(change: Change, words: Words) -> tuple[str, str]:
    now, was = change.notes
    return _note(now, words), _note(was, words)


def _note(note: ModellingNote, words: Words) -> str:
    """Return a note on modelling as the sheet words it.

    >>> _note(ModellingNote("SHUT", 3, True), Words()), _note(ModellingNote(), Words())
    ('toward SHUT over 3, keep alive', 'none')
    """
    told = [words.keep_alive] if note.keep_alive else []
    if note.toward:
        told.insert(0, f"{words.toward.format(code=note.toward)} {words.over.format(frames=note.frames)}")
    return ", ".join(told) or words.change_nothing


def _moved(change: Change, words: Words, first_frame: int) -> str:
    least, most = sorted(map(abs, change.by))
    count = words.one_frame if least == most == 1 else words.some_frames.format(count=_count(least, most, words))
    template = words.change_later if change.by[0] > 0 else words.change_earlier
    was = _frames(change.also or (change.first, change.last), words, first_frame)
    return template.format(now=change.now or words.pause, by=count, was=was)


def _count(least: int, most: int, words: Words) -> str:
    return str(most) if least == most else words.to.format(least=least, most=most)


def _words(change: Change, words: Words) -> str:
    if not change.was:
        return words.change_added.format(now=change.now)
    if not change.now:
        return words.change_gone.format(was=change.was)
    return words.change_words.format(now=change.now, was=change.was)


def _frames(span: Span, words: Words, first_frame: int) -> str:
    first, last = (frame + first_frame for frame in span)
    return words.at_frame.format(frame=first) if first == last else words.frames.format(first=first, last=last)


def sentence_of(change: Change, words: Words, first_frame: int) -> str:
    """Return the frames, the character and what changed, as one sentence.

    >>> sentence_of(Change("beat", 11, 11, "Zoë Wade"), Words(), 1)
    'frame 12, Zoë Wade: a strong beat'
    """
    who = f", {change.character}" if change.character else ""
    return f"{place_of(change, words, first_frame)}{who}: {text_of(change, words, first_frame)}"


def records_of(changes: Iterable[Change], words: Words, first_frame: int) -> list[dict[str, Any]]:
    """Return changes as JSON values; `first` and `last` are the production's frame numbers."""
    return [_record(change, words, first_frame) for change in changes]


def _record(change: Change, words: Words, first_frame: int) -> dict[str, Any]:
    now, was = _notes(change, words) if change.kind == "note" else (change.now, change.was)
    return {
        "kind": change.kind,
        "character": change.character,
        "first": change.first + first_frame,
        "last": change.last + first_frame,
        "now": now,
        "was": was,
        "moved_frames": list(change.by) if change.kind == "moved" else None,
        "text": text_of(change, words, first_frame),
    }
