"""A listener that says what it is told to say: what is remembered and what is told is tested without the engine."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from lipsync.align import line
from lipsync.align.line import VoiceLine
from lipsync.align.settings import LineSettings, VoiceProfile
from lipsync.app.hear import voice_finding
from lipsync.audio.recording import Recording
from lipsync.errors import LineError
from lipsync.model import Breakdown, Phoneme, Rejection, UntoldVoice, Word


@dataclass
class Listener:
    """Hears each text as one word from 10 to 400 ms.

    Attributes:
        asked: texts listened to, with the factor, in order.
        rejected: texts that do not match their sound.
        refused: texts that raise a LineError.
        untold: stretches of voice without text, by text.
        found: groups of texts that a voice factor was asked from.
        factors: the factors that are found, in order; the last stays.
        profiled: groups of texts that a voice profile was learned from.
    """

    asked: list[tuple[str, float | None]] = field(default_factory=list)
    rejected: set[str] = field(default_factory=set)
    refused: set[str] = field(default_factory=set)
    untold: dict[str, tuple[UntoldVoice, ...]] = field(default_factory=dict)
    found: list[tuple[str, ...]] = field(default_factory=list)
    factors: list[float] = field(default_factory=lambda: [1.1])
    profiled: list[tuple[str, ...]] = field(default_factory=list)

    def listen(self, recording: Recording, text: str, settings: LineSettings) -> Breakdown:
        factor = settings.voice.factor if settings.voice else settings.voice_factor
        self.asked.append((text, factor))
        if text in self.refused:
            raise LineError.one(recording.path, "text", "refused")
        word = Word(text.split()[0], (Phoneme("AH", 10_000, min(400_000, recording.duration_us), 1),), confidence=0.9)
        heard = Breakdown(text, recording.duration_us, (word,), voice_without_text=self.untold.get(text, ()))
        if text not in self.rejected:
            return heard
        return replace(heard, parts=(replace(word, confidence=0.1),), rejection=Rejection.NOT_SAID)

    def matches(self, line: VoiceLine, factor: float | None) -> bool:
        settings = line.settings if factor is None else replace(line.settings, voice=VoiceProfile(factor))
        return self.listen(line.recording, line.text, settings).rejection is None

    def factor_of(self, lines: Any) -> float:
        self.found.append(tuple(line.text for line in lines))
        return self.factors.pop(0) if len(self.factors) > 1 else self.factors[0]

    def profile_of(self, lines: Any, factor: float | None = None, *, known: int = 0) -> VoiceProfile:
        self.profiled.append(tuple(line.text for line in lines))
        return VoiceProfile(factor or 1.0)

    @property
    def texts(self) -> list[str]:
        return [text for text, _ in self.asked]


@pytest.fixture
def listener(monkeypatch: pytest.MonkeyPatch) -> Listener:
    made = Listener()
    monkeypatch.setattr(line, "listen_to", made.listen)
    monkeypatch.setattr(voice_finding, "matches", made.matches)
    monkeypatch.setattr(voice_finding, "voice_factor_of", made.factor_of)
    monkeypatch.setattr(voice_finding, "voice_profile_of", made.profile_of)
    return made


Edit = Callable[[str, str], None]
