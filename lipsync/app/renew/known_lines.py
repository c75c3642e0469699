"""What is known of lines without reading them, as the index keeps it.

In: a production, its index, and its voices. Out: a `KnownLine` for each line of which the recording, the breakdown,
the entry and the settings of listening are those from which it was kept.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lipsync.app.hear.heard import HeardLine, Only, PlacedLine, kept_names, kept_path, lines_of, recording_names
from lipsync.app.hear.hearing import messages_of
from lipsync.app.hear.line_hearing import code_of, read_or_none
from lipsync.app.hear.voices import Voices
from lipsync.app.index.production_index import ProductionIndex, code_of_values
from lipsync.errors import Problem
from lipsync.fit.fit_job import VoiceRange, range_of_levels, vowel_levels
from lipsync.message import Message
from lipsync.production.values import Production
from lipsync.track import sounds_of


@dataclass(frozen=True, slots=True)
class KnownLine:
    """What is known of a line without reading it: its code, the levels of its vowels in dB, and its messages."""

    code: str
    levels_db: tuple[float, ...]
    messages: tuple[Message, ...]


class KnownLines:
    """The lines of a production, by their places among all of them, and what the index knows of each."""

    def __init__(self, production: Production, index: ProductionIndex, voices: Voices) -> None:
        """Look at the recordings; breakdowns are looked at when they are asked for."""
        self._production, self._index, self._voices = production, index, voices
        self.placed: tuple[PlacedLine, ...] = lines_of(production, Only())
        self.kept_names = kept_names(production, self.placed)
        self._own_codes = self._codes_of_entries()

    def known(self, *, to_tell: bool = True) -> dict[int, KnownLine]:
        """Return what the index knows of the lines that it knows, by their places.

        What is `to_tell` names the production's folder as it is named in this run.
        """
        found: dict[int, KnownLine] = {}
        for place, code in enumerate(self._line_codes()):
            kept = self._index.get("line", self._key(place), code)
            if kept is not None and (not to_tell or kept[2] == self._named(kept[1])):
                levels, rows, _ = kept
                found[place] = KnownLine(code, tuple(levels), tuple(Message(*row) for row in rows))
        return found

    def last_known(self) -> dict[int, KnownLine]:
        """Return what the index knew last of each line, by their places; its codes may have fallen since."""
        rows = ((place, self._index.last("line", self._key(place))) for place in range(len(self.placed)))
        return {place: KnownLine("", tuple(kept[0]), ()) for place, kept in rows if kept is not None}

    def ranges(self, known: dict[int, KnownLine]) -> dict[str, VoiceRange | None]:
        """Return how quietly and loudly each character speaks."""
        spoken: dict[str, list[float]] = defaultdict(list)
        for place in sorted(known):
            spoken[self.placed[place].line.character] += known[place].levels_db
        return {character: range_of_levels(levels) for character, levels in spoken.items()}

    def keep(self, found: Mapping[int, HeardLine]) -> dict[int, KnownLine]:
        """Keep in the index what is known of these lines, by their places, and return it."""
        self.note_voices()
        for one in found.values():
            self._index.note(kept_path(self._production, one.placed), one.file_code)
        codes = self._line_codes()
        known: dict[int, KnownLine] = {}
        for place, line in found.items():
            sounds = sounds_of(line.kept.breakdown, line.placed.line.id, line.begins_us)
            told = tuple(messages_of(self._production, line.placed, line.kept))
            known[place] = KnownLine(codes[place], tuple(vowel_levels(sounds)), told)
            rows = [[m.file, m.place, m.what, m.remedy, m.kind, m.scene, m.shot, m.line] for m in told]
            key = self._key(place)
            self._index.put("line", key, codes[place], [known[place].levels_db, rows, self._named(rows)])
            if self._index.last("not done", key):
                self._index.put("not done", key, "", "")
        return known

    def keep_undone(self, why: Mapping[int, Sequence[Problem]]) -> None:
        """Keep why these lines, by their places, could not be done."""
        for place, problems in why.items():
            told = "; ".join(one.what for one in problems)
            self._index.put("not done", self._key(place), self._own_codes[place], told)

    def undone(self) -> dict[tuple[str, str], str]:
        """Return why lines, by scene and id, could not be done, where entry and recording are still the same."""
        rows = (
            (one, self._index.get("not done", self._key(at), self._own_codes[at]))
            for at, one in enumerate(self.placed)
        )
        return {(one.scene.id, one.line.id): told for one, told in rows if told}

    def _key(self, place: int) -> str:
        """Return under which key the index keeps a line."""
        return f"{self.placed[place].scene.id}/{self.placed[place].line.id}"

    def _named(self, rows: Sequence[object]) -> str:
        """Return how the production's folder is named if something is told of a line: messages name it so."""
        return str(self._production.folder) if rows else ""

    def note_voices(self) -> None:
        """Take the file of voices for read as it is now."""
        path = self._production.folder / "voices.toml"
        self._index.note(path, code_of(read_or_none(path)))

    def _codes_of_entries(self) -> list[str]:
        """Return for each line a code of its entry, its recording, and the settings of the production."""
        file = self._production.file
        bearing = code_of_values(file.frame_rate, file.first_frame, file.pronunciations)
        return [
            code_of_values(
                bearing, one.scene.id, one.shot.id, one.shot.start, one.shot.frames, one.key, repr(one.line),
                self._index.code(recording),
            )
            for one, recording in zip(self.placed, recording_names(self._production, self.placed), strict=True)
        ]  # fmt: skip

    def _line_codes(self) -> list[str]:
        """Return for each line a code of all that its breakdown and its messages depend on."""
        voices = {who: self._voice_code(who) for who in self._production.file.characters}
        return [
            code_of_values(own, voices[one.line.character], self._index.code(kept))
            for one, own, kept in zip(self.placed, self._own_codes, self.kept_names, strict=True)
        ]

    def _voice_code(self, who: str) -> str:
        """Return a code of a character's voice, and of what else its lines depend on."""
        holds, profile = self._voices.standing(who)
        accent, cues = self._production.file.characters[who].accent, self._production.mouth_sets[who].cues
        return code_of_values(holds, repr(profile), accent, sorted(cues))
