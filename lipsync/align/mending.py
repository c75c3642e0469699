"""Searches a line again where a word was not said, or where more was said than the text has.

In: the sound, the pronunciations of each word, and their alignment. Out: the mended alignment, the `Confidence` of
each word, and where something is said that the text does not have.

A word that nobody said takes room from its neighbours. A word that was said twice, or that the text does not have,
leaves room into which its neighbours spread. So if a word was almost certainly not said, its stretch is searched
again with something else in its place: the phonemes that are heard there, or nothing, or the word twice, whichever
fits best (`competing_paths.py`). And if phonemes between two words fit far better than nothing, the stretch is
searched with these phonemes there.

Then a wrong word is put over what is heard in its place. Of a word said twice, the better one is taken. If nothing is
heard, the word is put between its neighbours, and kept short. A mended word keeps its confidence from before; the
other words of the stretch are judged again.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.align.acoustic_model import AcousticModel, acoustic_model
from lipsync.align.coarse import Words
from lipsync.align.competing_paths import ENTRY_PRICE, Symbols
from lipsync.align.confidence import Confidence, confidences
from lipsync.align.evidence import Evidence, FoundWord, WordSpan, stretches_of
from lipsync.align.recogniser import NotFoundError
from lipsync.align.scored_sound import ScoredSound, ScoredStretches
from lipsync.align.search import AlignedWord, Alignment, find_words, refined
from lipsync.align.word_places import places_of
from lipsync.audio.features import RATE_HZ
from lipsync.phonemes import VOWELS
from lipsync.timing import us_of_sample

# Chosen: a stretch of which a smaller share is what is said is not mended: too few of its words are right to help.
MENDED_FROM = 0.3
MOST_MENDED = 4  # chosen: at most so many words and gaps of a stretch are mended; each costs another search
UNSAID = 0.2  # chosen: only a word whose `said` is lower is mended,
LEAST_GAIN = 45.0  # chosen: and only if another way gains this much log likelihood; from 30 on, noise misleads
MOST_REFUSED = 1  # chosen: after so many searches that made nothing better, no more gaps are filled
# Chosen on synthesised lines: what phonemes between two words must gain in log likelihood, and by how much they must
# raise the support of the other words. The end of a long vowel gains as much, but does not raise it.
LEAST_INSERTED, LEAST_RISE = 30.0, 0.15
NO_WORSE = 0.3  # chosen: the support of the other words may fall by this much
STILL_US = 20_000  # chosen: a word that moves by no more than this counts as unmoved

# Sounds in which a line's last word can be held or die away: if only these are heard behind it, no word was added.
HELD = VOWELS | {"R", "L", "W", "Y", "M", "N", "NG", "HH"}

# Chosen: at most so many phonemes, of which one is a vowel beside a vowel of the text, are that vowel held long; more
# of them are a word.
MOST_HELD = 2

Entry = Sequence[Symbols]  # the pronunciations of one word to be searched for
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Models:
    """The acoustic model by which words were placed, and the one by which they are judged."""

    placing: AcousticModel
    judging: AcousticModel


@dataclass(frozen=True, slots=True)
class Item:
    """A word to search for: its place in the text (None if the text does not have it), and its pronunciations."""

    place: int | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class Examined:
    """An alignment, the confidence of each of its words, and where something is said that the text does not have."""

    search: Alignment
    confidences: tuple[Confidence, ...]
    inserted: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class Judged:
    """The items of a stretch, where they were found, and the evidence for each: the state from which it is mended."""

    items: tuple[Item, ...]
    found: tuple[AlignedWord, ...]
    span: WordSpan
    evidence: tuple[Evidence, ...]
    confidences: tuple[Confidence, ...]

    def of(self, place: int) -> list[AlignedWord]:
        """Return what was found in the place of a word of the text: nothing, one or two items."""
        return [word for item, word in zip(self.items, self.found, strict=True) if item.place == place]

    def others(self, wrong: Container[int]) -> list[AlignedWord]:
        """Return where the words of the text were found, without those at the places in `wrong`."""
        both = zip(self.items, self.found, strict=True)
        return [word for item, word in both if item.place is not None and item.place not in wrong]

    @property
    def inserted(self) -> list[Span]:
        """Where something is said that the text does not have."""
        both = zip(self.items, self.found, strict=True)
        return [(word.times_us[0], word.times_us[-1]) for item, word in both if item.place is None]


def share_said(line: Examined) -> float:
    """Return the share of a line that is what is said, 0 to 1: the mean of `said`, weighted by duration."""
    return _share(line.search.words, line.confidences)


def _share(words: Sequence[AlignedWord], confidences: Sequence[Confidence]) -> float:
    lengths = [word.times_us[-1] - word.times_us[0] for word in words]
    return sum(judged.said * length for judged, length in zip(confidences, lengths, strict=True)) / sum(lengths)


def examined(
    sound: ScoredStretches,
    words: Words,
    search: Alignment,
    models: Models | None = None,
    *,
    mended_from: float = MENDED_FROM,
) -> Examined:
    """Return an alignment with its confidences, mended where a word was not said or more was said.

    Args:
        sound: that of the line.
        words: the pronunciations of each word.
        search: their alignment.
        models: the acoustic models; the recogniser's own if None.
        mended_from: a stretch of which a smaller share is what is said is not mended; infinity to mend none.
    """
    spans = [(word.times_us[0], word.times_us[-1]) for word in search.words]
    mended: list[AlignedWord] = []
    judged: list[Confidence] = []
    inserted: list[Span] = []
    models = models or Models(acoustic_model(), acoustic_model())
    for stretch in stretches_of(spans, sound.duration_us):
        own = slice(stretch.first, stretch.end)
        part = _examine(
            sound.of(stretch.start_us, stretch.end_us, search.factor, models.judging),
            words[own],
            [_moved(word, -stretch.start_us) for word in search.words[own]],
            models.placing,
            mended_from,
        )
        mended += [_moved(word, stretch.start_us) for word in part.search.words]
        judged += part.confidences
        inserted += [(start_us + stretch.start_us, end_us + stretch.start_us) for start_us, end_us in part.inserted]
    return Examined(replace(search, words=tuple(mended)), tuple(judged), tuple(inserted))


def _moved(heard: AlignedWord, by_us: int) -> AlignedWord:
    return replace(heard, times_us=tuple(time_us + by_us for time_us in heard.times_us))


def _examine(
    sound: ScoredSound,
    words: Words,
    found: Sequence[AlignedWord],
    placing: AcousticModel,
    mended_from: float,
) -> Examined:
    """Return the words of a stretch, mended; all times count from the start of its sound."""
    state = _judged(sound, [Item(place, word) for place, word in enumerate(words)], found)
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
            again = _found_again(sound, changed, placing)
        except NotFoundError:
            continue
        other = _judged(sound, changed, again)
        filled = len(other.inserted) > len(state.inserted)
        rise = _rise(state.others(mended), other.others(mended))
        if filled:
            accepted = rise >= LEAST_RISE and _gained(other, at) >= LEAST_INSERTED
        else:
            accepted = rise >= -NO_WORSE and _is_moved(state.others(mended), other.others(mended))
        if accepted:
            state = other
        else:
            refused += 1
    if not mended:
        by_place = {item.place: k for k, item in enumerate(state.items)}
        laid = [state.found[by_place[place]] for place in range(len(words))]
        sure = [state.confidences[by_place[place]] for place in range(len(words))]
    else:
        laid, sure = _laid(state, words, mended, us_of_sample(len(sound.samples), RATE_HZ))
    return Examined(Alignment(tuple(laid), sound.factor, "plain"), tuple(sure), tuple(state.inserted))


def _found_again(sound: ScoredSound, items: Sequence[Item], model: AcousticModel) -> tuple[AlignedWord, ...]:
    """Return items in time, found as a line is: first by the recogniser's own model, then refined by `model`."""
    entries = [item.entry for item in items]
    rough = find_words(sound.samples, entries, sound.factor).rough
    return refined(sound.samples, entries, rough, sound.factor, model).words


