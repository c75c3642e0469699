"""Measures a whole film: python tests/measure_film.py LINES [LINES ...] [--keep FOLDER] (needs the program flite).

Makes a production of so many synthesised lines (`spoken_lines.txt` in four voices at seven speeds, 28 characters, two
lines a shot, ten shots a scene), then runs the command line on it as a person would, one command after the other.
Prints for each how long it took, against the bare recogniser on the same files and against the first run, and the
most memory that a process of it held, and what is asked at least and aimed at. These are of a film of 1,500 lines on
two cores (82.5 minutes of speech, of which the bare recogniser takes 139 s on one core), as ratios to the bare one.
Ratios are of the clock on the wall, all in one run; on a busy machine compare what the cores were busy for it.
After 560 lines the recordings come again, under other lines.

With several numbers of lines a film of each is measured, and for each command the exponent with which the cores' time
grows with the lines is told (a straight line through the logarithms, by least squares): 1 is in proportion.
"""

from __future__ import annotations

import argparse
import itertools
import math
import os
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import soundfile
from synthesise_lines import RATE_HZ, VOICES, perform

from lipsync.align import recogniser
from lipsync.align.line import pronunciations_of
from lipsync.align.recogniser import align_ticks
from lipsync.align.settings import LineSettings
from lipsync.app.work.processes import usable_cores
from lipsync.audio.recording import read_recording
from lipsync.text.script import tokens_of

TEXTS = (Path(__file__).parent / "spoken_lines.txt").read_text("utf-8").splitlines()
SPEEDS = (1.0, 0.8, 0.87, 0.93, 1.08, 1.16, 1.25)
LINES_A_SHOT, SHOTS_A_SCENE = 2, 10
EVERY_S = 0.05  # how often memory is looked at
BARE_LINES = 40  # the bare recogniser is measured on so many of the lines


@dataclass(frozen=True, slots=True)
class Run:
    """One command: what it is called, how long it took, on the wall and on all cores, and the most memory held.

    Memory is that of the main process, and of any other.
    """

    name: str
    wall_s: float
    cpu_s: float
    code: int
    main_mb: float
    worker_mb: float


# Run -> what is asked at least and aimed at, in times of the bare recogniser on the same files (1,500 lines: 139 s).
_BARE_S = 139.0
ASKED_S = {
    "heard for the first time": (270.0, 150.0),
    "sheets printed the first time": (60.0, 35.0),
    "again, nothing changed": (3.0, 1.0),
    "one line's text changed, sheet": (5.0, 2.0),
    "one shot": (1.0, 0.5),
}


