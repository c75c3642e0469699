"""A frame in the can never differs, whatever becomes of the production: 1,000 random changes, chosen by hypothesis.

What must stand is kept by the test itself, in a table of its own, from what was on the printed sheets and what was
said to be worn; nothing of it is read back from the program.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from lipsync.app import jobs
from lipsync.app.planning import ShotPlan
from lipsync.errors import InputError
from lipsync.fit.fit_settings import FittingSettings
from lipsync.floor.locked_frames import LockedShots, held_of
from lipsync.floor.locking import lock, refilm, unlock
from lipsync.production.production_tables import OnCamera
from lipsync.production.values import Production
from tests.fit.build import MOUTH_SETS
from tests.floor.build import (
    WORDS,
    breakdown_of,
    pieces_of,
    planned,
    printed,
    production_of,
    the_plan,
    with_shot,
)

LONGEST = 40

said = st.tuples(
    st.lists(st.sampled_from(sorted(WORDS)), min_size=1, max_size=3),
    st.integers(0, 200_000),
    st.integers(30_000, 120_000),
)
frame = st.integers(0, LONGEST - 1)
length = st.integers(1, 16)


class Floor(RuleBasedStateMachine):
    """A production at work: what is planned, printed and, by the test's own book, in the can."""

    # What was done in all walks together, and how many locked frames were looked at.
    done: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.production: Production = production_of(Path(self.folder.name), frames=36)
        self.shift_us = 0
        self.can: dict[str, dict[int, str | None]] = {"heron": {}, "crab": {}}
        self.on_paper: dict[str, tuple[str | None, ...]] = {}

    def teardown(self) -> None:
        self.folder.cleanup()

    @property
    def locked(self) -> set[int]:
        return set(self.can["heron"])

    @property
    def frames(self) -> int:
        return self.production.scenes[0].shots[0].frames

    @property
    def base(self) -> int:
        return self.production.file.first_frame

    @initialize(heron=said, crab=said)
    def first_recordings(self, heron, crab) -> None:
        self.spoken = {"010-a": breakdown_of(*heron), "010-b": breakdown_of(*crab)}
        self.print_sheet()

    @rule(line=st.sampled_from(["010-a", "010-b"]), new=said)
    def new_recording(self, line, new) -> None:
        self.spoken = {**self.spoken, line: breakdown_of(*new)}
        self.done["new recording"] += 1

    @rule(shift_us=st.integers(-300_000, 300_000))
    def retime(self, shift_us) -> None:
        self.shift_us = shift_us
        self.done["retimed"] += 1

    @rule(begins=st.tuples(st.integers(0, 24), st.integers(0, 24)))
    def lines_begin_elsewhere(self, begins) -> None:
        lines = self.production.scenes[0].shots[0].line
        moved = (line.model_copy(update={"begins": self.base + at}) for line, at in zip(lines, begins, strict=True))
        self.production = with_shot(self.production, line=tuple(moved))
        self.done["retimed"] += 1

    @rule(frames=st.integers(1, LONGEST))
    def another_length(self, frames) -> None:
        frames = max(frames, max(self.locked, default=0) + 1)
        self.production = with_shot(self.production, frames=frames, characters={})
        self.done["edited"] += 1

    @rule(first=frame, more=frame, always=st.booleans(), rests=st.sampled_from(["OPEN1", "open", None]))
    def off_camera(self, first, more, always, rests) -> None:
        first = min(first + 1, self.frames)
        seen = None if always else ((first, min(first + more, self.frames)),)
        self.production = with_shot(self.production, characters={"heron": OnCamera(on_camera=seen, rests_on=rests)})
        self.done["edited"] += 1

    @rule(name=st.sampled_from(sorted(MOUTH_SETS)))
    def another_mouth_set(self, name) -> None:
        sets = {**self.production.mouth_sets, "heron": MOUTH_SETS[name]}
        self.production = with_shot(replace(self.production, mouth_sets=sets), characters={})
        self.done["edited"] += 1

    @rule(on=st.sampled_from(["ones", "twos", "mixed"]))
    def other_settings(self, on) -> None:
        file = self.production.file.model_copy(update={"fitting": FittingSettings(on=on)})
        self.production = replace(self.production, file=file)
        self.done["edited"] += 1

    @rule(first_frame=st.sampled_from([1, 0, 1001]))
    def frames_numbered_otherwise(self, first_frame) -> None:
        by = first_frame - self.base
        file = self.production.file.model_copy(update={"first_frame": first_frame})
        lines = self.production.scenes[0].shots[0].line
        moved = tuple(line.model_copy(update={"begins": line.begins + by}) for line in lines)
        self.production = with_shot(replace(self.production, file=file), line=moved, characters={})
        self.done["edited"] += 1

    @rule()
    def print_sheet(self) -> None:
        one = self.plan()
        printed(self.production, one)
        self.on_paper = pieces_of(one)

    @rule(
        first=frame,
        frames=length,
        anywhere=st.sampled_from([False, False, True]),
        wore=st.none() | st.integers(0, 99),
    )
    def frames_are_filmed(self, first, frames, anywhere, wore) -> None:
        on_paper = len(self.on_paper["heron"])
        if not anywhere:
            first %= min(on_paper, self.frames)
            frames = min(frames, min(on_paper, self.frames) - first)
        wanted = set(range(first, first + frames))
        codes = [*self.production.mouth_sets["heron"].by_code, "-"]
        code = None if wore is None else codes[wore % len(codes)]
        told = [] if code is None else [f"{first + self.base}=heron:{code}"]
        good = max(wanted) < self.frames and max(wanted - self.locked, default=0) < on_paper
        try:
            lock(self.production, "010", (first + self.base, first + frames - 1 + self.base), told)
        except InputError:
            assert not good
            self.done["refused"] += 1
            return
        assert good
        self.done["locked"] += 1
        for who, planned_codes in self.on_paper.items():
            self.can[who].update({f: planned_codes[f] for f in wanted - set(self.can[who])})
        if code is not None:
            self.can["heron"][first] = None if code == "-" else code

    @precondition(lambda self: self.locked)
    @rule(which=st.integers(0, 99), frames=length, again=st.booleans())
    def frames_are_unlocked(self, which, frames, again) -> None:
        first = sorted(self.locked)[which % len(self.locked)]
        last = min(first + frames - 1, max(self.locked))
        span = first + self.base, last + self.base
        if again:
            refilm(self.production, "010", span, "the lamp fell over")
        else:
            unlock(self.production, "010", span)
        self.done["unlocked"] += 1
        for worn in self.can.values():
            for gone in range(first, last + 1):
                worn.pop(gone, None)

    @precondition(lambda self: max(self.locked, default=0) > 0)
    @rule()
    def cut_shorter_than_what_is_filmed(self) -> None:
        """Such a shot is not planned at all; nothing was changed by trying."""
        shorter = with_shot(self.production, frames=max(self.locked), characters={})
        plans = planned(shorter, self.spoken, self.shift_us)
        assert plans.shots == ()
        assert "went into the can; give it" in str(plans.report.problems[-1])
        self.done["barred"] += 1

    def plan(self) -> ShotPlan:
        plans = planned(self.production, self.spoken, self.shift_us)
        assert not [one for one in plans.report.problems if "filmed" in one.file], plans.report
        return the_plan(plans)

    @invariant()
    def no_locked_frame_differs(self) -> None:
        if not self.locked:
            return
        pieces = pieces_of(self.plan())
        for who, worn in self.can.items():
            assert {f: pieces[who][f] for f in worn} == worn
            self.done["looked at"] += len(worn)


