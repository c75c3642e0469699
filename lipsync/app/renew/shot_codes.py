"""Codes of all that a shot's tracks depend on, and of all that its sheet depends on: while they stand, both stand.

In: a production, its index, and which of its lines are known. Out: for a shot a key in the index, and a code. The
tracks hang on the shot's entry, its lines, the ranges of its voices, its mouth sets and what is filmed of it; whether
its newest print is good hangs on these, on what the paper says, and on what is printed; its sheet on all of these, on
pictures, and on the sheet's own file.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping
from pathlib import Path

from lipsync.app.hear.heard import PlacedLine, kept_names, recording_names
from lipsync.app.index.production_index import ProductionIndex, code_of_values
from lipsync.fit.fit_job import VoiceRange
from lipsync.floor.prints import own_place, prints_in
from lipsync.floor.record_file import records_in
from lipsync.production.production_tables import Shot
from lipsync.production.values import Production, Scene

# Fields of production.toml that no sheet depends on, or only through its own cast and lines; and those on which
# sheets depend, and tracks do not.
_NOT_OF_SHEETS = ("characters", "pronunciations", "labels", "making", "taking")
_NOT_OF_TRACKS = ("title", "film", "dated", "seconds_a_day", "sheet", "shooting")

Coded = tuple[str, str]  # key in the index, and code


class ShotCodes:
    """The codes of a production's shots; a shot has none while one of its lines is not known."""

    def __init__(
        self,
        production: Production,
        index: ProductionIndex,
        known: Collection[tuple[str, str]],
        ranges: Mapping[str, VoiceRange | None],
    ) -> None:
        """Code what several shots share.

        Args:
            production: the production.
            index: its index.
            known: the lines that are known, by scene and id.
            ranges: how quietly and loudly each character speaks.
        """
        self._production, self._index, self._known, self._ranges = production, index, known, ranges
        self._filmed, self._prints = records_in(production), prints_in(production)
        sheets = production.file.model_copy(update=dict.fromkeys(_NOT_OF_SHEETS))
        self._of_sheets = repr(sheets)
        self._of_tracks = repr(sheets.model_copy(update=dict.fromkeys(_NOT_OF_TRACKS)))
        self._sets = {who: code_of_values(repr(one)) for who, one in production.mouth_sets.items()}
        self._pictures = {who: self._pictures_code(who) for who in production.mouth_sets}

    def of_tracks(self, scene: Scene, shot: Shot) -> Coded | None:
        """Return the code of a shot's tracks."""
        lines = [PlacedLine(scene, shot, line) for line in shot.line]
        if any((scene.id, line.id) not in self._known for line in shot.line):
            return None
        code = self._index.code
        names = recording_names(self._production, lines), kept_names(self._production, lines)
        of_lines = [(code(one), code(kept)) for one, kept in zip(*names, strict=True)]
        cast = [(who, self._sets[who], repr(self._ranges.get(who))) for who in self._production.speakers(shot)]
        record = self._filmed.of_shots.get((scene.id, shot.id))
        # A record that does not say what the print says from which it was filmed has the shot not planned.
        in_the_can = (code(record), code(self._prints_path(scene, shot))) if record else ()
        return f"{scene.id}/{shot.id}", code_of_values(self._of_tracks, repr(shot), of_lines, cast, in_the_can)

    def of_print(self, scene: Scene, shot: Shot) -> Coded | None:
        """Return the code of what a shot's sheet would say, and of what its prints say."""
        tracks = self.of_tracks(scene, shot)
        if tracks is None:
            return None
        printed = self._index.code(self._prints_path(scene, shot))
        cast = [repr(self._production.file.characters[who]) for who in self._production.speakers(shot)]
        return tracks[0], code_of_values(tracks[1], self._of_sheets, scene.title, str(scene.dated), cast, printed)

    def of_sheet(self, scene: Scene, shot: Shot, path: Path) -> Coded | None:
        """Return the code of a shot's sheet, which lies at `path`."""
        printed = self.of_print(scene, shot)
        if printed is None:
            return None
        pictures = [self._pictures[who] for who in self._production.speakers(shot)]
        place = os.path.realpath(path.parent.parent)
        return f"{place} {printed[0]}", code_of_values(printed[1], place, pictures, self._index.code(path))

    def _prints_path(self, scene: Scene, shot: Shot) -> Path:
        own = own_place(self._production.folder, scene.id, shot.id)
        return self._prints.of_shots.get((scene.id, shot.id)) or own

    def _pictures_code(self, who: str) -> str:
        pictures = (one.picture for one in self._production.mouth_sets[who].piece if one.picture is not None)
        files = (self._production.folder / "mouthsets" / picture for picture in pictures)
        return code_of_values([self._index.code(file) for file in files])