def _laid(
    state: Judged, words: Words, mended: Mapping[int, tuple[Confidence, AlignedWord]], duration_us: int
) -> tuple[list[AlignedWord], list[Confidence]]:
    """Return each word of the text where it is put, and its confidence; `mended` are those that were not said."""
    entries = {place: [item.entry for item in state.items if item.place == place] for place in range(len(words))}
    first = {place: heard for place, (_, heard) in mended.items() if entries[place] != [words[place]]}
    laid = places_of([len(word[0]) for word in words], [state.of(k) for k in range(len(words))], first, duration_us)
    judged = {item.place: confidence for item, confidence in zip(state.items, state.confidences, strict=True)}
    return laid, [mended[k][0] if k in mended else judged[k] for k in range(len(words))]


def _rise(before: Sequence[AlignedWord], after: Sequence[AlignedWord]) -> float:
    """Return by how much the mean support of the other words rises; each is weighted by its ticks before.

    By its ticks after, a word that is squeezed to nothing would hardly count.
    """
    both = zip(before, after, strict=True)
    return sum(early.ticks * (late.support - early.support) for early, late in both) / max(
        1, sum(word.ticks for word in before)
    )


def _is_moved(before: Sequence[AlignedWord], after: Sequence[AlignedWord]) -> bool:
    """Return whether any of the other words begins or ends elsewhere than before."""
    both = zip(before, after, strict=True)
    moves = [abs(early.times_us[end] - late.times_us[end]) for early, late in both for end in (0, -1)]
    return max(moves, default=0) > STILL_US


