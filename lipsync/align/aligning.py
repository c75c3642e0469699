"""Puts the words, phonemes and cues of a line in time.

In: a recording, the tokens of its text, and the pronunciations of each of its words. Out: always a `Breakdown`.
Where text and sound do not agree, the words are placed as well as possible, each word is doubtful, and `rejection`
says why. Times count from the start of the recording's part; what lies between words and cues is silence.

A line that does not agree with its text at the voice factor is searched again: at other factors, and without the
sound far before and far behind the voice. Of these searches, the one that agrees most gets the close look. Words that
no search finds are spread over the voice that is heard (`spreading.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from lipsync.align.acoustic_model import acoustic_model
from lipsync.align.coarse import Words
from lipsync.align.cues import with_cues
from lipsync.align.mending import Examined, examined, share_said
from lipsync.align.own_model import heard_by_own_model
from lipsync.align.own_voice import search_as_spoken
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.rejection import (
    LEAST_SAID,
    LEAST_SAID_AGAIN,
    LEAST_SUPPORT,
    agrees,
    holds_no_speech,
    is_too_fast,
    leaves_most_untold,
)
from lipsync.align.scored_sound import ScoredStretches
from lipsync.align.search import AlignedWord, find_words
from lipsync.align.settings import VoiceProfile
from lipsync.align.spreading import spread, voiced_spans
from lipsync.align.time_limit import OutOfPatienceError, patience
from lipsync.align.untold import untold_voice
from lipsync.audio.cleaning import without_clicks, without_clipping, without_steady_noise
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, levels_db
from lipsync.model import Breakdown, Phoneme, Rejection, Word
from lipsync.phonemes import split_stress
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, Token
from lipsync.timing import sample_of_us, us_of_sample

Pronunciations = Sequence[Pronunciation]

# Voice factors for lines that agreed at none tried before: the factors of most voices, and that of a falsetto.
RETRIED_FACTORS = (1.0, 1.2, 0.87, 1.35)
LONGEST_RETRIED_US = 30_000_000  # chosen: each search costs time, and a longer line has enough words to agree at once
ALIKE = 0.03  # chosen: two factors whose ratio is nearer to 1 than this are one voice
AROUND_US = 150_000  # chosen: how much sound is kept before and behind the voice
MOST_CONFIDENCE = 0.25  # chosen: the highest confidence that a word of a rejected line can have


@dataclass(frozen=True, slots=True)
class LaidLine:
    """A line's words, each where it was placed.

    Attributes:
        words: in the order of the text.
        confidences: how sure each word is, 0 to 1.
        factor: the voice factor.
        effort: which step of the ladder of searches found the words.
        rejection: why text and sound do not agree; None if they agree.
        inserted: where something is said that the text does not have, as (start, end) in microseconds.
    """

    words: tuple[AlignedWord, ...]
    confidences: tuple[float, ...]
    factor: float
    effort: str
    rejection: Rejection | None = None
    inserted: tuple[tuple[int, int], ...] = ()


def align(
    recording: Recording,
    tokens: Sequence[Token],
    pronunciations: Sequence[Pronunciations],
    text: str,
    voice_factor: float | None = None,
    *,
    told: bool = False,
    voice: VoiceProfile | None = None,
) -> Breakdown:
    """Return a line's breakdown.

    Args:
        recording: the sound.
        tokens: the text's words and cues.
        pronunciations: the ways to say each word, in order.
        text: the text as given.
        voice_factor: the character's; None to find it from this line.
        told: whether a person has listened and says that exactly this text is said. The line is then rejected only if
            the text cannot be found in it.
        voice: what is known of the character's voice; it is used unless `voice_factor` is another factor.

    Raises:
        LineError: if the recording has fewer microseconds than the text has phonemes.
    """
    spoken = [token for token in tokens if isinstance(token, SpokenWord)]
    profile = _profile(voice_factor, voice)
    line = _laid(recording, pronunciations, profile, told=told) if spoken else LaidLine((), (), 1.0, "plain")
    words = zip(spoken, pronunciations, line.words, line.confidences, strict=True)
    parts = with_cues(recording, tokens, [_word(recording, *word) for word in words])
    rejection = line.rejection
    if spoken and not told and rejection is None and leaves_most_untold(recording, parts):
        rejection = Rejection.TOO_SHORT
        parts = tuple(_doubted(part) if isinstance(part, Word) else part for part in parts)
    untold = untold_voice(recording, parts, line.inserted)
    return Breakdown(text, recording.duration_us, parts, line.factor, line.effort, rejection, untold)


def cleared(samples: Samples) -> Samples:
    """Return the samples as they are searched: without clipping, clicks and steady noise."""
    return without_steady_noise(without_clicks(without_clipping(samples)))


def _profile(factor: float | None, voice: VoiceProfile | None) -> VoiceProfile | None:
    """Return what is known of a line's voice; a factor of the line's own counts before the character's profile."""
    if factor is None or (voice is not None and abs(factor / voice.factor - 1) < ALIKE):
        return voice
    return VoiceProfile(factor)


