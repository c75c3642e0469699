"""Breaks every kind of file that the program reads, at random, and runs what reads it.

    python tests/fuzz_files.py FOLDER [CASES] [SEED]

FOLDER is a production that has been heard, such as what `lipsync demo` leaves; it is copied, and gets a file of every
kind. Each case breaks one file in up to three places. A fault must be an error that a person can mend (with a
documented exit code, where it goes through the executable: one in a hundred), told within the time; a record that
proves itself must be refused or say what it said before. test_fuzz_files.py runs a few hundred.
"""

from __future__ import annotations

import contextlib
import datetime
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import tomllib
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomli_w
from PIL import Image

from lipsync.app.amend.amending import import_textgrid, write_textgrids
from lipsync.app.checking import check
from lipsync.app.hear.heard import Heard, Only, lines_of
from lipsync.app.hear.hearing import Listening
from lipsync.app.hear.voices import known_voices
from lipsync.app.plan.planning import plan
from lipsync.app.print.asking import prints_with
from lipsync.app.print.printing import write_sheets
from lipsync.app.take.giving import Giving, write_given
from lipsync.app.take.taking import TakeOptions, find_taking
from lipsync.audio.recording import read_recording
from lipsync.breakdown import breakdown_file
from lipsync.errors import ExitCode, LipsyncError
from lipsync.fit.mouthset import load_mouth_set
from lipsync.floor import prints, record_file
from lipsync.floor.filmed_rows import filmed_records
from lipsync.floor.locking import lock
from lipsync.paper.piece_pictures import load
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from lipsync.report import Report
from tests.running import run

# No file of the sample takes longer to read than a moment, whatever is done to it.
LONGEST_S = 30
IN_EXECUTABLE, IN_ALL = 100, 50

# What slips and programs leave in the place of a value.
_SHORT = (
    b'1e308 1e-320 -1 0 nan inf -inf 99999999999999999999 1.5 true false "" [] {} null 2026-11-24 00:00:00 '
    b'\'x\' "a b" "\\u0000" [[1]] {a=1} 0x10 \xff \xc3\x28 \x00 \xef\xbb\xbf \xe2\x80\xae " \' ] } = # \n \r\n'
)
ODD: tuple[Any, ...] = (
    1e308, 1e-320, -1, 0, float("nan"), 10**30, True, "", "x" * 400, "a b", "\u0000", [], {}, [[1]], [1, "a"],
    {"a": 1},
    datetime.date(2026, 11, 24), datetime.datetime(2026, 11, 24, 10, 30),
)  # fmt: skip
VALUES = (*_SHORT.split(b" "), b"x" * 400, b"[" * 300, b" ")


@dataclass(frozen=True)
class FileKind:
    """A kind of file: which files are of it, what reads one, and the command that does."""

    pattern: str
    reader: Callable[[Path, Path], object]
    command: tuple[str, ...] = ("check", "{folder}")
    proves_itself: bool = False


def _commands(folder: Path, _file: Path) -> object:
    return filmed_records(open_production(folder))


def _record(folder: Path, file: Path) -> object:
    record_file.read(file)
    return filmed_records(open_production(folder))


def _line(folder: Path, file: Path) -> object:
    breakdown_file.read(file)
    production = open_production(folder)
    return [Listening(production).as_kept(one) for one in lines_of(production, Only()) if one.line.id == file.stem]


def _listing(folder: Path, file: Path) -> object:
    return find_taking(folder, [file], TakeOptions("01-lamp-room", part=True))


def _textgrid(folder: Path, file: Path) -> object:
    return import_textgrid(open_production(folder), file)


_TAKE = ("take", "{folder}", "{file}", "--part", "--scene", "01-lamp-room", "--dry-run")

KINDS: dict[str, FileKind] = {
    "production": FileKind("production.toml", _commands, ("filmed", "{folder}")),
    "scene": FileKind("scenes/*.toml", _commands, ("filmed", "{folder}")),
    "mouth set": FileKind("mouthsets/*.toml", lambda _, file: load_mouth_set(file), ("chart", "{folder}")),
    "breakdown": FileKind("breakdowns/*/*.toml", _line),
    "filmed": FileKind("filmed/*/*.toml", _record, ("filmed", "{folder}", "--json")),
    "prints": FileKind("prints/*/*.json", lambda _, file: prints.read(file), proves_itself=True),
    "stamp": FileKind("prints/*/*.json", lambda folder, _: prints_with(open_production(folder), "AAA-AA-AAA")),
    "voices": FileKind("voices.toml", lambda folder, _: known_voices(open_production(folder))),
    "TextGrid": FileKind(
        "breakdowns/*/*.TextGrid", lambda folder, file: import_textgrid(open_production(folder), file)
    ),
    "recording": FileKind("recordings/*.wav", lambda _, file: read_recording(file, None, None)),
    "picture": FileKind("mouthsets/*/*.svg", lambda _, file: load(file)),
    "photo": FileKind("mouthsets/*/*.png", lambda _, file: load(file)),
    "dialogue list": FileKind("lists/*.csv", _listing, _TAKE),
    "workbook": FileKind("lists/*.xlsx", _listing, _TAKE),
    "edit": FileKind("lists/*.edl", _listing, _TAKE),
    "timeline": FileKind("lists/*.otio", _listing, _TAKE),
    "subtitles": FileKind("lists/*.[sv][rt]t", _listing, _TAKE),
    "script": FileKind("lists/*.txt", _listing, _TAKE),
}


SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 6"><path d="M0 3 Q5 0 10 3 L5 6 Z" fill="#333"/></svg>'

# An edit in the layout of CMX 3600, and a script in the trade's own.
EDIT = """\
TITLE: LOW TIDE POST
FCM: NON-DROP FRAME

001  020      V     C        00:00:00:00 00:00:08:00 01:00:00:00 01:00:08:00
* FROM CLIP NAME: 020
002  020-a    A     C        00:00:00:00 00:00:02:00 01:00:00:12 01:00:02:12
* FROM CLIP NAME: 020-a.wav
003  030      V     C        00:00:00:00 00:00:04:00 01:00:08:00 01:00:12:00
* FROM CLIP NAME: 030
"""
SCRIPT = """\
1 INT. LAMP ROOM - EVENING

The lamp hums.

LAMPLIGHTER
Good evening.

MR CLAMP (softly)
Oops. My foot is blue.
"""


def fill(folder: Path) -> None:
    """Give a production that has been heard a file of every kind."""
    art = folder / "mouthsets" / "own"
    art.mkdir(parents=True, exist_ok=True)
    (art / "shut.svg").write_text(SVG, "utf-8")
    Image.new("RGB", (40, 24), "grey").save(art / "open.png")
    text = (shipped("mouthsets") / "tideline.toml").read_text("utf-8")
    text = text.replace('code = "SHUT"', 'code = "SHUT"\npicture = "own/shut.svg"', 1)
    text = text.replace('code = "OPEN1"', 'code = "OPEN1"\npicture = "own/open.png"', 1)
    (folder / "mouthsets" / "tideline.toml").write_text(text, "utf-8")
    production = open_production(folder)
    kept = (Listening(production).as_kept(one) for one in lines_of(production, Only()))
    heard = Heard(tuple(one[0] for one in kept if one is not None), Report())
    write_textgrids(production, heard)
    plans = plan(production, heard)
    assert write_sheets(production, plans).report.problems == ()
    if not (folder / "filmed").exists():
        lock(production, "020", (1, 60), ["58=crab:RING"])
    giving = Giving(production, production.scenes, heard, plans)
    write_given(giving, ["list", "workbook", "timeline", "srt", "webvtt"], folder / "lists")
    (folder / "lists" / "edit.edl").write_text(EDIT, "utf-8")
    (folder / "lists" / "script.txt").write_text(SCRIPT, "utf-8")


@dataclass
class Result:
    """How many cases of each kind ended how, and what was wrong."""

    ended: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def broken(content: bytes, dice: random.Random) -> bytes:
    """Return a file's bytes with one to three slips."""
    for _ in range(dice.randint(1, 3)):
        # Half of the slips are near the beginning: of a recording nearly all else is sound, of which any is allowed.
        at = dice.randrange(min(len(content), dice.choice((128, len(content)))) + 1)
        end = min(len(content), at + dice.choice((1, 1, 2, 8, 64, 1000)))
        way = dice.randrange(8)
        if way == 0:
            content = content[:at] + bytes([dice.randrange(256)]) + content[at + 1 :]
        elif way == 1:
            content = content[:at] + content[end:]
        elif way == 2:
            content = content[:end] + content[at:end] + content[end:]
        elif way == 3:
            content = content[:at]
        elif way == 4:
            content = content[:at] + dice.choice(VALUES) + content[at:]
        elif way == 5:
            lines = content.splitlines(keepends=True)
            if lines:
                lines[dice.randrange(len(lines))] = dice.choice(lines)
                content = b"".join(lines)
        elif way == 6:
            content = _with_value(content, at, dice)
        else:
            content = _of_another_type(content, dice)
    return content


def _of_another_type(content: bytes, dice: random.Random) -> bytes:
    """Return a TOML or JSON file, still whole, with one of its values replaced; another file as it is."""
    try:
        text = content.decode("utf-8")
        is_json = text.startswith("{")
        table = json.loads(text) if is_json else tomllib.loads(text)
    except (ValueError, RecursionError):
        return content
    holders = [table]
    for holder in holders:
        inside = holder.values() if isinstance(holder, dict) else holder
        holders += [one for one in inside if isinstance(one, dict | list) and one]
    if not table:
        return content
    holder = dice.choice(holders)
    key = dice.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    holder[key] = dice.choice([odd for odd in ODD if not is_json or not isinstance(odd, datetime.date)])
    try:
        return (json.dumps(table) if is_json else tomli_w.dumps(table)).encode()
    except (TypeError, ValueError):  # lists of several kinds that the one who writes TOML does not know
        return content