def walked(examples: int, **more) -> Counter[str]:
    """Go on so many walks of up to 60 changes, and return what was done on them."""
    Floor.done = Counter()
    checks = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
    run_state_machine_as_test(
        Floor,
        settings=settings(
            max_examples=examples,
            stateful_step_count=60,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=checks,
            report_multiple_bugs=False,
            **more,
        ),
    )
    return Floor.done


def test_no_locked_frame_differs_after_1000_changes() -> None:
    done = walked(24)
    assert sum(count for what, count in done.items() if what != "looked at") >= 1000, done
    # The walks went where they should: each kind of thing was done often, and many frames were held.
    assert min(done[what] for what in ("new recording", "retimed", "edited", "locked", "unlocked")) > 10, done
    assert min(done["refused"], done["barred"]) > 5, done
    assert done["looked at"] > 5_000


@pytest.mark.parametrize("forgotten", [min, max])
def test_a_plan_that_forgets_one_frame_is_noticed(monkeypatch, forgotten) -> None:
    def forgetful(production, shots) -> LockedShots:
        held = held_of(production, shots)
        shorter = {
            shot: replace(
                one,
                worn={who: {f: code for f, code in w.items() if f != forgotten(w)} for who, w in one.worn.items()},
            )
            for shot, one in held.shots.items()
        }
        return replace(held, shots=shorter)

    monkeypatch.setattr(jobs, "held_of", forgetful)
    with pytest.raises(AssertionError):
        walked(20, phases=[Phase.generate])


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
