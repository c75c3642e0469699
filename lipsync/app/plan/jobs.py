"""From breakdowns to what fitting needs: a `Job` for each character in each shot.

In: a production and its heard lines. Out: `Jobs`, with the jobs of each shot that can be planned. Frames in the can
are part of a job, with what was filmed on them (floor/locked_frames.py).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from lipsync import timing
from lipsync.app.hear.heard import Heard, HeardLine, Only
from lipsync.app.plan.alert_facts import AlertFacts, alerts_over
from lipsync.app.plan.lines_in_shot import outside, within_shots, without_overlap
from lipsync.app.work.sparing import spared
from lipsync.breakdown.corrections import PieceChoice
from lipsync.fit.fit_job import Job, VoiceRange, voice_range
from lipsync.fit.fit_settings import settings_for
from lipsync.floor.locked_frames import LockedShot, locked_shots
from lipsync.message import Message
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene, rest_piece
from lipsync.report import Report
from lipsync.seen import SeenFile
from lipsync.track import Sound, sounds_of


@dataclass(frozen=True, slots=True)
class ShotJobs:
    """A shot with what fitting needs to know of each of its characters.

    Attributes:
        scene: its scene.
        shot: the shot.
        jobs: a job for each character, in the order of the shot's file.
        lines: the lines that are heard in it.
        locked: its frames that are in the can.
    """

    scene: Scene
    shot: Shot
    jobs: tuple[Job, ...]
    lines: tuple[HeardLine, ...]
    locked: LockedShot = field(default_factory=LockedShot)

    @property
    def filmed(self) -> frozenset[int]:
        """Its frames that are in the can, from 0."""
        return self.locked.frames

    @property
    def inputs(self) -> tuple[SeenFile, ...]:
        """The state of the files that it depends on, except the production's own, taken before they were read."""
        return (*(each for line in self.lines for each in line.inputs), *self.locked.record)

    @property
    def missing(self) -> tuple[str, ...]:
        """The ids of its lines that could not be done."""
        done = {line.placed.line.id for line in self.lines}
        return tuple(line.id for line in self.shot.line if line.id not in done)

    @property
    def alert_facts(self) -> AlertFacts:
        """What its alerts tell."""
        found = ((line.begins_us, one) for line in self.lines for one in line.kept.breakdown.voice_without_text)
        return AlertFacts(
            shot=self.shot,
            missing=self.missing,
            rejected=tuple(one.placed.line.id for one in self.lines if one.kept.breakdown.rejection is not None),
            waiting=tuple(one.placed.line.id for one in self.lines if one.kept.newer is not None),
            untold=tuple(sorted((begins + one.start_us, begins + one.end_us) for begins, one in found)),
        )


@dataclass(frozen=True, slots=True)
class Jobs:
    """The shots in order, what is to be said of them, and the shots that cannot be planned and are left out."""

    shots: tuple[ShotJobs, ...]
    report: Report
    left_out: tuple[Shot, ...] = ()

    def alerts(self, production: Production) -> tuple[str, ...]:
        """Return what must be known before a page about these shots is used."""
        return alerts_over(production, (one.alert_facts for one in self.shots), self.left_out)

    def only(self, shots: Iterable[Shot]) -> Jobs:
        """Return the jobs of these shots; the others are left out."""
        kept = {id(shot) for shot in shots}  # shots of two scenes may be equal
        gone = tuple(one.shot for one in self.shots if id(one.shot) not in kept)
        return replace(
            self, shots=tuple(one for one in self.shots if id(one.shot) in kept), left_out=self.left_out + gone
        )


def jobs_of(production: Production, heard: Heard, only: Only | None = None) -> Jobs:
    """Return the jobs of each shot meant.

    Args:
        production: the production.
        heard: all its lines; or, with their ranges, at least those of the shots meant.
        only: which shots; all if None.
    """
    only = only or Only()
    shots = only.shots(production)
    meant = {(scene.id, shot.id) for scene, shot in shots}
    placed = ((line, line.placed.scene.id, line.placed.shot.id) for line in heard.lines)
    here = Heard(tuple(line for line, *place in placed if tuple(place) in meant), heard.report)
    lines, outside_it = within_shots(production, here)
    lines, overlapping = without_overlap(production, lines)
    problems = [*outside_it, *overlapping]
    ranges = _voice_ranges(heard) if heard.ranges is None else heard.ranges
    found: list[ShotJobs] = []
    messages: list[Message] = []
    locked = locked_shots(production, shots)
    in_shot: dict[tuple[str, str], list[HeardLine]] = defaultdict(list)
    for line in lines:
        in_shot[line.placed.scene.id, line.placed.shot.id].append(line)
    for scene, shot in shots:
        if (scene.id, shot.id) in locked.not_planned:
            continue
        own = tuple(in_shot[scene.id, shot.id])
        with spared(problems, scene.where(shot)):
            for line in own:
                messages += (*outside(production, line), *_not_kept(production, line))
            of_shot = locked.of(scene.id, shot.id)
            facts = JobFacts(shot, own, ranges, of_shot)
            jobs = tuple(_job(production, who, facts) for who in production.speakers(shot))
            found.append(ShotJobs(scene, shot, jobs, own, of_shot))
    made = {(one.scene.id, one.shot.id) for one in found}
    left_out = tuple(shot for scene, shot in shots if (scene.id, shot.id) not in made)
    return Jobs(tuple(found), Report(tuple(problems), tuple(messages)) + locked.report, left_out)