def spoken(number: int) -> tuple[str, str, float]:
    """Return the text, the voice and the speed of a line of the film."""
    character = number % (len(VOICES) * len(SPEEDS))
    return TEXTS[number % len(TEXTS)], VOICES[character % len(VOICES)], SPEEDS[character // len(VOICES)]


def make_film(folder: Path, lines: int) -> float:
    """Write a production of so many lines, and return how many seconds of speech it has."""
    (folder / "recordings").mkdir(parents=True)
    (folder / "scenes").mkdir()
    characters = "".join(
        f'[characters.c{number:02}]\nname = "Voice {number + 1}"\nmouth_set = "tideline"\npuppets = 1\n'
        for number in range(len(VOICES) * len(SPEEDS))
    )
    (folder / "production.toml").write_text(f'title = "Low Tide Post"\nframe_rate = 24\n{characters}', "utf-8")
    made: dict[tuple[str, str, float], tuple[Path, float]] = {}
    whole_s = 0.0
    for scene, numbers in enumerate(_parts(range(lines), LINES_A_SHOT * SHOTS_A_SCENE)):
        rows = [f'title = "Scene {scene + 1}"\n']
        for shot, in_shot in enumerate(_parts(numbers, LINES_A_SHOT)):
            at_s, said = 0.5, []
            for number in in_shot:
                path, length_s = made.get(spoken(number)) or _record(folder, number)
                made[spoken(number)] = path, length_s
                said.append(
                    f'[[shot.line]]\nid = "l{number:05}"\ncharacter = "c{number % 28:02}"\n'
                    f'recording = "recordings/{path.name}"\ntext = "{spoken(number)[0]}"\nbegins = "{at_s:.3f} s"\n'
                )
                at_s += length_s + 0.3
                whole_s += length_s
            shot_id = f"{scene + 1:03}-{shot + 1:02}"
            rows.append(f'[[shot]]\nid = "{shot_id}"\nframes = {int(at_s * 24) + 12}\n{"".join(said)}')
        (folder / "scenes" / f"{scene + 1:03}.toml").write_text("\n".join(rows), "utf-8")
    return whole_s


def _record(folder: Path, number: int) -> tuple[Path, float]:
    """Write a line's recording, and return how long it is."""
    text, voice, speed = spoken(number)
    sound, _ = perform(voice, text, speed, None)
    path = folder / "recordings" / f"{number:05}.wav"
    soundfile.write(path, sound, RATE_HZ, subtype="PCM_16")
    return path, len(sound) / RATE_HZ


def _parts(numbers: Sequence[int], most: int) -> Iterator[Sequence[int]]:
    return (numbers[at : at + most] for at in range(0, len(numbers), most))


def bare_s(folder: Path) -> float:
    """Return how much of real time the bare recogniser takes on the first lines, on one core.

    Each line has a decoder of its own, as it had when what is asked was set; ours are used again.
    """
    sound_s = spent_s = 0.0
    for number, path in enumerate(sorted((folder / "recordings").glob("*.wav"))[:BARE_LINES]):
        recording, tokens = read_recording(path), tokens_of(spoken(int(path.stem))[0])
        words = [[way.bare for way in word] for word in pronunciations_of(tokens, LineSettings())]
        for idle in recogniser._idle.values():
            idle.clear()
        began = time.thread_time()
        align_ticks(recording.samples, words)
        if number:  # the first one loads the model
            spent_s += time.thread_time() - began
            sound_s += recording.duration_us / 1_000_000
    return spent_s / sound_s


def run(name: str, *arguments: str) -> Run:
    """Run the command line in a process of its own, and look at its memory meanwhile."""
    began, used = time.monotonic(), _used_s()
    process = subprocess.Popen(
        [sys.executable, "-m", "lipsync", *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    peaks: dict[int, float] = {}
    ended = threading.Event()
    watching = threading.Thread(target=_watch, args=(process.pid, peaks, ended))
    watching.start()
    _, told = process.communicate()
    wall_s, cpu_s = time.monotonic() - began, _used_s() - used
    ended.set()
    watching.join()
    if process.returncode not in {0, 4}:
        print(told.decode(), file=sys.stderr)
    others = [peak for pid, peak in peaks.items() if pid != process.pid]
    return Run(name, wall_s, cpu_s, process.returncode, peaks.get(process.pid, 0.0), max(others, default=0.0))


def _used_s() -> float:
    """Return the time that all processes which were waited for have taken on all cores."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _watch(pid: int, peaks: dict[int, float], ended: threading.Event) -> None:
    """Note the most memory (VmHWM, MB) of a process and of its children until it has ended."""
    while not ended.wait(EVERY_S):
        for one in (pid, *_children(pid)):
            try:
                status = Path(f"/proc/{one}/status").read_text("ascii")
            except OSError:
                continue
            held = [line.split()[1] for line in status.splitlines() if line.startswith("VmHWM")]
            peaks[one] = max(peaks.get(one, 0.0), int(held[0]) / 1024 if held else 0.0)


def _children(pid: int) -> list[int]:
    try:
        listed = [
            Path(f"/proc/{pid}/task/{task}/children").read_text("ascii") for task in os.listdir(f"/proc/{pid}/task")
        ]
    except OSError:
        return []
    return list(itertools.chain.from_iterable((int(child) for child in text.split()) for text in listed))


def main() -> None:
    """Measure each film that is asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("lines", type=int, nargs="+")
    parser.add_argument("--keep", type=Path, help="make the films here, each in a folder of its own, and leave them")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        measured = {
            lines: measure((chosen.keep or Path(temporary)) / f"film-{lines}", lines) for lines in chosen.lines
        }
    if len(measured) > 1:
        print("\nhow the cores' time grows with the lines, exponent")
        for each in zip(*measured.values(), strict=True):
            print(f"{each[0].name:32} {exponent(list(measured), [one.cpu_s for one in each]):6.2f}")


def exponent(lines: Sequence[int], spent_s: Sequence[float]) -> float:
    """Return the slope of the straight line through the logarithms.

    >>> exponent([100, 1000], [2.0, 20.0])
    1.0
    """
    sizes, times = ([math.log10(one) for one in values] for values in (lines, spent_s))
    return round(statistics.linear_regression(sizes, times).slope, 2)


def _change_text(folder: Path, old: str, new: str) -> None:
    """Replace the first of some letters in the first line's text."""
    scene = folder / "scenes" / "001.toml"
    text = scene.read_text("utf-8")
    head, said, rest = re.split(r'(?<=text = ")(.*?)(?=")', text, maxsplit=1)
    scene.write_text(head + said.replace(old, new, 1) + rest, "utf-8")


def measure(folder: Path, lines: int) -> list[Run]:
    """Make a film, run the commands, print the table, and return what each took."""
    sound_s = make_film(folder, lines)
    film = str(folder)
    runs = [run("--help", "--help")]
    before = bare_s(folder)
    runs.append(run("heard for the first time", "breakdown", film))
    bare = (before + bare_s(folder)) / 2  # a machine is not always as fast
    runs += [run("sheets printed the first time", "sheet", film), run("again, nothing changed", "sheet", film)]
    # A word that is hardly heard: the line agrees with its text still, and the voice is found anew.
    _change_text(folder, "the ", "a ")
    runs.append(run("one line's text changed, sheet", "sheet", film))
    _change_text(folder, "wall", "wall [breath]")
    runs += [
        run("one line's cue more, sheet", "sheet", film),
        run("one shot", "sheet", film, "--shot", "001-02"),
    ]
    runs += [run("overview", "overview", film), run("overview again", "overview", film)]
    runs += [run("count, all tracks known", "count", film)]
    _change_text(folder, " [breath]", "")
    runs += [
        run("one line's cue less, one shot", "sheet", film, "--shot", "001-01"),
        run("count, one track known anew", "count", film),
    ]
    _change_text(folder, "wall", "wall [breath]")
    runs += [run("one line's cue more, count", "count", film), run("order", "order", film, "--look")]
    runs += [run("weigh, one scene", "weigh", film, "001"), run("worth, one character", "worth", film, "c00")]
    print(f"{lines} lines, {sound_s / 60:.1f} minutes of speech; {usable_cores()} cores")
    print(f"the bare recogniser takes {bare:.4f} of real time on one core, {bare * sound_s:.1f} s for all")
    heads = ("s", "cores' s", "x bare", "at least", "aim", "x first", "main MB", "other MB")
    print(f"{'':32}", *(f"{head:>8}" for head in heads), " code")
    printed_s = next(one.wall_s for one in runs if one.name.startswith("sheets"))
    for one in runs:
        least, aim = (f"{asked / _BARE_S:8.3f}" for asked in ASKED_S.get(one.name, (math.nan, math.nan)))
        ratios = f"{one.wall_s / (bare * sound_s):8.3f} {least} {aim} {one.wall_s / printed_s:8.3f}"
        held = f"{one.main_mb:8.0f} {one.worker_mb:8.0f}"
        print(f"{one.name:32} {one.wall_s:8.2f} {one.cpu_s:8.2f} {ratios} {held}  {one.code}", flush=True)
    return runs


if __name__ == "__main__":
    main()
