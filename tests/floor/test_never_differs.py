"""A frame in the can never differs, whatever becomes of the production: random changes, chosen by hypothesis.

What must stand is kept by the test itself, in a table of its own, from what was on the printed sheets and what was
said to be worn; nothing of it is read back from the program. It is every mark of a row: words and phonemes that begin
there, the piece and where it is put on, what it shows, what is lost, beats, and modelling.

The tests walk through 400 changes; `python -m tests.floor.test_never_differs 10000` walks through as many as said.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from lipsync.app.plan import jobs
from lipsync.app.plan.planning import ShotPlan
from lipsync.errors import InputError
from lipsync.fit.fit_settings import FittingSettings
from lipsync.floor import prints
from lipsync.floor.comparing import changes
from lipsync.floor.locked_frames import LockedShots, locked_shots
from lipsync.floor.locking import lock, refilm, unlock
from lipsync.paper import rows
from lipsync.paper.cells import Cell, as_shown
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
    state_of_plan,
    the_plan,
    with_shot,
)

LONGEST = 40


@dataclass(frozen=True)
class Marks:
    """All that a row shows of a character; None for what nobody wrote down."""

    words: tuple[tuple[str, str, bool], ...]
    runs: bool
    phonemes: tuple[str, ...]
    piece: str | None
    fitted: bool | None
    serves: str | None
    lost: tuple[str, ...]
    beat: bool
    toward: tuple[str, int] | None
    keep_alive: bool

    def with_piece(self, code: str | None, before: str | None) -> Marks:
        """Return the row with another piece than was printed; what it then shows nobody wrote down."""
        if code == self.piece:
            return self
        kept = {} if code else {"toward": None, "keep_alive": False}
        fitted = code is not None and code != before
        return replace(self, piece=code, fitted=fitted, serves=None, **kept)


def prints_of(production: Production) -> prints.Prints:
    path = next((path for (_, shot), path in prints.prints_in(production).of_shots.items() if shot == "010"), None)
    return prints.read(path) if path else prints.Prints("010")


def marks_of(cell: Cell) -> Marks:
    words = tuple((heard.kind, heard.text, heard.doubtful) for heard in cell.begins)
    toward = cell.toward and (cell.toward.code, cell.toward.frames)
    rest = (cell.lost, cell.beat, toward, cell.keep_alive)
    return Marks(words, cell.runs, cell.phonemes, cell.piece, cell.fitted, cell.serves, *rest)


def rows_shown(production: Production, one: ShotPlan) -> dict[str, tuple[Marks, ...]]:
    """Return what the sheet of a plan shows of each character, row by row."""
    state = state_of_plan(production, one)
    return {who: tuple(map(marks_of, state.cells(who))) for who in state.characters}


said = st.tuples(
    st.lists(st.sampled_from(sorted(WORDS)), min_size=1, max_size=3),
    st.integers(0, 200_000),
    st.integers(30_000, 120_000),
)
frame = st.integers(0, LONGEST - 1)
length = st.integers(1, 16)
BY_HAND = ("toward RING1", "keep alive", "not modelled")


class Floor(RuleBasedStateMachine):
    """A production at work: what is planned, printed and, by the test's own book, in the can."""

    # What was done in all walks together, and how many locked frames were looked at.
    done: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.production: Production = production_of(Path(self.folder.name), frames=36)
        self.shift_us = 0
        self.can: dict[str, dict[int, Marks]] = {"heron": {}, "crab": {}}
        self.on_paper: dict[str, tuple[Marks, ...]] = {}

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

    @rule(first=frame, more=frame, always=st.booleans(), rests=st.sampled_from(["SPRD", "open", None]))
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
        last = prints_of(self.production).newest
        made = printed(self.production, one)
        self.on_paper = rows_shown(self.production, one)
        # Nothing on paper speaks of a frame in the can as changed.
        assert self.locked.isdisjoint(made.job.changed)
        if last is not None:
            told = changes(last.state, made.revision.state)
            assert not [one for one in told if one.character and self.locked.issuperset({one.first, one.last})]

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
        for who, printed_rows in self.on_paper.items():
            self.can[who].update({f: printed_rows[f] for f in wanted - set(self.can[who])})
        if code is not None:
            self.wore("heron", first, None if code == "-" else code)

    def wore(self, who: str, frame: int, code: str | None) -> None:
        """Write in the test's own book that a filmed frame had another piece than was printed."""
        book, paper = self.can[who], self.on_paper[who]
        was = book[frame]
        if was.piece == code:
            return

        def on(at: int) -> str | None:
            return book[at].piece if at in book else paper[at].piece if at < len(paper) else None

        before = next((on(at) for at in range(frame - 1, -1, -1) if on(at) is not None), None)
        book[frame] = was.with_piece(code, before)
        # The next frame on camera, if it is filmed, now begins something else or goes on with it.
        on_puppet = before if code is None else code
        after = next((at for at in range(frame + 1, LONGEST) if on(at) is not None), None)
        if code is not None and after in book:
            book[after] = replace(book[after], fitted=book[after].piece != on_puppet)
        elif after in book:
            book[after] = replace(book[after], fitted=None)

    @precondition(lambda self: self.locked)
    @rule(
        which=st.integers(0, 99), frames=length, kind=st.sampled_from(["toward RING1", "keep alive", "not modelled"])
    )
    def said_what_was_modelled(self, which, frames, kind) -> None:
        frame = sorted(self.locked)[which % len(self.locked)]
        last = frame
        while last + 1 in self.locked and last - frame < frames:
            last += 1
        code = kind.removeprefix("toward ")
        if kind.startswith("toward") and code not in self.production.mouth_sets["heron"].by_code:
            return
        lock(self.production, "010", None, [f"{frame + self.base}-{last + self.base}=heron:{kind}"])
        self.done["modelled"] += 1
        book = self.can["heron"]
        for at in range(frame, last + 1):
            toward = book[at].toward if kind == "keep alive" else None
            alive = book[at].keep_alive and kind.startswith("toward")
            book[at] = replace(book[at], toward=toward, keep_alive=alive)
        if book[frame].piece is not None and kind.startswith("toward"):
            book[frame] = replace(book[frame], toward=(code, last - frame + 1))
        elif book[frame].piece is not None and kind == "keep alive":
            book[frame] = replace(book[frame], keep_alive=True)

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
        one = self.plan()
        pieces, shown = pieces_of(one), rows_shown(self.production, one)
        for who, book in self.can.items():
            assert {at: pieces[who][at] for at in book} == {at: marks.piece for at, marks in book.items()}
            for at, marks in book.items():
                now = shown[who][at]
                assert (replace(now, fitted=None) if marks.fitted is None else now) == marks, (who, at)
            self.done["looked at"] += len(book)


