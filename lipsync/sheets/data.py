"""A shot's track as data: CSV, JSON, a sheet of plain text for a terminal, and timed text (WebVTT).

All are made from the rows that are printed, so they say the same. Form "lipsync track 1":

CSV (RFC 4180, UTF-8), one row for each frame and character:
    form       "lipsync track 1"
    shot       its id
    frame      counted from 0           number     as the production numbers it
    feet       running feet and frames  timecode   HH:MM:SS:FF, ";" before FF for drop-frame
    character  its id
    piece      code that is worn; empty off camera
    fitted     1 where it is put on, else 0
    serves     phoneme (ARPAbet with stress) or [cue] that it shows; empty at rest
    words      words and [cues] that begin here
    phonemes   phonemes that begin here, ARPAbet with stress
    doubtful   1 where a word that begins here is doubtful, else 0
    lost       phonemes that begin here, should be seen and are not
    filmed     1 where the frame is in the can, else 0

JSON: an object with "form", "production", "scene", "shot", "rate" (exact, as text), "first_frame", "frames", "film",
"dated" (or null), "stamp", "alerts" (sentences that must be known before it is used), and "characters", each with
"id", "name", "mouth_set", "fittings" (frame, code, hold), "frames" (the CSV's fields), "sounds" (symbol, stress,
text, line, start_s, end_s) and "lost" (symbol, text, start_s, reason).

WebVTT (W3C): a cue for each word and each piece, in the order of time, with ids "word N" and "piece N" and the
character as its voice; times are from the shot's start, to the nearest millisecond, halves up.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from html import escape
from itertools import groupby

from rich.cells import cell_len

from lipsync import timing
from lipsync.sheets.job import SheetCharacter, SheetJob
from lipsync.sheets.lettering import composed
from lipsync.sheets.measures import said_in
from lipsync.sheets.rows import Cell, Row, rows_of, stamp_of
from lipsync.track import Sound

FORM = "lipsync track 1"

_FIELDS = (
    "frame",
    "number",
    "feet",
    "timecode",
    "piece",
    "fitted",
    "serves",
    "words",
    "phonemes",
    "doubtful",
    "lost",
    "filmed",
)


def csv_of(job: SheetJob) -> str:
    """Return a shot's track as CSV."""
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\r\n")
    lines.writerow(["form", "shot", *_FIELDS[:4], "character", *_FIELDS[4:]])
    for row in rows_of(job):
        for character, cell in zip(job.characters, row.cells, strict=True):
            fields = _fields(job, row, cell)
            said = [_plain(fields[name]) for name in _FIELDS]
            lines.writerow([FORM, job.shot, *said[:4], character.track.character, *said[4:]])
    return out.getvalue()


def _fields(job: SheetJob, row: Row, cell: Cell) -> dict[str, object]:
    begins = [heard for heard in cell.begins if heard.kind != "pause"]
    return {
        "frame": row.frame,
        "number": row.number,
        "feet": row.feet,
        "timecode": row.timecode,
        "piece": cell.piece,
        "fitted": cell.fitted,
        "serves": cell.serves,
        "words": [heard.text for heard in begins],
        "phonemes": list(cell.phonemes),
        "doubtful": any(heard.doubtful for heard in begins),
        "lost": list(cell.lost),
        "filmed": row.frame in job.filmed,
    }


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return int(value)
    return " ".join(value) if isinstance(value, list) else value


def json_of(job: SheetJob) -> str:
    """Return a shot's track as JSON."""
    rows = rows_of(job)
    shot = {
        "form": FORM,
        "production": job.production,
        "scene": job.scene,
        "shot": job.shot,
        "rate": str(job.rate),
        "first_frame": job.first_frame,
        "frames": job.frames,
        "film": job.film,
        "dated": job.dated and job.dated.isoformat(),
        "stamp": stamp_of(job, rows),
        "alerts": list(job.alerts),
        "characters": [_character(job, rows, index) for index in range(len(job.characters))],
    }
    return json.dumps(shot, ensure_ascii=False, indent=1) + "\n"


