"""What the desk does, independent of HTTP: lists, lines, changes, undo and redo, pieces, sound.

In: ids and checked changes. Out: plain tables (views.py) or bytes. Every method may be called from any thread. What a
person can mend is raised as `LipsyncError`; if a line was changed meanwhile, `StaleError` is raised.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.app.amend.entry_writing import LineEntry, write_entry
from lipsync.app.amend.production_writing import drop_pronunciation, write_accent, write_pronunciation
from lipsync.app.hear.heard import PlacedLine, kept_path
from lipsync.app.hear.hearing import Listening, why_doubtful
from lipsync.app.hear.line_settings import not_heard, settings_of
from lipsync.app.hear.voices import known_voices
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.overview import overview
from lipsync.app.work.workers import Workers
from lipsync.breakdown.breakdown_file import Kept
from lipsync.desk import bodies, sound, spectrogram, views
from lipsync.desk.again import ways_of
from lipsync.desk.boundaries import refuse
from lipsync.desk.changing import Around, changed, check_filmed, summary
from lipsync.desk.drawn import own_art
from lipsync.desk.locked import Cans, all_filmed
from lipsync.desk.open_production import OpenProduction
from lipsync.desk.outside import StateReader, seen_of
from lipsync.desk.print_runs import PrintRuns
from lipsync.desk.print_work import PrintKind, PrintWanted
from lipsync.desk.recording_level import level_of
from lipsync.desk.recordings import Recordings
from lipsync.desk.states import LineStates
from lipsync.desk.store import LineStore, StaleError, Stood
from lipsync.desk.tracks import tracks_of
from lipsync.desk.watching import FolderWatch
from lipsync.desk.whole_shot import others_view, shot_sound, sound_with_others
from lipsync.errors import LineError, Problem
from lipsync.production.values import Production

Table = dict[str, Any]

# The longest stretch of a recording that is sent at once, to be heard at the ends of its line (chosen).
LONGEST_HEARD_US = 30_000_000


# After so long the disk is looked at again even without news: the system does not watch every disk (chosen).
LOOK_AGAIN_S = 2.0
WHILE_READING_S = 1.0  # chosen: every state that is read is news, and looking takes time from reading
READ_AT_ONCE = 8  # lines; chosen: reading these takes less time than telling the page twice


@dataclass(frozen=True, slots=True)
class _DiskLook:
    """The last look at the disk.

    Attributes:
        told: what the system had told by then (`FolderWatch.count`), and the number of lines read by then.
        at_s: when it was, by the monotonic clock.
        answer: what was found.
    """

    told: tuple[int, int]
    at_s: float
    answer: Table


class Desk:
    """A production on the desk."""

    def __init__(self, folder: Path) -> None:
        """Put the production of a folder on the desk.

        Raises:
            InputError: naming every fault of the production's files.
        """
        self._held = OpenProduction(folder.resolve())
        self._notes = self._held.folder / ".desk"
        self._states = LineStates(self._notes / "states.json")
        self._stores: dict[Path, LineStore] = {}
        self._cans = Cans()
        self._lock = threading.Lock()
        self._at_a_glance = threading.Lock()
        self._recordings = Recordings()
        self._reader = StateReader(self._states)
        self._watch = FolderWatch(self._held.folder)
        self._looked: _DiskLook | None = None
        self.runs = PrintRuns(self._held.folder)

    def start_reading(self) -> None:
        """Begin to read how far each line is, in a thread of its own."""
        loaded = self._held.now()
        self._reader.read(loaded.production, tuple(loaded.lines.values()))
        self._watch.start()

    def give_way(self) -> None:
        """Put off what is done beside everything else: a page waits for an answer."""
        self._reader.give_way()

    def close(self) -> None:
        """Stop reading and printing, and remember what was read."""
        self._reader.stop()
        self._watch.close()
        self.runs.close()
        self._states.remember()

    def production(self) -> Table:
        """Return what holds for the whole production."""
        loaded = self._held.now()
        return views.production_view(loaded.production, loaded.number, own_art(loaded.production))

    def lines(self) -> Table:
        """Return every scene, shot and line, and how far each is."""
        loaded = self._held.now()
        production, lines = loaded.production, tuple(loaded.lines.values())
        states = self._states.glance(production, lines)
        cans = self._cans.places(production)
        frames = {shot: found for shot, path in cans.items() if (found := self._cans.frames(path))}
        filmed = {
            placed.key
            for placed in lines
            if (can := frames.get((placed.scene.id, placed.shot.id)))
            and (state := states[placed.key])
            and all_filmed(production, placed, can, state.heard_us)
        }
        return views.list_view(production, lines, states, filmed)

    def round(self) -> Table:
        """Return every doubt of every line."""
        loaded = self._held.now()
        lines = tuple(loaded.lines.values())
        return views.round_view(lines, self._states.glance(loaded.production, lines))

    def overview(self) -> Table:
        """Return how far each shot, scene and character is, and the whole."""
        production = self._held.now().production
        with self._at_a_glance, ProductionIndex(production.folder) as index:
            return overview(production, index, Workers(running=self._reader.wait_until_read)).record

    def news(self) -> Table:
        """Return a code of all files on disk, which changes whenever one of them changes."""
        told, at = (self._watch.count, self._states.number), time.monotonic()
        looked = self._looked
        if looked and self._watch.working:
            same, ago_s = looked.told == told, at - looked.at_s
            if (same and ago_s < LOOK_AGAIN_S) or (self._reader.reads and ago_s < WHILE_READING_S):
                return looked.answer
        with self._reader.while_looking():
            loaded = self._held.now()
            lines = tuple(loaded.lines.values())
            seen = seen_of(loaded.production, loaded.number, lines)
            states = self._states.glance(loaded.production, lines)
            unread = [line for line in lines if states[line.key] is None]
            if len(unread) <= READ_AT_ONCE:
                for line in unread:
                    self._states.read(loaded.production, line)
        if len(unread) > READ_AT_ONCE:
            self._reader.read(loaded.production, lines)
        answer = {"seen": f"{seen}-{self._states.number}", "production": loaded.number}
        self._looked = _DiskLook(told, at, answer)
        return answer

    def line(self, id: str) -> Table:
        """Return a line as it stands.

        Raises:
            KeyError: if there is no such line; so do all methods below that take an id.
        """
        production, placed = self._held.line(id)
        return self._view(production, placed, self._store(production, placed).stand())

    def version(self, id: str) -> Table:
        """Return the version of a line as it stands, and the number of the production's own files."""
        loaded = self._held.now()
        stood = self._store(loaded.production, loaded.lines[id]).stand()
        return {"version": stood.version, "number": loaded.number}

    def change(self, id: str, body: bodies.ChangeBody) -> Table:
        """Change a line and return it as it stands then.

        Raises:
            StaleError: if the line was changed since the person saw it.
        """
        production, placed = self._held.line(id)
        around = self._around(production, placed)

        def make(kept: Kept) -> tuple[Kept, str]:
            return changed(kept, body.change, around), summary(kept, body.change)

        def begin() -> Kept:
            return not_heard(placed, self._recordings.of(production, placed))

        return self._view(production, placed, self._store(production, placed).change(body.version, make, begin))

    def write_entry(self, id: str, body: bodies.EntryBody) -> Table:
        """Change what a line's scene file says of it, and return the line as it stands then.

        Raises:
            InputError: if that cannot be, or the file was changed since the person saw it.
        """
        production, placed = self._held.line(id)
        was, wanted = (LineEntry(**one.model_dump()) for one in (body.was, body.entry))
        write_entry(production, placed, was, wanted)
        return self.line(id)

    def write_whole(self, id: str, body: bodies.WholeBody) -> Table:
        """Change what the production's file says for all its lines, and return the line as it stands then.

        The answer has the number of the production's files too, so that the page knows that it changed them itself.

        Raises:
            InputError: if that cannot be.
        """
        production, placed = self._held.line(id)
        if isinstance(body.change, bodies.SetAccent):
            write_accent(production, placed.line.character, body.change.was, body.change.accent)
        elif isinstance(body.change, bodies.DropPronunciation):
            drop_pronunciation(production, body.change.word)
        else:
            write_pronunciation(production, body.change.word, [body.change.symbols])
        return self.line(id) | {"number": self._held.now().number}

    def go(self, id: str, version: str, way: int) -> Table:
        """Undo (-1) or redo (+1), and return the line as it stands then."""
        production, placed = self._held.line(id)
        around = self._around(production, placed)

        def check(before: Kept, after: Kept) -> None:
            check_filmed(before, after, around)

        return self._view(production, placed, self._store(production, placed).go(version, way, check))

    def listen(self, id: str, version: str) -> Table:
        """Listen to a line, and return it as it stands then; corrections stay.

        Raises:
            LineError: if its sound cannot be read. Other faults are named in the answer.
        """
        production, placed = self._held.line(id)
        said: list[str] = []

        def hear() -> None:
            try:
                _, messages = Listening(production).line(placed, again=True)
                said.extend(map(str, messages))
            except LineError as error:
                if not kept_path(production, placed).exists():
                    raise
                said.extend(map(str, error.problems))

        stood = self._store(production, placed).listen(version, hear)
        view = self._view(production, placed, stood)
        return view | {"messages": [*view["messages"], *said]}

    def track(self, id: str) -> Table:
        """Return the piece on each frame of a line's shot."""
        loaded = self._held.now()
        production, placed = loaded.production, loaded.lines[id]
        stood = self._store(production, placed).stand()
        tracks = tracks_of(production, placed, stood.kept, self._states, self._recordings, loaded.lines.values())
        (cast,) = (one for one in tracks.cast if one.character == placed.line.character)
        return views.track_view(stood.version, cast, tracks.messages)

    def print(self, id: str, body: bodies.PrintBody) -> Table:
        """Have a line's shot printed, and return how far the printing is.

        Raises:
            InputError: if too much waits to be printed.
        """
        _, placed = self._held.line(id)
        return self.runs.ask(PrintWanted(PrintKind(body.kind), placed.scene.id, placed.shot.id))

    def pronunciations(self, id: str, part: int) -> Table:
        """Return the ways in which a word of a line may be spoken."""
        production, placed = self._held.line(id)
        kept = self._store(production, placed).stand().kept
        parts = kept.breakdown.parts if kept else ()
        if part >= len(parts):
            raise refuse("no such part", f"part {part}", count=len(parts))
        ways = ways_of(getattr(parts[part], "text", ""), settings_of(production, placed.line))
        return {"pronunciations": [{"symbols": list(way.symbols), "from": way.origin} for way in ways]}

    def sound(self, id: str) -> bytes:
        """Return a line's sound as a WAV file."""
        production, placed = self._held.line(id)
        line = placed.line
        return sound.wav_of(production.folder / line.recording, line.in_us, line.out_us)

    def recording_level(self, id: str, first_us: int, last_us: int) -> Table:
        """Return how loud a stretch of a line's whole recording is, even outside the line's in and out points."""
        production, placed = self._held.line(id)
        return level_of(production.folder / placed.line.recording, first_us, last_us)

    def recording_sound(self, id: str, first_us: int, last_us: int) -> bytes:
        """Return a stretch of a line's whole recording as a WAV file."""
        production, placed = self._held.line(id)
        longest_us = first_us + LONGEST_HEARD_US
        return sound.wav_of(production.folder / placed.line.recording, first_us, min(last_us, longest_us))

    def shot(self, id: str) -> Table:
        """Return the other lines of a line's shot, with their words in time."""
        production, placed = self._held.line(id)
        return others_view(production, placed, lambda one: self._store(production, one).stand().kept)

    def shot_sound(self, id: str) -> bytes:
        """Return the sound of a line's whole shot, mixed as in the preview."""
        return shot_sound(*self._held.line(id))

    def sound_with_others(self, id: str) -> bytes:
        """Return what is heard in the shot while a line lasts."""
        production, placed = self._held.line(id)
        return sound_with_others(production, placed, self._recordings.of(production, placed).duration_us)

    def picture(self, id: str, first: int, count: int) -> bytes:
        """Return columns of a line's level and spectrogram."""
        production, placed = self._held.line(id)
        return spectrogram.columns_of(self._recordings.of(production, placed), first, count)

    def fingerprint(self, id: str) -> Table:
        """Return whether the recording is still the one that the line was computed from."""
        production, placed = self._held.line(id)
        kept = self._store(production, placed).stand().kept
        try:
            recording = self._recordings.of(production, placed)
        except LineError as error:
            return {"same": False, "columns": 0, "reason": "; ".join(map(str, error.problems))}
        source = kept.newer.source if kept and kept.newer else kept.source if kept else None
        same = source is None or source.fingerprint == recording.fingerprint
        return {"same": same, "columns": spectrogram.columns_in(recording), "reason": ""}

    def _view(self, production: Production, placed: PlacedLine, stood: Stood) -> Table:
        begin: Kept | None = None
        reasons: tuple[Problem, ...] = ()
        if stood.kept is None:
            try:
                begin = not_heard(placed, self._recordings.of(production, placed))
            except LineError as error:
                reasons = error.problems
        if kept := stood.kept or begin:
            reasons = why_doubtful(production, placed, kept)
        found = known_voices(production).get(placed.line.character)
        seen = views.LineSeen(
            stood,
            self._cans.locked(production, placed).frames,
            begin,
            tuple(problem.text for problem in reasons),
            found.voice_factor if found else None,
        )
        return views.line_view(production, placed, seen)

    def stale(self, id: str, error: StaleError) -> Table:
        """Return the line as it stands, for a page that shows an older state."""
        production, placed = self._held.line(id)
        return self._view(production, placed, error.stood)

    def _store(self, production: Production, placed: PlacedLine) -> LineStore:
        path = kept_path(production, placed)
        with self._lock:
            if path not in self._stores:
                self._stores[path] = LineStore(path, self._notes / "steps" / placed.scene.id / placed.line.id)
            return self._stores[path]

    def _around(self, production: Production, placed: PlacedLine) -> Around:
        locked = self._cans.locked(production, placed)
        return Around(
            recording=lambda: self._recordings.of(production, placed),
            settings=settings_of(production, placed.line),
            mouth_set=production.mouth_sets[placed.line.character],
            frames=placed.shot.frames,
            filmed=locked.frames,
            filmed_us=locked.spans_us,
        )
