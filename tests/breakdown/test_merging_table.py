"""What becomes of a line that is computed again: every state that it can be in, every change of what it is from.

The expected outcomes are written by hand, from the table at the top of `lipsync/breakdown/merging.py`:

    replaced    the new computation stands; what a person chose of pieces stays
    kept on     the new computation stands below, and what a person corrected above it
    waits       what stood stands, and the new computation waits beside it
"""

from dataclasses import replace
from itertools import product

import pytest

from lipsync.breakdown import breakdown_file as record
from lipsync.breakdown.breakdown_file import Correction, Kept, PieceChoice, Replaced, Source, merge
from lipsync.model import Breakdown, Phoneme, Rejection, Word

TEXT = "ah oh"
SOURCE = Source(TEXT, "a.wav", "aaaa")
PIECES = (PieceChoice(3, "OPEN1"),)


def word(text: str, symbol: str, start_us: int, end_us: int, **given) -> Word:
    return Word(text, (Phoneme(symbol, start_us, end_us, 1),), confidence=0.9, **given)


OLD = Breakdown(TEXT, 1_000_000, (word("ah", "AA", 100_000, 300_000), word("oh", "OW", 400_000, 700_000)))
LATER = replace(OLD, parts=(OLD.parts[0], word("oh", "OW", 420_000, 700_000)))
SURER = replace(OLD, parts=(replace(OLD.parts[0], confidence=0.4), OLD.parts[1]))
HAND = word("ah", "AE", 90_000, 310_000, corrected=True)
NOTHING = Breakdown(TEXT, 1_000_000, (), rejection=Rejection.NOT_HEARD)

UNTOUCHED = Kept("a", SOURCE, OLD, "listen 1", pieces=PIECES)
STATES = {
    "untouched": UNTOUCHED,
    "corrected": replace(UNTOUCHED, corrections=(Correction((Replaced.at(0, OLD),), (HAND,)),)),
    "checked": replace(UNTOUCHED, checked=True),
    "edited": replace(UNTOUCHED, stale_check="000000000000"),
    "by hand": replace(UNTOUCHED, computed=NOTHING, corrections=(Correction((), (HAND,)),)),
    "nothing": replace(UNTOUCHED, computed=NOTHING),
}
COMPUTED = {"alike": OLD, "surer": SURER, "otherwise": LATER}
SOURCES = {
    "same": SOURCE,
    "same sound in another file": replace(SOURCE, recording="b.wav"),
    "text": replace(SOURCE, text="ah no"),
    "sound": replace(SOURCE, fingerprint="bbbb"),
}
SAME = ("same", "same sound in another file")


def expected(state: str, source: str, computed: str) -> str:
    if state in ("untouched", "nothing"):
        return "replaced"
    if state == "by hand" or source not in SAME:
        return "waits"
    if state == "checked" and computed == "otherwise":
        return "waits"
    return "kept on"


@pytest.mark.parametrize(("state", "source", "computed"), list(product(STATES, SOURCES, COMPUTED)))
def test_every_state_and_every_change(state: str, source: str, computed: str) -> None:
    old, is_from = STATES[state], SOURCES[source]
    new = replace(COMPUTED[computed], text=is_from.text)
    kept, told = merge(old, is_from, new, line="a", engine="listen 2")
    outcome = expected(state, source, computed)
    assert kept.pieces == PIECES
    if outcome == "waits":
        assert replace(kept, newer=None) == old
        assert kept.newer == record.Computation(is_from, new, "listen 2")
        assert [one.kind for one in told] == ["stands"]
        return
    assert (kept.source, kept.computed, kept.engine, kept.newer) == (is_from, new, "listen 2", None)
    assert kept.checked == (state == "checked")
    if outcome == "replaced":
        assert (kept.corrections, kept.edited) == ((), False)
        assert [one.kind for one in told] == ([] if source in SAME else ["pieces to check"])
    elif state == "corrected":
        assert kept.breakdown.parts[0] == HAND
        assert told == []
    elif state == "edited":
        assert kept.breakdown.parts[1].start_us == OLD.parts[1].start_us
        kind = "edited by hand" if computed == "otherwise" else "edited without effect"
        assert [one.kind for one in told] == [kind]


def test_a_line_of_which_nothing_is_known_is_kept_as_computed() -> None:
    assert merge(None, SOURCE, OLD, line="a", engine="listen 2") == (Kept("a", SOURCE, OLD, "listen 2"), [])


@pytest.mark.parametrize("longer_us", [-1, 0, 1])
def test_another_length_of_the_same_sound_is_another_recording(longer_us: int) -> None:
    new = replace(OLD, duration_us=OLD.duration_us + longer_us)
    kept, told = merge(STATES["corrected"], SOURCE, new, line="a", engine="listen 2")
    assert (kept.newer is not None) is (longer_us != 0)
    assert ["its recording changed in length" in one.text for one in told] == [True] * bool(longer_us)


@pytest.mark.parametrize("parts", [0, 1])
def test_words_placed_by_hand_wait_only_for_words(parts: int) -> None:
    """A computation that finds nothing either is in nobody's way."""
    new = replace(NOTHING, parts=OLD.parts[:parts], rejection=Rejection.NOT_FOUND)
    kept, _ = merge(STATES["by hand"], SOURCE, new, line="a", engine="listen 2")
    assert (kept.newer is not None) is bool(parts)
    assert kept.breakdown.parts == (HAND,)


def test_a_newer_one_that_is_taken_keeps_words_placed_by_hand() -> None:
    waiting, _ = merge(STATES["by hand"], SOURCE, OLD, line="a", engine="listen 2")
    taken, _ = record.accept_newer(waiting)
    assert HAND in taken.breakdown.parts
    assert taken.newer is None
    assert not taken.by_hand
