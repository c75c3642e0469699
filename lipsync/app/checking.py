"""A whole production read as all commands would read it, without listening: every fault, and all that is odd.

In: a production's folder. Out: `CheckedProduction`, with faults (something cannot be done until they are mended) and
oddities (allowed, but perhaps mistakes). Each part is checked even if another is broken: all is reported in one go.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from lipsync import folders, timing
from lipsync.app.hear.heard import Heard, HeardLine, Only, PlacedLine, kept_path, lines_of, of_production
from lipsync.app.hear.hearing import Listening
from lipsync.app.hear.line_settings import of_line
from lipsync.app.plan.planning import ShotPlan, plan
from lipsync.app.print.printing import sheet_job
from lipsync.audio.sound_file import open_part
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.kept import Kept
from lipsync.errors import LineError, Problem, ProblemsError
from lipsync.files import AnyPath
from lipsync.fit.mouthset import load_mouth_set
from lipsync.fit.sense import oddities
from lipsync.floor import prints, record_file
from lipsync.floor.comparing import changes
from lipsync.floor.prints import Prints
from lipsync.floor.state import state_of
from lipsync.message import Message, Where
from lipsync.paper.piece_pictures import Art, art_of
from lipsync.production.loading import open_production
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

_PICTURES = (".png", ".jpg", ".jpeg", ".svg")


@dataclass(frozen=True, slots=True)
class CheckedProduction:
    """What is to be mended, and what is odd."""

    faults: tuple[Problem, ...]
    oddities: tuple[Message, ...]


@dataclass(slots=True)
class _Told:
    """What has been found so far."""

    faults: list[Problem] = field(default_factory=list)
    odd: list[Message] = field(default_factory=list)

    @contextmanager
    def faults_of(self, where: Where | None = None) -> Iterator[None]:
        """Note the faults that are raised within, and go on."""
        try:
            yield
        except ProblemsError as error:
            self.faults += (one.within(where) if where else one for one in error.problems)

    def odd_if(self, is_odd: object, kind: str, where: Where, **facts: object) -> None:
        if is_odd:
            self.tell(kind, where, **facts)

    def tell(self, kind: str, where: Where, **facts: object) -> None:
        self.odd.append(Message.of(kind, where, **facts))

    def checked(self) -> CheckedProduction:
        faults = tuple({str(one): one for one in self.faults}.values())
        return CheckedProduction(faults, tuple({str(one): one for one in self.odd}.values()))


def check(folder: AnyPath, progress: Progress = no_progress) -> CheckedProduction:
    """Return what is wrong with a production, and what is odd in it.

    Args:
        folder: the production's.
        progress: told of each line read and each shot planned.
    """
    folder, told = Path(folder), _Told()
    production: Production | None = None
    with told.faults_of():
        production = open_production(folder)
    # These files are read even if the production itself is broken.
    _each(told, folder / prints.FOLDER, ".json", prints.read)
    _each(told, folder / record_file.FOLDER, ".toml", record_file.read)
    _each(told, folder / "breakdowns", ".toml", breakdown_file.read)
    if production is not None:
        _mouth_sets(told, production)
        _files_of_nothing(told, production)
        with told.faults_of():
            _lines_and_shots(told, production, progress)
    return told.checked()


def _each(told: _Told, folder: Path, ending: str, read: Callable[[Path], object]) -> None:
    with told.faults_of():
        for path in folders.files_below(folder, ending):
            with told.faults_of():
                read(path)


def _mouth_sets(told: _Told, production: Production) -> None:
    """Check the production's own mouth sets and their pictures; the sets that ship are checked by the tests."""
    folder = production.folder / "mouthsets"
    named = {character.mouth_set for character in production.file.characters.values()}
    shots = (shot for _, shot in production.shots())
    rests = {one.rests_on for shot in shots for one in shot.characters.values() if one.rests_on is not None}
    pictures: set[Path] = set()
    for path in folders.files_in(folder, ".toml"):
        told.odd_if(path.stem not in named, "mouth set of nobody", Where(str(path)))
        with told.faults_of():
            mouth_set = load_mouth_set(path)
            pictures |= {(folder / piece.picture).resolve() for piece in mouth_set.piece if piece.picture is not None}
            for one in oddities(mouth_set, rests):
                told.tell(one.kind, Where(str(path), one.place), **one.facts)
            art_of(mouth_set, folder)
    for path in (*folders.files_in(folder, ""), *folders.files_below(folder, "")):
        if path.suffix.lower() in _PICTURES:
            told.odd_if(path.resolve() not in pictures, "picture of no piece", Where(str(path)))


