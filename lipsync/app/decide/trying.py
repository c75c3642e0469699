"""Another mouth set or other settings tried on a scene, beside the present ones: what would change.

In: a production, its heard lines, and what is tried. Out: `Tried`, with the numbers of workshop/side_by_side.py,
which showing.py writes. The production stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lipsync.app.hear.heard import Heard, Only
from lipsync.app.plan.jobs import ShotJobs, jobs_of
from lipsync.app.print.charting import characters_of
from lipsync.errors import InputError, Problem
from lipsync.fit.fit_settings import FittingSettings, settings_for
from lipsync.fit.mouthset import MouthSet
from lipsync.message import Message, Where
from lipsync.paper.sheet_words import Words
from lipsync.paper.side_by_side_page import rows_of
from lipsync.production.loading import mouth_set_called
from lipsync.production.production_faults import settings_faults
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene, rest_piece
from lipsync.report import Report
from lipsync.tomlfile import Table, read_table
from lipsync.workshop.side_by_side import Side, SideBySide, side_by_side

# Letters of each thing tried in the names of files (chosen).
_NAME_LETTERS = 40


class OtherSettings(Table):
    """A file of settings to try: a table `[fitting]` as in production.toml; settings that it leaves out stay."""

    fitting: FittingSettings


@dataclass(frozen=True, slots=True)
class Trial:
    """What is tried: other mouth sets, by character, and a file of other settings."""

    scene: str
    mouth_sets: Mapping[str, str]
    fitting: Path | None = None

    @property
    def name(self) -> str:
        """A name for files: the scene, and the names of what is tried."""
        what = [f"{who}-{called}" for who, called in self.mouth_sets.items()]
        what += [] if self.fitting is None else [self.fitting.stem]
        return "-".join([self.scene, *(re.sub(r"[^\w.-]+", "-", one)[:_NAME_LETTERS] for one in what)])


@dataclass(frozen=True, slots=True)
class Difference:
    """A frame on which the pieces differ; `number` is the frame's in the production."""

    shot: str
    character: str
    number: int
    present: str
    tried: str


