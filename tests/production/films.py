"""Small productions to take lists and edits into: recordings of silence, and what a list says of them."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from production.waves import made

HEADS = ("scene", "shot", "line", "character", "text", "recording", "begins", "in", "out", "frames", "start")
RATE = 24
NEW_RECORDINGS = 200  # more than a recut film has lines: each line has a recording of its own
SECONDS = 3  # how long a recording is


@dataclass(frozen=True)
class Said:
    """A line as a list has it."""

    scene: str
    shot: str
    line: str
    character: str
    text: str
    recording: str
    begins: int | str
    in_frame: int | None = None
    out_frame: int | None = None

    def row(self, frames: int, start: str) -> tuple[object, ...]:
        points = ["" if at is None else f"{at} f" for at in (self.in_frame, self.out_frame)]
        return (
            self.scene,
            self.shot,
            self.line,
            self.character,
            self.text,
            self.recording,
            self.begins,
            *points,
            frames,
            start,
        )


@dataclass(frozen=True)
class Film:
    """What a list says: lines in order, and each shot's length and start."""

    lines: tuple[Said, ...]
    shots: dict[tuple[str, str], tuple[int, str]]

    def rows(self) -> list[tuple[object, ...]]:
        return [line.row(*self.shots[line.scene, line.shot]) for line in self.lines]

    def csv(self) -> str:
        return csv_text([HEADS, *self.rows()])

    def with_line(self, at: int, **what: object) -> "Film":
        lines = list(self.lines)
        lines[at] = replace(lines[at], **what)
        return Film(tuple(lines), self.shots)


def csv_text(rows: Sequence[Sequence[object]], delimiter: str = ",") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue()


def timecode(frame: int) -> str:
    """HH:MM:SS:FF at 24, reckoned here and not by the program."""
    seconds, ff = divmod(frame, RATE)
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}:{ff:02}"


def a_film(scenes: int = 2, shots: int = 3, lines: int = 3) -> Film:
    said, lengths = [], {}
    hour = RATE * 3600
    for s in range(scenes):
        at = hour
        for n in range(shots):
            key = (f"{s + 1:02}-scene", f"{(n + 1) * 10:03}")
            lengths[key] = (lines * 96, timecode(at))
            at += lines * 96
            for k in range(lines):
                id = f"{key[1]}-{'abcdefghijklmnopqrstuvwxyz'[k]}"
                recording = f"recordings/{key[0]}_{id}.wav"
                who = ("heron", "crab")[k % 2]
                said.append(Said(*key, id, who, f"The tide of {s} {n} {k} is out.", recording, 1 + 96 * k))
    return Film(tuple(said), lengths)


def lay(folder: Path, film: Film | None = None, rate: str = "24", more: str = "") -> Path:
    """Write a production without scenes, with the recordings of a film and a few more."""
    (folder / "recordings").mkdir(parents=True)
    (folder / "scenes").mkdir()
    cast = "".join(
        f'[characters.{id}]\nname = "{name}"\nmouth_set = "tideline"\n\n'
        for id, name in (("heron", "Zoë Wade"), ("crab", "Mr Clamp"))
    )
    (folder / "production.toml").write_text(f'title = "Low Tide Post"\nframe_rate = {rate}\n\n{cast}{more}', "utf-8")
    sound = made(SECONDS * 8000, rate_hz=8000)
    names = {line.recording for line in film.lines} if film else set()
    for name in sorted(names | {f"recordings/new-{n}.wav" for n in range(NEW_RECORDINGS)}):
        (folder / name).write_bytes(sound)
    return folder


def snapshot(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
