"""Finds a line again where a word is not what is said, or more is said than the text has.

In: the sound, the pronunciations of each word, and their alignment. Out: the alignment as it then stands, the
`Confidence` of each word, and where something is said that no word tells of.

A word that nobody said takes room from its neighbours. One said twice, or one that the text does not have, leaves a
stretch that they spread into. So where a word is all but surely wrong, its stretch is searched again with, in its
place, the phonemes that are heard there, or none, or the word twice, whichever fits best (`competing_paths.py`);
and where phonemes between two words fit far better than none, with those. A wrong word then lies over what is heard
there; of two sayings it is the better one; where nothing is heard it lies between its neighbours, short. How sure it
is stays as it was; the others are judged anew.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.align.acoustic_model import AcousticModel, acoustic_model
from lipsync.align.coarse import Words
from lipsync.align.competing_paths import ENTRY_PRICE, Symbols
from lipsync.align.confidence import Confidence, confidences
from lipsync.align.evidence import Evidence, FoundWord, WordRange, WordSpan, stretches_of
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.search import AlignedWord, Alignment, find_words, refined
from lipsync.align.word_places import places_of
from lipsync.audio.features import RATE_HZ
from lipsync.phonemes import VOWELS
from lipsync.timing import US_PER_S, us_of_sample

# Chosen: share of a stretch that is what is said. Where it is less, there is nothing to mend from, and searches cost.
MENDED_FROM = 0.3
MOST_MENDED = 4  # words and gaps of a stretch; chosen: each costs another search
UNSAID = 0.2  # chosen: only a word less likely said is mended
LEAST_GAIN = 45.0  # chosen: natural units; nor unless another way is so much likelier: with 30, noise misleads
MOST_REFUSED = 1  # chosen: searches that better nothing, after which no gap is filled any more
# Chosen on synthesised lines: natural units that phonemes between two words have to gain, and by how much the other
# words have to be better supported for it: the end of a long vowel is gained by as much, and betters nothing.
LEAST_INSERTED, LEAST_RISE = 30.0, 0.15
NO_WORSE = 0.3  # chosen: by so much the support of the other words may fall
STILL_US = 20_000  # chosen: by so much a word may move and is still called unmoved

# Sounds in which a line's last word can be held or die away: nothing but these behind it is no word more.
HELD = VOWELS | {"R", "L", "W", "Y", "M", "N", "NG", "HH"}

MOST_HELD = 2  # phonemes, one of them a vowel beside a vowel of the text; chosen: more of them are a word

Entry = Sequence[Symbols]  # the pronunciations of one word to be searched for
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Models:
    """The acoustic model by which words were placed, and the one by which they are judged."""

    placing: AcousticModel
    judging: AcousticModel


@dataclass(frozen=True, slots=True)
class Item:
    """One of the words that are searched for: `place` in the text, or None for what the text does not have."""

    place: int | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class Examined:
    """A line as it stands, how sure each of its words is, and where something is said that the text does not have."""

    search: Alignment
    confidences: tuple[Confidence, ...]
    inserted: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class Judged:
    """Items where they were found, and what is told of each: the state from which a stretch is mended."""

    items: tuple[Item, ...]
    found: tuple[AlignedWord, ...]
    span: WordSpan
    evidence: tuple[Evidence, ...]
    confidences: tuple[Confidence, ...]

    def of(self, place: int) -> list[AlignedWord]:
        """Return what was found in place of a word of the text."""
        return [word for item, word in zip(self.items, self.found, strict=True) if item.place == place]

    def others(self, wrong: Container[int]) -> list[AlignedWord]:
        """Return the words of the text that are not wrong."""
        both = zip(self.items, self.found, strict=True)
        return [word for item, word in both if item.place is not None and item.place not in wrong]

    @property
    def inserted(self) -> list[Span]:
        """Where something is said that the text does not have."""
        both = zip(self.items, self.found, strict=True)
        return [(word.times_us[0], word.times_us[-1]) for item, word in both if item.place is None]


def share_said(line: Examined) -> float:
    """Return how much of a line is what is said, 0 to 1; long words count more."""
    return _share(line.search.words, line.confidences)


def _share(words: Sequence[AlignedWord], confidences: Sequence[Confidence]) -> float:
    lengths = [word.times_us[-1] - word.times_us[0] for word in words]
    return sum(one.said * length for one, length in zip(confidences, lengths, strict=True)) / sum(lengths)


def examined(
    samples: Samples,
    words: Words,
    search: Alignment,
    models: Models | None = None,
    *,
    mended_from: float = MENDED_FROM,
) -> Examined:
    """Return an alignment with its confidences under a model, mended where a word is not what is said.

    Args:
        samples: the sound.
        words: the pronunciations of each word.
        search: their alignment.
        models: the recogniser's own if None.
        mended_from: a stretch of which less is what is said stays as it is.
    """
    spans = [(heard.times_us[0], heard.times_us[-1]) for heard in search.words]
    found: list[AlignedWord] = []
    judged: list[Confidence] = []
    inserted: list[Span] = []
    for stretch in stretches_of(spans, us_of_sample(len(samples), RATE_HZ)):
        own = slice(stretch.first, stretch.end)
        part = _examine(
            _sound(samples, stretch),
            words[own],
            [_moved(one, -stretch.start_us) for one in search.words[own]],
            search.factor,
            models or Models(acoustic_model(), acoustic_model()),
            mended_from,
        )
        found += [_moved(one, stretch.start_us) for one in part.search.words]
        judged += part.confidences
        inserted += [(start_us + stretch.start_us, end_us + stretch.start_us) for start_us, end_us in part.inserted]
    return Examined(replace(search, words=tuple(found)), tuple(judged), tuple(inserted))


def _sound(samples: Samples, stretch: WordRange) -> Samples:
    return samples[stretch.start_us * RATE_HZ // US_PER_S : stretch.end_us * RATE_HZ // US_PER_S]


def _moved(heard: AlignedWord, by_us: int) -> AlignedWord:
    return replace(heard, times_us=tuple(time_us + by_us for time_us in heard.times_us))


def _examine(
    sound: Samples,
    words: Words,
    found: Sequence[AlignedWord],
    factor: float,
    models: Models,
    mended_from: float,
) -> Examined:
    """Return the words of a stretch as they stand."""
    state = _judged(sound, [Item(place, word) for place, word in enumerate(words)], found, factor, models.judging)
    mended: dict[int, tuple[Confidence, AlignedWord]] = {}
    tried: set[Symbols] = set()
    refused = 0
    for _ in range(MOST_MENDED if _share(state.found, state.confidences) >= mended_from else 0):
        gap = None if refused >= MOST_REFUSED else _gap_to_fill(state, tried)
        place = _word_to_mend(state, mended)
        if gap is not None and (place is None or gap[0] >= place[0]):
            _, at, heard = gap
            tried.add(heard)
            changed = [*state.items[:at], Item(None, (heard,)), *state.items[at:]]
        elif place is not None:
            _, at = place
            own = state.items[at].place
            assert own is not None
            mended[own] = state.confidences[at], state.found[at]
            changed = [*state.items[:at], *_instead(state, at), *state.items[at + 1 :]]
        else:
            break
        if not changed:
            continue
        try:
            again = _found_again(sound, changed, factor, models.placing)
        except NotFoundError:
            continue
        other = _judged(sound, changed, again, factor, models.judging)
        filled = len(other.inserted) > len(state.inserted)
        better = _rise(state.others(mended), other.others(mended))
        if filled:
            said = better >= LEAST_RISE and _gained(other, at) >= LEAST_INSERTED
        else:
            said = better >= -NO_WORSE and _is_moved(state.others(mended), other.others(mended))
        if said:
            state = other
        else:
            refused += 1
    if not mended:
        by_place = {item.place: k for k, item in enumerate(state.items)}
        laid = [state.found[by_place[place]] for place in range(len(words))]
        sure = [state.confidences[by_place[place]] for place in range(len(words))]
    else:
        laid, sure = _laid(state, words, mended, us_of_sample(len(sound), RATE_HZ))
    return Examined(Alignment(tuple(laid), factor, "plain"), tuple(sure), tuple(state.inserted))


def _found_again(
    sound: Samples, items: Sequence[Item], factor: float, model: AcousticModel
) -> tuple[AlignedWord, ...]:
    """Return items in time, under a model that is adapted to the line: as the line was laid, the plain one first."""
    entries = [item.entry for item in items]
    return refined(sound, entries, find_words(sound, entries, factor).rough, factor, model).words


def _laid(
    state: Judged, words: Words, mended: Mapping[int, tuple[Confidence, AlignedWord]], duration_us: int
) -> tuple[list[AlignedWord], list[Confidence]]:
    """Return the words of the text where they stand, some of them wrong."""
    items = {place: [item.entry for item in state.items if item.place == place] for place in range(len(words))}
    first = {place: heard for place, (_, heard) in mended.items() if items[place] != [words[place]]}
    laid = places_of([len(word[0]) for word in words], [state.of(k) for k in range(len(words))], first, duration_us)
    judged = {item.place: one for item, one in zip(state.items, state.confidences, strict=True)}
    return laid, [mended[k][0] if k in mended else judged[k] for k in range(len(words))]


def _rise(before: Sequence[AlignedWord], after: Sequence[AlignedWord]) -> float:
    """Return by how much the other words are better supported than before, a tick."""
    # Each counts by its length before: squeezed to nothing it would hardly count.
    both = zip(before, after, strict=True)
    return sum(one.ticks * (other.support - one.support) for one, other in both) / max(
        1, sum(w.ticks for w in before)
    )


def _is_moved(before: Sequence[AlignedWord], after: Sequence[AlignedWord]) -> bool:
    """Return whether any of the other words lies elsewhere than before."""
    both = zip(before, after, strict=True)
    moves = [abs(one.times_us[end] - other.times_us[end]) for one, other in both for end in (0, -1)]
    return max(moves, default=0) > STILL_US


def _gained(state: Judged, at: int) -> float:
    """Return what is gained by what was inserted there, where it now lies, less the price of its phonemes."""
    return -state.evidence[at].left_out - ENTRY_PRICE * len(state.items[at].entry[0])


def _judged(
    sound: Samples, items: Sequence[Item], found: Sequence[AlignedWord], factor: float, model: AcousticModel
) -> Judged:
    placed = [
        FoundWord(item.entry[heard.pronunciation], heard.times_us) for item, heard in zip(items, found, strict=True)
    ]
    span = WordSpan(sound, factor, placed, model)
    evidence = tuple(span.evidence())
    judged = confidences([one.symbols for one in placed], evidence)
    return Judged(tuple(items), tuple(found), span, evidence, tuple(judged))


def _word_to_mend(state: Judged, mended: Container[int]) -> tuple[float, int] | None:
    """Return what is gained by another way to say a word that is hardly said, and which item it is; the most."""
    gains = [
        (max(told.otherwise, told.left_out, told.twice), at)
        for at, (item, told, sure) in enumerate(zip(state.items, state.evidence, state.confidences, strict=True))
        if item.place is not None and item.place not in mended and sure.said < UNSAID
    ]
    gain, at = max(gains, default=(0.0, -1))
    return (gain, at) if gain >= LEAST_GAIN else None


def _gap_to_fill(state: Judged, tried: Container[Symbols]) -> tuple[float, int, Symbols] | None:
    """Return before which item most is said that the text does not have: what it gains, and its phonemes."""
    gains = state.span.inserted
    for at in sorted(range(len(gains)), key=lambda gap: -gains[gap]):
        if gains[at] < LEAST_INSERTED:
            break
        heard = state.span.heard_between(at)
        if heard and heard not in tried and not _is_held(state, at, heard):
            return float(gains[at]), at, heard
    return None


def _is_held(state: Judged, at: int, heard: Symbols) -> bool:
    """Return whether what is heard before an item is a sound of the text, held: its last, or an "um" drawn out."""
    if at == len(state.items):
        return HELD.issuperset(heard)
    before, after = ([one.symbols for one in state.span.words[part]] for part in (slice(at), slice(at, None)))
    into = heard[-1] in VOWELS and after[0][0] in VOWELS
    out_of = bool(before) and heard[0] in VOWELS and before[-1][-1] in VOWELS
    return len(heard) <= MOST_HELD and (into or out_of)


def _instead(state: Judged, at: int) -> list[Item]:
    """Return what is searched for in a word's place: itself twice, what is heard there, or nothing."""
    item, told = state.items[at], state.evidence[at]
    if told.twice >= max(told.otherwise, told.left_out):
        return [item, item]
    heard = state.span.lattice.heard_instead(at)
    return [Item(item.place, (heard,))] if heard else []
