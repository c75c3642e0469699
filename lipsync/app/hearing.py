"""From a production's lines to their breakdowns: what is kept and still holds is read, the rest is listened to.

In: a production and which of its lines. Out: `Heard` (heard.py). Whatever a person corrected in what is kept stays.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from itertools import pairwise

from lipsync import timing
from lipsync.align.line import ENGINE, LineSettings, listen_to, voice_factor_of
from lipsync.app import heard
from lipsync.app.heard import Heard, HeardLine, Only, PlacedLine, kept_path, lines_of
from lipsync.app.voices import FROM_LINES, check_voices, voice_factor
from lipsync.audio.features import RATE_HZ
from lipsync.audio.pitch import pitches_hz
from lipsync.audio.recording import Recording, levels_db, read_recording
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.errors import LineError, ProblemsError
from lipsync.file_lock import alone
from lipsync.folders import is_there
from lipsync.message import Message, Where
from lipsync.model import Breakdown
from lipsync.production.production_tables import Line
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.seen import SeenFile, seen
from lipsync.text.script import CueToken, SpokenWord, key_of, tokens_of
from lipsync.track import sounds_of


def hear(
    production: Production, only: Only | None = None, *, again: bool = False, progress: Progress = no_progress
) -> Heard:
    """Return the breakdowns of the lines meant, listening to those that are not kept or no longer hold.

    Args:
        production: the production.
        only: which lines; all if None.
        again: listen also where nothing changed.
        progress: told of each line done.

    Raises:
        InputError: if there is no such scene or shot, or for faults in `voices.toml`, which bear on every line.
        OutputError: if a breakdown cannot be written.
    """
    check_voices(production)
    lines = lines_of(production, only or Only())
    done: list[HeardLine] = []
    report = Report(messages=tuple(heard.of_production(production)))
    for index, placed in enumerate(lines):
        progress("listening", index, len(lines))
        try:
            line, messages = hear_line(production, placed, again=again)
            done.append(line)
            report += Report(messages=messages)
        except ProblemsError as error:
            report += Report(problems=tuple(one.within(placed.where) for one in error.problems))
    progress("listening", len(lines), len(lines))
    return Heard(tuple(done), report)


def hear_line(production: Production, placed: PlacedLine, *, again: bool) -> tuple[HeardLine, tuple[Message, ...]]:
    """Return a line with its breakdown, listening to it if need be, and what to say of it.

    Raises:
        ProblemsError: if it cannot be done.
        OutputError: if its breakdown cannot be written.
    """
    line, path = placed.line, kept_path(production, placed)
    _check_cues(production, placed)
    inputs = seen(production.folder / line.recording, path)
    recording = _read(production, placed)
    old = breakdown_file.read(path) if is_there(path) else None
    source = Source(line.text, line.recording, recording.fingerprint, line.in_us, line.out_us)
    factor = line.voice_factor or voice_factor(production, line.character, _find_voice)
    settings = settings_of(production, line, factor)
    engine = f"{ENGINE}, {_digest(settings, line.text)}"
    messages: list[Message] = []
    if old is None or again or old.edited or not _holds(old, source, engine):
        try:
            computed = listen_to(recording, line.text, settings)
        except LineError as error:
            raise _where(error, placed) from None
        with alone(path):
            old = breakdown_file.read(path) if is_there(path) else None  # someone may have corrected it meanwhile
            new, messages = breakdown_file.merge(old, source, computed, line=line.id, engine=engine)
            if new != old:
                breakdown_file.write(path, new)
            inputs = (inputs[0], *seen(path))
        old = new
    line_as_heard, told = _heard(production, placed, old, (recording, inputs))
    return line_as_heard, (*(one.within(placed.where) for one in messages), *told)


def as_kept(production: Production, placed: PlacedLine) -> tuple[HeardLine, tuple[Message, ...]] | None:
    """Return a line as it is kept, and what to say of it; None if it would have to be listened to.

    Raises:
        ProblemsError: if it cannot be done.
    """
    line, path = placed.line, kept_path(production, placed)
    _check_cues(production, placed)
    inputs = seen(production.folder / line.recording, path)
    recording = _read(production, placed)
    if not is_there(path):
        return None
    old = breakdown_file.read(path)
    source = Source(line.text, line.recording, recording.fingerprint, line.in_us, line.out_us)
    factor = line.voice_factor or voice_factor(production, line.character, lambda *_: (None, ()))
    engine = f"{ENGINE}, {_digest(settings_of(production, line, factor), line.text)}"
    if old.edited or not _holds(old, source, engine):
        return None
    return _heard(production, placed, old, (recording, inputs))


def _heard(
    production: Production, placed: PlacedLine, kept: Kept, read: tuple[Recording, tuple[SeenFile, ...]]
) -> tuple[HeardLine, tuple[Message, ...]]:
    """Return a line with what is kept of it, and what to say of it."""
    path, (recording, inputs) = kept_path(production, placed), read
    _check_kept_cues(production, placed, kept)
    messages: list[Message] = []
    if kept.newer is not None:
        where = placed.where_in(path)
        waits = Message.of("newer waits", where, production=production.folder, line=placed.line.id)
        messages.append(waits.within(placed.where))
    begins_us = production.begins_us(placed.line, placed.shot)
    levels = _levels(recording, begins_us, placed.shot.frames, production)
    disagreeing = (Message.of("disagreement", placed.where_in(path), text=text) for text in kept.disagreements)
    pitches = _pitches(recording, kept.breakdown)
    told = (*messages, *disagreeing, *heard.of_line(placed, kept))
    return HeardLine(placed, kept, begins_us, levels, pitches, inputs), told


def _read(production: Production, placed: PlacedLine) -> Recording:
    line = placed.line
    try:
        return read_recording(production.folder / line.recording, line.in_us, line.out_us)
    except LineError as error:
        raise _where(error, placed) from None


def _check_cues(production: Production, placed: PlacedLine) -> None:
    """Raise a LineError for a cue of the text that the character's mouth set gives no shape."""
    place = f"{placed.place} text"
    for token in tokens_of(placed.line.text, str(placed.scene.path), place):
        if isinstance(token, CueToken):
            _check_cue(production, placed, token.name, replace(placed.where, place=place))


