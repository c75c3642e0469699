"""What is wrong with the recordings and the cues of a production's lines, as far as the head of each file shows it.

In: a `Production`, perhaps of broken files: a broken field is None, and is not checked again. Out: `Problem`s. They
are told in one go with faults of the files that people write. Where these files have no fault, nothing is told here:
each such problem is then told when its line is listened to, and stops no other line.
"""

from __future__ import annotations

from collections.abc import Iterator

from lipsync.errors import LineError, Problem
from lipsync.production.production_tables import Line
from lipsync.production.values import Production

# Fields of a line, and what is wrong with each.
Found = Iterator[tuple[str, str]]


def recording_faults(production: Production) -> Iterator[Problem]:
    """Yield what is wrong with the recordings and cues of all lines, as far as their fields are whole."""
    for scene in production.scenes:
        for row, shot in enumerate(scene.shots, start=1):
            for number, line in enumerate((shot.line or ()) if shot else (), start=1):
                if line is None:
                    continue
                place = f'[[shot]] {row} "{shot.id}" [[line]] {number} "{line.id}"'
                for where, text in (*_of_recording(production, line), *_of_cues(production, line)):
                    yield Problem(str(scene.path), f"{place} {where}", text)


def _of_recording(production: Production, line: Line) -> Found:
    from lipsync.audio.sound_file import open_part  # slow to load, and needed only where files have faults

    if line.recording is None:
        return
    path = str(production.folder / line.recording)
    # An end before the beginning is told already.
    out_us = line.out_us if line.out_us is None or line.out_us > (line.in_us or 0) else None
    try:
        with open_part(path, line.in_us, out_us):
            pass
    except LineError as error:
        yield from (("recording", str(problem)) for problem in error.problems)


def _of_cues(production: Production, line: Line) -> Found:
    from lipsync.text.script import CueToken, tokens_of

    mouth_set = production.mouth_sets.get(line.character)
    if line.text is None or mouth_set is None:
        return
    try:
        tokens = tokens_of(line.text)
    except LineError as error:
        yield from (("text", problem.text) for problem in error.problems)
        return
    for token in tokens:
        if isinstance(token, CueToken) and token.name not in mouth_set.cues:
            known = ", ".join(mouth_set.cues)
            yield "text", f"[{token.name}] is no cue of the character's mouth set; it has {known}"
