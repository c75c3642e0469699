"""Results as plain rows: for tables on a screen and for JSON. Names are those of the glossary."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lipsync.app.heard import HeardLine
from lipsync.model import Cue, Part, Word
from lipsync.phonemes import join_stress
from lipsync.workshop.counting import CountRow


def line_summary(line: HeardLine) -> dict[str, Any]:
    """Return a line of a table: which line, how it was heard, what is to be checked."""
    heard = line.kept.breakdown
    return {
        "shot": line.placed.shot.id,
        "line": line.placed.line.id,
        "words": len(heard.words),
        "phonemes": sum(len(word.phonemes) for word in heard.words),
        "voice_factor": f"{heard.voice_factor:g}",
        "search": heard.effort,
        "guessed": ", ".join(_guess(word) for word in heard.words if word.origin == "guess"),
        "doubtful": ", ".join(word.text for word in heard.words if word.doubtful),
        "state": _state(line),
    }


def _guess(word: Word) -> str:
    """Return a word and how it was taken to be said, as it would be written under [pronunciations]."""
    return f"{word.text} ({' '.join(join_stress(p.symbol, p.stress) for p in word.phonemes)})"


def _state(line: HeardLine) -> str:
    if line.kept.newer is not None:
        return "newer one waits"
    if line.kept.checked:
        return "checked"
    return "corrected" if line.kept.corrections else "computed"


def line_record(line: HeardLine) -> dict[str, Any]:
    """Return a line with its breakdown, for a program: times in seconds from the recording's `in` point."""
    heard = line.kept.breakdown
    return {
        "scene": line.placed.scene.id,
        "shot": line.placed.shot.id,
        "line": line.placed.line.id,
        "state": _state(line),
        "voice_factor": heard.voice_factor,
        "search": heard.effort,
        "parts": [_part_record(part) for part in heard.parts],
    }


def _part_record(part: Part) -> dict[str, Any]:
    if isinstance(part, Cue):
        return {"cue": part.name, "start_s": part.start_s, "end_s": part.end_s}
    return {
        "word": part.text,
        "from": part.origin,
        "confidence": part.confidence,
        "doubtful": part.doubtful,
        "corrected": part.corrected,
        "start_s": part.start_s,
        "end_s": part.end_s,
        "phonemes": [
            {"phoneme": join_stress(p.symbol, p.stress), "start_s": p.start_s, "end_s": p.end_s}
            for p in part.phonemes
        ],
    }


def count_records(counts: Iterable[CountRow]) -> list[dict[str, Any]]:
    """Return the count, a row for each character and piece."""
    return [
        {
            "character": row.character,
            "code": row.code,
            "frames_seen": row.frames_seen,
            "times_fitted": row.times_fitted,
            "scenes": list(row.scenes),
            "pieces_needed": row.pieces_needed,
        }
        for row in counts
    ]
