"""What the tests of fitting share: jobs from a few words, random speech, and the shipped mouth sets."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path

from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.mouthset import CUES, MouthSet, load_mouth_set
from lipsync.phonemes import PHONEMES, split_stress
from lipsync.production.values import rest_piece, shipped
from lipsync.timing import frame_start_us, frames_covering
from lipsync.track import Sound

FOLDER: Path = shipped("mouthsets")
MOUTH_SETS: dict[str, MouthSet] = {path.stem: load_mouth_set(path) for path in sorted(FOLDER.glob("*.toml"))}
RATE = Fraction(24)


def sounds_from(text: str, begins_us: int = 0, line: str = "l1", level_db: float | None = None) -> tuple[Sound, ...]:
    """Return sounds from such as "P80 AA1:120 | SIL300 M60": ARPAbet, milliseconds; "|" begins a word."""
    sounds: list[Sound] = []
    part, at_us = 0, begins_us
    for item in text.split():
        if item == "|":
            part += 1
            continue
        head = item.rstrip("0123456789")
        end_us = at_us + 1000 * int(item[len(head) :])
        symbol = head.rstrip(":")
        if symbol != "SIL":
            bare, stress = (symbol, None) if symbol.startswith("[") else split_stress(symbol)
            sounds.append(Sound(line, part, bare, symbol.lower(), at_us, end_us, stress, level_db))
        at_us = end_us
    return tuple(sounds)


def job_of(
    sounds: Sequence[Sound],
    mouth_set: str | MouthSet = "tideline",
    rate: Fraction = RATE,
    settings: FittingSettings | None = None,
    **more: object,
) -> Job:
    """Return a job whose shot lasts half a second longer than its sounds, all on camera."""
    chosen = MOUTH_SETS[mouth_set] if isinstance(mouth_set, str) else mouth_set
    frames = frames_covering(max((s.end_us for s in sounds), default=0) + 500_000, rate)
    rest = rest_piece(chosen, None)
    assert rest is not None
    fields: dict[str, object] = {
        "character": "heron",
        "sounds": sounds,
        "on_camera": (True,) * frames,
        "mouth_set": chosen,
        "settings": settings or FittingSettings(),
        "rate": rate,
        "rests_on": rest,
        **more,
    }
    return Job(**fields)  # type: ignore[arg-type]


def speech(words: Iterable[Sequence[str]], seed: random.Random, begins_us: int = 0) -> tuple[Sound, ...]:
    """Return words of dictionary symbols, 30 to 200 ms a phoneme, with a pause before one word in five."""
    sounds: list[Sound] = []
    at_us = begins_us
    for part, symbols in enumerate(words):
        if seed.random() < 0.2:
            at_us += seed.randint(20_000, 600_000)
        for symbol in symbols:
            bare, stress = split_stress(symbol)
            end_us = at_us + seed.randint(30_000, 200_000)
            sounds.append(Sound("l1", part, bare, "word", at_us, end_us, stress, seed.uniform(-45, -10)))
            at_us = end_us
    return tuple(sounds)


def frame_us(frames: int, rate: Fraction = RATE) -> int:
    """Return the start of a frame."""
    return frame_start_us(frames, rate)


def vowel_between(first: int, end: int, rate: Fraction = RATE) -> Sound:
    """Return a stressed AA from the start of one frame to that of another."""
    return Sound("l1", 0, "AA", "word", frame_us(first, rate), frame_us(end, rate), 1)


def small_set(material: str = "clay") -> MouthSet:
    """Return a set of four pieces: rest, shut, tuck and open; every sound that is not closed or tucked is open."""
    shapes = {"P": "shut", "B": "shut", "M": "shut", "F": "tuck", "V": "tuck"}
    lips = {"rest": (0.05, 0.5, 0.1), "shut": (0.0, 0.6, 0.0), "tuck": (0.15, 0.5, 0.0), "open": (0.8, 0.6, 0.1)}
    return MouthSet.model_validate(
        {
            "form": "lipsync mouth set 1",
            "name": "Small",
            "material": material,
            "rest": "rest",
            "piece": tuple(
                {
                    "code": shape[:2].upper(),
                    "name": shape,
                    "shape": shape,
                    "lips": {"opening": opening, "width": width, "rounding": rounding},
                }
                for shape, (opening, width, rounding) in lips.items()
            ),
            "phonemes": {symbol: shapes.get(symbol, "open") for symbol in PHONEMES},
            "cues": dict.fromkeys(CUES, "open"),
        }
    )
