"""A shot's track as data: CSV and JSON. As text to read see plain_text.py, as timed text timed_text.py.

All four are made from the rows that are printed, so they say the same. Form "lipsync track 2":

CSV (RFC 4180, UTF-8), one row for each frame and character:
    form       "lipsync track 2"
    shot       its id
    frame      as the production numbers it, as on paper and in every command
    frame_from_0   the same, the shot's first being 0
    feet       running feet and frames  timecode   HH:MM:SS:FF, ";" before FF for drop-frame
    character  its id
    piece      code that is worn; empty off camera
    fitted     1 where it is put on, else 0
    serves     phoneme (ARPAbet with stress) or [cue] that it shows; empty at rest
    words      words and [cues] that begin here
    phonemes   phonemes that begin here, ARPAbet with stress
    doubtful   1 where a word that begins here is doubtful, or voice without text begins, else 0
    lost       phonemes that begin here, should be seen and are not
    filmed     1 where the frame is in the can, else 0

JSON: an object with "form", "production", "scene", "shot", "rate" (exact, as text), "first_frame", "frames", "film",
"dated" (or null), "stamp", "alerts" (sentences that must be known before it is used), and "characters", each with
"id", "name", "mouth_set", "fittings" (frame, frame_from_0, code, hold), "frames" (the CSV's fields), "sounds"
(symbol, stress, text, line, start_s, end_s) and "lost" (symbol, text, start_s, reason).
"""

from __future__ import annotations

import json

from lipsync import timing
from lipsync.paper.csv_table import csv_table
from lipsync.paper.rows import Cell, Row, rows_of, stamp_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.track import Sound

FORM = "lipsync track 2"

_FIELDS = (
    "frame",
    "frame_from_0",
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
    heads, *rows = table_of(job)
    return csv_table([["form", "shot", *heads], *([FORM, job.shot, *row] for row in rows)]).decode()


def table_of(job: SheetJob) -> list[list[object]]:
    """Return a shot's track as a table, heads first."""
    lines: list[list[object]] = [[*_FIELDS[:4], "character", *_FIELDS[4:]]]
    for row in rows_of(job):
        for character, cell in zip(job.characters, row.cells, strict=True):
            fields = _fields(job, row, cell)
            said = [_plain(fields[name]) for name in _FIELDS]
            lines.append([*said[:4], character.track.character, *said[4:]])
    return lines


def _fields(job: SheetJob, row: Row, cell: Cell) -> dict[str, object]:
    return {
        "frame": row.number,
        "frame_from_0": row.frame,
        "feet": row.feet,
        "timecode": row.timecode,
        "piece": cell.piece,
        "fitted": cell.fitted,
        "serves": cell.serves,
        "words": [heard.text for heard in cell.begins if heard.kind in ("word", "cue")],
        "phonemes": list(cell.phonemes),
        "doubtful": any(heard.doubtful for heard in cell.begins),
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
        "fittings": [
            {
                "frame": timing.number_of(f.frame, job.first_frame),
                "frame_from_0": f.frame,
                "code": f.code,
                "hold": f.hold,
            }
            for f in character.track.fittings
        ],
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
