"""Synthesised lines with exact times, for the measuring scripts: their texts, their sound, and what is done to it.

Needs the program flite (Debian package `flite`), whose voices speak the texts below and print when each segment ends
in the sound that they make; sample_audio/make.py, which is used here, tells how. Out: `Line`s, sound at 16 kHz from
-1 to 1 with its phones in seconds; `heard`, what a recording of one is broken down into, and its errors.

`MEASURED` is what the figures are taken on. `CHOOSING` are other lines, for choosing settings: what was chosen on
them is measured on the first.
"""

from __future__ import annotations

import importlib.util
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
from measure_timing import FRAME_S, Timed, start_errors

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings
from lipsync.errors import LineError
from lipsync.model import Breakdown

_spec = importlib.util.spec_from_file_location("make", Path(__file__).parents[1] / "sample_audio" / "make.py")
make = importlib.util.module_from_spec(_spec)
sys.modules[_spec.name] = make
_spec.loader.exec_module(make)

RATE_HZ = 16_000
VOICES = ("slt", "rms", "awb", "kal16")
MEASURED = (
    "The heron carried a lamp down to the end of the pier.",
    "Bring me the blue ladder before the tide comes in.",
    "Who put all these wet letters on my counter?",
    "There are nine parcels for the lighthouse this week.",
    "I have told you twice that the post office closes at four.",
    "She cleaned the glass until the whole harbour shone in it.",
    "Please push the heavy door, it sticks when it rains.",
    "My left claw is stuck in the drawer again.",
    "The fog came over the wall and we could not see the boats.",
    "Nobody has written to the old captain since the spring.",
    "Take this stamp and lick it, but do not eat it.",
    "A thin wire runs from the bell to the top of the tower.",
    "He waited on the steps with a jar of oil and a brush.",
    "Why would anyone send a chair by mail?",
    "Yes, the youngest gull stole both of my sandwiches.",
)
CHOOSING = (
    "The crab shut his shop and hung the key on a hook.",
    "Three of the lanterns went out during the storm.",
    "Could you read me the address, my eyes are tired.",
    "It smells of fish and fresh paint in here.",
    "We should measure the rope again before we cut it.",
    "Somebody left a large box of shells by the gate.",
    "The mail boat was late because of the waves.",
    "You owe me seven pennies for that envelope.",
    "Look at the moon, how low it hangs over the water.",
    "I thought I heard a voice under the floor.",
    "Give the lamp a good shake and try once more.",
    "Every evening he counts the ships and goes to bed.",
    "That noise is only the buoy, go back to sleep.",
    "Her brother works at the other end of the bay.",
    "This cupboard has been empty for a very long time.",
)

Sound = npt.NDArray[np.float64]
Change = Callable[[Sound], Sound]


@dataclass(frozen=True)
class Line:
    """A line as sound, and where its phones are."""

    text: str
    voice: str
    sound: Sound
    phones: tuple[Timed, ...]


def lines(texts: Sequence[str] = MEASURED, *, each_by_all: bool = False) -> Iterator[Line]:
    """Yield the texts, each by one of the voices in turn, or by each of them."""
    by_turns = ((text, VOICES[number % len(VOICES)]) for number, text in enumerate(texts))
    for text, voice in product(texts, VOICES) if each_by_all else by_turns:
        sound, phones = make.speak(make.Voice(voice, 1.0, 1.0, RATE_HZ), "-t", text)
        yield Line(text, voice, 0.5 * sound / np.abs(sound).max(), tuple(phones))


def changed(line: Line, change: Change) -> Line:
    """Return the line with its sound changed, times unmoved."""
    return replace(line, sound=change(line.sound))


def between(line: Line, before: Sound, after: Sound) -> Line:
    """Return the line with sounds put before and after it, its phones later by as much."""
    late_s = len(before) / RATE_HZ
    phones = tuple((phone, start + late_s, end + late_s) for phone, start, end in line.phones)
    return replace(line, sound=np.concatenate([before, line.sound, after]), phones=phones)


def root_mean_square(sound: Sound) -> float:
    return float(np.sqrt((sound**2).mean()))


def broken_down(line: Line, settings: LineSettings | None = None) -> Breakdown:
    """Return the breakdown of the line as a recording of 16 bits.

    Raises:
        LineError: if it is refused.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "line.wav")
        soundfile.write(path, np.clip(line.sound, -1, 1), RATE_HZ, subtype="PCM_16")
        return listen(path, line.text, settings)


def errors_of(line: Line, breakdown: Breakdown) -> list[float]:
    """Return by how many seconds each phoneme begins too late."""
    return start_errors([(phone.symbol, phone.start_s, phone.end_s) for phone in breakdown.phonemes], line.phones)


@dataclass(frozen=True)
class Heard:
    """What came of some lines: errors of each that was done, breakdowns, and why the others failed."""

    errors: tuple[tuple[float, ...], ...]
    breakdowns: tuple[Breakdown, ...]
    refusals: tuple[str, ...]

    @property
    def pooled(self) -> list[float]:
        """All errors."""
        return [error for line in self.errors for error in line]

    @property
    def worst(self) -> str:
        """The lines of which least lies within a frame, and their factor."""
        rows = sorted(
            (sum(abs(error) <= FRAME_S for error in found) / len(found), breakdown.voice_factor, breakdown.effort)
            for found, breakdown in zip(self.errors, self.breakdowns, strict=True)
        )
        return ", ".join(f"{100 * share:.0f} % (factor {factor:g}, {effort})" for share, factor, effort in rows[:3])


def heard(some: Sequence[Line], settings: LineSettings | None = None) -> Heard:
    """Break each line down by itself."""
    errors, breakdowns, refusals = [], [], []
    for line in some:
        try:
            breakdown = broken_down(line, settings)
        except LineError as fault:
            refusals.append(str(fault))
            continue
        breakdowns.append(breakdown)
        errors.append(tuple(errors_of(line, breakdown)))
    return Heard(tuple(errors), tuple(breakdowns), tuple(refusals))
