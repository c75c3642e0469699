"""Puts the words, phonemes and cues of a line in time.

In: a recording, the tokens of its text, and the pronunciations of each of its words. Out: a `Breakdown`.
Conventions: times from the start of the recording's part; what lies between words and cues is silence.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.align.confidence import Doubt
from lipsync.align.cues import with_cues
from lipsync.align.mending import Examined, examined
from lipsync.align.own_voice import search_as_spoken
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.rejection import (
    LEAST_SUPPORT,
    check_rest,
    check_said,
    check_speech,
    check_speed,
    check_support,
    too_long,
)
from lipsync.align.search import AlignedWord
from lipsync.align.time_limit import OutOfPatienceError, patience
from lipsync.audio.cleaning import without_clicks, without_clipping, without_steady_noise
from lipsync.audio.recording import Recording, levels_db
from lipsync.errors import LineError
from lipsync.model import Breakdown, Phoneme, Word
from lipsync.phonemes import split_stress
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, Token

Pronunciations = Sequence[Pronunciation]


def align(
    recording: Recording,
    tokens: Sequence[Token],
    pronunciations: Sequence[Pronunciations],
    text: str,
    voice_factor: float | None = None,
    *,
    told: bool = False,
) -> Breakdown:
    """Return a line's breakdown.

    Args:
        recording: the sound.
        tokens: the text's words and cues.
        pronunciations: for each word, in order.
        text: the text as given.
        voice_factor: the character's; None to find it from this line.
        told: whether a person has listened and says that just this is said: refused only where it cannot be found.

    Raises:
        LineError: if the text is not found in the sound.
    """
    spoken = [token for token in tokens if isinstance(token, SpokenWord)]
    if not spoken:
        return Breakdown(text, recording.duration_us, with_cues(recording, tokens, []))
    line = _search(recording, pronunciations, voice_factor, told=told)
    if not told:
        check_said(recording, line)
    search = line.search
    found = zip(spoken, pronunciations, search.words, line.doubts, strict=True)
    parts = with_cues(recording, tokens, [_word(recording, *one) for one in found])
    if not told:
        check_rest(recording, parts)
    return Breakdown(text, recording.duration_us, parts, search.factor, search.effort)


def cleared(samples: Samples) -> Samples:
    """Return the samples as they are searched: without what is no voice."""
    return without_steady_noise(without_clicks(without_clipping(samples)))


def _search(
    recording: Recording, pronunciations: Sequence[Pronunciations], factor: float | None, *, told: bool
) -> Examined:
    check_speed(recording, pronunciations)
    if not told:
        check_speech(recording)
    bare = [[p.bare for p in said] for said in pronunciations]
    samples = cleared(recording.samples)
    try:
        with patience(recording.duration_us):
            search = search_as_spoken(samples, bare, factor, LEAST_SUPPORT)
            if not told:
                check_support(recording, search)
            return examined(samples, bare, search)
    except NotFoundError:
        raise LineError.one(
            recording.path, "text", "is not found in the recording; check that text and recording belong together"
        ) from None
    except OutOfPatienceError:
        raise too_long(recording) from None


def _word(recording: Recording, token: SpokenWord, said: Pronunciations, heard: AlignedWord, doubt: Doubt) -> Word:
    chosen = said[heard.pronunciation]
    spans = tuple(zip(heard.times_us, heard.times_us[1:], strict=False))
    phonemes = tuple(
        Phoneme(bare, *span, stress, level_db)
        for (bare, stress), span, level_db in zip(
            map(split_stress, chosen.symbols), spans, levels_db(recording, spans), strict=True
        )
    )
    return Word(token.text, phonemes, chosen.origin, doubt.confidence)
