"""What changed, in words: for paper, for a terminal and for programs. All words are those of `sheets.words.Words`.

In: a `Change` and the shot's first frame number. Out: where it is and what it is, each as text.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lipsync.floor.changes import Change
from lipsync.floor.spans import Span
from lipsync.paper.sheet_words import Words


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
        return _words(change, words, first_frame)
    if change.kind == "note":
        now, was = (_note(text, words) for text in (change.now, change.was))
        return words.change_note.format(now=now, was=was)
    if change.kind == "piece" and not change.now:
        return words.change_off_camera.format(was=change.was)
    template: str = getattr(words, f"change_{change.kind.replace(' ', '_')}")
    last = str(change.last + first_frame)
    was_last = str(change.also[1] + first_frame) if change.also else last
    nothing = words.change_nothing
    return template.format(now=change.now or nothing, was=change.was or nothing, last=last, was_last=was_last)


def _note(text: str, words: Words) -> str:
    """Return a note on modelling as the sheet words it.

    >>> _note("SHUT 3 alive", Words()), _note("", Words())
    ('toward SHUT over 3, keep alive', 'none')
    """
    parts = text.split()
    told = [words.keep_alive] if "alive" in parts[-1:] else []
    if len(parts) > 1:
        told.insert(0, f"{words.toward.format(code=parts[0])} {words.over.format(frames=parts[1])}")
    return ", ".join(told) or words.change_nothing


def _moved(change: Change, words: Words, first_frame: int) -> str:
    least, most = sorted(map(abs, change.by))
    count = words.one_frame if least == most == 1 else words.some_frames.format(count=_count(least, most, words))
    template = words.change_later if change.by[0] > 0 else words.change_earlier
    was = _frames(change.also or (change.first, change.last), words, first_frame)
    return template.format(now=change.now or words.pause, by=count, was=was)


def _count(least: int, most: int, words: Words) -> str:
    return str(most) if least == most else words.to.format(least=least, most=most)


def _words(change: Change, words: Words, first_frame: int) -> str:
    if not change.was:
        return words.change_added.format(now=change.now)
    if not change.now:
        return words.change_gone.format(was=change.was)
    return words.change_words.format(now=change.now, was=change.was)


def _frames(span: Span, words: Words, first_frame: int) -> str:
    first, last = (frame + first_frame for frame in span)
    return words.at_frame.format(frame=first) if first == last else words.frames.format(first=first, last=last)


def sentence_of(change: Change, words: Words, first_frame: int) -> str:
    """Return where and what as one sentence.

    >>> sentence_of(Change("beat", 11, 11, "Zoë Wade"), Words(), 1)
    'frame 12, Zoë Wade: a strong beat'
    """
    who = f", {change.character}" if change.character else ""
    return f"{place_of(change, words, first_frame)}{who}: {text_of(change, words, first_frame)}"


def records_of(changes: Iterable[Change], words: Words, first_frame: int) -> list[dict[str, Any]]:
    """Return changes for a program: frames are the production's numbers."""
    return [
        {
            "kind": change.kind,
            "character": change.character,
            "first": change.first + first_frame,
            "last": change.last + first_frame,
            "now": change.now,
            "was": change.was,
            "moved_frames": list(change.by) if change.kind == "moved" else None,
            "text": text_of(change, words, first_frame),
        }
        for change in changes
    ]