def _check_kept_cues(production: Production, placed: PlacedLine, kept: Kept) -> None:
    """Raise a LineError for a cue that a person wrote in the breakdown and that the mouth set gives no shape."""
    for cue in kept.breakdown.cues:
        where = replace(placed.where_in(kept_path(production, placed)), place=f"cue {cue.name!r}")
        _check_cue(production, placed, cue.name, where)


def _check_cue(production: Production, placed: PlacedLine, name: str, where: Where) -> None:
    known = production.mouth_sets[placed.line.character].cues
    if name not in known:
        raise LineError.of("no such cue", where, cue=name, known=", ".join(known))


def _where(error: LineError, placed: PlacedLine) -> LineError:
    """Add to what is wrong with a recording which line it is, and in which file that stands."""
    return LineError.one(placed.scene.path, placed.place, "; ".join(map(str, error.problems)))


def _find_voice(production: Production, character: str) -> tuple[float | None, tuple[str, ...]]:
    """Return the voice factor found from the character's first lines that can be used, and their ids."""
    found: list[tuple[Recording, str, LineSettings]] = []
    ids: list[str] = []
    for placed in lines_of(production, Only()):
        like_others = placed.line.character == character and placed.line.voice_factor is None
        if like_others and len(found) < FROM_LINES:
            try:
                if not any(isinstance(token, SpokenWord) for token in tokens_of(placed.line.text)):
                    continue  # cues alone tell of no voice
                recording = _read(production, placed)
            except LineError:
                continue  # told where the line itself is listened to
            found.append((recording, placed.line.text, settings_of(production, placed.line)))
            ids.append(placed.line.id)
    return (voice_factor_of(found), tuple(ids)) if found else (None, ())


def settings_of(production: Production, line: Line, voice_factor: float | None = None) -> LineSettings:
    """Return how a line is listened to."""
    return LineSettings(
        pronunciations={key_of(word): ways for word, ways in production.file.pronunciations.items()},
        voice_factor=voice_factor,
        in_us=line.in_us,
        out_us=line.out_us,
        accent=production.file.characters[line.character].accent,
    )


def _digest(settings: LineSettings, text: str) -> str:
    """Return a short code of all settings that bear on this text: when it changes, the line is listened to again."""
    spoken = {
        form
        for token in tokens_of(text, "")
        if isinstance(token, SpokenWord)
        for reading in token.readings
        for form in reading
    }
    own = {
        word: ways for word, ways in sorted(settings.pronunciations.items()) if any(word in form for form in spoken)
    }
    bearing = json.dumps([own, settings.voice_factor, settings.accent])
    return hashlib.sha256(bearing.encode()).hexdigest()[:8]


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
