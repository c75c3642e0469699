"""Doubts that a person has settled, and those that nobody has. Values checked by hand."""

from dataclasses import replace

import pytest

from lipsync.breakdown import breakdown_file as record
from lipsync.breakdown.breakdown_file import Correction, Kept, Replaced, Source
from lipsync.breakdown.settling import settled
from lipsync.errors import InputError
from lipsync.model import Breakdown, Cue, Rejection, UntoldVoice, Word
from lipsync.wording import worded


def kept_of(line: Breakdown, *corrections: Correction, **given) -> Kept:
    return Kept("lantern-03", Source(line.text, "a.wav", "ab12"), line, "aligner 1", corrections, **given)


@pytest.fixture
def doubted(line: Breakdown) -> Breakdown:
    """Voice without text from 850 ms, where "lamp" ends, to 900 ms, where the breath begins, and at the end."""
    without_text = (UntoldVoice(1_200_000, 1_350_000), UntoldVoice(1_700_000, 2_000_000))
    parts = (*line.parts[:3], replace(line.parts[3], end_us=1_180_000), *line.parts[4:])
    return replace(line, parts=parts[:4], rejection=Rejection.NOT_SAID, voice_without_text=without_text)


def test_a_line_that_was_heard_right_has_no_doubts(doubted: Breakdown) -> None:
    stands = kept_of(doubted, checked=True).breakdown
    assert (stands.rejection, stands.voice_without_text) == (None, ())
    assert [word.doubtful for word in stands.words] == [False] * 3
    assert [word.doubtful for word in kept_of(doubted).breakdown.words] == [False, False, True]
    assert [word.corrected for word in stands.words] == [False] * 3  # heard right is not changed


def test_a_word_that_nobody_judged_stays_so(line: Breakdown) -> None:
    unjudged = replace(line, parts=tuple(replace(w, confidence=None) for w in line.words))
    assert [word.confidence for word in settled(unjudged, checked=True).words] == [None] * 4


def test_a_rejection_stays_until_every_part_is_a_persons(doubted: Breakdown) -> None:
    def corrections(count: int) -> list[Correction]:
        parts = doubted.parts[:count]
        return [Correction((Replaced.at(i, doubted),), (record.by_hand(part),)) for i, part in enumerate(parts)]

    assert kept_of(doubted, *corrections(3)).breakdown.rejection is Rejection.NOT_SAID
    assert kept_of(doubted, *corrections(4)).breakdown.rejection is None


@pytest.mark.parametrize(
    ("span_ms", "left_ms"),
    [
        (None, [(1200, 1350), (1700, 2000)]),
        ((1250, 1260), [(1700, 2000)]),  # 50 and 90 ms are left beside it: too short to be told
        ((1350, 1400), [(1200, 1350), (1700, 2000)]),  # it begins where the voice ends
        ((1700, 1880), [(1200, 1350), (1880, 2000)]),  # 120 ms are left
        ((1700, 1881), [(1200, 1350)]),  # 119 are too short
        ((1190, 1360), [(1700, 2000)]),
        ((1830, 1850), [(1200, 1350), (1700, 1830), (1850, 2000)]),
    ],
)
def test_what_is_covered_is_settled(doubted: Breakdown, span_ms, left_ms) -> None:
    added = [Correction((), (Cue("hum", span_ms[0] * 1000, span_ms[1] * 1000, corrected=True),))] if span_ms else []
    nothing = (UntoldVoice(span_ms[0] * 1000, span_ms[1] * 1000),) if span_ms else ()
    for kept in (kept_of(doubted, *added), kept_of(doubted, nothing_said=nothing)):
        left = kept.breakdown.voice_without_text
        assert [(one.start_us // 1000, one.end_us // 1000) for one in left] == left_ms


def test_that_nothing_is_said_is_kept_in_a_form_that_older_programs_refuse(doubted: Breakdown) -> None:
    kept = kept_of(doubted)
    for span in ((1_700_000, 2_000_000), (1_200_000, 1_350_000), (1_700_000, 2_000_000)):
        kept = kept.with_nothing_said(*span)
    assert [one.start_us for one in kept.nothing_said] == [1_200_000, 1_700_000]
    text = record.text_of(kept)
    assert text.index('form = "lipsync breakdown 3"') < text.index("nothing_said = [") < text.index("[status]")
    assert record.read_bytes(text.encode(), "a.toml") == kept
    broken = text.replace("start_s = 1.200, end_s = 1.350", "start_s = 1.400, end_s = 1.350")
    with pytest.raises(InputError, match=r"a\.toml: nothing_said, row 0: voice without text"):
        record.read_bytes(broken.encode(), "a.toml")


def test_a_stretch_that_was_short_from_the_start_stays(line: Breakdown) -> None:
    short = replace(line, voice_without_text=(UntoldVoice(1_800_000, 1_850_000),))
    assert settled(short, checked=False).voice_without_text == short.voice_without_text


def test_a_line_is_undone_until_something_stands_or_somebody_says_that_nothing_is_said(line: Breakdown, word) -> None:
    nothing = Breakdown(line.text, line.duration_us, (), rejection=Rejection.NOT_READ)
    placed = Correction((), (word("Mind", "M AY1 N D", 100, 160, 300, 360, 400, origin="hand", corrected=True),))
    assert kept_of(nothing).undone
    assert not kept_of(nothing, checked=True).undone
    assert not kept_of(nothing, placed).undone
    assert not kept_of(line).undone
    assert not kept_of(replace(nothing, rejection=None)).undone  # cues alone, none of them found
    assert (kept_of(nothing).by_hand, kept_of(nothing, placed).by_hand) == (False, True)
    assert not kept_of(line, Correction((), placed.parts[:0] or (Cue("hum", 0, 50_000, corrected=True),))).by_hand


def test_each_kind_of_rejection_is_told_in_a_sentence_with_a_remedy() -> None:
    for kind in Rejection:
        what, remedy = worded(f"rejection: {kind}", {})
        assert what
        assert "by hand" in remedy


@pytest.mark.parametrize("form", [1, 2])
def test_the_form_is_the_lowest_that_holds_it(doubted: Breakdown, line: Breakdown, form: int) -> None:
    kept = kept_of(doubted if form == 2 else line)
    text = record.text_of(kept)
    assert text.splitlines()[4] == f'form = "lipsync breakdown {form}"'
    assert record.read_bytes(text.encode(), "a.toml") == kept
    waiting = replace(kept_of(line), newer=record.Computation(kept.source, kept.computed, "aligner 2"))
    assert f'form = "lipsync breakdown {form}"' in record.text_of(waiting)


def test_a_word_that_was_doubted_and_heard_right_is_sure(line: Breakdown) -> None:
    assert all(isinstance(p, Word | Cue) for p in line.parts)
    assert [w.confidence for w in settled(line, checked=True).words] == [1.0] * 4
