"""What the browser is told, as plain tables ready for JSON. Times are microseconds, frames are counted from 0.

A line's own times are from its `in` point; `begins_us` is where this point is in the shot. Names are those of the
glossary.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from lipsync.app.hear.heard import PlacedLine
from lipsync.app.plan.planning import CastPlan
from lipsync.breakdown.breakdown_file import Kept
from lipsync.breakdown.disagreeing import moved_away
from lipsync.desk.drawn import mouth_set_view
from lipsync.desk.states import LineState
from lipsync.desk.store import Stood
from lipsync.model import Cue, Part
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.piece_pictures import Art
from lipsync.phonemes import TABLE, join_stress
from lipsync.production.production_tables import Line
from lipsync.production.values import Production
from lipsync.text.accents import ACCENTS

Table = dict[str, Any]


def production_view(production: Production, number: int, art: Mapping[str, Mapping[str, Art]]) -> Table:
    """Return what holds for the whole production; `art` holds the studio's own pictures by character and code."""
    characters = production.file.characters
    return {
        "title": production.file.title,
        "folder": str(production.folder),
        "number": number,
        "rate": [production.rate.numerator, production.rate.denominator],
        "first_frame": production.file.first_frame,
        "film": production.file.film,
        "characters": {
            key: {"name": one.name, "mouth_set": one.mouth_set, "accent": one.accent}
            for key, one in characters.items()
        },
        "accents": list(ACCENTS),
        "mouth_sets": {
            one.mouth_set: mouth_set_view(production.mouth_sets[key], art.get(key, {}))
            for key, one in characters.items()
        },
        "mouth_height": HEIGHT,
        "phonemes": [{"symbol": row.symbol, "example": row.example, "vowel": row.place == "vowel"} for row in TABLE],
    }


def list_view(
    production: Production,
    lines: Iterable[PlacedLine],
    states: Mapping[str, LineState | None],
    filmed: Container[str],
) -> Table:
    """Return every scene, shot and line; a state not read yet is None; `filmed` lines are in the can."""
    scenes: list[Table] = []
    by_shot: dict[tuple[str, str], list[Table]] = {}
    for placed in lines:
        line, state = placed.line, states[placed.key]
        row = {"id": placed.key, "character": line.character, "text": line.text, **state_view(state)}
        if placed.key in filmed:
            row["state"] = "filmed"
        by_shot.setdefault((placed.scene.id, placed.shot.id), []).append(row)
    for scene in production.scenes:
        shots = [
            {"id": shot.id, "frames": shot.frames, "start": shot.start, "lines": by_shot.get((scene.id, shot.id), [])}
            for shot in scene.shots
        ]
        scenes.append({"id": scene.id, "title": scene.title, "shots": shots})
    return {"scenes": scenes}


def round_view(lines: Iterable[PlacedLine], states: Mapping[str, LineState | None]) -> Table:
    """Return every doubt of every line, in order, and how many lines are not read yet."""
    doubts = [
        {
            "line": placed.key,
            "scene": placed.scene.id,
            "shot": placed.shot.id,
            "character": placed.line.character,
            **asdict(doubt),
        }
        for placed in lines
        if (state := states[placed.key])
        for doubt in state.asked
    ]
    return {"doubts": doubts, "unread": sum(state is None for state in states.values())}


def state_view(state: LineState | None) -> Table:
    """Return how far a line is."""
    if state is None:
        return {"state": None, "doubts": 0, "newer": False}
    return {"state": state.state, "doubts": state.doubts, "newer": state.newer}


@dataclass(frozen=True, slots=True)
class LineSeen:
    """What a line's page is made from beside the production.

    Attributes:
        stood: its state on disk.
        filmed: its shot's frames in the can.
        begin: a record to correct, for a line that was never listened to; None if its sound cannot be read.
        reasons: why no word of it could be placed, or why all of it is doubtful.
        found_factor: the voice factor of its character; None if each line finds its own.
    """

    stood: Stood
    filmed: frozenset[int]
    begin: Kept | None = None
    reasons: tuple[str, ...] = ()
    found_factor: float | None = None


