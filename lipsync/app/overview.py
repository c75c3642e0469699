"""The state of a production at a glance: what is heard, doubtful, checked, printed, filmed, and how much is left.

In: a production's files; nothing is listened to. Out: `Overview`, with a `ShotStanding` for each shot and sums for
each scene, each character and the whole; and a page to hang on the wall. A line whose text changed since it was heard
counts as not heard; a changed recording is not noticed here. A print is good if it says what would be printed now; of
a shot with lines that the index does not know, that is not said.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from lipsync.app.hear.heard import Only, kept_path, lines_of
from lipsync.app.index.production_index import ProductionIndex, code_of_values
from lipsync.app.renew.renewing import Renewing
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.breakdown import breakdown_file
from lipsync.errors import Problem
from lipsync.files import AnyPath, write_whole
from lipsync.floor import prints, record_file
from lipsync.floor.locked_frames import locked_shots
from lipsync.floor.shot_files import ShotFiles
from lipsync.floor.spans import spans_of
from lipsync.message import Message, Where
from lipsync.paper.overview_page import OverviewJob, SceneBars, ShotBar, overview_page
from lipsync.paper.pdf import draw
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.wording import worded

# Seconds to read a breakdown, roughly (measured on one core).
_READING_S = 0.02


@dataclass(frozen=True, slots=True)
class LineStanding:
    """A line: whether it is heard, doubtful, checked; `not_done` is why it could not be done, empty if it was."""

    line: str
    character: str
    heard: bool = False
    doubtful: bool = False
    checked: bool = False
    not_done: str = ""


@dataclass(frozen=True, slots=True)
class ShotStanding:
    """A shot: its lines, its newest print, and how many of its frames are in the can.

    Attributes:
        scene: id of its scene.
        shot: its id.
        frames: how many it has.
        filmed: how many of them are in the can.
        revision: letter of its newest print; empty if there is none.
        good: whether that print is known to say what would be printed now.
        lines: its lines.
    """

    scene: str
    shot: str
    frames: int
    filmed: int
    revision: str
    good: bool
    lines: tuple[LineStanding, ...]

    @property
    def stage(self) -> str:
        """How far the shot is: the last stage that it has reached (paper/overview_page.py)."""
        if self.frames == self.filmed:
            return "filmed"
        if not all(one.heard for one in self.lines):
            return "to_do"
        if self.revision and self.good:
            return "printed"
        if self.asks:
            return "doubtful"
        return "checked" if self.lines and all(one.checked for one in self.lines) else "heard"

    @property
    def asks(self) -> bool:
        """Whether a line of it is doubtful or could not be done, and no person has settled that."""
        return any(one.not_done or (one.doubtful and not one.checked) for one in self.lines)


@dataclass(frozen=True, slots=True)
class Standing:
    """Sums over shots and lines: of a scene, of a character (its lines alone), or of the whole."""

    name: str
    shots: int
    lines: int
    heard: int
    doubtful: int
    checked: int
    not_done: int
    printed: int
    to_print: int
    frames: int
    filmed: int
    seconds_done: float
    seconds_to_do: float
    days_to_do: float


@dataclass(frozen=True, slots=True)
class Overview:
    """The state of a production, and what went wrong in finding it."""

    shots: tuple[ShotStanding, ...]
    scenes: tuple[Standing, ...]
    characters: tuple[Standing, ...]
    whole: Standing
    report: Report

    @property
    def record(self) -> dict[str, Any]:
        """All of it as JSON values."""
        shots = [{**asdict(one), "stage": one.stage} for one in self.shots]
        rows = {"scenes": list(map(asdict, self.scenes)), "characters": list(map(asdict, self.characters))}
        return {"whole": asdict(self.whole), **rows, "shots": shots}

    def rows(self) -> list[dict[str, Any]]:
        """Return the rows of the table on a screen: the whole, each scene, each character."""
        return [asdict(one) for one in (self.whole, *self.scenes, *self.characters)]


def overview(production: Production, index: ProductionIndex, workers: Workers | None = None) -> Overview:
    """Return how far a production is.

    Raises:
        InputError: if a shot has two records, or folders cannot be looked into.
    """
    problems: list[Problem] = []
    renewing = Renewing(production, index, workers=workers)
    lines = _lines(production, index, workers or Workers(), problems, renewing.undone())
    good, told = renewing.good_prints()
    printed, filmed = prints.prints_in(production), record_file.records_in(production)
    problems += (*told.problems, *_record_faults(production, index, printed, filmed))
    shots: list[ShotStanding] = []
    for scene, shot in production.shots():
        key, name, letter, frames = (scene.id, shot.id), f"{scene.id}/{shot.id}", "", 0
        with spared(problems, scene.where(shot)):
            if path := printed.of_shots.get(key):
                letter = _remembered(index, ("newest print", name), path, _newest_letter)
            if path := filmed.of_shots.get(key):
                spans = _remembered(index, ("in the can", name), path, _spans_filmed)
                frames = sum(max(0, min(last, shot.frames - 1) + 1 - first) for first, last in spans)
        own = tuple(lines[scene.id, line.id] for line in shot.line)
        shots.append(ShotStanding(*key, shot.frames, frames, letter, key in good, own))
    return Overview(
        tuple(shots),
        tuple(
            _sum(production, scene.id, [one for one in shots if one.scene == scene.id]) for scene in production.scenes
        ),
        tuple(_of_character(production, who, shots) for who in production.file.characters),
        _sum(production, production.file.title, shots),
        Report(tuple(problems)).once(),
    )


def _record_faults(
    production: Production, index: ProductionIndex, printed: ShotFiles, filmed: ShotFiles
) -> tuple[Problem, ...]:
    """Return where records of what is filmed contradict their shots or prints; what was sound is not read again."""
    unsure: dict[tuple[str, str], tuple[str, str, str]] = {}
    for scene, shot in production.shots():
        key = (scene.id, shot.id)
        if key in filmed.of_shots:
            read = [index.code(path) for files in (filmed, printed) if (path := files.of_shots.get(key))]
            code = code_of_values(read, repr(shot), production.file.first_frame)
            kept = ("sound record", f"{scene.id}/{shot.id}", code)
            if index.get(*kept) is None:
                unsure[key] = kept
    of_unsure = [(scene, shot) for scene, shot in production.shots() if (scene.id, shot.id) in unsure]
    locked = locked_shots(production, of_unsure)
    for key in unsure.keys() - locked.not_planned:
        index.put(*unsure[key], 1)
    return locked.report.problems


def _remembered(index: ProductionIndex, key: tuple[str, str], path: Path, found: Callable[[Path], Any]) -> Any:
    """Return what is found in a file, of JSON values; an unchanged file is not read again."""
    code = index.code(path)  # before it is read
    kept = index.get(*key, code)
    if kept is None:
        kept = found(path)
        index.put(*key, code, kept)
    return kept


def _newest_letter(path: Path) -> str:
    newest = prints.read(path).newest
    return newest.letter if newest else ""


def _spans_filmed(path: Path) -> list[tuple[int, int]]:
    return list(spans_of(record_file.read(path).frames))


@dataclass(frozen=True, slots=True)
class _ReadTask:
    path: Path
    where: Where
    text: str


# State of a line as the index keeps it: heard, doubtful, checked, why it could not be done.
_State = tuple[bool, bool, bool, str]


def read_state(task: _ReadTask) -> tuple[_State, tuple[Problem, ...]]:
    """Return the state of a line that is kept."""
    problems: list[Problem] = []
    state: _State = (False, False, False, "")
    with spared(problems, task.where):
        kept = breakdown_file.read(task.path)
        stands = kept.breakdown
        waits = kept.newer is not None and kept.newer.source.text == task.text  # for a person, and is not worn
        if kept.source.text == task.text or waits:
            why = "" if stands.rejection is None else worded(f"rejection: {stands.rejection}", {})[0]
            told = why or stands.voice_without_text or any(word.doubtful for word in stands.words)
            doubtful = bool(told or waits)
            state = (True, doubtful, kept.checked, why if kept.undone else "")
    return state, tuple(problems)


def _lines(
    production: Production,
    index: ProductionIndex,
    workers: Workers,
    problems: list[Problem],
    undone: Mapping[tuple[str, str], str],
) -> dict[tuple[str, str], LineStanding]:
    placed = lines_of(production, Only())
    states: dict[int, _State] = {}
    unknown: list[int] = []
    for place, one in enumerate(placed):
        code = index.code(kept_path(production, one))
        kept = index.get("standing", f"{one.scene.id}/{one.line.id}", f"{code} {one.line.text}") if code else None
        if kept is not None:
            states[place] = tuple(kept)
        elif code:
            unknown.append(place)
    tasks = [_ReadTask(kept_path(production, placed[at]), placed[at].where, placed[at].line.text) for at in unknown]
    found = dict(workers.each(read_state, tasks, _READING_S * len(tasks)))
    for done in range(len(tasks)):
        one, outcome = placed[unknown[done]], found[done].found
        if outcome is None:
            problems.append(Problem.of("worker died", one.where))
            continue
        states[unknown[done]], faults = outcome
        problems += faults
        if not faults:
            code = index.code(kept_path(production, one))
            index.put("standing", f"{one.scene.id}/{one.line.id}", f"{code} {one.line.text}", outcome[0])
    lines: dict[tuple[str, str], LineStanding] = {}
    for place, one in enumerate(placed):
        key = one.scene.id, one.line.id
        heard, doubtful, checked, not_done = states.get(place, (False, False, False, ""))
        if why := undone.get(key):  # whatever is kept of it cannot be used
            heard, doubtful, checked, not_done = False, False, False, why
        lines[key] = LineStanding(one.line.id, one.line.character, heard, doubtful, checked, not_done)
    return lines


def _sum(production: Production, name: str, shots: Sequence[ShotStanding]) -> Standing:
    lines = [line for one in shots for line in one.lines]
    frames, filmed = sum(one.frames for one in shots), sum(one.filmed for one in shots)
    rate = float(production.rate)
    return Standing(
        name=name,
        shots=len(shots),
        **_counted(lines),
        printed=sum(bool(one.revision) for one in shots),
        to_print=sum(not (one.revision and one.good) for one in shots),
        frames=frames,
        filmed=filmed,
        seconds_done=round(filmed / rate, 2),
        seconds_to_do=round((frames - filmed) / rate, 2),
        days_to_do=round((frames - filmed) / rate / production.file.seconds_a_day, 1),
    )


def _counted(lines: Iterable[LineStanding]) -> dict[str, int]:
    lines = list(lines)
    return {
        "lines": len(lines),
        "heard": sum(one.heard for one in lines),
        "doubtful": sum(one.doubtful and not one.checked for one in lines),
        "checked": sum(one.checked for one in lines),
        "not_done": sum(bool(one.not_done) for one in lines),
    }


def _of_character(production: Production, who: str, shots: Iterable[ShotStanding]) -> Standing:
    """Return the sums of the shots in which a character speaks, with its own lines alone."""
    own = [one for one in shots if any(line.character == who for line in one.lines)]
    alone = [replace(one, lines=tuple(line for line in one.lines if line.character == who)) for one in own]
    return _sum(production, who, alone)


def write_overview(production: Production, state: Overview, out: AnyPath | None = None) -> Path:
    """Write the page to hang on the wall, and return its file.

    Raises:
        InputError: if a text has letters that no font here has.
        OutputError: if it cannot be written.
    """
    of_scene: dict[str, list[ShotBar]] = defaultdict(list)
    for one in state.shots:
        of_scene[one.scene].append(ShotBar(one.shot, one.stage, one.filmed / one.frames, one.asks))
    bars = tuple(SceneBars(scene.id, scene.title, tuple(of_scene[scene.id])) for scene in production.scenes)
    file, whole = production.file, state.whole
    lines = (whole.lines, whole.heard, whole.doubtful, whole.checked, whole.not_done)
    sums = (*lines, whole.seconds_done, whole.seconds_to_do)
    path = production.folder_for("sheets", out) / "overview.pdf"
    job = OverviewJob(file.title, bars, sums, file.dated, file.sheet.page, file.sheet.words)
    write_whole(path, draw(overview_page(job)))
    return path


def not_done_of(state: Overview) -> tuple[Message, ...]:
    """Return a message for each line that could not be done, with why."""
    return tuple(
        Message(f"{one.scene}/{one.shot}", line.line, line.not_done, "", "not done", one.scene, one.shot, line.line)
        for one in state.shots
        for line in one.lines
        if line.not_done
    )
