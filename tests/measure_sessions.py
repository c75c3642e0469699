"""Measures sessions cut into lines: python tests/measure_sessions.py [--sessions 2] [--folder PRODUCTION]

The lines of a production (the sample, if none is named) are joined to one recording: out of order, two
twice, two broken off after a third, with pauses of 0.5 to 6 s and a room of -65 dB. Out: how many are found,
how many takes are wrong, how many are one that was broken off, how far `in` and `out` are from where they
were joined, and processor time against length.
"""

from __future__ import annotations

import argparse
import random
import time
from pathlib import Path

import numpy as np

from lipsync.app.take.session_cutting import SessionLine, takes_of
from lipsync.app.take.sessions import session_lines
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, read_recording
from lipsync.production.drafts import SaidLine
from lipsync.production.loading import open_production
from lipsync.production.values import Production, shipped

FRAME_US = 1_000_000 / 24


Joined = list[tuple[str, int, int]]


def session(production: Production, seed: int) -> tuple[Recording, list[SessionLine], Joined, Joined]:
    """Return a session, its lines, and from when to when each was joined, and each that is broken off."""
    dice, noise = random.Random(seed), np.random.default_rng(seed)
    lines = {line.id: line for _, shot in production.shots() for line in shot.line}
    order = [*lines, *dice.sample([*lines], 2)]
    dice.shuffle(order)
    broken = dice.sample(range(len(order)), 2)
    parts, joined, begun, at = [np.zeros(RATE_HZ)], Joined(), Joined(), RATE_HZ
    for place, id in enumerate(order):
        line = lines[id]
        sound = read_recording(production.folder / line.recording, line.in_us, line.out_us)
        spans = heard(sound, 0, sound.duration_us, -60)
        own = sound.samples[spans[0][0] * RATE_HZ // 10**6 : spans[-1][1] * RATE_HZ // 10**6].astype(float)
        for part in ([own[: len(own) // 3]] if place in broken else []) + [own]:
            placed = joined if part is own else begun
            placed.append((id, at * 10**6 // RATE_HZ, (at + len(part)) * 10**6 // RATE_HZ))
            pause = np.zeros(round(dice.uniform(0.5, 6) * RATE_HZ))
            parts += [part, pause]
            at += len(part) + len(pause)
    whole = np.concatenate(parts)
    whole += noise.normal(0, 32768 * 10 ** (-65 / 20), len(whole))
    samples = np.clip(whole, -32768, 32767).astype(np.int16)
    samples.flags.writeable = False
    recording = Recording("session", samples, len(samples) * 10**6 // RATE_HZ, "0" * 16)
    said = session_lines(production, [SaidLine(line.id, line.text, line.character) for line in lines.values()])
    return recording, said, joined, begun


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sessions", type=int, default=2)
    parser.add_argument("--first", type=int, default=0, help="the number of the first session")
    parser.add_argument("--folder", type=Path, default=shipped("sample_audio"))
    options = parser.parse_args()
    production = open_production(options.folder)
    for seed in range(options.first, options.first + options.sessions):
        recording, lines, joined, begun = session(production, seed)
        began_s = time.process_time()
        takes = takes_of(recording, lines)
        took_s = time.process_time() - began_s
        errors, right = [], 0
        for id, start_us, end_us in joined:
            own = [take for take in takes if take.line == id and abs(take.start_us - start_us) < 500_000]
            if own:
                right += 1
                errors += [abs(own[0].start_us - start_us), abs(own[0].end_us - end_us)]
        within = sum(error <= FRAME_US for error in errors)
        long_s, complete = recording.duration_us / 1e6, sum(take.complete for take in takes)
        off = sum(take.line == id and abs(take.start_us - us) < 500_000 for take in takes for id, us, _ in begun)
        print(
            f"session {seed}: {long_s:.0f} s, {len(joined)} sayings of {len(lines)} lines; found {right}, "
            f"wrong {len(takes) - right - off}, broken off {off}, complete {complete}; in and out within a frame "
            f"{within} of {len(errors)}, at most {max(errors) / 1000:.0f} ms; {took_s:.0f} s of processor time"
        )


if __name__ == "__main__":
    main()
