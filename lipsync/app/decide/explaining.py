"""Why a frame wears the piece that it wears, for the characters of a shot (fit/why.py), in the production's numbers.

In: a production, its heard lines, a shot and the number of a frame. Out: a `FrameWhy` for each character on camera.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lipsync.app.hear.heard import Heard, Only
from lipsync.app.plan.jobs import ShotJobs, jobs_of
from lipsync.errors import InputError
from lipsync.fit.fit_job import Job
from lipsync.fit.reason import PieceCost
from lipsync.fit.why import Competing, Why, why
from lipsync.phonemes import join_stress
from lipsync.production.values import Production
from lipsync.report import Report


@dataclass(frozen=True, slots=True)
class Asked:
    """Which frame is asked about: the shot, the frame's number, and the character, or None for all of them."""

    shot: str
    number: int
    character: str | None = None


@dataclass(frozen=True, slots=True)
class FrameWhy:
    """What decided on a frame of one character.

    Attributes:
        shot: the shot's id.
        number: the frame's number in the production.
        character: the character's id.
        name: its name.
        pieces: for each code of its mouth set the piece's name.
        why: what decided.
    """

    shot: str
    number: int
    character: str
    name: str
    pieces: dict[str, str]
    why: Why

    @property
    def sentence(self) -> str:
        """What the frame wears, and what decided."""
        where = f"shot {self.shot}, frame {self.number}"
        return f"{where}: {self.name} wears {self.why.code}. {self.why.decided} {self.why.lips}"

    @property
    def competing_rows(self) -> list[dict[str, Any]]:
        """What has a claim on the frame, for a table."""
        return [
            {
                "sound": _symbol(one),
                "of": one.sound.text if one.sound is not None and not one.sound.is_cue else "",
                "shape": one.shape,
                "fills": f"{one.share:.0%}" if one.share else "near by",
                "counts": f"{one.weight:.2f}",
                "of_which_coarticulation": f"{one.coarticulation:.2f}" if one.coarticulation else "",
            }
            for one in self.why.competing
        ]

    @property
    def piece_rows(self) -> list[dict[str, Any]]:
        """What each piece would cost, for a table."""
        return [
            {
                "piece": one.code,
                "name": self.pieces.get(one.code, ""),
                "unlike_here": f"{one.unlike:.2f}",
                "shot_would_cost": self._more(one),
            }
            for one in self.why.pieces
        ]

    def _more(self, one: PieceCost) -> str:
        if one.code == self.why.code:
            return "(worn)"
        return "may not be worn here" if one.more is None else f"{one.more:.2f} more"

    @property
    def record(self) -> dict[str, Any]:
        """All of it, for a program."""
        return {
            "shot": self.shot,
            "frame": self.number,
            "character": self.character,
            "piece": self.why.code,
            "decided": self.why.decided,
            "lips": {"said": self.why.lips, **{axis: round(value, 3) for axis, value in self.why.asked.items()}},
            "competing": [
                {
                    "sound": _symbol(one),
                    "line": one.sound.line if one.sound is not None else None,
                    "word": one.sound.text if one.sound is not None else None,
                    "shape": one.shape,
                    "fills": one.share,
                    "counts": one.weight,
                    "coarticulation": one.coarticulation,
                }
                for one in self.why.competing
            ],
            "pieces": [{"piece": one.code, "unlike_here": one.unlike, "more": one.more} for one in self.why.pieces],
        }


def _symbol(one: Competing) -> str:
    if one.sound is None:
        return "(pause)"
    return one.sound.text if one.sound.is_cue else join_stress(one.sound.symbol, one.sound.stress)


def why_frame(production: Production, heard: Heard, asked: Asked) -> tuple[tuple[FrameWhy, ...], Report]:
    """Return what decided on a frame, for each character asked about that is on camera, and what is to be said.

    Raises:
        InputError: if there is no such shot, frame or character, or nobody asked about is on camera.
    """
    found = jobs_of(production, heard, Only(None, asked.shot))
    if not found.shots:
        return (), found.report
    (one,) = found.shots
    frame = _frame(production, one, asked.number)
    jobs = _asked_about(one, asked.character)
    seen = [job for job in jobs if job.seen[frame]]
    if not seen:
        who = " and ".join(production.file.characters[job.character].name for job in jobs)
        kind = "are off camera" if len(jobs) > 1 else "is off camera"
        raise InputError.of(kind, one.scene.where(one.shot), names=who, frame=asked.number)
    answers = (
        FrameWhy(
            asked.shot,
            asked.number,
            job.character,
            production.file.characters[job.character].name,
            {piece.code: piece.name for piece in job.mouth_set.piece},
            why(job, frame),
        )
        for job in seen
    )
    return tuple(answers), found.report


def _frame(production: Production, one: ShotJobs, number: int) -> int:
    frame, first = production.frame_of(number), production.file.first_frame
    if not 0 <= frame < one.shot.frames:
        span = {"first": first, "last": first + one.shot.frames - 1}
        raise InputError.of("no such frame", one.scene.where(one.shot), frame=number, **span)
    return frame


def _asked_about(one: ShotJobs, character: str | None) -> Sequence[Job]:
    jobs = [job for job in one.jobs if character in (None, job.character)]
    if not jobs:
        there = ", ".join(job.character for job in one.jobs) or "nobody"
        kind = "character not in shot" if character else "nobody in shot"
        raise InputError.of(kind, one.scene.where(one.shot), there=there, character=character)
    return jobs
