"""Puts the words, phonemes and cues of a line in time.

In: a recording, the tokens of its text, and the pronunciations of each of its words. Out: a `Breakdown`.
Conventions: times from the start of the recording's part; what lies between words and cues is silence.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.errors import LineError
from lipsync.listen.align_pocketsphinx import NotFoundError
from lipsync.listen.cues import place_cues
from lipsync.listen.derive import Pronunciation
from lipsync.listen.recording import Recording, level_db
from lipsync.listen.script import CueToken, SpokenWord, Token
from lipsync.listen.search import Heard, find_words
from lipsync.listen.voice import find_factor
from lipsync.model import Breakdown, Part, Phoneme, Word
from lipsync.phonemes import split_stress
from lipsync.timing import US_PER_S, seconds_of

FASTEST_PER_S = 25  # chosen: fast talk is about 15 phonemes a second, a shortest phoneme three ticks
LEAST_GAP_US = 40_000  # chosen: what a cue takes from a word where the words leave no gap

Pronunciations = tuple[Pronunciation, ...]


def align(
    recording: Recording,
    tokens: Sequence[Token],
    pronunciations: Sequence[Pronunciations],
    text: str = "",
    voice_factor: float | None = None,
) -> Breakdown:
    """Return a line's breakdown.

    Args:
        recording: the sound.
        tokens: the text's words and cues.
        pronunciations: for each word, in order.
        text: the text as given.
        voice_factor: the character's; None to find it from this line.

    Raises:
        LineError: if the text is not found in the sound.
    """
    spoken = [token for token in tokens if isinstance(token, SpokenWord)]
    if not spoken:
        names = [token.name for token in tokens if isinstance(token, CueToken)]
        return Breakdown(text, recording.duration_us, place_cues(recording, (0, recording.duration_us), names))
    _check_speed(recording, pronunciations)
    bare = [[p.bare for p in said] for said in pronunciations]
    factor = voice_factor or find_factor([(recording.samples, bare)])
    try:
        search = find_words(recording.samples, bare, factor, recording.duration_us)
    except NotFoundError:
        raise LineError.one(
            recording.path, "text", "was not found in the recording; check that this is the right text and recording"
        ) from None
    words = [
        _word(recording, token, said, heard)
        for token, said, heard in zip(spoken, pronunciations, search.words, strict=True)
    ]
    parts = _with_cues(recording, tokens, words)
    return Breakdown(text, recording.duration_us, parts, search.factor, search.effort)


def _check_speed(recording: Recording, pronunciations: Sequence[Pronunciations]) -> None:
    least = sum(min(len(p.symbols) for p in said) for said in pronunciations)
    if least * US_PER_S > FASTEST_PER_S * recording.duration_us:
        raise LineError.one(
            recording.path,
            "text",
            f"has at least {least} phonemes for {seconds_of(recording.duration_us)} s; nobody says more than"
            f" {FASTEST_PER_S} in a second; check the text, and in and out",
        )


def _word(recording: Recording, token: SpokenWord, said: Pronunciations, heard: Heard) -> Word:
    chosen = said[heard.pronunciation]
    phonemes = []
    for symbol, start_us, end_us in zip(chosen.symbols, heard.times_us, heard.times_us[1:], strict=False):
        bare, stress = split_stress(symbol)
        phonemes.append(Phoneme(bare, start_us, end_us, stress, level_db(recording, start_us, end_us)))
    return Word(token.text, tuple(phonemes), chosen.origin)


def _with_cues(recording: Recording, tokens: Sequence[Token], words: list[Word]) -> tuple[Part, ...]:
    parts: list[Part] = []
    waiting: list[str] = []
    coming = iter(words)
    reached_us = 0
    for token in tokens:
        if isinstance(token, CueToken):
            waiting.append(token.name)
            continue
        word = next(coming)
        parts += place_cues(recording, (reached_us, word.start_us), waiting)
        waiting = []
        parts.append(word)
        reached_us = word.end_us
    parts += place_cues(recording, (reached_us, recording.duration_us), waiting)
    return tuple(parts)
