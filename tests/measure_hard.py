"""Measures hard recordings: python tests/measure_hard.py [CONDITION ...] [--choosing]

Each of the conditions below is made of synthesised lines with exact times (tests/synthesised.py; needs flite), by an
operation that moves no time. Each line is broken down alone, with nothing known of its voice. Levels are root mean
squares over the whole line. Out, for each condition: shares of phoneme starts within 20 ms and within a frame at 24,
failures, and the lines with the least.
"""

from __future__ import annotations

import argparse

import numpy as np
from measure_timing import summary
from synthesised import (
    CHOOSING,
    MEASURED,
    RATE_HZ,
    Line,
    Sound,
    between,
    changed,
    heard,
    lines,
    make,
    root_mean_square,
)

OTHER = "Please mind the wet paint on the steps, we are open until nine this evening."


def noisy(line: Line) -> Line:
    """White noise 10 dB below the voice."""
    generator = np.random.default_rng(len(line.sound))
    return changed(
        line, lambda sound: sound + generator.normal(size=len(sound)) * root_mean_square(sound) / 10 ** (10 / 20)
    )


def room(line: Line) -> Line:
    """Pink noise 10 dB below the voice: equal power in each octave."""
    spectrum = np.fft.rfft(np.random.default_rng(len(line.sound)).normal(size=len(line.sound)))
    pink = np.fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(len(spectrum)))), len(line.sound))
    level = root_mean_square(line.sound) / 10 ** (10 / 20) / root_mean_square(pink)
    return changed(line, lambda sound: sound + level * pink)


def telephone(line: Line) -> Line:
    """Nothing below 300 Hz nor above 3,400 Hz."""

    def narrow(sound: Sound) -> Sound:
        spectrum = np.fft.rfft(sound)
        hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
        return np.fft.irfft(np.where((hz >= 300) & (hz <= 3400), spectrum, 0), len(sound))

    return changed(line, narrow)


def clipped(line: Line) -> Line:
    """Cut off at a level to which the voice's own root mean square nearly comes: 6 times too loud, held at 0.61."""
    return changed(line, lambda sound: np.clip(6 * sound / np.abs(sound).max() * 0.5, -0.61, 0.61))


def slate(line: Line) -> Line:
    """A second of a tone of 1 kHz, louder than the voice, and a second of silence, before the line."""
    tone = 0.25 * np.sin(2 * np.pi * 1000 * np.arange(RATE_HZ) / RATE_HZ)
    return between(line, np.concatenate([np.zeros(RATE_HZ // 4), tone, np.zeros(RATE_HZ)]), np.zeros(0))


def long_silence(line: Line) -> Line:
    """Eight seconds of a quiet room before and after."""
    before, after = np.random.default_rng(len(line.sound)).normal(size=(2, 8 * RATE_HZ)) * 1e-4
    return between(line, before, after)


def faint(line: Line) -> Line:
    """A level of -50 dB below full scale, in 16 bits."""
    return changed(line, lambda sound: sound / root_mean_square(sound) / 10 ** (50 / 20))


def hum(line: Line) -> Line:
    """Mains hum at 50 and 150 Hz, 9 and 17 dB below the voice."""
    turns = 2 * np.pi * np.arange(len(line.sound)) / RATE_HZ
    level = root_mean_square(line.sound)
    return changed(line, lambda sound: sound + level * (0.5 * np.sin(50 * turns) + 0.2 * np.sin(150 * turns)))


def another_voice(line: Line) -> Line:
    """Somebody else who speaks all the while, 20 dB below."""
    other, _ = make.speak(make.Voice("rms" if line.voice != "rms" else "awb", 1.0, 1.0, RATE_HZ), "-t", OTHER)
    behind = np.resize(other[RATE_HZ // 4 :], len(line.sound))
    level = root_mean_square(line.sound) / 10 / root_mean_square(behind)
    return changed(line, lambda sound: sound + level * behind)


CONDITIONS = {
    "as it is": lambda line: line,
    "white noise 10 dB": noisy,
    "pink noise 10 dB": room,
    "telephone band": telephone,
    "clipping": clipped,
    "slate tone": slate,
    "long silence": long_silence,
    "-50 dBFS": faint,
    "hum": hum,
    "another voice": another_voice,
}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measures hard recordings.")
    parser.add_argument("condition", nargs="*", default=list(CONDITIONS), help=", ".join(CONDITIONS))
    parser.add_argument("--choosing", action="store_true", help="the lines on which settings are chosen")
    arguments = parser.parse_args()
    originals = list(lines(CHOOSING if arguments.choosing else MEASURED, each_by_all=True))[::2]
    for name in arguments.condition:
        found = heard([CONDITIONS[name](line) for line in originals])
        print(f"{name:18} {summary(found.pooled, len(found.refusals))}", flush=True)
        print(f"{'':18} least within a frame: {found.worst}", *found.refusals, sep="\n", flush=True)


if __name__ == "__main__":
    main()
