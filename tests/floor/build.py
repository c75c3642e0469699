"""What the tests of filming share: a small production on disk, spoken by nobody, and edits of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from lipsync.app.hear.heard import Heard, HeardLine, PlacedLine
from lipsync.app.plan.planning import Plans, ShotPlan, plan
from lipsync.app.print.printing import sheet_job
from lipsync.breakdown.kept import Kept, Source
from lipsync.floor.revising import Revised, revise
from lipsync.floor.state import SheetState, state_of
from lipsync.model import Breakdown, Phoneme, Word
from lipsync.production.production_tables import ProductionFile, Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Report
from tests.fit.build import MOUTH_SETS

# A few words of the dictionary, their phonemes and how long each is, in milliseconds.
WORDS: Mapping[str, str] = {
    "lamp": "L AE1 M P",
    "blue": "B L UW1",
    "boats": "B OW1 T S",
    "five": "F AY1 V",
    "wings": "W IH1 NG Z",
    "paint": "P EY1 N T",
    "mind": "M AY1 N D",
    "the": "DH AH0",
}
PHONEME_US = 70_000

FILE = {
    "title": "Low Tide Post",
    "frame_rate": 24,
    "characters": {
        "heron": {"name": "Zoë Wade", "mouth_set": "tideline"},
        "crab": {"name": "Mr Clamp", "mouth_set": "driftwood"},
    },
}


def breakdown_of(words: Sequence[str], gap_us: int = 0, phoneme_us: int = PHONEME_US) -> Breakdown:
    """Return words one after the other, each phoneme as long as the next, with gaps between words."""
    at_us, parts = 0, []
    for word in words:
        phonemes = []
        for spelt in WORDS[word].split():
            stress = int(spelt[-1]) if spelt[-1].isdigit() else None
            phonemes.append(Phoneme(spelt.rstrip("012"), at_us, at_us + phoneme_us, stress, -20.0))
            at_us += phoneme_us
        parts.append(Word(word, tuple(phonemes)))
        at_us += gap_us
    return Breakdown(" ".join(words), at_us + 1, tuple(parts))


def production_of(folder: Path, frames: int = 72, file: Mapping[str, Any] | None = None, **shot: Any) -> Production:
    """Return a production of one scene with the shot 010, in which heron and crab have a line each."""
    data = {
        "id": "010",
        "frames": frames,
        "line": (
            {"id": "010-a", "character": "heron", "recording": "a.wav", "text": "x", "begins": 5},
            {"id": "010-b", "character": "crab", "recording": "b.wav", "text": "x", "begins": 31},
        ),
        **shot,
    }
    read = ProductionFile.model_validate({**FILE, **(file or {})})
    scene = Scene("01-pier", folder / "scenes" / "01-pier.toml", "The pier", None, (Shot.model_validate(data),))
    sets = {who: MOUTH_SETS[character.mouth_set] for who, character in read.characters.items()}
    return Production(folder, read, sets, (scene,))


def heard_of(production: Production, spoken: Mapping[str, Breakdown], shift_us: int = 0) -> Heard:
    """Return the lines of a production as if they had been heard: a breakdown for each line's id."""
    lines = []
    for scene in production.scenes:
        for shot in scene.shots:
            for line in shot.line:
                breakdown = spoken[line.id]
                kept = Kept(line.id, Source(breakdown.text, line.recording, "f"), breakdown)
                begins_us = production.begins_us(line, shot) + shift_us
                lines.append(HeardLine(PlacedLine(scene, shot, line), kept, begins_us, (-20.0,) * shot.frames))
    return Heard(tuple(lines), Report())


SPOKEN = {"010-a": breakdown_of(["mind", "the", "paint"]), "010-b": breakdown_of(["five", "blue", "boats"])}


def planned(production: Production, spoken: Mapping[str, Breakdown] | None = None, shift_us: int = 0) -> Plans:
    """Return the plans of a production."""
    return plan(production, heard_of(production, spoken or SPOKEN, shift_us))


def the_plan(plans: Plans) -> ShotPlan:
    """Return the plan of the only shot."""
    (one,) = plans.shots
    return one


def state_of_plan(production: Production, one: ShotPlan) -> SheetState:
    """Return what the sheet of a plan says."""
    return state_of([cast.character for cast in one.cast], sheet_job(production, one, {who: {} for who in FILE_CAST}))


FILE_CAST = ("heron", "crab")


def printed(production: Production, one: ShotPlan) -> Revised:
    """Print a sheet as far as the record goes: no page is drawn."""
    job = sheet_job(production, one, {who: {} for who in FILE_CAST})
    revised = revise(production, one.scene.id, [cast.character for cast in one.cast], job)
    revised.keep()
    return revised


def with_shot(production: Production, **changes: Any) -> Production:
    """Return a production whose only shot is changed."""
    (scene,) = production.scenes
    shot = scene.shots[0].model_copy(update=changes)
    return replace(production, scenes=(replace(scene, shots=(shot,)),))


def pieces_of(one: ShotPlan) -> dict[str, tuple[str | None, ...]]:
    """Return what each character wears."""
    return {cast.character: cast.track.pieces for cast in one.cast}