def _voice_ranges(heard: Heard) -> dict[str, VoiceRange | None]:
    """Return the range of each character's voice over all its lines."""
    spoken: dict[str, list[Sound]] = defaultdict(list)
    for line in heard.lines:
        spoken[line.placed.line.character] += sounds_of(line.kept.breakdown, line.placed.line.id, line.begins_us)
    return {character: voice_range(sounds) for character, sounds in spoken.items()}


@dataclass(frozen=True, slots=True)
class JobFacts:
    """What the jobs of a shot are made from: its lines, how loud characters speak anywhere, what is in the can."""

    shot: Shot
    lines: Sequence[HeardLine]
    ranges: Mapping[str, VoiceRange | None]
    locked: LockedShot


def _job(production: Production, character: str, facts: JobFacts) -> Job:
    shot = facts.shot
    own = [line for line in facts.lines if line.placed.line.character == character]
    sounds = tuple(
        sound for line in own for sound in sounds_of(line.kept.breakdown, line.placed.line.id, line.begins_us)
    )
    mouth_set = production.mouth_sets[character]
    said = shot.characters.get(character)
    rests_on = rest_piece(mouth_set, said.rests_on if said else None)
    assert rests_on is not None  # the production was checked when it was read
    choices = list(_standing(production, shot, own))
    forbidden: dict[int, frozenset[str]] = defaultdict(frozenset)
    for choice in choices:
        if choice.forbidden:
            forbidden[choice.frame] |= {choice.code}
    return Job(
        character=character,
        sounds=sounds,
        on_camera=production.on_camera(character, shot),
        mouth_set=mouth_set,
        settings=settings_for(production.file.fitting, mouth_set.fitting),
        rate=production.rate,
        rests_on=rests_on,
        voice=facts.ranges.get(character),
        levels_db=levels_of(own),
        pinned={choice.frame: choice.code for choice in choices if not choice.forbidden},
        forbidden=forbidden,
        filmed=facts.locked.worn.get(character, {}),
    )


def levels_of(own: Sequence[HeardLine]) -> tuple[float, ...]:
    """Return the level of a character's voice on each frame of a shot: its loudest line's; empty without lines."""
    return tuple(max(column) for column in zip(*(line.levels_db for line in own), strict=True))


def _standing(production: Production, shot: Shot, own: Sequence[HeardLine]) -> Iterator[PieceChoice]:
    """Return the choices of pieces by hand that still hold; where all pieces of a frame are forbidden, none is."""
    choices = [choice for line in own for choice in line.kept.pieces if not _gone(production, shot, line, choice)]
    codes = set(production.mouth_sets[own[0].placed.line.character].by_code) if own else set()
    forbidden: dict[int, set[str]] = defaultdict(set)
    for choice in choices:
        if choice.forbidden:
            forbidden[choice.frame].add(choice.code)
    return (choice for choice in choices if not choice.forbidden or forbidden[choice.frame] != codes)


def _gone(production: Production, shot: Shot, line: HeardLine, choice: PieceChoice) -> str:
    """Return why a choice by hand no longer holds; empty if it does."""
    if choice.frame >= shot.frames:
        return f"the shot has {shot.frames} frames"
    known = production.mouth_sets[line.placed.line.character].by_code
    return "" if choice.code in known else f"its mouth set has no {choice.code}"


def _not_kept(production: Production, line: HeardLine) -> Iterator[Message]:
    """Yield a message for each choice of a piece by hand that no longer holds."""
    for choice in line.kept.pieces:
        reason = _gone(production, line.placed.shot, line, choice)
        if reason:
            number = timing.number_of(choice.frame, production.file.first_frame)
            what = "kept off" if choice.forbidden else "put on"
            facts = {"code": choice.code, "choice": what, "frame": number, "reason": reason}
            yield Message.of("choice passed over", line.placed.where, **facts)
