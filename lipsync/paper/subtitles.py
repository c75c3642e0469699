"""What is said as subtitles, SRT and WebVTT: cues in, text out.

A cue has at most two rows of 42 letters (common practice); a longer line becomes several cues. The character's name
is before what it says; in WebVTT it is the cue's voice.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

_ROW, _ROWS = 42, 2


@dataclass(frozen=True, slots=True)
class SubtitleCue:
    """What is said, by whom, and from when to when in microseconds."""

    start_us: int
    end_us: int
    name: str
    text: str


def cues_of(name: str, words: Sequence[tuple[int, int, str]]) -> Iterator[SubtitleCue]:
    """Yield the cues of a line, from its words with start and end in microseconds.

    >>> [len(cue.text.split()) for cue in cues_of("Zoë", [(n, n + 1, f"word{n}") for n in range(20)])]
    [13, 7]
    """
    rest = list(words)
    while rest:
        count = len(rest)
        while count > 1 and len(textwrap.wrap(" ".join(text for *_, text in rest[:count]), _ROW)) > _ROWS:
            count -= 1
        taken, rest = rest[:count], rest[count:]
        rows = textwrap.wrap(" ".join(text for *_, text in taken), _ROW)
        yield SubtitleCue(taken[0][0], taken[-1][1], name, "\n".join(rows))


def srt_of(cues: Iterable[SubtitleCue]) -> str:
    """Return cues as SRT (in the form that players read; there is no standard)."""
    return "\n".join(
        f"{number}\n{_clock(cue.start_us, ',')} --> {_clock(cue.end_us, ',')}\n{cue.name.upper()}: {cue.text}\n"
        for number, cue in enumerate(cues, start=1)
    )


def webvtt_of_cues(cues: Iterable[SubtitleCue]) -> str:
    """Return cues as WebVTT (W3C)."""
    blocks = (
        f"{_clock(cue.start_us, '.')} --> {_clock(cue.end_us, '.')}\n"
        f"<v {escape(cue.name, quote=False)}>{escape(cue.text, quote=False)}"
        for cue in cues
    )
    return "\n\n".join(["WEBVTT", *blocks]) + "\n"


def _clock(time_us: int, point: str) -> str:
    """Return a time to the nearest millisecond.

    >>> _clock(3_661_042_499, ",")
    '01:01:01,042'
    """
    seconds, ms = divmod((time_us + 500) // 1000, 1000)
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{point}{ms:03}"
