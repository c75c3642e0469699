"""A frame in the can never differs, whatever becomes of the production: 1,000 random changes, in walks of 200.

What must stand is kept by the test itself, in a table of its own, from what was on the printed sheets and what was
said to be worn; nothing of it is read back from the program.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from lipsync.errors import InputError
from lipsync.filming.locking import film_again, lock, take_back
from lipsync.fit.settings import FittingSettings
from lipsync.model import Breakdown
from lipsync.production.values import OnCamera, Production
from lipsync.steps.planning import ShotPlan
from tests.filming.build import (
    WORDS,
    breakdown_of,
    pieces_of,
    planned,
    printed,
    production_of,
    the_plan,
    with_shot,
)
from tests.fit.build import MOUTH_SETS

Can = dict[str, dict[int, str | None]]


class Floor:
    """A production at work: what is planned, printed and, by the test's own book, in the can."""

    def __init__(self, folder, seed: int) -> None:
        self.dice = random.Random(seed)
        self.production: Production = production_of(folder, frames=36)
        self.spoken: dict[str, Breakdown] = {}
        self.shift_us = 0
        self.new_recordings()
        self.can: Can = {"heron": {}, "crab": {}}
        self.on_paper: dict[str, tuple[str | None, ...]] = {}
        self.counts = {"locked": 0, "refused": 0, "unlocked": 0, "barred": 0}

    @property
    def locked(self) -> set[int]:
        return set(self.can["heron"])

    def new_recordings(self) -> None:
        words = list(WORDS)
        for line in ("010-a", "010-b"):
            said = [self.dice.choice(words) for _ in range(self.dice.randint(1, 3))]
            self.spoken[line] = breakdown_of(said, self.dice.randint(0, 200_000), self.dice.randint(30_000, 120_000))

    def retime(self) -> None:
        self.shift_us = self.dice.randint(-300_000, 300_000)

    def new_begins(self) -> None:
        lines = self.production.scenes[0].shots[0].line
        lines = tuple(
            line.model_copy(update={"begins": self.production.file.first_frame + self.dice.randint(0, 24)})
            for line in lines
        )
        self.production = with_shot(self.production, line=lines)

    def new_length(self) -> None:
        self.production = with_shot(self.production, frames=self.dice.randint(max(self.locked, default=0) + 1, 40))
        self.off_camera()

    def off_camera(self) -> None:
        frames = self.production.scenes[0].shots[0].frames
        first = self.dice.randint(1, frames)
        seen = None if self.dice.random() < 0.4 else ((first, self.dice.randint(first, frames)),)
        rests = self.dice.choice(["OPEN1", "open", None])
        self.production = with_shot(self.production, characters={"heron": OnCamera(on_camera=seen, rests_on=rests)})

    def new_mouth_set(self) -> None:
        name = self.dice.choice(sorted(MOUTH_SETS))
        self.production = replace(
            self.production, mouth_sets={**self.production.mouth_sets, "heron": MOUTH_SETS[name]}
        )
        self.production = with_shot(self.production, characters={})

    def new_settings(self) -> None:
        settings = FittingSettings(on=self.dice.choice(["ones", "twos", "mixed"]))
        file = self.production.file.model_copy(update={"fitting": settings})
        self.production = replace(self.production, file=file)

    def renumber(self) -> None:
        file = self.production.file.model_copy(update={"first_frame": self.dice.choice([1, 0, 1001])})
        shot = self.production.scenes[0].shots[0]
        by = file.first_frame - self.production.file.first_frame
        lines = tuple(line.model_copy(update={"begins": line.begins + by}) for line in shot.line)
        self.production = with_shot(replace(self.production, file=file), line=lines, characters={})

    def plan(self) -> ShotPlan:
        plans = planned(self.production, self.spoken, self.shift_us)
        assert not [one for one in plans.report.problems if "filmed" in one.file], plans.report
        return the_plan(plans)

    def print(self) -> None:
        one = self.plan()
        printed(self.production, one)
        self.on_paper = pieces_of(one)

    def lock(self) -> None:
        frames = len(self.on_paper.get("heron", ()))
        # Three in four within what can be locked, the others anywhere.
        likely = min(frames, self.production.scenes[0].shots[0].frames) if self.dice.random() < 0.75 else 45
        first = self.dice.randint(0, max(0, likely - 1))
        last = min(first + self.dice.randint(0, 15), max(0, likely - 1))
        base = self.production.file.first_frame
        wore: list[str] = []
        if self.dice.random() < 0.5:
            frame, code = self.dice.randint(first, last), self.dice.choice([*self.codes("heron"), "-"])
            wore = [f"{frame + base}=heron:{code}"]
        wanted = set(range(first, last + 1))
        shot = self.production.scenes[0].shots[0]
        good = last < shot.frames and max(wanted - self.locked, default=0) < frames
        try:
            lock(self.production, "010", (first + base, last + base), wore)
        except InputError:
            assert not good
            self.counts["refused"] += 1
            return
        assert good
        self.counts["locked"] += 1
        for who, codes in self.on_paper.items():
            self.can[who].update({frame: codes[frame] for frame in wanted - self.locked_of(who)})
        if wore:
            self.can["heron"][frame] = None if code == "-" else code

    def locked_of(self, who: str) -> set[int]:
        return set(self.can[who])

    def codes(self, who: str) -> list[str]:
        return list(self.production.mouth_sets[who].by_code)

    def unlock(self) -> None:
        if not self.locked:
            return
        first = self.dice.choice(sorted(self.locked))
        last = min(first + self.dice.randint(0, 10), max(self.locked))
        base = self.production.file.first_frame
        if self.dice.random() < 0.5:
            film_again(self.production, "010", (first + base, last + base), "the lamp fell over")
        else:
            take_back(self.production, "010", (first + base, last + base))
        self.counts["unlocked"] += 1
        for worn in self.can.values():
            for frame in range(first, last + 1):
                worn.pop(frame, None)

    def too_short(self) -> None:
        """A shot shorter than what is filmed of it is not planned at all."""
        if max(self.locked, default=0) < 1:
            return
        shorter = with_shot(self.production, frames=max(self.locked), characters={})
        plans = planned(shorter, self.spoken, self.shift_us)
        assert plans.shots == ()
        assert "went into the can; give it" in str(plans.report.problems[-1])
        self.counts["barred"] += 1