@dataclass(frozen=True, slots=True)
class Tried:
    """The present way and the other, and the frames that differ.

    Attributes:
        scene: the scene.
        trial: what is tried.
        both: the two ways.
        differences: the frames that differ.
        shots: for each track the id of its shot.
        mouth_sets: those of the other way, by character.
        alerts: what must be known of it.
    """

    scene: Scene
    trial: Trial
    both: SideBySide
    differences: tuple[Difference, ...]
    shots: tuple[str, ...]
    mouth_sets: Mapping[str, MouthSet]
    alerts: tuple[str, ...] = ()

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The figures of both ways as rows of a table, as on the page."""
        found = rows_of(self.both, {}, Words())
        return [dict(zip(("", "present", "tried", "difference"), row, strict=True)) for row in found]

    @property
    def record(self) -> dict[str, Any]:
        """All figures as JSON values."""
        return {
            "scene": self.scene.id,
            "frames": self.both.frames,
            "frames_that_differ": self.both.frames_that_differ,
            "mean_distance": self.both.distance,
            "present": _side(self.both.one),
            "tried": _side(self.both.other),
        }


def _side(side: Side) -> dict[str, Any]:
    return {
        "fittings": side.fittings,
        "visual_cost": side.visual,
        "visual_cost_by_tried": side.visual if side.visual_tried is None else side.visual_tried,
        "cost_with_fittings": side.cost,
        "not_seen": side.lost,
        "pieces_needed": dict(side.pieces_needed),
    }


def try_other(production: Production, heard: Heard, trial: Trial) -> tuple[Tried, Report]:
    """Return a scene's present tracks beside those of another mouth set or other settings.

    Raises:
        InputError: if nothing is tried, or there is no such scene, character or mouth set, or for faults of a file.
    """
    if not trial.mouth_sets and trial.fitting is None:
        raise InputError.of("nothing to try", Where())
    other, messages = _other_way(production, trial)
    present = jobs_of(production, heard, Only(trial.scene))
    tried = jobs_of(other, heard, Only(trial.scene))
    jobs, others = ([job for one in way.shots for job in one.jobs] for way in (present, tried))
    scene = next(one for one in production.scenes if one.id == trial.scene)
    if not jobs:
        if present.report.problems:
            raise InputError(present.report.problems)
        raise InputError.of("nobody to try", Where(str(scene.path), scene=scene.id))
    _check_cues(heard, trial, other)
    puppets = {key: character.puppets for key, character in production.file.characters.items()}
    both = side_by_side(jobs, others, puppets)
    report = present.report + Report(messages=(*messages, *_only_in(tried.report, present.report)))
    differences = tuple(_differences(production, present.shots, both))
    shots = tuple(one.shot.id for one in present.shots for _ in one.jobs)
    alerts = present.alerts(production)
    return Tried(scene, trial, both, differences, shots, other.mouth_sets, alerts), report


def _only_in(report: Report, known: Report) -> Iterator[Message]:
    return (one for one in report.messages if one not in known.messages)


def _other_way(production: Production, trial: Trial) -> tuple[Production, tuple[Message, ...]]:
    """Return the production with what is tried in place of the present, and messages."""
    mouth_sets = dict(production.mouth_sets)
    for who, called in trial.mouth_sets.items():
        (key,) = characters_of(production, who)
        mouth_sets[key] = mouth_set_called(production.folder, called, Where(place=f"--mouth-set {who}={called}"))
    file = production.file
    messages: list[Message] = []
    if trial.fitting is not None:
        file = file.model_copy(update={"fitting": _other_settings(file.fitting, trial.fitting)})
        messages += [
            Message.of("settings of its own", Where(str(trial.fitting)), mouth_set=name)
            for name in dict.fromkeys(m.name for m in mouth_sets.values() if m.fitting is not None)
        ]
    scenes = tuple(
        replace(scene, shots=tuple(_resting(shot, mouth_sets) for shot in scene.shots)) for scene in production.scenes
    )
    other = replace(production, file=file, mouth_sets=mouth_sets, scenes=scenes)
    if faults := tuple(settings_faults(other, trial.fitting or production.folder / "production.toml")):
        raise InputError(faults)
    return other, tuple(messages)


def _other_settings(present: FittingSettings, path: Path) -> FittingSettings:
    """Return the present settings, overruled by those of a file."""
    settings = read_table(path, OtherSettings).fitting
    try:
        return settings_for(present, settings)
    except InputError as error:
        before = "with those of the production: "
        raise InputError([replace(one, file=str(path), what=before + one.what) for one in error.problems]) from None


def _resting(shot: Shot, mouth_sets: Mapping[str, MouthSet]) -> Shot:
    """Return a shot in which characters rest on the set's own rest where their mouth set lacks the piece named."""
    characters = {
        who: said if rest_piece(mouth_sets[who], said.rests_on) else said.model_copy(update={"rests_on": None})
        for who, said in shot.characters.items()
    }
    return shot.model_copy(update={"characters": characters})


def _check_cues(heard: Heard, trial: Trial, other: Production) -> None:
    """Check that the mouth sets tried have a shape for every cue that is heard.

    Raises:
        InputError: naming every cue without a shape.
    """
    problems = []
    for who, called in trial.mouth_sets.items():
        own = [line for line in heard.lines if line.placed.line.character == who]
        wanted = {cue.name for line in own for cue in line.kept.breakdown.cues if line.placed.scene.id == trial.scene}
        for name in sorted(wanted.difference(other.mouth_sets[who].cues)):
            where = Where(place=f"--mouth-set {who}={called}", scene=trial.scene)
            problems.append(Problem.of("cue without shape", where, cue=name, character=who))
    if problems:
        raise InputError(problems)


def _differences(production: Production, shots: Sequence[ShotJobs], both: SideBySide) -> Iterator[Difference]:
    places = [(one.shot.id, job.character) for one in shots for job in one.jobs]
    ways = zip(places, both.one.tracks, both.other.tracks, both.differing, strict=True)
    for (shot, who), present, tried, differing in ways:
        for frame in sorted(differing):
            code, instead = str(present.pieces[frame]), str(tried.pieces[frame])
            yield Difference(shot, who, frame + production.file.first_frame, code, instead)
