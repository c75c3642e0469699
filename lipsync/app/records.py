"""Results as plain values: rows of tables on a screen, and JSON. Keys are the words of DEVELOPERS.md.

In: heard lines, voices and counts. Out: dicts.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lipsync.app.hear.heard import HeardLine, PlacedLine
from lipsync.app.hear.voices import Voice, known_voices
from lipsync.model import Breakdown, Cue, Part, Word
from lipsync.phonemes import join_stress
from lipsync.production.values import Production
from lipsync.workshop.counting import CountRow


def line_rows(lines: Iterable[PlacedLine], heard: Iterable[HeardLine]) -> list[dict[str, Any]]:
    """Return a row for each line: which it is, how it was heard, what is to be checked; or that it is not done."""
    known = {(one.placed.scene.id, one.placed.line.id): _summary(one) for one in heard}
    rows = []
    for placed in lines:
        place = {"scene": placed.scene.id, "shot": placed.shot.id, "line": placed.line.id}
        rows.append(place | known.get((placed.scene.id, placed.line.id), _NOT_DONE))
    return rows


def _summary(line: HeardLine) -> dict[str, Any]:
    heard = line.kept.breakdown
    return {
        "words": len(heard.words),
        "phonemes": sum(len(word.phonemes) for word in heard.words),
        "voice_factor": f"{heard.voice_factor:g}",
        "search": heard.effort,
        "guessed": ", ".join(_guess(word) for word in heard.words if word.origin == "guess"),
        "doubtful": _doubtful(heard),
        "voice_without_text": ", ".join(
            f"{one.start_s:.3f} to {one.end_s:.3f} s" for one in heard.voice_without_text
        ),
        "state": _state(line),
    }


_NOT_DONE = {
    **dict.fromkeys(("words", "phonemes", "voice_factor", "search", "guessed", "doubtful", "voice_without_text"), ""),
    "state": "not done",
}


def _guess(word: Word) -> str:
    """Return a word and how it was taken to be said, as it would be written under [pronunciations]."""
    return f"{word.text} ({' '.join(join_stress(p.symbol, p.stress) for p in word.phonemes)})"


def _doubtful(heard: Breakdown) -> str:
    """Return the doubtful words; if sound and text do not match, that all of them are, and why."""
    if heard.rejection is not None:
        return f"all of it: {heard.rejection}"
    return ", ".join(word.text for word in heard.words if word.doubtful)


def _state(line: HeardLine) -> str:
    if line.kept.newer is not None:
        return "newer one waits"
    if line.kept.checked:
        return "checked"
    return "corrected" if line.kept.corrections else "computed"


def line_record(line: HeardLine) -> dict[str, Any]:
    """Return a line with its breakdown as JSON values; times are seconds from the recording's `in` point."""
    heard = line.kept.breakdown
    return {
        "scene": line.placed.scene.id,
        "shot": line.placed.shot.id,
        "line": line.placed.line.id,
        "state": _state(line),
        "voice_factor": heard.voice_factor,
        "search": heard.effort,
        "rejection": None if heard.rejection is None else str(heard.rejection),
        "voice_without_text": [{"start_s": one.start_s, "end_s": one.end_s} for one in heard.voice_without_text],
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


def voice_records(production: Production) -> list[dict[str, Any]]:
    """Return each character's voice factor, and which lines it was found from.

    Raises:
        InputError: for faults in `voices.toml`.
    """
    known = known_voices(production)
    records = []
    for key, character in production.file.characters.items():
        voice = known.get(key, Voice())
        by_hand = character.voice_factor is not None
        records.append(
            {
                "character": key,
                "voice_factor": character.voice_factor if by_hand else voice.voice_factor,
                "set_by": "hand" if by_hand else "lines" if voice.voice_factor is not None else "each line",
                "found_from": [] if by_hand else list(voice.lines),
                "adapted_from": [*(voice.lines if by_hand else ()), *(one.line for one in voice.adapted_from)],
                "passed_over": [one.line for one in voice.passed_over],
            }
        )
    return records


def voice_rows(production: Production) -> list[dict[str, Any]]:
    """Return `voice_records` as rows of a table."""
    return [
        {
            "character": one["character"],
            "voice_factor": "" if one["voice_factor"] is None else f"{one['voice_factor']:g}",
            "set_by": one["set_by"],
            "found_from": ", ".join(one["found_from"]),
            "adapted_from": ", ".join(one["adapted_from"]),
            "passed_over": ", ".join(one["passed_over"]),
        }
        for one in voice_records(production)
    ]


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