def _character(job: SheetJob, rows: tuple[Row, ...], index: int) -> dict[str, object]:
    character = job.characters[index]
    return {
        "id": character.track.character,
        "name": character.name,
        "mouth_set": character.mouth_set.name,
        "fittings": [{"frame": f.frame, "code": f.code, "hold": f.hold} for f in character.track.fittings],
        "frames": [_fields(job, row, row.cells[index]) for row in rows],
        "sounds": [_sound(sound) for sound in character.sounds],
        "lost": [
            {
                "symbol": lost.sound.symbol,
                "text": lost.sound.text,
                "start_s": timing.seconds_of(lost.sound.start_us),
                "reason": lost.reason,
            }
            for lost in character.track.lost
        ],
    }


def _sound(sound: Sound) -> dict[str, object]:
    return {
        "symbol": sound.symbol,
        "stress": sound.stress,
        "text": sound.text,
        "line": sound.line,
        "start_s": timing.seconds_of(sound.start_us),
        "end_s": timing.seconds_of(sound.end_us),
    }


def text_of(job: SheetJob) -> str:
    """Return a shot's sheet as plain text: a line a frame, a rule at each second, ":" where something runs on.

    A frame in the can has a "*" after its number, and what begins in doubt a "?" before it; a last line says so where
    they occur.
    """
    words, rows = job.settings.words, rows_of(job)
    names = ["", "", *(text for character in job.characters for text in (character.name, "", ""))]
    head = [words.frame, words.timecode, *[words.word, words.phoneme, words.piece] * len(job.characters)]
    befores = [None, *rows[:-1]]
    table = [
        [f"{row.number}{'*' * (row.frame in job.filmed)}", row.timecode, *_cells_shown(job, before, row)]
        for before, row in zip(befores, rows, strict=True)
    ]
    widths = [max(map(cell_len, column)) for column in zip(head, *table, strict=True)]
    for place, name in enumerate(names):
        widths[place] = max(widths[place], cell_len(name))
    second = timing.nominal_rate(job.rate)
    rule = _line(["-" * width for width in widths], widths).replace(" ", "-").replace("|", "+")
    title = (
        f"{words.shot.format(shot=job.shot)}   {job.production} · {job.scene}   {words.stamp} {stamp_of(job, rows)}"
    )
    lines = [title, *(composed(alert) for alert in job.alerts), "", _line(names, widths), _line(head, widths), rule]
    for row, shown in zip(rows, table, strict=True):
        if row.frame and row.frame % second == 0:
            lines.append(rule)
        lines.append(_line(shown, widths))
    doubtful = any(heard.doubtful for row in rows for cell in row.cells for heard in cell.begins)
    signs = [f"* {words.in_the_can}"] * bool(job.filmed) + [f"? {words.doubtful}"] * doubtful
    lines += ["", "   ".join(signs)] if signs else []
    return "\n".join(lines) + "\n"


def _cells_shown(job: SheetJob, before: Row | None, row: Row) -> Iterator[str]:
    for index, cell in enumerate(row.cells):
        doubt = "? " if any(heard.doubtful for heard in cell.begins) else ""
        yield doubt + said_in(cell, job.settings.words) or (":" if cell.runs else "")
        yield " ".join(cell.phonemes)
        # A piece that comes back on camera is named again, as on paper.
        goes_on = before is not None and before.cells[index].piece == cell.piece
        worn = ":" if goes_on and not cell.fitted else cell.piece
        yield job.settings.words.off_camera if cell.piece is None else worn or ""


def _line(cells: list[str], widths: list[int]) -> str:
    """Return cells side by side, a character's three with a double bar before them."""
    padded = [cell + " " * (width - cell_len(cell)) for cell, width in zip(cells, widths, strict=True)]
    blocks = [padded[:2], *(padded[place : place + 3] for place in range(2, len(padded), 3))]
    return " || ".join(" | ".join(block) for block in blocks).rstrip()


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
        # A cue ends after it begins, also where both are the same millisecond.
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
