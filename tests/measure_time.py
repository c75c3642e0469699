"""Measures time against plain alignment: python tests/measure_time.py

Sixty synthesised lines (tests/synthesised.py; needs flite) are each aligned three ways in turn, in one process and on
one thread: plainly (the recogniser's two passes, nothing else), with the voice's factor known, and alone, its factor
to be found. Reading the recording and the pronunciations is in neither. Out: seconds for each, and ratios to plain,
the first line left out, on which models are loaded. The voice's factor is found beforehand from four of its lines.
"""

from __future__ import annotations

import tempfile
import time
from collections import defaultdict
from pathlib import Path

import soundfile
from synthesised import RATE_HZ, VOICES, lines

from lipsync.align.aligning import align
from lipsync.align.line import VoiceLine, pronunciations_of, voice_factor_of
from lipsync.align.recogniser import align_ticks
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import read_recording
from lipsync.text.script import tokens_of


def main() -> None:
    """Measure and print."""
    spent_s: dict[str, float] = defaultdict(float)
    with tempfile.TemporaryDirectory() as folder:
        some = list(lines(each_by_all=True))
        recordings = []
        for number, line in enumerate(some):
            path = Path(folder, f"{number}.wav")
            soundfile.write(path, line.sound, RATE_HZ, subtype="PCM_16")
            recordings.append(read_recording(path))
        own = list(zip(some, recordings, strict=True))
        factors = {
            voice: voice_factor_of(
                [VoiceLine(recording, line.text, LineSettings()) for line, recording in own if line.voice == voice][
                    :4
                ]
            )
            for voice in VOICES
        }
        for number, (line, recording) in enumerate(own):
            tokens = tokens_of(line.text)
            said = pronunciations_of(tokens, LineSettings())
            bare = [[one.bare for one in word] for word in said]
            ways = {
                "plain": lambda r=recording, b=bare: align_ticks(r.samples, b),
                "voice known": lambda r=recording, t=tokens, s=said, v=line.voice: align(r, t, s, "", factors[v]),
                "lone": lambda r=recording, t=tokens, s=said: align(r, t, s, ""),
            }
            for name, way in ways.items():
                began = time.thread_time()
                way()
                if number:
                    spent_s[name] += time.thread_time() - began
    sound_s = sum(len(line.sound) for line in some[1:]) / RATE_HZ
    print(f"{len(some) - 1} lines, {sound_s:.0f} s of sound; factors {factors}")
    for name, one_s in spent_s.items():
        ratio = one_s / spent_s["plain"]
        print(f"{name:12} {one_s:7.2f} s  {one_s / sound_s:.3f} of real time  {ratio:5.2f} x plain")


if __name__ == "__main__":
    main()
