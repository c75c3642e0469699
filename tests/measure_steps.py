"""Measures what each step of listening gains: `python tests/measure_steps.py FOLDER [STEP ...]`.

In: a folder as `measure_timing.py` takes it, and perhaps names of steps. Out: a row with everything, and one for each
step that is left out: the shares of phonemes that begin within 20 ms and within a frame, by source and pooled, and
the lines that failed.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from measure_timing import FRAME_S, breakdown_of, labelled_lines, start_errors

from lipsync.align import acoustic_fit, aligning, fine, line, search
from lipsync.align.coarse import Words
from lipsync.align.recogniser import HALF_WINDOW_US, TICK_RATE_HZ, Samples, align_ticks
from lipsync.align.search import AlignedWord, Chunk
from lipsync.align.voice import slowed
from lipsync.errors import LineError
from lipsync.timing import us_of_sample

Without = Callable[[], AbstractContextManager[Any]]


def _set(module: Any, name: str, value: Any) -> Without:
    return lambda: patch.object(module, name, value)


def _second_pass(samples: Samples, words: Words, piece: Chunk, factor: float) -> Iterator[AlignedWord]:
    """Yield the words of a piece where the recogniser's own second pass places them, in place of the second look."""
    own = words[piece.first : piece.first + len(piece.words)]
    found = align_ticks(slowed(samples, factor), own)
    for place, phones in itertools.groupby(found, key=lambda phone: phone.word):
        if place is None:
            continue
        spans = list(phones)
        ticks = [*(one.start_tick for one in spans), spans[-1].start_tick + spans[-1].ticks]
        symbols = tuple(one.symbol for one in spans)
        times_us = (
            min(piece.end_us, piece.start_us + round((us_of_sample(tick, TICK_RATE_HZ) + HALF_WINDOW_US) / factor))
            for tick in ticks
        )
        yield AlignedWord(own[place].index(symbols), tuple(times_us), 0.0, ticks[-1] - ticks[0])


WITHOUT: dict[str, Without] = {
    "everything": contextlib.nullcontext,
    "voice-factor": _set(search, "find_factor", lambda lines: 1.0),
    "second-look": _set(search, "_second_look", _second_pass),
    "clicks": _set(aligning, "without_clicks", lambda samples: samples),
    "steady-noise": _set(aligning, "without_steady_noise", lambda samples: samples),
    "durations": _set(fine, "DURATIONS", 0.0),
    "changes": _set(fine, "CHANGES", 0.0),
    "pauses": _set(fine, "RARE_PAUSE", -1e9),
    "closures": _set(fine, "CLOSURE_US", 0),
    "flattening": _set(fine, "SHARPNESS", 1.0),
    "alone": _set(fine, "NEIGHBOURS", 1.0),
    "neighbours": _set(fine, "NEIGHBOURS", 0.0),
    "voiced-is-no-silence": _set(acoustic_fit, "WEIGHT", 0.0),
    "room-is-silence": _set(acoustic_fit, "ROOM", 0.0),
    "far-voices": _set(acoustic_fit, "FAR_BELOW_DB", 1e9),
    "as-spoken": _set(line, "as_spoken", lambda tokens, said, accent: said),
}


def measured(folder: Path) -> tuple[dict[str, list[float]], int]:
    """Return the errors of each source, in seconds, and how many lines failed."""
    errors: dict[str, list[float]] = {}
    failed = 0
    for one in labelled_lines(folder):
        try:
            found = breakdown_of(folder, one)
        except LineError:
            failed += 1
            continue
        computed = [(phone.symbol, phone.start_s, phone.end_s) for phone in found.phonemes]
        errors.setdefault(one["source"], []).extend(start_errors(computed, [tuple(p) for p in one["phones"]]))
    return errors, failed


def shares(errors: list[float]) -> str:
    """Return the shares within 20 ms and within a frame, in percent."""
    return " / ".join(
        f"{100 * sum(abs(error) <= limit for error in errors) / len(errors):.1f}" for limit in (0.020, FRAME_S)
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure what each step of listening gains.")
    parser.add_argument("folder", type=Path, help="folder with manifest.jsonl or labels.jsonl and its recordings")
    parser.add_argument("steps", nargs="*", choices=[*WITHOUT, []], help="only without these; all if none is named")
    arguments = parser.parse_args()
    for step in arguments.steps or WITHOUT:
        with WITHOUT[step]():
            errors, failed = measured(arguments.folder)
        label = "with everything" if step == "everything" else f"without {step}"
        pooled = [error for some in errors.values() for error in some]
        rows = {**errors, "pooled": pooled} if len(errors) > 1 else errors
        print(
            f"{label:28}",
            " | ".join(f"{name} {shares(some)}" for name, some in rows.items()),
            f"| failed {failed}",
            flush=True,
        )


if __name__ == "__main__":
    main()
