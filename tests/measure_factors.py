"""Measures that no phoneme is left without length: python tests/measure_factors.py [--lines N] [--step S]

N synthesised lines (tests/synthesised.py; needs flite) are aligned at each voice factor from 0.5 to 2 in steps of S,
as a person may set it. Out: how many alignments were made, how many had no breakdown, and the shortest phoneme.
"""

from __future__ import annotations

import argparse
import concurrent.futures
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from synthesised import RATE_HZ, Line, lines

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings


def shortest_us(line: Line, factor: float) -> int | None:
    """Return how long the shortest phoneme of a line's words lasts at a factor; None if there is no breakdown."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "line.wav")
        soundfile.write(path, np.clip(line.sound, -1, 1), RATE_HZ, subtype="PCM_16")
        try:
            found = listen(path, line.text, LineSettings(voice_factor=factor))
        except Exception as fault:
            print(f"{line.text!r} at {factor:g}: {fault!r}", flush=True)
            return None
    return min(phoneme.end_us - phoneme.start_us for word in found.words for phoneme in word.phonemes)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measures that no phoneme is left without length.")
    parser.add_argument("--lines", type=int, default=20, metavar="N")
    parser.add_argument("--step", type=float, default=0.01, metavar="S")
    arguments = parser.parse_args()
    factors = [round(0.5 + k * arguments.step, 3) for k in range(int(1.5 / arguments.step + 1.5))]
    some = list(lines(each_by_all=True))[: arguments.lines]
    tasks = [(line, factor) for line in some for factor in factors if factor <= 2.0]
    with concurrent.futures.ProcessPoolExecutor(2) as pool:
        found = list(pool.map(shortest_us, *zip(*tasks, strict=True), chunksize=4))
    lengths = [one for one in found if one is not None]
    print(f"{len(found)} alignments, {len(found) - len(lengths)} without a breakdown, shortest {min(lengths)} us")


if __name__ == "__main__":
    main()
