"""From a production's lines to their breakdowns: what is kept and still holds is read, the rest is listened to.

In: a production and which of its lines. Out: `Heard` (heard.py). Whatever a person corrected in what is kept stays.
What is kept of a line that could not be done says so, and holds likewise: it is listened to again only when its
recording, its text or a setting changes.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from lipsync import timing
from lipsync.align.line import LineSettings, listen_to, pronunciations_of
from lipsync.app import heard
from lipsync.app.heard import Heard, HeardLine, Only, PlacedLine, kept_path, lines_of
from lipsync.app.line_settings import engine_of, of_line, recording_of, settings_of, source_of, tokens_or_none
from lipsync.app.sparing import spared
from lipsync.app.voice_finding import VoiceFinding
from lipsync.app.voices import Voices, known_voices, standing_voice
from lipsync.audio.features import RATE_HZ
from lipsync.audio.pitch import pitches_hz
from lipsync.audio.recording import Recording, levels_db
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.errors import LineError, Problem
from lipsync.file_lock import alone
from lipsync.folders import is_there
from lipsync.message import Message
from lipsync.model import Breakdown, Rejection
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.seen import SeenFile, seen
from lipsync.text.script import CueToken, tokens_of
from lipsync.track import sounds_of


def hear(
    production: Production,
    only: Only | None = None,
    *,
    again: bool = False,
    progress: Progress = no_progress,
    told: Only | None = None,
) -> Heard:
    """Return the breakdowns of the lines meant, listening to those that are not kept or no longer hold.

    Args:
        production: the production.
        only: which lines; all if None.
        again: listen also where nothing changed.
        progress: told of each line done.
        told: of which lines the report tells; of all that are meant if None.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`, which bear on every line.
        OutputError: if a breakdown cannot be written.
    """
    listening = Listening(production)
    lines = lines_of(production, only or Only())
    about = {placed.key for placed in lines_of(production, told)} if told else None
    done: list[HeardLine] = []
    whole = (told or only or Only()) == Only()
    report = Report(messages=tuple(heard.of_production(production)) if whole else ())
    for index, placed in enumerate(lines):
        progress("listening", index, len(lines))
        problems: list[Problem] = []
        messages: tuple[Message, ...] = ()
        with spared(problems, placed.where):
            line, messages = listening.line(placed, again=again)
            done.append(line)
        if about is None or placed.key in about:
            report += Report(tuple(problems), messages)
    progress("listening", len(lines), len(lines))
    return Heard(tuple(done), report)


class Listening:
    """Listens to lines of a production, one after the other."""

    def __init__(self, production: Production) -> None:
        """Make ready for the lines of a production.

        Raises:
            InputError: for faults in `voices.toml`, which bear on every line.
        """
        known_voices(production)
        self._production = production
        self._voices = Voices(production, VoiceFinding(production).find)

    def line(self, placed: PlacedLine, *, again: bool) -> tuple[HeardLine, tuple[Message, ...]]:
        """Return a line with its breakdown, listening to it if need be, and what to say of it.

        Raises:
            ProblemsError: if it cannot be done; what is known of it is kept all the same, if its sound can be read.
            OutputError: if its breakdown cannot be written.
        """
        inputs = self._inputs(placed)
        recording = recording_of(self._production, placed)
        kept, messages, written = self._kept(placed, recording, again=again)
        return self._as_heard(placed, kept, (recording, (inputs[0], *(written or inputs[1:]))), messages)

    def as_kept(self, placed: PlacedLine) -> tuple[HeardLine, tuple[Message, ...]] | None:
        """Return a line as it is kept, and what to say of it; None if it would have to be listened to.

        Raises:
            ProblemsError: if it cannot be done.
        """
        inputs, path = self._inputs(placed), kept_path(self._production, placed)
        recording = recording_of(self._production, placed)
        if not is_there(path):
            return None
        kept, source = breakdown_file.read(path), source_of(placed, recording)
        if not (kept.by_hand and kept.source.alike(source)):
            line, known, profile = placed.line, True, None
            if line.voice_factor is None and tokens_or_none(line.text):
                known, profile = standing_voice(self._production, line.character)
            engine = engine_of(settings_of(self._production, line, profile), source.text)
            if not known or kept.edited or not _holds(kept, source, engine):
                return None
        return self._as_heard(placed, kept, (recording, inputs), [])

    def _inputs(self, placed: PlacedLine) -> tuple[SeenFile, ...]:
        production = self._production
        return seen(production.folder / placed.line.recording, kept_path(production, placed))

    def _as_heard(
        self,
        placed: PlacedLine,
        kept: Kept,
        read: tuple[Recording, tuple[SeenFile, ...]],
        messages: list[Message],
    ) -> tuple[HeardLine, tuple[Message, ...]]:
        production, path = self._production, kept_path(self._production, placed)
        recording, inputs = read
        check_usable(production, placed, kept)
        where = placed.where_in(path)
        if kept.newer is not None:
            facts = {"production": production.folder, "line": placed.key}
            messages.append(Message.of("newer waits", where, **facts))
        begins_us = production.begins_us(placed.line, placed.shot)
        levels = _levels(recording, begins_us, placed.shot.frames, production)
        disagreeing = (Message.of("disagreement", where, text=text) for text in kept.disagreements)
        pitches = _pitches(recording, kept.breakdown)
        told = (*messages, *disagreeing, *heard.of_line(placed, kept))
        return HeardLine(placed, kept, begins_us, levels, pitches, inputs), told

    def _kept(
        self, placed: PlacedLine, recording: Recording, *, again: bool
    ) -> tuple[Kept, list[Message], tuple[SeenFile, ...]]:
        """Return what is kept of a line, computed again if it no longer holds, and what became of corrections.

        Also the line's file as it is written, if it was.
        """
        path = kept_path(self._production, placed)
        old = breakdown_file.read(path) if is_there(path) else None
        source = source_of(placed, recording)
        if old is not None and not again and old.by_hand and old.source.alike(source):
            return old, [], ()  # whatever the program would hear now, a person has said what is heard
        settings = self._settings(placed)
        engine = engine_of(settings, source.text)
        if old is not None and not again and not old.edited and _holds(old, source, engine):
            return old, [], ()
        computed = _computed(placed, recording, settings)
        with alone(path):
            old = breakdown_file.read(path) if is_there(path) else None  # someone may have corrected it meanwhile
            new, messages = breakdown_file.merge(old, source, computed, line=placed.line.id, engine=engine)
            if new != old:
                breakdown_file.write(path, new)
            written = seen(path)
        return new, [one.within(placed.where) for one in messages], written

    def _settings(self, placed: PlacedLine) -> LineSettings:
        line = placed.line
        knowable = line.voice_factor is None and tokens_or_none(line.text)
        return settings_of(self._production, line, self._voices.of(line.character) if knowable else None)


def _computed(placed: PlacedLine, recording: Recording, settings: LineSettings) -> Breakdown:
    """Return a line's breakdown; of a text that cannot be laid at all, one without words."""
    line = placed.line
    try:
        return listen_to(recording, line.text, settings)
    except LineError:
        rejection = Rejection.NOT_READ if text_faults(placed, settings) else Rejection.TOO_FAST
        return Breakdown(line.text, recording.duration_us, (), effort="none", rejection=rejection)


def text_faults(placed: PlacedLine, settings: LineSettings) -> tuple[Problem, ...]:
    """Return why a line's text cannot be read aloud; nothing where it can."""
    try:
        pronunciations_of(tokens_of(placed.line.text), settings)
    except LineError as error:
        return of_line(error, placed).problems
    return ()


def check_usable(production: Production, placed: PlacedLine, kept: Kept) -> None:
    """Check that what stands of a line can go on a sheet.

    Raises:
        LineError: if nothing of it is laid, or a cue of it has no shape in the character's mouth set.
    """
    if kept.undone:
        raise LineError(why_doubtful(production, placed, kept))
    said = () if kept.by_hand else tokens_or_none(placed.line.text)
    in_text = {token.name: placed.where for token in said if isinstance(token, CueToken)}
    path = kept_path(production, placed)
    in_parts = {one.name: replace(placed.where_in(path), place=f"cue {one.name!r}") for one in kept.breakdown.cues}
    known = production.mouth_sets[placed.line.character].cues
    found = {**in_parts, **{name: replace(where, place=f"{where.place} text") for name, where in in_text.items()}}
    problems = [
        Problem.of("no such cue", where, cue=name, known=", ".join(known))
        for name, where in found.items()
        if name not in known
    ]
    if problems:
        raise LineError(problems)


def why_doubtful(production: Production, placed: PlacedLine, kept: Kept) -> tuple[Problem, ...]:
    """Return why nothing of a line is laid, or all of it is doubtful; nothing where sound and text match."""
    rejection = kept.breakdown.rejection
    if rejection is None:
        return ()
    unread = text_faults(placed, settings_of(production, placed.line)) if rejection is Rejection.NOT_READ else ()
    return unread or (Problem.of(f"rejection: {rejection}", placed.where),)


def _holds(kept: Kept, source: Source, engine: str) -> bool:
    if kept.newer is not None:
        return kept.newer.source.alike(source) and kept.newer.engine == engine
    return kept.source.alike(source) and kept.engine == engine


def _levels(recording: Recording, begins_us: int, frames: int, production: Production) -> tuple[float, ...]:
    edges = [timing.frame_start_us(frame, production.rate) - begins_us for frame in range(frames + 1)]
    spans = [(max(0, a), min(recording.duration_us, b)) for a, b in pairwise(edges)]
    heard = [frame for frame, (a, b) in enumerate(spans) if a < b]
    levels = [-120.0] * frames
    for frame, level in zip(heard, levels_db(recording, [spans[f] for f in heard]), strict=True):
        levels[frame] = level
    return tuple(levels)


def _pitches(recording: Recording, heard: Breakdown) -> tuple[float | None, ...]:
    """Return the pitch of each sound that may be a strong beat, None for the others."""
    sounds = sounds_of(heard, "", 0)
    stressed = [at for at, sound in enumerate(sounds) if sound.stress == 1]
    spans = [(sounds[at].start_us, sounds[at].end_us) for at in stressed]
    found: list[float | None] = [None] * len(sounds)
    for at, hz in zip(stressed, pitches_hz(recording.samples, RATE_HZ, spans), strict=True):
        found[at] = hz
    return tuple(found)
