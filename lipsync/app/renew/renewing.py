"""What of a production must be done anew: unchanged lines are not heard, unchanged shots not fitted or printed.

In: a production and its index (production_index.py). Out: `Looked`, which is what is known of every line; the tracks
of shots; and their sheets. A line is known while all that it follows from is unchanged (known_lines.py), a shot's
tracks and its sheet while their codes stand (shot_codes.py). Lines that could not be done, and shots about which
there are messages, are never kept as known: they are worked on each time, so that they are told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from lipsync.app.hear import heard
from lipsync.app.hear.heard import (
    Heard,
    HeardLine,
    Only,
    ToMeasure,
    kept_path,
    lines_of,
    recording_names,
)
from lipsync.app.hear.hearing import Listening, hear
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.plan.jobs import ShotJobs
from lipsync.app.plan.planning import Plans, plan
from lipsync.app.plan.tracked import TrackedShot, TrackedShots
from lipsync.app.print.asking import is_good_still, state_now
from lipsync.app.print.printing import Printed, write_sheets
from lipsync.app.renew.kept_tracks import Record, known_shot, record_of, tracks_of
from lipsync.app.renew.known_lines import KnownLine, KnownLines
from lipsync.app.renew.shot_codes import Coded, ShotCodes
from lipsync.app.renew.standing_answer import Inputs, StandingAnswer
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.errors import Problem
from lipsync.files import AnyPath
from lipsync.fit.fit_job import VoiceRange
from lipsync.floor.prints import FOLDER as PRINTS
from lipsync.floor.prints import own_place, prints_in
from lipsync.floor.prints import read as read_prints
from lipsync.floor.record_file import FOLDER as FILMED
from lipsync.floor.record_file import records_in
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene, shipped
from lipsync.report import Progress, Report, no_progress
from lipsync.seen import SeenFile, seen
from lipsync.track import FrameTrack
from lipsync.workshop.stock import FILE as STOCK


@dataclass(slots=True)
class Looked:
    """What is known of the lines of a production; lines that are read later in the run are added.

    Attributes:
        heard: the lines that were read or heard in this run, by their index among all lines.
        known: the lines that could be done, read in this run or not.
        reports: the problems and messages of each line.
        ranges: how quietly and loudly each character speaks.
        seen: the state of each known line's breakdown file, taken before it was looked at (seen.py).
    """

    heard: dict[int, HeardLine]
    known: dict[int, KnownLine]
    reports: dict[int, Report]
    ranges: dict[str, VoiceRange | None]
    seen: dict[int, SeenFile]

    def inputs(self) -> tuple[SeenFile, ...]:
        """Return the state of all breakdowns' files, taken before they were looked at."""
        read = {place: one.inputs[1] for place, one in self.heard.items() if len(one.inputs) > 1}
        return tuple((self.seen | read).values())

    def lines(self, report: Report) -> Heard:
        """Return the lines that were read or heard, with what is to be said."""
        return Heard(tuple(self.heard[place] for place in sorted(self.heard)), report, self.ranges)

    def report(self, production: Production, only: Only) -> Report:
        """Return the problems and messages of the lines meant, in the order of the lines."""
        about = {placed.key for placed in lines_of(production, only)}
        report = Report(messages=tuple(heard.of_production(production)) if only == Only() else ())
        for place, placed in enumerate(lines_of(production, Only())):
            if placed.key in about:
                report += self.reports[place]
        return report


def hear_and_plan(
    production: Production, only: Only, progress: Progress = no_progress, workers: Workers | None = None
) -> Plans:
    """Listen to lines that are not kept, and return the tracks of the shots meant, and what is to be said of them.

    Lines of other shots are read if they are not known, since the sizes of mouths follow each character's own range
    over the whole production.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`.
        OutputError: if a breakdown cannot be written.
    """
    return lines_and_plans(production, only, progress, workers)[1]


def lines_and_plans(
    production: Production, only: Only, progress: Progress = no_progress, workers: Workers | None = None
) -> tuple[Heard, Plans]:
    """Return the lines of the shots meant, and their tracks, as `hear_needed` and `hear_and_plan` do.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`.
        OutputError: if a breakdown cannot be written.
    """
    with ProductionIndex(production.folder) as index:
        return Renewing(production, index, progress, workers).heard_and_planned(only)


def tracked_shots(
    production: Production, only: Only, progress: Progress = no_progress, workers: Workers | None = None
) -> TrackedShots:
    """Return what is worn in the shots meant; of shots whose tracks the index knows nothing is read.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`.
        OutputError: if a breakdown cannot be written.
    """
    with ProductionIndex(production.folder) as index:
        return Renewing(production, index, progress, workers, ToMeasure.LEVELS).tracked(only)


