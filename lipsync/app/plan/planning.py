"""From breakdowns to tracks: for each shot, what each of its characters wears on each frame.

In: a production and its heard lines (jobs.py makes their jobs). Out: `Plans`, with a `ShotPlan` for each shot, also
for shots in which nobody speaks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from lipsync.app.hear.heard import Heard, HeardLine, Only
from lipsync.app.plan.jobs import Jobs, ShotJobs, jobs_of
from lipsync.app.plan.tracked import TrackedShot, TrackedShots
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.errors import Problem
from lipsync.fit.fit_job import Job
from lipsync.fit.fitting import fit
from lipsync.floor.locked_frames import LockedShot
from lipsync.floor.misfits import Misfit, misfits
from lipsync.floor.spans import said
from lipsync.message import Message, Where
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene
from lipsync.report import Progress, Report, no_progress
from lipsync.seen import SeenFile
from lipsync.track import FrameTrack, Sound

TimeSpan = tuple[int, int]

# So many places where the sound does not fit what is filmed are listed; more are only counted (chosen).
_MOST_MISFITS = 8
# Seconds to fit a shot, roughly (measured on one core of an ordinary machine).
_FITTING_S = 0.08


@dataclass(frozen=True, slots=True)
class CastPlan:
    """One character in one shot.

    Attributes:
        job: what was asked of the fitting: the character's sounds in the shot's time, its mouth set, its settings.
        track: what it wears on each frame.
        levels_db: how loud it is on each frame, in dB below full scale; -120 where it is not heard.
        pitches_hz: the pitch of each of its sounds, None where it has none; empty if not measured.
        untold: start and end of each stretch of voice without text, in microseconds from the shot's first frame.
        misfits: where what is filmed does not fit its sound.
    """

    job: Job
    track: FrameTrack
    levels_db: tuple[float, ...]
    pitches_hz: tuple[float | None, ...] = ()
    untold: tuple[TimeSpan, ...] = ()
    misfits: tuple[Misfit, ...] = ()

    @property
    def character(self) -> str:
        """Its id."""
        return self.job.character

    @property
    def sounds(self) -> tuple[Sound, ...]:
        """Its sounds, in the shot's time."""
        return tuple(self.job.sounds)


@dataclass(frozen=True, slots=True)
class ShotPlan:
    """A shot with all its characters: what was asked of the fitting, and for each character its track."""

    asked: ShotJobs
    cast: tuple[CastPlan, ...]

    @property
    def scene(self) -> Scene:
        """Its scene."""
        return self.asked.scene

    @property
    def shot(self) -> Shot:
        """The shot."""
        return self.asked.shot

    @property
    def tracked(self) -> TrackedShot:
        """What is worn in it."""
        worn = tuple(one.track for one in self.cast)
        return TrackedShot(self.scene, self.shot, worn, self.filmed, self.asked.alert_facts)

    @property
    def missing(self) -> tuple[str, ...]:
        """The ids of its lines that are not in it because they could not be done."""
        return self.asked.missing

    @property
    def filmed(self) -> frozenset[int]:
        """Its frames that are in the can, from 0."""
        return self.asked.filmed

    @property
    def locked(self) -> LockedShot:
        """What was worn and modelled on its frames in the can."""
        return self.asked.locked


@dataclass(frozen=True, slots=True)
class Plans:
    """The planned shots, and what is to be said of them.

    Attributes:
        shots: in order.
        asked: what was asked of the fitting.
        report: what is to be said.
        inputs: the state of the files of all breakdowns, taken before they were read (seen.py).
    """

    shots: tuple[ShotPlan, ...]
    asked: Jobs
    report: Report
    inputs: tuple[SeenFile, ...] = ()

    @property
    def left_out(self) -> tuple[Shot, ...]:
        """The shots that could not be planned."""
        return self.asked.left_out

    @property
    def tracked(self) -> TrackedShots:
        """What is worn in the shots."""
        return TrackedShots(tuple(one.tracked for one in self.shots), self.report, self.left_out)


@dataclass(frozen=True, slots=True)
class FitTask:
    """A shot to be fitted: its entry in the scene's file, and a job for each of its characters."""

    where: Where
    jobs: tuple[Job, ...]

    def __str__(self) -> str:
        """Return the shot's id, for the progress that a terminal shows."""
        return self.where.shot


@dataclass(frozen=True, slots=True)
class FitFound:
    """The track of each character, or why there is none."""

    tracks: tuple[FrameTrack, ...]
    problems: tuple[Problem, ...]


