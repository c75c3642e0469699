"""A sound as an acoustic model scores it, tick by tick: what every judgement of its words begins with.

In: samples, the voice factor, and a model. Out: the log likelihood of each phone at each tick of 10 ms of the slowed
sound. Scoring is most of the work of judging a line, so a sound is scored once for all who ask.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from lipsync.align.acoustic_model import PHONES, AcousticModel, Densities, Floats, Terms, terms_of
from lipsync.align.recogniser import Samples
from lipsync.align.voice import slowed
from lipsync.audio.features import PER_TICK, RATE_HZ, features_of, mel_powers
from lipsync.timing import sample_of_us, us_of_sample


@dataclass(frozen=True, eq=False)
class SlowedSound:
    """A sound as it is scored, and its features, which are found when they are first asked for.

    Attributes:
        samples: one channel, 16 kHz, 16 bits.
        factor: by how much the sound is slowed.
    """

    samples: Samples
    factor: float

    @cached_property
    def features(self) -> Floats:
        """The features of the slowed sound, a row for each tick."""
        return features_of(mel_powers(slowed(self.samples, self.factor)))[::PER_TICK]


@dataclass(frozen=True, eq=False)
class ScoredSound:
    """A sound and its scores, each of which is found when it is first asked for.

    Attributes:
        sound: what is scored.
        model: scores it.
    """

    sound: SlowedSound
    model: AcousticModel
    _densities: dict[str, Densities] = field(default_factory=dict, init=False, repr=False)

    @property
    def samples(self) -> Samples:
        """The sound as it was recorded."""
        return self.sound.samples

    @property
    def factor(self) -> float:
        """By how much it is slowed."""
        return self.sound.factor

    @cached_property
    def terms(self) -> Terms:
        """The terms of the features, a row for each tick."""
        return terms_of(self.sound.features)

    @property
    def ticks(self) -> int:
        """How many ticks the slowed sound has."""
        return len(self.sound.features)

    def densities(self, phone: str) -> Densities:
        """Return the densities of a phone's Gaussians at each tick."""
        if phone not in self._densities:
            self._densities[phone] = self.model.densities(self.terms, phone)
        return self._densities[phone]

    @cached_property
    def alone(self) -> Floats:
        """The log likelihoods of all `PHONES` without regard to their neighbours, of shape (tick, phone, state)."""
        return self.model.alone(self.densities(phone) for phone in PHONES)


class ScoredStretches:
    """The sound of a line, whose stretches are scored; the last one is kept, for it is mostly asked for again."""

    def __init__(self, samples: Samples) -> None:
        self.samples = samples
        self._span: tuple[int, int] | None = None
        self._last: ScoredSound | None = None

    @property
    def duration_us(self) -> int:
        """How long the line is."""
        return us_of_sample(len(self.samples), RATE_HZ)

    def _sound(self, start_us: int, end_us: int, factor: float) -> SlowedSound:
        """Return a stretch of the line, given in microseconds, at a voice factor."""
        if self._last is not None and self._span == (start_us, end_us) and self._last.factor == factor:
            return self._last.sound
        begin, end = (sample_of_us(time_us, RATE_HZ) for time_us in (start_us, end_us))
        return SlowedSound(self.samples[begin:end], factor)

    def of(self, start_us: int, end_us: int, factor: float, model: AcousticModel) -> ScoredSound:
        """Return a stretch of the line, given in microseconds, scored by a model at a voice factor."""
        sound = self._sound(start_us, end_us, factor)
        if self._last is None or self._last.sound is not sound or self._last.model is not model:
            self._span, self._last = (start_us, end_us), ScoredSound(sound, model)
        return self._last
