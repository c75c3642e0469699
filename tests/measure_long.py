"""Measures half an hour of speech with its script: python tests/measure_long.py [--minutes 30]

Synthesised lines with exact times (tests/synthesised.py; needs flite), each text spoken by one voice, are joined with
pauses of 0.3 to 1.2 s to one recording, and their texts to one text; the recording is broken down as one line. Out:
processor time of one thread and of all against the recording's length, the highest memory of a process that does
nothing else, and the exactness, as in tests/measure_timing.py.
"""

from __future__ import annotations

import argparse
import re
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from itertools import count
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import soundfile
from measure_timing import FRAME_S, pairs, summary
from synthesised import CHOOSING, MEASURED, RATE_HZ, Line, make

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings
from lipsync.model import Breakdown

VOICE = "rms"


def joined(minutes: float) -> Line:
    """Return the lines over and over, in an order and at speeds that change, with pauses between."""
    generator = np.random.default_rng(30)
    sounds, texts, phones, at, spoken = [], [], [], 0, {}
    order: list[str] = []
    for turn in count():
        if at > minutes * 60 * RATE_HZ:
            break
        order = order or generator.permutation([*MEASURED, *CHOOSING]).tolist()
        text, speed = order.pop(), (1.0, 0.95, 1.05)[turn % 3]
        if (text, speed) not in spoken:
            spoken[text, speed] = make.speak(make.Voice(VOICE, 1 / speed, 1.0, RATE_HZ), "-t", text)
        sound, own = spoken[text, speed]
        begin_s = at / RATE_HZ
        phones += [(phone, begin_s + start, begin_s + end) for phone, start, end in own]
        pause = np.zeros(round(generator.uniform(0.3, 1.2) * RATE_HZ))
        sounds += [0.5 * sound / np.abs(sound).max(), pause]
        texts.append(text)
        at += len(sound) + len(pause)
    return Line(" ".join(texts), VOICE, np.concatenate(sounds), tuple(phones))


def listened(path: Path, text: str, factor: float | None) -> tuple[Breakdown, float, float, float]:
    """Return the breakdown, the seconds it took on this thread and on all, and the highest memory in MB."""
    began_s, whole_s = time.thread_time(), time.process_time()
    breakdown = listen(path, text, LineSettings(voice_factor=factor))
    took_s, all_s = time.thread_time() - began_s, time.process_time() - whole_s
    return breakdown, took_s, all_s, highest_mb()


def highest_mb() -> float:
    """Return this process's highest memory, as Linux counts it: `ru_maxrss` begins with that of who started it."""
    return int(re.findall(r"^VmHWM:\s+(\d+) kB$", Path("/proc/self/status").read_text("ascii"), re.M)[0]) / 1024


def errors_of(line: Line, computed: list[tuple[str, float, float]]) -> list[float]:
    """Return the errors of starts, paired a minute at a time: pairing costs with the square of the length."""
    found = []
    last = max(end for _, _, end in line.phones)
    for begin in np.arange(0, last, 60):
        ours, theirs = (
            [phone for phone in some if begin <= (phone[1] + phone[2]) / 2 < begin + 60]
            for some in (computed, line.phones)
        )
        found += [one[1] - other[1] for one, other in pairs(ours, theirs)]
    return found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measures half an hour of speech with its script.")
    parser.add_argument("--minutes", type=float, default=30)
    parser.add_argument("--factor", type=float, help="the voice's factor, where it is not to be found")
    arguments = parser.parse_args()
    line = joined(arguments.minutes)
    length_s = len(line.sound) / RATE_HZ
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "long.wav")
        soundfile.write(path, line.sound, RATE_HZ, subtype="PCM_16")
        # In a process of its own, whose memory holds nothing else.
        with ProcessPoolExecutor(1, get_context("spawn")) as other:
            breakdown, took_s, all_s, highest_mb = other.submit(listened, path, line.text, arguments.factor).result()
    errors = errors_of(line, [(phone.symbol, phone.start_s, phone.end_s) for phone in breakdown.phonemes])
    print(f"{length_s / 60:.1f} minutes, {len(line.text.split())} words, factor {breakdown.voice_factor:g}")
    print(f"{took_s:.1f} s: {took_s / length_s:.3f} of real time ({all_s / length_s:.3f} with other threads)")
    print(f"highest memory {highest_mb:.0f} MB")
    print(summary(errors, 0), f"beyond a second {sum(abs(error) > 24 * FRAME_S for error in errors)}")


if __name__ == "__main__":
    main()
