"""Measures voices that no news reader has: python tests/measure_voices.py [--choosing]

Synthesised lines (tests/synthesised.py; needs flite) are given other formants and another pitch as Praat does it
(extra `measure`: praat-parselmouth, GPL; "Change gender": formants by resampling, pitch and length put back by
overlap and add), which moves no time. Each is broken down alone, with nothing known of its voice. Out, for each
voice: shares of phoneme starts within 20 ms and within a frame at 24, failures, and the lines with the least.
"""

from __future__ import annotations

import argparse
from itertools import product

import parselmouth
from measure_timing import summary
from parselmouth.praat import call
from synthesised import CHOOSING, MEASURED, RATE_HZ, Sound, changed, heard, lines

FORMANTS = (0.8, 1.0, 1.2, 1.35)
PITCHES_HZ = (80, 200, 400)


def revoiced(sound: Sound, formants: float, pitch_hz: float) -> Sound:
    """Return the sound with its formants shifted and its median pitch moved."""
    voiced = call(parselmouth.Sound(sound, RATE_HZ), "Change gender", 60, 500, formants, pitch_hz, 1.0, 1.0)
    return voiced.values[0]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measures voices that no news reader has.")
    parser.add_argument("--choosing", action="store_true", help="the lines on which settings are chosen")
    texts = CHOOSING if parser.parse_args().choosing else MEASURED
    originals = list(lines(texts))
    errors: list[float] = []
    failed = 0
    for formants, pitch_hz in product(FORMANTS, PITCHES_HZ):
        found = heard(
            [changed(line, lambda sound, f=formants, p=pitch_hz: revoiced(sound, f, p)) for line in originals]
        )
        errors += found.pooled
        failed += len(found.refusals)
        print(f"formants x{formants:<4g} {pitch_hz:3} Hz {summary(found.pooled, len(found.refusals))}", flush=True)
        print(f"{'':22} least within a frame: {found.worst}", *found.refusals, sep="\n", flush=True)
    print(f"{'pooled':22} {summary(errors, failed)}")


if __name__ == "__main__":
    main()