def _with_value(content: bytes, at: int, dice: random.Random) -> bytes:
    """Return content with a value in the place of one that begins after `=`, `:` or `,`, at or after a place."""
    starts = [found for sign in (b"=", b":", b",") if (found := content.find(sign, at)) >= 0]
    if not starts:
        return content
    start = min(starts) + 1
    end = min([found for sign in (b"\n", b",", b"]", b"}") if (found := content.find(sign, start)) >= 0] or [start])
    return content[:start] + b" " + dice.choice(VALUES) + content[end:]


@contextlib.contextmanager
def within_time() -> Iterator[None]:
    def too_long(*_: object) -> None:
        raise TimeoutError(f"no answer within {LONGEST_S} s")

    before = signal.signal(signal.SIGALRM, too_long)
    signal.alarm(LONGEST_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def fuzz(folder: Path, cases: int, seed: int = 0, executable: int = IN_EXECUTABLE, whole: int = IN_ALL) -> Result:
    """Break files of a copy of a production, a case at a time, and return what came of it.

    Args:
        folder: the production; it is not touched.
        cases: how many.
        seed: of the dice.
        executable: one case in so many goes through the real executable.
        whole: one in so many goes through `check`, which reads everything.
    """
    dice, result = random.Random(seed), Result()
    with tempfile.TemporaryDirectory() as place:
        copy = Path(shutil.copytree(folder, Path(place) / "production"))
        names = [name for name, kind in KINDS.items() if any(copy.glob(kind.pattern))]
        for case in range(cases):
            name = names[case % len(names)]
            kind = KINDS[name]
            file = dice.choice(sorted(copy.glob(kind.pattern)))
            good = file.read_bytes()
            before = kind.reader(copy, file) if kind.proves_itself else None
            content = broken(good, dice)
            file.write_bytes(content)
            try:
                ended = _run(kind, copy, file, _way(dice, executable, whole))
                if kind.proves_itself and not _is_told(ended) and not _says(kind, copy, file, before):
                    ended = f"silently wrong: {ended}"
            except Exception:
                ended = "traceback"
                result.wrong.append(f"case {case} of seed {seed}, {file}: {traceback.format_exc(limit=-4)}")
            result.ended[f"{name}: {ended.partition(':')[0]}"] += 1
            if ended.startswith(("silently", "undocumented")):
                result.wrong.append(f"case {case} of seed {seed}, {file}: {ended}")
            if ended != "read" and os.environ.get("KEEP"):
                Path(os.environ["KEEP"], f"{seed}-{case}-{file.name}").write_bytes(content)
            _put_back(folder, copy, file, good)
    return result


def _way(dice: random.Random, executable: int, whole: int) -> str:
    """Return what reads a broken file this time: the executable, a look at the whole production, or its reader."""
    chance = dice.random()
    if executable and chance < 1 / executable:
        return "executable"
    return "whole" if whole and chance > 1 - 1 / whole else "reader"


def _run(kind: FileKind, folder: Path, file: Path, way: str) -> str:
    if way == "executable":
        done = run(*(part.format(folder=folder, file=file) for part in kind.command))
        documented = {int(code) for code in ExitCode} - {int(ExitCode.FAULT), int(ExitCode.INTERRUPTED)}
        if done.code not in documented or "Traceback" in done.err:
            return f"undocumented: exit {done.code}: {done.err[-2000:]}"
        return f"exit {done.code}"
    with within_time():
        try:
            if way == "whole":
                return "told" if check(folder).faults else "read"
            kind.reader(folder, file)
        except LipsyncError:
            return "refused"
    return "read"


def _is_told(ended: str) -> bool:
    return ended not in ("read", f"exit {int(ExitCode.DONE)}", f"exit {int(ExitCode.PARTLY)}")


def _says(kind: FileKind, folder: Path, file: Path, before: object) -> bool:
    """Return whether a record that was taken for true says what it said before."""
    try:
        return kind.reader(folder, file) == before
    except LipsyncError:
        return False


def _put_back(folder: Path, copy: Path, file: Path, good: bytes) -> None:
    file.write_bytes(good)
    if file.suffix == ".TextGrid":  # bringing one in changes the line's breakdown
        kept = file.with_suffix(".toml").relative_to(copy)
        shutil.copy(folder / kept, copy / kept)


if __name__ == "__main__":
    where, cases, seed = [*sys.argv[1:], *("10000", "0")[len(sys.argv) - 2 :]]
    with tempfile.TemporaryDirectory() as place:
        filled = Path(shutil.copytree(where, Path(place) / "filled"))
        fill(filled)
        found = fuzz(filled, int(cases), int(seed))
    for line in (*(f"{count:6} {what}" for what, count in sorted(found.ended.items())), *found.wrong):
        print(line)  # noqa: T201
    sys.exit(bool(found.wrong))
