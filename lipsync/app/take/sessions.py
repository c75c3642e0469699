"""Sessions of a production cut: which take of each line is chosen, and messages about the other takes.

In: a production, a recording that several lines share, and these lines. Out: start and end of each line, and
messages. Of several takes the last complete one is chosen; if none is complete, the last one, with a message.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from lipsync.align.settings import LineSettings
from lipsync.app.hear.voices import known_voices
from lipsync.app.take.session_cutting import SessionLine, SessionTake, takes_of
from lipsync.audio.recording import read_recording
from lipsync.errors import LineError
from lipsync.message import Message, Where
from lipsync.production.drafts import SaidLine
from lipsync.production.values import Production
from lipsync.report import Progress, no_progress
from lipsync.text.script import key_of
from lipsync.timing import seconds_of


def cut_session(
    production: Production, recording: str, lines: Sequence[SaidLine], progress: Progress = no_progress
) -> tuple[Mapping[str, tuple[int, int]], tuple[Message, ...]]:
    """Return start and end of each line in a recording, in microseconds, by the line's id; and messages."""
    try:
        sound = read_recording(production.folder / recording)
        takes = takes_of(sound, session_lines(production, lines), progress)
    except LineError as error:
        return {}, tuple(Message(one.file, one.place, one.text) for one in error.problems)
    of_line: dict[str, list[SessionTake]] = defaultdict(list)
    for take in takes:
        of_line[take.line].append(take)
    chosen = {id: _chosen(own) for id, own in of_line.items()}
    told = [
        _message(Where(recording, f"line {id}"), own, chosen[id])
        for id, own in of_line.items()
        if len(own) > 1 or not chosen[id].complete
    ]
    return {id: (take.start_us, take.end_us) for id, take in chosen.items()}, tuple(told)


def session_lines(production: Production, lines: Sequence[SaidLine]) -> list[SessionLine]:
    """Return lines as they are listened to: in the factor set by hand, or the one known from earlier lines, or 1.

    Raises:
        InputError: for faults in `voices.toml`.
    """
    known = known_voices(production)
    own = {key_of(word): ways for word, ways in production.file.pronunciations.items()}
    found = []
    for line in lines:
        character = production.file.characters[line.character]
        voice = known.get(line.character)
        factor = character.voice_factor or (voice and voice.voice_factor) or 1.0
        settings = LineSettings(pronunciations=own, voice_factor=factor, accent=character.accent)
        found.append(SessionLine(line.id, line.text, settings))
    return found


def _chosen(takes: Sequence[SessionTake]) -> SessionTake:
    complete = [take for take in takes if take.complete]
    return (complete or list(takes))[-1]


def _message(where: Where, takes: Sequence[SessionTake], chosen: SessionTake) -> Message:
    """Return the message of a line that is said several times, or never surely whole."""
    said = ", ".join(f"{seconds_of(take.start_us):.1f} s" + ("" if take.complete else "?") for take in takes)
    if not chosen.complete:
        return Message.of("no complete take", where, said=said)
    return Message.of(
        "several takes", where, count=len(takes), said=said, chosen=f"{seconds_of(chosen.start_us):.1f} s"
    )
