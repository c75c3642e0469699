"""Finds a character's voice from those of its first lines whose sound and text match.

In: a production and the character's lines in order. Out: the voice profile, the lines that it was found from, and the
lines that were passed over. A line that does not match its text under the factor that it helped to find is passed
over: the next line takes its place, and the factor is found again. One that a person has checked matches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from lipsync.align.line import VoiceLine, matches, voice_factor_of, voice_profile_of
from lipsync.align.settings import VoiceProfile
from lipsync.app.heard import PlacedLine
from lipsync.app.line_settings import Carried, recording_of, settings_of
from lipsync.app.voices import FROM_LINES, MOST_TRIED, LineFits, VoiceFound, VoiceTask
from lipsync.production.values import Production

# A factor found anew that is nearer than this to the one before is the same (chosen: a fifth of a search step).
_ALIKE = 0.03

Readable = tuple[PlacedLine, VoiceLine]


def find_voice(task: VoiceTask) -> VoiceFound:
    """Return the voice found from a character's lines."""
    known = frozenset(placed.key for placed in task.candidates[: task.checked])
    finding = VoiceFinding(task.production, known, task.before, task.unchanged, task.fits, task.carried)
    return finding.find(task.candidates, task.by_hand)


@dataclass(frozen=True, slots=True)
class VoiceFinding:
    """Finds the voices of a production's characters.

    Attributes:
        production: the production.
        known: the keys of lines that a person has checked.
        before: what was known of the voice until now; None if nothing was.
        unchanged: the keys of the lines that this was found from and that are the same still.
        fits: how well lines fit at voice factors, by their keys, as far as it is known.
        carried: what recordings hold that came along; they are not read.
    """

    production: Production
    known: frozenset[str] = frozenset()
    before: VoiceProfile | None = None
    unchanged: frozenset[str] = frozenset()
    fits: LineFits = field(default_factory=dict)
    carried: Carried = field(default_factory=dict)

    def find(self, candidates: tuple[PlacedLine, ...], factor: float | None) -> VoiceFound:
        """Return the voice found from a character's lines; `factor` is the voice factor, if it is set by hand."""
        nearest = _ALIKE if factor is None else 0.0
        passed_over: list[PlacedLine] = []
        readable = self._readable(candidates[:MOST_TRIED], passed_over)
        if factor is None:
            factor, used = self._factor(readable, passed_over)
            if factor is None and not used:
                return VoiceFound(None, (), (), tuple(passed_over))
        else:
            used = list(islice(readable, FROM_LINES))
        more = list(readable)
        lines = [*used, *more]
        profile = self.before if self._as_before(lines, factor, nearest) else self._profile(lines, factor)
        own, others = (tuple(placed for placed, _ in lines) for lines in (used, more))
        return VoiceFound(profile, own, others, tuple(passed_over), {placed.key: line.fits for placed, line in lines})

    def _as_before(self, lines: list[Readable], factor: float | None, nearest: float) -> bool:
        """Whether the voice is what was known: about the same factor, and most of its lines are unchanged."""
        if self.before is None or factor is None:
            return False
        alike = abs(math.log(factor / self.before.factor)) <= nearest
        return alike and 2 * sum(placed.key in self.unchanged for placed, _ in lines) > len(lines)

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

    def _readable(self, candidates: tuple[PlacedLine, ...], unreadable: list[PlacedLine]) -> Iterator[Readable]:
        for placed in candidates:
            try:
                sound = recording_of(self.production, placed, self.carried)
                fits = dict(self.fits.get(placed.key, {}))
                yield placed, VoiceLine(sound, placed.line.text, settings_of(self.production, placed.line), fits)
            except Exception:  # told where the line itself is listened to, whatever it is; likewise below
                unreadable.append(placed)

    def _factor_of(self, used: list[Readable]) -> float | None:
        try:
            return voice_factor_of([line for _, line in used])
        except Exception:  # such as a word that cannot be spoken: each line finds its own
            return None

    def _profile(self, lines: list[Readable], factor: float | None) -> VoiceProfile | None:
        try:
            known_first = sorted(lines, key=lambda one: one[0].key not in self.known)
            known = sum(one[0].key in self.known for one in lines)
            return voice_profile_of([line for _, line in known_first], factor, known=known)
        except Exception:
            return None if factor is None else VoiceProfile(factor)

    def _matches(self, one: Readable, factor: float | None) -> bool:
        placed, line = one
        if placed.key in self.known:
            return True
        try:
            return matches(line, factor)
        except Exception:
            return False
