"""How a line is listened to: its recording, the settings that it depends on, and codes that change when these do.

In: a production and a line with its scene and shot. Out: `Recording`, `LineSettings`, and short codes. A result that
was found from a line holds as long as the line's code is the same.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path

from lipsync.align.settings import ENGINE, LineSettings, VoiceProfile
from lipsync.app.hear.heard import PlacedLine
from lipsync.audio.recording import Recording, read_recording
from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.errors import LineError, Problem
from lipsync.model import Breakdown, Rejection
from lipsync.production.production_tables import Line
from lipsync.production.values import Production
from lipsync.text.abbreviations import Reading
from lipsync.text.script import SpokenWord, Token, key_of, tokens_of

CodeOf = Callable[[Path], str]  # the code of a file's bytes; empty if it cannot be read
# What recordings hold that came along with a task, by the names that lines have for them: no disk is asked for these.
Carried = Mapping[str, bytes]


def recording_of(production: Production, placed: PlacedLine, carried: Carried | None = None) -> Recording:
    """Return a line's recording.

    Raises:
        LineError: if it cannot be read, naming the line and where it stands.
    """
    line = placed.line
    try:
        content = carried.get(line.recording) if carried else None
        return read_recording(production.folder / line.recording, line.in_us, line.out_us, content)
    except LineError as error:
        raise of_line(error, placed) from None


def source_of(placed: PlacedLine, recording: Recording) -> Source:
    """Return what a line is computed from."""
    line = placed.line
    return Source(line.text, line.recording, recording.fingerprint, line.in_us, line.out_us)


def not_heard(placed: PlacedLine, recording: Recording) -> Kept:
    """Return what there is to keep of a line that was not listened to: its sound, without any word."""
    line = placed.line
    nothing = Breakdown(line.text, recording.duration_us, (), effort="none", rejection=Rejection.NOT_HEARD)
    return Kept(line.id, source_of(placed, recording), nothing)


def of_line(error: LineError, placed: PlacedLine) -> LineError:
    """Return a fault of a recording or a text as one of the line that has it, with the line's file and place."""
    where = placed.where
    return LineError([Problem(where.file, where.place, "; ".join(map(str, error.problems))).within(where)])


def settings_of(production: Production, line: Line, voice: VoiceProfile | None = None) -> LineSettings:
    """Return how a line is listened to; the character's `voice` does not count if the line has its own factor."""
    return LineSettings(
        pronunciations={key_of(word): ways for word, ways in production.file.pronunciations.items()},
        voice_factor=line.voice_factor,
        voice=None if line.voice_factor is not None else voice,
        in_us=line.in_us,
        out_us=line.out_us,
        accent=production.file.characters[line.character].accent,
    )


def tokens_or_none(text: str) -> tuple[Token, ...]:
    """Return the words and cues of a text; none where it cannot be read."""
    try:
        return tokens_of(text)
    except LineError:
        return ()


def engine_of(settings: LineSettings, text: str) -> str:
    """Return what a breakdown is computed with: the version of the listening, and a code of the settings used."""
    voice = settings.voice and [settings.voice.factor, settings.voice.transform]
    bearing = json.dumps([_own(settings, text), settings.voice_factor or voice, settings.accent])
    return f"{ENGINE}, {_short(bearing.encode())}"


def code_of_file(path: Path) -> str:
    """Return the code of a file's bytes, without reading an unchanged one again; empty if it cannot be read."""
    try:
        status = path.stat()
        return _bytes_code(path, status.st_mtime_ns, status.st_size)
    except OSError:
        return ""


def line_fingerprint(
    production: Production, placed: PlacedLine, *, cues: bool, code_of: CodeOf = code_of_file
) -> str:
    """Return a code of all that a result found from a line's sound and words depends on; empty if it cannot be read.

    The recording counts by the bytes of its file, which are read faster than its sound. The text counts as it is
    spoken: with its cues or, where these do not matter, only with the pauses that they make between words.
    """
    line = placed.line
    sound = code_of(production.folder / line.recording)
    if not sound:
        return ""
    settings = settings_of(production, line)
    said = line.text if cues else _spoken(line.text)
    bearing = [ENGINE, sound, line.in_us, line.out_us, said, _own(settings, line.text), settings.accent]
    return _short(json.dumps(bearing).encode(), 12)


def _spoken(text: str) -> list[tuple[str, tuple[Reading, ...]] | None]:
    """Return the words of a text with their readings, and None for a cue between two of them."""
    said: list[tuple[str, tuple[Reading, ...]] | None] = []
    for token in tokens_or_none(text):
        if isinstance(token, SpokenWord):
            said.append((key_of(token.text), token.readings))
        elif said and said[-1] is not None:
            said.append(None)
    return said if said[-1:] != [None] else said[:-1]


@lru_cache(maxsize=4096)
def _bytes_code(path: Path, _changed_ns: int, _size: int) -> str:
    """Return the code of a file's bytes; time and size are arguments so that a changed file is read again."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _own(settings: LineSettings, text: str) -> dict[str, tuple[tuple[str, ...], ...]]:
    """Return the production's own pronunciations of words in a text."""
    words = (token for token in tokens_or_none(text) if isinstance(token, SpokenWord))
    spoken = {form for word in words for reading in word.readings for form in reading}
    return {
        word: ways for word, ways in sorted(settings.pronunciations.items()) if any(word in form for form in spoken)
    }


def _short(content: bytes, digits: int = 8) -> str:
    return hashlib.sha256(content).hexdigest()[:digits]
