"""Measures the timing against labelled speech: python tests/measure_timing.py FOLDER [--plain].

In: a folder with `manifest.jsonl` or `labels.jsonl`, one JSON object a line: id, wav (a file beside it), perhaps in
and out in seconds, text, source, labels ("hand", "exact" or "none") and phones, a list of [phone, start_s, end_s] in
ARPAbet without stress, SIL for silence; a label such as "AH+N" covers two phones. Out: for each source and for all,
the phonemes paired, the median, mean and bias of the errors of their starts, the shares within 20 ms and within a
frame at 24, and the recordings with no result.

Pairing: silences are left out; computed and labelled phonemes are paired by least cost over the whole line (same
symbol 0, vowel for vowel or consonant for consonant 0.6, else 1.6, missing or extra 1, plus half the distance of
their middles in seconds, at most 0.5). A label of two phones pairs with either and gives one start.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from lipsync.align.line import listen, pronunciations_of
from lipsync.align.recogniser import HALF_WINDOW_US, TICK_RATE_HZ, NotFoundError, align_ticks
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import read_recording
from lipsync.errors import LineError
from lipsync.model import Breakdown
from lipsync.phonemes import SILENCE, VOWELS
from lipsync.text.script import tokens_of
from lipsync.timing import US_PER_S, us_of_seconds

Timed = tuple[str, float, float]  # phone, start_s, end_s

FRAME_S = 1 / 24


def cost(computed: Timed, labelled: Timed) -> float:
    """Return what it costs to pair two phonemes."""
    symbols = labelled[0].split("+")
    if computed[0] in symbols:
        unlike = 0.0
    else:
        same_kind = any((computed[0] in VOWELS) == (symbol in VOWELS) for symbol in symbols)
        unlike = 0.6 if same_kind else 1.6
    middles = abs((computed[1] + computed[2]) - (labelled[1] + labelled[2])) / 2
    return unlike + min(0.5, middles / 2)


def pairs(computed: Sequence[Timed], labelled: Sequence[Timed]) -> list[tuple[Timed, Timed]]:
    """Return the pairs of least cost over the whole line, silences left out.

    >>> [(c[0], l[0]) for c, l in pairs([("M", 0, 1), ("IY", 1, 2)], [("SIL", 0, 1), ("M", 1, 2), ("AH+N", 2, 3)])]
    [('M', 'M'), ('IY', 'AH+N')]
    """
    ours = [phone for phone in computed if phone[0] != SILENCE]
    theirs = [phone for phone in labelled if phone[0] != SILENCE]
    best = [[float(i + j) for j in range(len(theirs) + 1)] for i in range(len(ours) + 1)]
    for i, our in enumerate(ours, start=1):
        for j, their in enumerate(theirs, start=1):
            best[i][j] = min(best[i - 1][j - 1] + cost(our, their), best[i - 1][j] + 1, best[i][j - 1] + 1)
    found, i, j = [], len(ours), len(theirs)
    while i and j:
        if best[i][j] == best[i - 1][j - 1] + cost(ours[i - 1], theirs[j - 1]):
            found.append((ours[i - 1], theirs[j - 1]))
            i, j = i - 1, j - 1
        elif best[i][j] == best[i - 1][j] + 1:
            i -= 1
        else:
            j -= 1
    return found[::-1]


def start_errors(computed: Sequence[Timed], labelled: Sequence[Timed]) -> list[float]:
    """Return by how many seconds each paired phoneme begins too late (below 0: too early)."""
    return [ours[1] - theirs[1] for ours, theirs in pairs(computed, labelled)]


def summary(errors: Sequence[float], failures: int) -> str:
    """Return one line of the table."""
    if not errors:
        return f"no pairs, {failures} failed"
    sizes = [abs(error) for error in errors]
    within = [100 * sum(size <= limit for size in sizes) / len(sizes) for limit in (0.020, FRAME_S)]
    median, mean = 1000 * statistics.median(sizes), 1000 * statistics.fmean(sizes)
    return (
        f"{len(errors):5} pairs  median {median:5.1f} ms  mean {mean:5.1f} ms"
        f"  bias {1000 * statistics.median(errors):+5.1f} ms  within 20 ms {within[0]:5.1f} %"
        f"  within a frame {within[1]:5.1f} %  failed {failures}"
    )


def labelled_lines(folder: Path) -> Iterator[dict[str, Any]]:
    """Yield the rows of the lines that have labels."""
    lists = [path for name in ("manifest.jsonl", "labels.jsonl") if (path := folder / name).is_file()]
    for row in lists[0].read_text(encoding="utf-8").splitlines() if lists else ():
        line = json.loads(row)
        if line["labels"] in ("hand", "exact"):
            yield line


def settings_of(line: dict[str, Any]) -> LineSettings:
    """Return what the list says of a line beside sound and text."""
    part = [us_of_seconds(line[key]) if line.get(key) is not None else None for key in ("in", "out")]
    own = {word: tuple(tuple(said.split()) for said in ways) for word, ways in line.get("pronunciations", {}).items()}
    return LineSettings(own, None, *part)


def breakdown_of(folder: Path, line: dict[str, Any]) -> Breakdown:
    """Return the breakdown of one line of the list."""
    return listen(folder / line["wav"], line["text"], settings_of(line))


def timed(folder: Path, line: dict[str, Any], plain: bool) -> tuple[list[Timed], str]:
    """Return the phones of a line, and what it took; `plain`: the recogniser's two passes, and nothing else.

    Raises:
        LineError, NotFoundError: if they are not found.
    """
    if not plain:
        breakdown = breakdown_of(folder, line)
        phones = [(phone.symbol, phone.start_s, phone.end_s) for phone in breakdown.phonemes]
        return phones, f"{breakdown.effort}, factor {breakdown.voice_factor:g}"
    settings = settings_of(line)
    samples = read_recording(folder / line["wav"], settings.in_us, settings.out_us).samples
    said = [[one.bare for one in ways] for ways in pronunciations_of(tokens_of(line["text"]), settings)]
    found, late_s = align_ticks(samples, said), HALF_WINDOW_US / US_PER_S
    spans = [
        (one.symbol, one.start_tick / TICK_RATE_HZ, (one.start_tick + one.ticks) / TICK_RATE_HZ) for one in found
    ]
    return [(symbol, start_s + late_s, end_s + late_s) for symbol, start_s, end_s in spans], "two passes"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the timing against labelled speech.")
    parser.add_argument("folder", type=Path, help="folder with manifest.jsonl and its recordings")
    parser.add_argument(
        "--plain",
        action="store_true",
        help="one alignment of two passes at the recorded speed, nothing refined",
    )
    parser.add_argument("--lines", action="store_true", help="also a row for each recording")
    arguments = parser.parse_args()
    errors: dict[str, list[float]] = {}
    failed: dict[str, int] = {}
    sound_s, began = 0.0, time.perf_counter()
    for line in labelled_lines(arguments.folder):
        source = line["source"]
        errors.setdefault(source, [])
        failed.setdefault(source, 0)
        try:
            phones, took = timed(arguments.folder, line, arguments.plain)
        except (LineError, NotFoundError) as fault:
            print(fault)
            failed[source] += 1
            continue
        sound_s += phones[-1][2]
        found = start_errors(phones, [tuple(phone) for phone in line["phones"]])
        errors[source] += found
        if arguments.lines:
            print(f"{line['id']:40} {summary(found, 0)}  {took}")
    for source, found in errors.items():
        print(f"{source:40} {summary(found, failed[source])}")
    if not errors:
        raise SystemExit(f"{arguments.folder}: no manifest.jsonl or labels.jsonl with labelled lines")
    print(f"{'pooled':40} {summary([e for found in errors.values() for e in found], sum(failed.values()))}")
    print(f"{sound_s:.1f} s of sound in {time.perf_counter() - began:.1f} s")


if __name__ == "__main__":
    main()