def walked(examples: int, seed_at: int | None = None, **more) -> Counter[str]:
    """Go on so many walks of up to 60 changes, and return what was done on them; always the same without a seed."""
    Floor.done = Counter()
    machine = type("Floor", (Floor,), {}) if seed_at is None else seed(seed_at)(type("Floor", (Floor,), {}))
    checks = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=60,
            deadline=None,
            derandomize=seed_at is None,
            database=None,
            suppress_health_check=checks,
            report_multiple_bugs=False,
            **more,
        ),
    )
    return Floor.done


def changed(done: Counter[str]) -> int:
    return sum(count for what, count in done.items() if what != "looked at")


def test_no_locked_frame_differs_after_400_changes() -> None:
    """The walks go where they should: each kind of thing is done, the common ones often, and many frames are held."""
    often = ("new recording", "retimed", "edited", "locked", "unlocked")
    done: Counter[str] = Counter()
    for at in range(15):
        done += walked(5, seed_at=at)
        met = min(done[what] for what in often) > 10 and min(done[w] for w in ("modelled", "refused", "barred")) > 3
        if met and changed(done) >= 400 and done["looked at"] > 2_000:
            return
    pytest.fail(str(done))


@pytest.mark.parametrize("forgotten", [min, max])
def test_a_plan_that_forgets_one_frame_is_noticed(monkeypatch, forgotten) -> None:
    def forgetful(production, shots) -> LockedShots:
        held = locked_shots(production, shots)
        shorter = {
            shot: replace(
                one,
                worn={who: {f: code for f, code in w.items() if f != forgotten(w)} for who, w in one.worn.items()},
            )
            for shot, one in held.shots.items()
        }
        return replace(held, shots=shorter)

    monkeypatch.setattr(jobs, "locked_shots", forgetful)
    with pytest.raises(AssertionError):
        walked(20, phases=[Phase.generate])


@pytest.mark.parametrize("forgotten", ["toward", "keep_alive", "beat", "fitted", "words"])
def test_a_page_that_forgets_one_mark_is_noticed(monkeypatch, forgotten) -> None:
    def forgetful(planned_cells, filmed):
        shown = as_shown(planned_cells, filmed)
        mark = "begins" if forgotten == "words" else forgotten
        return [replace(cell, **{mark: getattr(planned_cells[f], mark)}) for f, cell in enumerate(shown)]

    monkeypatch.setattr(rows, "as_shown", forgetful)
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


if __name__ == "__main__":
    wanted, at = int(sys.argv[1]), 0
    counted: Counter[str] = Counter()
    while changed(counted) < wanted:
        counted += walked(24, seed_at=at)
        at += 1
    print(dict(counted))  # noqa: T201