def _files_of_nothing(told: _Told, production: Production) -> None:
    """Note files that belong to no line and no shot of the production."""
    placed = lines_of(production, Only())
    kept = {kept_path(production, one) for one in placed}
    recordings = {(production.folder / one.line.recording).resolve() for one in placed}
    scenes = {scene.id for scene in production.scenes}  # of folders of no scene it is told once
    for path in folders.files_below(production.folder / "breakdowns", ".toml"):
        told.odd_if(path not in kept and path.parent.name in scenes, "breakdown of no line", Where(str(path)))
    with told.faults_of():
        for path in prints.prints_in(production).of_none.values():
            told.tell("prints of no shot", Where(str(path)))
    folder = production.folder / "recordings"
    for path in (*folders.files_in(folder, ""), *folders.files_below(folder, "")):
        unused = not folders.is_folder(path) and path.resolve() not in recordings
        told.odd_if(unused, "recording of no line", Where(str(path)))
    told.odd += of_production(production)


def _lines_and_shots(told: _Told, production: Production, progress: Progress) -> None:
    heard, listening = list[HeardLine](), Listening(production)
    placed = lines_of(production, Only())
    scenes = {scene.id for scene in production.scenes}
    # Breakdowns that lie in folders of no scene, which is told once, are perhaps those of a renamed scene's lines.
    kept = folders.files_below(production.folder / "breakdowns", ".toml")
    elsewhere = {path.stem for path in kept if path.parent.name not in scenes}
    with_kept = {path.parent.name for path in kept}
    for index, one in enumerate(placed):
        progress("reading", index, len(placed))
        with told.faults_of(one.where):
            recording = production.folder / one.line.recording
            try:
                with open_part(str(recording), one.line.in_us, one.line.out_us):
                    pass
            except LineError as error:
                raise of_line(error, one) from None
            line = listening.as_kept(one)
            if (
                line is None
                and not listening.voices.standing(one.line.character)[0]
                and _is_of_its_text(one, production)
            ):
                file = Where(str(production.folder / "production.toml"), f"[characters] [{one.line.character}]")
                told.tell("voice has changed", file, character=one.line.character, production=production.folder)
            elif line is None and (one.scene.id in with_kept or one.line.id not in elsewhere):
                told.tell("not heard yet", one.where, production=production.folder)
            if line is not None:
                heard.append(line[0])
                told.odd += line[1]
                _of_words(told, one, line[0].kept)
    progress("reading", len(placed), len(placed))
    for scene, shot in production.shots():
        told.odd_if(not shot.line, "shot without lines", scene.where(shot))
    plans = plan(production, Heard(tuple(heard), Report()), progress=progress)
    told.faults += plans.report.problems
    told.odd += plans.report.messages
    for planned in plans.shots:
        _of_choices(told, production, planned)
    with told.faults_of():
        places = prints.prints_in(production).of_shots
        for planned in plans.shots:
            path = places.get((planned.scene.id, planned.shot.id))
            if path is not None and not planned.missing:
                with told.faults_of():
                    _print(told, production, planned, prints.read(path))


def _is_of_its_text(placed: PlacedLine, production: Production) -> bool:
    """Return whether a breakdown is kept of what a line says now."""
    path = kept_path(production, placed)
    if not folders.is_there(path):
        return False
    kept = breakdown_file.read(path)
    return placed.line.text in (kept.source.text, kept.newer.source.text if kept.newer else None)


def _of_words(told: _Told, placed: PlacedLine, kept: Kept) -> None:
    """Tell of words that are doubtful or guessed, where nobody has checked the line."""
    all_doubtful = kept.breakdown.rejection is not None  # which is told of the whole line
    words = () if kept.checked or all_doubtful else kept.breakdown.words
    doubtful = ", ".join(word.text for word in words if word.doubtful)
    guessed = ", ".join(word.text for word in words if word.origin == "guess")
    told.odd_if(doubtful, "words in doubt", placed.where, words=doubtful)
    told.odd_if(guessed, "words guessed", placed.where, words=guessed)


def _of_choices(told: _Told, production: Production, one: ShotPlan) -> None:
    """Tell of pieces chosen by hand for frames in the can that wore something else."""
    for line in one.asked.lines:
        worn = one.locked.worn.get(line.placed.line.character, {})
        for choice in line.kept.pieces:
            code = worn.get(choice.frame)
            if choice.frame in worn and (code == choice.code) is choice.forbidden:
                facts: dict[str, object] = {
                    "code": choice.code,
                    "choice": "is kept off" if choice.forbidden else "is put on",
                    "frame": timing.number_of(choice.frame, production.file.first_frame),
                    "worn": code or "nothing",
                    "file": kept_path(production, line.placed),
                }
                told.tell("choice on a filmed frame", line.placed.where, **facts)


def _print(told: _Told, production: Production, one: ShotPlan, known: Prints) -> None:
    art: dict[str, dict[str, Art]] = {cast.character: {} for cast in one.cast}
    present = state_of([cast.character for cast in one.cast], sheet_job(production, one, art))
    newest, called = known.newest, production.called(one.scene.id, one.shot.id)
    if newest is not None:
        facts = {"revision": newest.letter, "stamp": newest.state.stamp, "production": production.folder}
        stale = bool(changes(newest.state, present))
        told.odd_if(stale, "print no longer good", one.scene.where(one.shot), called=called, **facts)
