"""Finds a character's voice factor from those of its first lines whose sound and text match.

In: a production and the character's lines in order. Out: the factor, the lines it was found from, and those that were
tried and passed over. A line that does not match under the factor that it helped to find is passed over, the next
takes its place, and the factor is found again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from lipsync.align.line import LineSettings, listen_to, voice_factor_of
from lipsync.app.heard import PlacedLine
from lipsync.app.line_settings import recording_of, settings_of
from lipsync.app.voices import FROM_LINES, MOST_TRIED, FactorFound
from lipsync.audio.recording import Recording
from lipsync.model import Breakdown
from lipsync.production.values import Production

Readable = tuple[PlacedLine, Recording]


@dataclass(slots=True)
class VoiceFinding:
    """Finds voice factors, and keeps what was heard meanwhile, so that no line is listened to twice for it.

    Attributes:
        production: the production.
        heard: for a line and the factor that it was heard under, its breakdown.
    """

    production: Production
    heard: dict[tuple[str, float | None], Breakdown] = field(default_factory=dict)

    def find(self, candidates: tuple[PlacedLine, ...]) -> FactorFound:
        """Return the factor found from a character's lines."""
        used: list[Readable] = []
        passed_over: list[PlacedLine] = []
        readable = self._readable(candidates[:MOST_TRIED], passed_over)
        while used := [*used, *islice(readable, FROM_LINES - len(used))]:
            factor = self._factor(used)
            fitting = [one for one in used if self._matches(one, factor)]
            if len(fitting) == len(used):
                return FactorFound(factor, tuple(placed for placed, _ in used), tuple(passed_over))
            passed_over += [one[0] for one in used if one not in fitting]
            used = fitting
        return FactorFound(None, (), tuple(passed_over))

    def _readable(self, candidates: tuple[PlacedLine, ...], unreadable: list[PlacedLine]) -> Iterator[Readable]:
        for placed in candidates:
            try:
                yield placed, recording_of(self.production, placed)
            except Exception:  # told where the line itself is listened to, whatever it is; likewise below
                unreadable.append(placed)

    def _factor(self, used: list[Readable]) -> float | None:
        try:
            return voice_factor_of([(sound, one.line.text, self._settings(one)) for one, sound in used])
        except Exception:  # the search took too long, or a word cannot be spoken: each line finds its own
            return None

    def _matches(self, one: Readable, factor: float | None) -> bool:
        placed, recording = one
        try:
            heard = listen_to(recording, placed.line.text, self._settings(placed, factor))
        except Exception:
            return False
        self.heard[placed.line.id, factor] = heard
        return heard.mismatch is None

    def _settings(self, placed: PlacedLine, factor: float | None = None) -> LineSettings:
        return settings_of(self.production, placed.line, factor)