def _laid(
    recording: Recording, pronunciations: Sequence[Pronunciations], voice: VoiceProfile | None, *, told: bool
) -> LaidLine:
    """Return the words of a line in time, and why text and sound do not agree if they do not."""
    factor = voice.factor if voice else None
    bare = [[p.bare for p in said] for said in pronunciations]
    if is_too_fast(recording, pronunciations):
        return _spread(recording, bare, factor, Rejection.TOO_FAST)
    if not told and holds_no_speech(recording):
        return _spread(recording, bare, factor, Rejection.NO_SPEECH)
    best: Examined | None = None
    try:
        with patience(recording.duration_us):
            for number, line in enumerate(_attempts(recording, bare, voice)):
                if told or agrees(line, LEAST_SAID_AGAIN if number else LEAST_SAID):
                    return _found(line, None)
                if best is None or share_said(line) > share_said(best):
                    best = line
    except OutOfPatienceError:
        if best is None:
            return _spread(recording, bare, factor, Rejection.STOPPED)
    if best is None:
        return _spread(recording, bare, factor, Rejection.NOT_FOUND)
    return _found(best, Rejection.NOT_SAID)


def _attempts(recording: Recording, words: Words, voice: VoiceProfile | None) -> Iterator[Examined]:
    """Yield one alignment of a line after the other: of the whole sound, then of its voiced part at more factors."""
    samples = cleared(recording.samples)
    factor = voice.factor if voice else None
    transform = np.array(voice.transform) if voice and voice.transform else None
    model = None if transform is None else acoustic_model().moved(transform)
    factors: tuple[float | None, ...] = (factor,)  # if the search below fails, it has tried the other factors already
    with suppress(NotFoundError):
        search = search_as_spoken(samples, words, factor, LEAST_SUPPORT, model)
        known = search.factor == factor
        factors = (factor, *RETRIED_FACTORS)
        if holds_no_speech(recording):
            # There is no voice to adapt the model to; adapted to noise, it would fit any text.
            yield examined(ScoredStretches(samples), words, search)
            return
        yield heard_by_own_model(samples, words, search, transform if known else None, model if known else None)
    if recording.duration_us > LONGEST_RETRIED_US:
        return
    start_us, end_us = _voice_of(recording)
    part = samples[sample_of_us(start_us, RATE_HZ) : sample_of_us(end_us, RATE_HZ)]
    part_start_us = us_of_sample(sample_of_us(start_us, RATE_HZ), RATE_HZ)
    looks: list[Examined] = []
    for tried in factors:
        with suppress(NotFoundError):
            search = find_words(part, words, tried, model if tried == factor else None)
            looks.append(examined(ScoredStretches(part), words, search, mended_from=math.inf))
    if looks:
        search = max(looks, key=share_said).search
        known = search.factor == factor
        line = heard_by_own_model(part, words, search, transform if known else None, model if known else None)
        yield _later(line, part_start_us)


def _voice_of(recording: Recording) -> tuple[int, int]:
    """Return where the first voice begins and the last one ends, with `AROUND_US` more on both sides."""
    spans = voiced_spans(recording)
    start_us, end_us = max(0, spans[0][0] - AROUND_US), min(recording.duration_us, spans[-1][1] + AROUND_US)
    return start_us, end_us


def _later(line: Examined, by_us: int) -> Examined:
    """Return a line that was found in a part of the recording, with its times counted from the whole's start."""
    words = tuple(
        replace(word, times_us=tuple(time_us + by_us for time_us in word.times_us)) for word in line.search.words
    )
    inserted = tuple((start_us + by_us, end_us + by_us) for start_us, end_us in line.inserted)
    return replace(line, search=replace(line.search, words=words, effort="wider"), inserted=inserted)


def _found(line: Examined, rejection: Rejection | None) -> LaidLine:
    """Return a line that a search found; if it is rejected, each of its words is made doubtful."""
    values = [judged.confidence for judged in line.confidences]
    if rejection is not None:
        values = [min(value, MOST_CONFIDENCE) for value in values]
    search = line.search
    inserted = line.inserted if rejection is None else ()
    return LaidLine(search.words, tuple(values), search.factor, search.effort, rejection, inserted)


def _spread(recording: Recording, words: Words, factor: float | None, rejection: Rejection) -> LaidLine:
    """Return a line that no search found, its words spread over the voice, in their first pronunciations."""
    laid = [AlignedWord(0, edges, 0.0, 1) for edges in spread(recording, [ways[0] for ways in words])]
    return LaidLine(tuple(laid), (0.0,) * len(laid), factor or 1.0, "spread", rejection)


def _doubted(word: Word) -> Word:
    return replace(word, confidence=min(word.confidence or 0.0, MOST_CONFIDENCE))


def _word(
    recording: Recording, token: SpokenWord, said: Pronunciations, heard: AlignedWord, confidence: float
) -> Word:
    """Return a word of a breakdown, from where it was heard and the pronunciation that was heard."""
    chosen = said[heard.pronunciation]
    spans = tuple(zip(heard.times_us, heard.times_us[1:], strict=False))
    phonemes = tuple(
        Phoneme(bare, *span, stress, level_db)
        for (bare, stress), span, level_db in zip(
            map(split_stress, chosen.symbols), spans, levels_db(recording, spans), strict=True
        )
    )
    return Word(token.text, phonemes, chosen.origin, confidence)