@pytest.mark.parametrize("seed", range(1, 6))
def test_no_locked_frame_differs_after_1000_changes(tmp_path, seed) -> None:
    floor = Floor(tmp_path, seed)
    steps: list[tuple[Callable[[], None], int]] = [
        (floor.new_recordings, 4),
        (floor.retime, 4),
        (floor.new_begins, 3),
        (floor.new_length, 2),
        (floor.off_camera, 2),
        (floor.new_mouth_set, 1),
        (floor.new_settings, 1),
        (floor.renumber, 1),
        (floor.print, 4),
        (floor.lock, 5),
        (floor.unlock, 1),
        (floor.too_short, 1),
    ]
    ways, weights = zip(*steps, strict=True)
    checked = 0
    for _ in range(200):
        floor.dice.choices(ways, weights)[0]()
        pieces = pieces_of(floor.plan())
        for who, worn in floor.can.items():
            assert {frame: pieces[who][frame] for frame in worn} == worn
            checked += len(worn)
    # The walk went where it should: frames were locked, refused, unlocked, and many were held.
    assert min(floor.counts.values()) > 1, floor.counts
    assert checked > 2_000


@pytest.mark.parametrize("upto", [1, 20, 47, 72])
def test_locking_what_is_planned_changes_nothing_else(tmp_path, upto) -> None:
    production = production_of(tmp_path)
    before = the_plan(planned(production))
    printed(production, before)
    lock(production, "010", (1, upto))
    after = the_plan(planned(production))
    assert pieces_of(after) == pieces_of(before)
    assert after.filmed == frozenset(range(upto))


def test_the_track_goes_on_from_the_piece_that_is_on_the_puppet(tmp_path) -> None:
    """Nothing is said after frame 30: a puppet that rests in OPEN2 on film rests on its own piece from then on."""
    production = production_of(tmp_path, line=())
    production = with_shot(production, characters={"heron": OnCamera(rests_on="OPEN1")})
    printed(production, the_plan(planned(production)))
    lock(production, "010", (1, 30), ["30=RING1"])
    track = the_plan(planned(production)).cast[0].track
    assert track.pieces == ("OPEN1",) * 29 + ("RING1",) + ("OPEN1",) * 42
    assert [(f.frame, f.code) for f in track.fittings] == [(0, "OPEN1"), (29, "RING1"), (30, "OPEN1")]