def fit_shot(task: FitTask) -> FitFound:
    """Return the tracks of a shot."""
    problems: list[Problem] = []
    tracks: tuple[FrameTrack, ...] = ()
    with spared(problems, task.where):
        tracks = tuple(map(fit, task.jobs))
    return FitFound(tracks, tuple(problems))


def plan(
    production: Production,
    heard: Heard,
    only: Only | None = None,
    progress: Progress = no_progress,
    *,
    workers: Workers | None = None,
    kept: Callable[[ShotJobs], tuple[FrameTrack, ...] | None] | None = None,
) -> Plans:
    """Return the track of each character in each shot meant.

    Frames that are in the can stay as they were filmed (floor/locked_frames.py).

    Args:
        production: the production.
        heard: all its lines; or, with their ranges, at least those of the shots meant.
        only: which shots; all if None.
        progress: told of each shot done.
        workers: who fits; this process if None.
        kept: gives the tracks of a shot that are known, so that it is not fitted again.

    Raises:
        InputError: if there is no such scene or shot.
    """
    found = jobs_of(production, heard, only)
    known = [None if kept is None else kept(one) for one in found.shots]
    fitted = _fitted(found, known, progress, workers or Workers())
    plans: list[ShotPlan] = []
    messages: list[Message] = []
    problems: list[Problem] = []
    for one, shot in zip(found.shots, fitted, strict=True):
        problems += shot.problems
        if shot.problems:
            continue
        with spared(problems, one.scene.where(one.shot)):
            cast = tuple(_cast_plan(one, job, track) for job, track in zip(one.jobs, shot.tracks, strict=True))
            for character in cast:
                messages += _unfit(production, one.scene, one.shot, character)
            plans.append(ShotPlan(one, cast))
    report = found.report + Report(tuple(problems), tuple(messages))
    breakdowns = tuple(each for line in heard.lines for each in line.inputs[1:])
    return Plans(tuple(plans), found.only(one.shot for one in plans), report, breakdowns)


def _fitted(
    found: Jobs, known: Sequence[tuple[FrameTrack, ...] | None], progress: Progress, workers: Workers
) -> list[FitFound]:
    """Return the tracks of each shot, in order; those that are not known are found."""
    fitted = {place: FitFound(tracks, ()) for place, tracks in enumerate(known) if tracks is not None}
    places = [place for place, tracks in enumerate(known) if tracks is None]
    tasks = [FitTask(one.scene.where(one.shot), one.jobs) for one in (found.shots[place] for place in places)]
    progress("fitting", 0, len(tasks))
    for done, (at, outcome) in enumerate(workers.each(fit_shot, tasks, _FITTING_S * len(tasks)), start=1):
        died = FitFound((), (Problem.of("worker died", tasks[at].where).within(tasks[at].where),))
        fitted[places[at]] = outcome.found or died
        progress("fitting", done, len(tasks))
    return [fitted[place] for place in range(len(found.shots))]


def _cast_plan(one: ShotJobs, job: Job, track: FrameTrack) -> CastPlan:
    own = [line for line in one.lines if line.placed.line.character == job.character]
    untold = tuple(
        (line.begins_us + one.start_us, line.begins_us + one.end_us)
        for line in own
        for one in line.kept.breakdown.voice_without_text
    )
    # A missing line was reported before, and would not fit what is filmed.
    unfit = () if one.missing else misfits(job, track)
    return CastPlan(job, track, job.levels_db, _pitches(own, job), untold, unfit)


def _pitches(own: Sequence[HeardLine], job: Job) -> tuple[float | None, ...]:
    """Return the pitches of a character's sounds in a shot, line after line; empty where they were not measured."""
    found = tuple(hz for line in own for hz in line.pitches_hz)
    return found if len(found) == len(job.sounds) else ()


def _unfit(production: Production, scene: Scene, shot: Shot, cast: CastPlan) -> Iterator[Message]:
    """Yield a message if the sound no longer fits what is filmed, with the places."""
    if found := cast.misfits:
        base = production.file.first_frame
        places = [f"{said(range(one.span[0], one.span[1] + 1), base)} ({one})" for one in found[:_MOST_MISFITS]]
        more = [f"{len(found) - len(places)} other places"] if len(found) > len(places) else []
        told = {"character": cast.character, "places": "; ".join([*places, *more])}
        yield Message.of("filmed does not fit", scene.where(shot), **told)
