"""A shot's words and pieces as timed text (WebVTT, W3C), for players and editors.

A cue for each word and each piece, in the order of time, with ids "word N" and "piece N" and the character as its
voice; times are from the shot's start, to the nearest millisecond, halves up.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from itertools import groupby

from lipsync import timing
from lipsync.paper.lettering import composed
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.paper.track_data import FORM


def webvtt_of(job: SheetJob) -> str:
    """Return a shot's words and pieces as timed text."""
    cues: list[tuple[int, int, str, str, str]] = []
    for character in job.characters:
        cues += _word_cues(job, character)
        cues += _piece_cues(job, character)
    cues.sort(key=lambda cue: cue[0])
    blocks = ["WEBVTT", f"NOTE\n{FORM}\nshot {job.shot}, stamp {stamp_of(job, rows_of(job))}"]
    numbers: dict[str, int] = {}
    for start_us, end_us, kind, name, text in cues:
        numbers[kind] = numbers.get(kind, 0) + 1
        # A cue must end after it begins, even if both round to the same millisecond.
        start_ms, end_ms = (start_us + 500) // 1000, (end_us + 500) // 1000
        times = f"{_clock(start_ms)} --> {_clock(max(end_ms, start_ms + 1))}"
        blocks.append(f"{kind} {numbers[kind]}\n{times}\n<v {_escaped(name)}>{_escaped(text)}")
    return "\n\n".join(blocks) + "\n"


def _escaped(text: str) -> str:
    return escape(composed(text), quote=False)


def _word_cues(job: SheetJob, character: SheetCharacter) -> Iterator[tuple[int, int, str, str, str]]:
    ends_us = timing.frame_start_us(job.frames, job.rate)
    sounds = sorted(character.sounds, key=lambda sound: sound.start_us)
    for _, part in groupby(sounds, key=lambda sound: (sound.line, sound.part)):
        heard = list(part)
        start_us, end_us = max(0, heard[0].start_us), min(ends_us, heard[-1].end_us)
        if start_us < end_us:
            yield start_us, end_us, "word", character.name, heard[0].text


def _piece_cues(job: SheetJob, character: SheetCharacter) -> Iterator[tuple[int, int, str, str, str]]:
    start = 0
    for code, run in groupby(character.track.pieces):
        end = start + len(list(run))
        if code is not None:
            times = timing.frame_start_us(start, job.rate), timing.frame_start_us(end, job.rate)
            yield *times, "piece", character.name, code
        start = end


def _clock(time_ms: int) -> str:
    """Return a time as WebVTT writes it.

    >>> _clock(3_661_042)
    '01:01:01.042'
    """
    seconds, ms = divmod(time_ms, 1000)
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}.{ms:03}"