def _gained(state: Judged, at: int) -> float:
    """Return the gain of the phonemes that were inserted as item `at`, where they now lie, less their price."""
    return -state.evidence[at].left_out - ENTRY_PRICE * len(state.items[at].entry[0])


def _judged(sound: ScoredSound, items: Sequence[Item], found: Sequence[AlignedWord]) -> Judged:
    """Return items with the evidence for each and its confidence."""
    placed = [
        FoundWord(item.entry[heard.pronunciation], heard.times_us) for item, heard in zip(items, found, strict=True)
    ]
    span = WordSpan(sound, placed)
    evidence = tuple(span.evidence())
    judged = confidences([word.symbols for word in placed], evidence)
    return Judged(tuple(items), tuple(found), span, evidence, tuple(judged))


def _word_to_mend(state: Judged, mended: Container[int]) -> tuple[float, int] | None:
    """Return the largest gain of putting something else in place of a word that was hardly said, and its item.

    None if no word was so unlikely, or no gain is large enough.
    """
    gains = [
        (max(evidence.otherwise, evidence.left_out, evidence.twice), at)
        for at, (item, evidence, sure) in enumerate(zip(state.items, state.evidence, state.confidences, strict=True))
        if item.place is not None and item.place not in mended and sure.said < UNSAID
    ]
    gain, at = max(gains, default=(0.0, -1))
    return (gain, at) if gain >= LEAST_GAIN else None


def _gap_to_fill(state: Judged, tried: Container[Symbols]) -> tuple[float, int, Symbols] | None:
    """Return the gap with the largest gain of more phonemes: the gain, the item behind the gap, the phonemes.

    None if no gap gains enough, or what is heard in it was tried before or is a sound of the text, held.
    """
    gains = state.span.inserted
    for at in sorted(range(len(gains)), key=lambda gap: -gains[gap]):
        if gains[at] < LEAST_INSERTED:
            break
        heard = state.span.heard_between(at)
        if heard and heard not in tried and not _is_held(state, at, heard):
            return float(gains[at]), at, heard
    return None


def _is_held(state: Judged, at: int, heard: Symbols) -> bool:
    """Return whether what is heard before item `at` is only a sound of the text held long, such as an "um"."""
    if at == len(state.items):
        return HELD.issuperset(heard)
    before, after = ([word.symbols for word in state.span.words[part]] for part in (slice(at), slice(at, None)))
    into = heard[-1] in VOWELS and after[0][0] in VOWELS
    out_of = bool(before) and heard[0] in VOWELS and before[-1][-1] in VOWELS
    return len(heard) <= MOST_HELD and (into or out_of)


def _instead(state: Judged, at: int) -> list[Item]:
    """Return what to search for in a word's place: the word twice, what is heard there, or nothing."""
    item, evidence = state.items[at], state.evidence[at]
    if evidence.twice >= max(evidence.otherwise, evidence.left_out):
        return [item, item]
    heard = state.span.lattice.heard_instead(at)
    return [Item(item.place, (heard,))] if heard else []
