"""Finds a character's voice from those of its first lines whose sound and text match.

In: a production and the character's lines in order. Out: the voice profile, the lines that it was found from, and the
lines that were passed over. A line that does not match its text under the factor that it helped to find is passed
over: the next line takes its place, and the factor is found again. One that a person has checked matches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from lipsync.align.line import VoiceLine, matches, voice_factor_of, voice_profile_of
from lipsync.align.settings import VoiceProfile
from lipsync.app.hear.heard import PlacedLine
from lipsync.app.hear.line_settings import recording_of, settings_of
from lipsync.app.hear.voices import FROM_LINES, MOST_TRIED, VoiceFound, VoiceTask

# A factor found anew that is nearer than this to the one before is the same (chosen: a fifth of a search step).
_ALIKE = 0.03

Readable = tuple[PlacedLine, VoiceLine]


def find_voice(task: VoiceTask) -> VoiceFound:
    """Return the voice found from a character's lines."""
    return VoiceFinding(task).find()


@dataclass(frozen=True, slots=True)
class VoiceFinding:
    """Finds the voice of a character; `task` is all that is known."""

    task: VoiceTask

    def find(self) -> VoiceFound:
        """Return the voice found from the character's lines."""
        factor = self.task.by_hand
        passed_over: list[PlacedLine] = []
        readable = self._readable(passed_over)
        if factor is None:
            factor, used = self._factor(readable, passed_over)
            if factor is None and not used:
                return VoiceFound(None, (), (), tuple(passed_over))
        else:
            used = list(islice(readable, FROM_LINES))
        more = list(readable)
        lines = [*used, *more]
        profile = self.task.before if self._is_as_before(lines, factor) else self._profile(lines, factor)
        own, others = (tuple(placed for placed, _ in lines) for lines in (used, more))
        return VoiceFound(profile, own, others, tuple(passed_over), {placed.key: line.fits for placed, line in lines})

    def _is_as_before(self, lines: list[Readable], factor: float | None) -> bool:
        """Whether the voice is what was known: about the same factor, and most of its lines are unchanged."""
        before, nearest = self.task.before, _ALIKE if self.task.by_hand is None else 0.0
        if before is None or factor is None or abs(math.log(factor / before.factor)) > nearest:
            return False
        return 2 * sum(placed.key in self.task.unchanged for placed, _ in lines) > len(lines)

    def _factor(
        self, readable: Iterator[Readable], passed_over: list[PlacedLine]
    ) -> tuple[float | None, list[Readable]]:
        """Return the factor and the lines that it was found from; None and no lines if no line matches its text."""
        used: list[Readable] = []
        while used := [*used, *islice(readable, FROM_LINES - len(used))]:
            factor = self._factor_of(used)
            matching = [one for one in used if self._matches(one, factor)]
            if len(matching) == len(used):
                return factor, used
            passed_over += [one[0] for one in used if one not in matching]
            used = matching
        return None, []

    def _readable(self, unreadable: list[PlacedLine]) -> Iterator[Readable]:
        production = self.task.production
        for placed in self.task.candidates[:MOST_TRIED]:
            try:
                sound = recording_of(production, placed, self.task.carried)
                fits = dict(self.task.fits.get(placed.key, {}))
                yield placed, VoiceLine(sound, placed.line.text, settings_of(production, placed.line), fits)
            except Exception:  # told where the line itself is listened to, whatever it is; likewise below
                unreadable.append(placed)

    def _is_checked(self, placed: PlacedLine) -> bool:
        return placed in self.task.candidates[: self.task.checked]

    def _factor_of(self, used: list[Readable]) -> float | None:
        try:
            return voice_factor_of([line for _, line in used])
        except Exception:  # such as a word that cannot be spoken: each line finds its own
            return None

    def _profile(self, lines: list[Readable], factor: float | None) -> VoiceProfile | None:
        try:
            known_first = sorted(lines, key=lambda one: not self._is_checked(one[0]))
            known = sum(self._is_checked(placed) for placed, _ in lines)
            return voice_profile_of([line for _, line in known_first], factor, known=known)
        except Exception:
            return None if factor is None else VoiceProfile(factor)

    def _matches(self, one: Readable, factor: float | None) -> bool:
        placed, line = one
        if self._is_checked(placed):
            return True
        try:
            return matches(line, factor)
        except Exception:
            return False