def line_view(production: Production, placed: PlacedLine, seen: LineSeen) -> Table:
    """Return a line as it stands, with all that its page shows but the pieces."""
    line, stood = placed.line, seen.stood
    kept = stood.kept or seen.begin
    view: Table = {
        "id": placed.key,
        "scene": placed.scene.id,
        "scene_title": placed.scene.title,
        "shot": placed.shot.id,
        "frames": placed.shot.frames,
        "character": line.character,
        "text": line.text,
        "begins_us": production.begins_us(line, placed.shot),
        "start_frame": production.start_frame(placed.shot)[0],
        "drop": production.start_frame(placed.shot)[1],
        "version": stood.version,
        "heard": stood.kept is not None,
        "shown": kept is not None,
        "reasons": list(seen.reasons),
        "entry": entry_view(line),
        "found_factor": seen.found_factor,
        "filmed": sorted(seen.filmed),
        "undo": stood.undo.what if stood.undo else None,
        "redo": stood.redo.what if stood.redo else None,
        "messages": [stood.unsaved] if stood.unsaved else [],
    }
    if kept is None:
        return view
    source, stands = kept.source, kept.breakdown
    changed = (source.text, source.in_us, source.out_us) != (line.text, line.in_us, line.out_us)
    return view | {
        "checked": kept.checked,
        "corrections": len(kept.corrections),
        "disagreements": list(disagreements_view(kept)),
        "newer": kept.newer is not None,
        "source_text": source.text,
        "newer_text": kept.newer.source.text if kept.newer else None,
        "edited": kept.edited,
        "outdated": changed and kept.newer is None,
        "duration_us": stands.duration_us,
        "voice_factor": stands.voice_factor,
        "rejection": None if stands.rejection is None else str(stands.rejection),
        "untold": [[one.start_us, one.end_us] for one in stands.voice_without_text],
        "parts": [part_view(part) for part in stands.parts],
        "pieces": [{"frame": one.frame, "code": one.code, "forbidden": one.forbidden} for one in kept.pieces],
        "newer_parts": [part_view(part) for part in kept.newer.breakdown.parts] if kept.newer else [],
    }


def entry_view(line: Line) -> Table:
    """Return what a line's scene file says of it, as far as it can be changed at the desk."""
    return {
        "text": line.text,
        "in_us": line.in_us,
        "out_us": line.out_us,
        "voice_factor": line.voice_factor,
        "begins": line.begins,
    }


def disagreements_view(kept: Kept) -> Iterator[Table]:
    """Yield where a later computation disagrees with a correction; with the index of the corrected part, or None."""
    said: set[str] = set()
    for correction in kept.corrections:
        for text in moved_away(correction, kept.computed):
            said.add(text)
            yield {"text": text, "at_us": correction.parts[0].start_us}
    yield from ({"text": text, "at_us": None} for text in kept.disagreements if text not in said)


def part_view(part: Part) -> Table:
    """Return a word or cue in time."""
    if isinstance(part, Cue):
        return {
            "kind": "cue",
            "text": part.name,
            "corrected": part.corrected,
            "start_us": part.start_us,
            "end_us": part.end_us,
        }
    return {
        "kind": "word",
        "text": part.text,
        "from": part.origin,
        "confidence": part.confidence,
        "doubtful": part.doubtful,
        "corrected": part.corrected,
        "start_us": part.start_us,
        "end_us": part.end_us,
        "phonemes": [[join_stress(p.symbol, p.stress), p.start_us, p.end_us] for p in part.phonemes],
    }


def track_view(version: str, cast: CastPlan, messages: Iterable[str]) -> Table:
    """Return the piece of each frame of the shot, and what is lost; `version` is of the line as it was planned."""
    return {
        "version": version,
        "pieces": list(cast.track.pieces),
        "fitted": [fitting.frame for fitting in cast.track.fittings],
        "serves": [None if sound is None else [sound.symbol, sound.text, sound.line] for sound in cast.track.serves],
        "lost": [
            {
                "symbol": lost.sound.symbol,
                "text": lost.sound.text,
                "line": lost.sound.line,
                "start_us": lost.sound.start_us,
                "reason": lost.reason,
            }
            for lost in cast.track.lost
        ],
        "messages": list(messages),
    }