def hear_and_keep(
    production: Production,
    only: Only,
    progress: Progress = no_progress,
    workers: Workers | None = None,
    *,
    again: bool = False,
) -> Heard:
    """Return the lines meant, heard as `hear` does, with nothing measured; the next command need not read them.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`.
        OutputError: if a breakdown cannot be written.
    """
    index = ProductionIndex(production.folder)
    for recording in recording_names(production, lines_of(production, only)):
        index.code(recording)  # before it is read: if it is the same later, this was read
    to_measure = ToMeasure.NOTHING
    lines = hear(production, only, again=again, to_measure=to_measure, progress=progress, workers=workers)
    with index:
        Renewing(production, index).keep_lines(lines)
    return lines


def hear_needed(
    production: Production, needed: Only, progress: Progress = no_progress, workers: Workers | None = None
) -> Heard:
    """Return the lines of the shots needed, as `hear` does, without pitches; others are read if they are not known.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`.
        OutputError: if a breakdown cannot be written.
    """
    with ProductionIndex(production.folder) as index:
        looked = Renewing(production, index, progress, workers, ToMeasure.LEVELS).look(needed)
        return looked.lines(looked.report(production, Only()))


@dataclass(slots=True)
class Renewing:
    """Does again what the index does not know; the rest is for the whole run: sheets need all to be measured."""

    production: Production
    index: ProductionIndex
    progress: Progress = no_progress
    workers: Workers | None = None
    to_measure: ToMeasure = ToMeasure.ALL
    _listening: Listening = field(init=False)
    _lines: KnownLines = field(init=False)

    def __post_init__(self) -> None:
        """Read what is known of the voices.

        Raises:
            InputError: for faults in `voices.toml`.
        """
        self._listening = Listening(self.production, self.workers, self.index)
        self._lines = KnownLines(self.production, self.index, self._listening.voices)

    def look(self, needed: Only | None) -> Looked:
        """Return what is known of all lines; lines of the shots `needed`, and unknown lines, are read or heard."""
        self._listening.voices.find_again()  # only if a voice changes so do its other lines
        self._lines.note_voices()
        wanted = {placed.key for placed in lines_of(self.production, needed)} if needed else set()
        before = dict(enumerate(seen(*map(Path, self._lines.kept_names))))
        known = self._lines.known()
        missing = [
            place for place, placed in enumerate(self._lines.placed) if place not in known or placed.key in wanted
        ]
        found, reports = self._heard(missing, known)
        reports |= {place: Report(messages=one.messages) for place, one in known.items() if place not in reports}
        return Looked(found, known, reports, self._lines.ranges(known), {place: before[place] for place in known})

    def good_prints(self) -> tuple[frozenset[tuple[str, str]], Report]:
        """Return the shots (scene, id) whose newest print says what would be printed now, and what cannot be planned.

        Nothing is listened to: of a shot with a line that is not known nothing is said, and in the range of its
        voice the line counts as it was last known. A shot of which neither the sheet nor this is known, but its lines
        are, is planned for it.
        """
        known = self._lines.known(to_tell=False)
        looked = Looked({}, known, {}, self._lines.ranges(self._lines.last_known() | known), {})
        codes, paths = self._codes(known, looked.ranges), self.paths(Only(), None)
        printed = prints_in(self.production).of_shots
        good: set[tuple[str, str]] = set()
        unsure: dict[tuple[str, str], Coded] = {}
        for scene, shot in self.production.shots():
            key, code = (scene.id, shot.id), codes.of_print(scene, shot)
            if key not in printed or code is None:
                continue
            if self._stands(codes, scene, shot, paths[key]) or self.index.get("good print", *code):
                good.add(key)
            elif self.index.get("good print", *code) is None:
                unsure[key] = code
        plans = self._planned_anew(looked, Only(these=frozenset(unsure)))
        problems = [*plans.report.problems, *(each for told in looked.reports.values() for each in told.problems)]
        for one in plans.shots:
            if one.missing:  # a line could not be read again, so this says nothing of the print
                continue
            with spared(problems, one.scene.where(one.shot)):
                key = one.scene.id, one.shot.id
                newest = read_prints(printed[key]).newest
                is_good = newest is not None and is_good_still(newest.state, state_now(self.production, one))
                self.index.put("good print", *unsure[key], is_good)
                good |= {key} if is_good else set()
        return frozenset(good), Report(tuple(problems))

    def heard_and_planned(self, only: Only) -> tuple[Heard, Plans]:
        """Return the lines of the shots meant, and their tracks; of other shots only unknown lines are heard.

        What is to be said of the lines is in the plans' report too.
        """
        looked = self.look(only)
        made, told = self._planned(looked, only), looked.report(self.production, only)
        return looked.lines(told), replace(made, report=told + made.report, inputs=looked.inputs())

    def tracked(self, only: Only) -> TrackedShots:
        """Return what is worn in the shots meant; only those of which the tracks are not known are planned."""
        shots, looked = only.shots(self.production), self.look(None)
        codes = self._codes(looked.known, looked.ranges)
        known: dict[tuple[str, str], TrackedShot] = {}
        for scene, shot in shots:
            record = self._kept_tracks(codes.of_tracks(scene, shot))
            if record is not None:
                known[scene.id, shot.id] = known_shot(scene, shot, record)
        stale = frozenset((scene.id, shot.id) for scene, shot in shots) - known.keys()
        plans = self._planned_anew(looked, Only(only.scene, only.shot, stale))
        known |= {(one.scene.id, one.shot.id): one.tracked for one in plans.shots}
        ordered = (known.get((scene.id, shot.id)) for scene, shot in shots)
        report = looked.report(self.production, only) + plans.report
        return TrackedShots(tuple(one for one in ordered if one is not None), report, plans.left_out)

    def sheets(self, only: Only, out: AnyPath | None = None) -> StandingAnswer:
        """Print the sheets of the shots meant that may have changed, and return the sheets of all shots meant."""
        shots, paths = self.production.shots(only.scene, only.shot), self.paths(only, out)
        looked = self.look(None)
        codes = self._codes(looked.known, looked.ranges)
        fresh = {
            (scene.id, shot.id) for scene, shot in shots if self._stands(codes, scene, shot, paths[scene.id, shot.id])
        }
        stale = Only(only.scene, only.shot, frozenset(paths.keys() - fresh))
        plans, printed = self._printed(looked, stale, out)
        told = plans.report + printed.report
        if not printed.report.problems:
            self._keep_sheets(codes, plans, printed, told, paths)
        done = {
            *fresh,
            *(
                (one.scene.id, one.shot.id)
                for one in plans.shots
                if paths[one.scene.id, one.shot.id] in printed.paths
            ),
        }
        report = looked.report(self.production, only) + told
        return StandingAnswer(tuple(path for key, path in paths.items() if key in done), report)

    def inputs(self, written: Iterable[Path], began_ns: int) -> Inputs:
        """Return all that the tracks of the whole production depend on, and the files that were written from them.

        `began_ns` is when the run began, before anything was read.
        """
        production, folder = self.production, self.production.folder
        own = folder / "mouthsets"
        files = [
            folder / "production.toml",
            folder / "voices.toml",
            folder / STOCK,
            *(scene.path for scene in production.scenes),
        ]
        for character in production.file.characters.values():
            name = f"{character.mouth_set}.toml"
            files.append(own / name if (own / name).exists() else shipped("mouthsets") / name)
        for mouth_set in production.mouth_sets.values():
            files += (own / piece.picture for piece in mouth_set.piece if piece.picture is not None)
        for one in self._lines.placed:
            files += (folder / one.line.recording, kept_path(production, one))
        prints = prints_in(production)
        for scene, shot in production.shots():
            key = scene.id, shot.id
            files.append(prints.of_shots.get(key) or own_place(folder, *key))
        files += (*records_in(production).all(), *written)
        folders = (folder / "scenes", folder / "breakdowns", own, folder / FILMED, folder / PRINTS)
        return Inputs(files, folders, self.index, began_ns)

    def paths(self, only: Only, out: AnyPath | None) -> dict[tuple[str, str], Path]:
        """Return where the sheets of the shots meant lie, by scene and shot."""
        folder = self.production.folder_for("sheets", out)
        shots = self.production.shots(only.scene, only.shot)
        return {(scene.id, shot.id): folder / scene.id / f"{shot.id}.pdf" for scene, shot in shots}

    def _printed(self, looked: Looked, stale: Only, out: AnyPath | None) -> tuple[Plans, Printed]:
        plans = self._planned_anew(looked, stale)
        if not plans.shots:
            return plans, Printed((), Report())
        return plans, write_sheets(self.production, plans, out, self.progress, workers=self.workers)

    def _planned_anew(self, looked: Looked, stale: Only) -> Plans:
        """Return the tracks of these shots; lines are read if need be."""
        wanted = {placed.key for placed in lines_of(self.production, stale)}
        missing = [p for p in looked.known if self._lines.placed[p].key in wanted and p not in looked.heard]
        found, reports = self._heard(missing, looked.known)
        looked.reports.update(reports)
        found |= {place: one for place, one in looked.heard.items() if self._lines.placed[place].key in wanted}
        inputs = replace(looked, heard=looked.heard | found).inputs()
        return replace(self._planned(replace(looked, heard=found), stale), inputs=inputs)

    def _planned(self, looked: Looked, only: Only) -> Plans:
        """Return the tracks of these shots, whose lines were read; what is fitted anew is kept in the index."""
        shots, codes = only.shots(self.production), self._codes(looked.known, looked.ranges)
        # Before their files are read: what is changed meanwhile is then never taken for known.
        coded = {(scene.id, shot.id): codes.of_tracks(scene, shot) for scene, shot in shots}

        def kept(one: ShotJobs) -> tuple[FrameTrack, ...] | None:
            record = self._kept_tracks(coded[one.scene.id, one.shot.id])
            return None if record is None else tracks_of(record, one.jobs)

        lines = looked.lines(Report())
        plans = plan(self.production, lines, only, self.progress, workers=self.workers, kept=kept)
        told = _told_of(plans.report)
        for one in plans.shots:
            key = one.scene.id, one.shot.id
            code = None if key in told or one.missing else coded[key]
            if code is not None and self._kept_tracks(code) is None:
                self.index.put("tracks", *code, record_of(one))
        return plans

    def _codes(self, known: dict[int, KnownLine], ranges: dict[str, VoiceRange | None]) -> ShotCodes:
        lines = {(self._lines.placed[place].scene.id, self._lines.placed[place].line.id) for place in known}
        return ShotCodes(self.production, self.index, lines, ranges)

    def _kept_tracks(self, code: Coded | None) -> Record | None:
        """Return what the index keeps of a shot's tracks under this code."""
        record: Record | None = None if code is None else self.index.get("tracks", *code)
        return record

    def _stands(self, codes: ShotCodes, scene: Scene, shot: Shot, path: Path) -> bool:
        """Return whether a shot's sheet, which lies at `path`, is known to be what would be printed now."""
        code = codes.of_sheet(scene, shot, path)
        return code is not None and self.index.get("sheet", *code) is not None

    def _keep_sheets(
        self, codes: ShotCodes, plans: Plans, printed: Printed, told: Report, paths: Mapping[tuple[str, str], Path]
    ) -> None:
        """Keep as known the shots that were printed and about which there is no problem and no message."""
        about = _told_of(told)
        for path, code in printed.codes.items():
            self.index.note(path, code)
        for one in plans.shots:
            key = one.scene.id, one.shot.id
            if key not in about and not one.missing and paths[key] in printed.codes:
                kept = codes.of_sheet(one.scene, one.shot, paths[key])
                if kept is not None:
                    self.index.put("sheet", *kept, 1)

    def _heard(
        self, places: list[int], known: dict[int, KnownLine]
    ) -> tuple[dict[int, HeardLine], dict[int, Report]]:
        """Hear lines, keep in the index what is known of them, and add it to `known`, or take out what cannot be."""
        found: dict[int, HeardLine] = {}
        reports: dict[int, Report] = {}
        if not places:
            return found, reports
        self.progress("listening", 0, len(places))
        for at, (line, problems, messages) in self._listening.lines(
            [self._lines.placed[p] for p in places], again=False, to_measure=self.to_measure
        ):
            reports[places[at]] = Report(problems, messages)
            if line is not None:
                found[places[at]] = line
            self.progress("listening", len(reports), len(places))
        undone = set(places) - found.keys()
        for place in undone:
            known.pop(place, None)  # it cannot be done any more, so nothing may be kept of its shot
        self._lines.keep_undone({place: reports[place].problems for place in undone})
        known |= self._lines.keep(found)
        self.index.write()
        return found, reports

    def keep_lines(self, heard: Heard) -> None:
        """Keep in the index what is known of lines that were heard without it, or could not be done."""
        places = {(one.scene.id, one.line.id): place for place, one in enumerate(self._lines.placed)}
        self._lines.keep({places[one.placed.scene.id, one.placed.line.id]: one for one in heard.lines})
        undone: dict[int, list[Problem]] = defaultdict(list)
        for problem in heard.report.problems:
            if (problem.scene, problem.line) in places:
                undone[places[problem.scene, problem.line]].append(problem)
        self._lines.keep_undone(undone)

    def undone(self) -> dict[tuple[str, str], str]:
        """Return why lines, by scene and id, could not be done when they were last to be."""
        return self._lines.undone()


def _told_of(report: Report) -> set[tuple[str, str]]:
    """Return the shots, by scene and id, about which something is said."""
    return {(one.scene, one.shot) for one in (*report.problems, *report.messages)}
