"""Places cues (sounds that are not words, such as a breath) between the words, where they are heard.

In: a recording, the tokens of the text and its words in time. Out: words and cues in order.

A cue of the text is looked for in the gap between the words beside it, and placed on the loudest stretch there that
is clearly above the room's sound. Several cues in a gap get as many of the loudest stretches, in the order of the
text. If fewer stretches are heard than cues are written, the longest stretch is divided; if none is heard, the cues
share the whole gap. If the words leave no gap, the phonemes on both sides are shortened, each by half at most, to
make `ROOM_US` for each cue: a cue that was written must appear on the sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lipsync.audio.recording import Recording, heard, level_db, noise_floor_db
from lipsync.model import Cue, Part, Word
from lipsync.text.script import CueToken, Token

Span = tuple[int, int]

ABOVE_FLOOR_DB = 6.0  # chosen: a louder sound is not the room's
SHORTEST_US = 60_000  # chosen: a shorter sound is a click, not a breath
ROOM_US = 40_000  # chosen: about a frame


def with_cues(recording: Recording, tokens: Sequence[Token], words: Sequence[Word]) -> tuple[Part, ...]:
    """Return words and cues in the order of the text."""
    words = list(words)
    gaps = _cues_by_gap(tokens)
    for index, names in enumerate(gaps):
        if names:
            _make_room(words, index, recording.duration_us, len(names))
    parts: list[Part] = []
    for index, names in enumerate(gaps):
        if names:
            parts += _placed(recording, _gap(words, index, recording.duration_us), names)
        parts += words[index : index + 1]
    return tuple(parts)


def _gap(words: Sequence[Word], index: int, duration_us: int) -> Span:
    """Return the gap before the word at `index`, or behind the last word."""
    start_us = words[index - 1].end_us if index else 0
    return start_us, words[index].start_us if index < len(words) else duration_us


def _cues_by_gap(tokens: Sequence[Token]) -> list[list[str]]:
    """Return the names of the cues before each word, and those after the last."""
    gaps: list[list[str]] = [[]]
    for token in tokens:
        if isinstance(token, CueToken):
            gaps[-1].append(token.name)
        else:
            gaps.append([])
    return gaps


def _make_room(words: list[Word], index: int, duration_us: int, count: int) -> None:
    """Shorten the phoneme before a gap that is too narrow for its cues, and if needed the one behind it too."""
    start_us, end_us = _gap(words, index, duration_us)
    missing_us = ROOM_US * count - (end_us - start_us)
    if index and missing_us > 0:
        last = words[index - 1].phonemes[-1]
        taken_us = min(missing_us, (last.end_us - last.start_us) // 2)
        shorter = replace(last, end_us=last.end_us - taken_us)
        words[index - 1] = replace(words[index - 1], phonemes=(*words[index - 1].phonemes[:-1], shorter))
        missing_us -= taken_us
    if index < len(words) and missing_us > 0:
        first = words[index].phonemes[0]
        shorter = replace(first, start_us=first.start_us + min(missing_us, (first.end_us - first.start_us) // 2))
        words[index] = replace(words[index], phonemes=(shorter, *words[index].phonemes[1:]))


def _placed(recording: Recording, gap: Span, names: Sequence[str]) -> list[Cue]:
    """Return the cues of a gap in time."""
    threshold_db = noise_floor_db(recording) + ABOVE_FLOOR_DB
    stretches = [span for span in heard(recording, *gap, threshold_db) if span[1] - span[0] >= SHORTEST_US]
    loudest = sorted(stretches, key=lambda span: -level_db(recording, *span))[: len(names)]
    spans = _divided(sorted(loudest) or [gap], len(names))
    return [Cue(name, *span) for name, span in zip(names, spans, strict=True)]


def _divided(spans: list[Span], count: int) -> list[Span]:
    """Return `count` spans: the longest is halved until there are enough.

    >>> _divided([(0, 10), (20, 60)], 3)
    [(0, 10), (20, 40), (40, 60)]
    """
    spans = list(spans)
    while len(spans) < count:
        longest = max(range(len(spans)), key=lambda i: spans[i][1] - spans[i][0])
        start_us, end_us = spans[longest]
        middle_us = (start_us + end_us) // 2
        spans[longest : longest + 1] = [(start_us, middle_us), (middle_us, end_us)]
    return spans
