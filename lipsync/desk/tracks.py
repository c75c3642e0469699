"""The piece on each frame of a line's shot, as the printed sheet has it.

In: the production, a line and its record. Out: the plan of its character in its shot. Only the lines of that shot are
read; how loudly the character speaks over the whole production comes from the remembered states of its other lines.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lipsync.app.hear.heard import Heard, HeardLine, Only, PlacedLine, kept_path
from lipsync.app.hear.line_hearing import frame_levels_db
from lipsync.app.plan import planning
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.desk.recordings import Recordings
from lipsync.desk.states import LineStates
from lipsync.errors import InputError, ProblemsError
from lipsync.folders import is_there
from lipsync.message import Where
from lipsync.production.values import Production
from lipsync.report import Report


@dataclass(frozen=True, slots=True)
class ShotTracks:
    """The plans of a shot's characters, and messages about them."""

    cast: tuple[planning.CastPlan, ...]
    messages: tuple[str, ...]


def tracks_of(
    production: Production,
    placed: PlacedLine,
    kept: Kept | None,
    states: LineStates,
    recordings: Recordings,
    lines: Iterable[PlacedLine],
) -> ShotTracks:
    """Return the tracks of a line's shot: for the line itself from `kept`, for other lines from their files.

    Another line whose file or recording has faults is left out, and a message says so.

    Raises:
        InputError: if a piece was chosen by hand that cannot be worn.
        LineError: if the recording of the line itself cannot be read.
    """
    heard: list[HeardLine] = []
    broken: list[str] = []
    for line in placed.shot.line:
        one = PlacedLine(placed.scene, placed.shot, line)
        path = kept_path(production, one)
        try:
            theirs = kept if line.id == placed.line.id else breakdown_file.read(path) if is_there(path) else None
            if theirs is not None:
                levels_db = frame_levels_db(production, one, recordings.of(production, one))
                heard.append(HeardLine(one, theirs, production.begins_us(line, placed.shot), levels_db))
        except ProblemsError as error:
            if line.id == placed.line.id:
                raise
            broken += map(str, error.problems)
    everyone = tuple(lines)
    speakers = {line.placed.line.character for line in heard}
    ranges = {character: states.voice(production, everyone, character) for character in speakers}
    only = Only(placed.scene.id, placed.shot.id)
    try:
        plans = planning.plan(production, Heard(tuple(heard), Report(), ranges), only)
    except ValueError as error:  # a piece that was chosen by hand is no longer in the mouth set, or its frame is gone
        raise InputError.of("choice not wearable", Where(place=f"shot {placed.shot.id}"), reason=error) from None
    (shot,) = plans.shots
    said = (*broken, *map(str, (*plans.report.problems, *plans.report.messages)))
    return ShotTracks(shot.cast, said)
