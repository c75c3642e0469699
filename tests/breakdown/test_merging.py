"""A line computed again: what a person corrected is never lost and never computed over unasked."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lipsync.breakdown import merging
from lipsync.breakdown.breakdown_file import (
    Computation,
    Correction,
    Kept,
    PieceChoice,
    Replaced,
    Source,
    read_bytes,
    text_of,
)
from lipsync.breakdown.corrections import all_heard_alike, heard_alike, label_of
from lipsync.breakdown.rebase import _seen, edits_in_place, move, offset_between
from lipsync.model import Breakdown, Cue, Word

SOURCE = Source("Mind the lamp, keeper.", "lantern-03.wav", "5c0ffee5", 1_500_000, 3_500_000)
NEW_TAKE = replace(SOURCE, recording="lantern-03b.wav", fingerprint="0ff1ce00")
EARLIER = replace(SOURCE, in_us=1_400_000, fingerprint="0ff1ce00")


def in_words(kept_and_messages):
    kept, messages = kept_and_messages
    assert all(message.line == "lantern-03" for message in messages)
    return kept, [*map(str, messages)]


def merge(*arguments, **named):
    return in_words(merging.merge(*arguments, **named))


def accept_newer(kept):
    return in_words(merging.accept_newer(kept))


def again(old, source, computed):
    return merge(old, source, replace(computed, text=source.text), line="lantern-03", engine="aligner 2")


def later(part, by_us):
    if isinstance(part, Cue):
        return replace(part, start_us=part.start_us + by_us, end_us=part.end_us + by_us)
    return replace(
        part,
        phonemes=tuple(replace(p, start_us=p.start_us + by_us, end_us=p.end_us + by_us) for p in part.phonemes),
    )


@pytest.fixture
def plain(line) -> Kept:
    return Kept("lantern-03", SOURCE, line, "aligner 1")


@pytest.fixture
def long_the(word) -> Word:
    return word("the", "DH IY0", 400, 440, 520, origin="hand", corrected=True)


@pytest.fixture
def touched(plain, line, long_the) -> Kept:
    """With "the" corrected, said long, to 0.52 s."""
    return replace(plain, corrections=(Correction((Replaced.at(1, line),), (long_the,), "said long"),))


@pytest.fixture
def other_text(word) -> Breakdown:
    """Mind the lantern, old keeper: another computation of the same sound."""
    return Breakdown(
        "Mind the lantern, old keeper.",
        2_000_000,
        (
            word("Mind", "M AY1 N D", 100, 160, 300, 360, 400),
            word("the", "DH AH0", 400, 440, 500),
            word("lantern", "L AE1 N T ER0 N", 500, 560, 600, 650, 700, 780, 850),
            word("old", "OW1 L D", 900, 1000, 1100, 1200),
            word("keeper", "K IY1 P ER0", 1200, 1280, 1400, 1480, 1700),
        ),
    )


def test_the_first_time(line, plain):
    assert merge(None, SOURCE, line, line="lantern-03", engine="aligner 1") == (plain, [])


def test_an_untouched_line_is_replaced(plain, other_text):
    kept, messages = again(plain, replace(SOURCE, text=other_text.text), other_text)
    assert kept == Kept("lantern-03", replace(SOURCE, text=other_text.text), other_text, "aligner 2")
    assert messages == []


def test_pieces_stay_when_an_untouched_line_is_replaced(plain, other_text):
    old = replace(plain, pieces=(PieceChoice(20, "PT1", forbidden=True), PieceChoice(12, "OP2")))
    kept, messages = again(old, replace(SOURCE, text=other_text.text), other_text)
    assert kept.pieces == old.pieces
    assert messages == [
        'lantern-03: its text changed: "lamp," is now "lantern, old"; '
        "the pieces chosen by hand stay as they are; look at them again (frames 12, 20, counted from 0)"
    ]


def test_that_nothing_is_said_stays_with_its_sound(plain, line, other_text):
    old = plain.with_nothing_said(1_750_000, 1_900_000)

    def spans(kept):
        return [(one.start_us, one.end_us) for one in kept.nothing_said]

    assert spans(again(old, SOURCE, line)[0]) == [(1_750_000, 1_900_000)]
    assert spans(again(old, replace(SOURCE, text=other_text.text), other_text)[0]) == [(1_750_000, 1_900_000)]
    moved = replace(line, duration_us=2_100_000, parts=tuple(later(part, 100_000) for part in line.parts))
    assert spans(again(old, EARLIER, moved)[0]) == [(1_850_000, 2_000_000)]
    assert spans(again(old, NEW_TAKE, line)[0]) == []
    waiting, _ = again(replace(old, checked=True), EARLIER, moved)
    assert spans(waiting) == [(1_750_000, 1_900_000)]
    assert spans(accept_newer(waiting)[0]) == [(1_850_000, 2_000_000)]


@pytest.mark.parametrize(
    ("from_us", "to_us", "left"),
    [
        (50_000, 90_000, []),  # it is before the new in point, which is 100 ms later
        (50_000, 100_000, []),
        (50_000, 100_001, [(0, 1)]),
        (150_000, 300_000, [(50_000, 200_000)]),
        (1_950_000, 2_000_000, [(1_850_000, 1_900_000)]),
    ],
)
def test_of_where_nothing_is_said_stays_what_is_still_in_the_line(plain, line, from_us, to_us, left):
    parts = line.parts[:3]
    old = replace(plain, computed=replace(line, parts=tuple(later(part, 200_000) for part in parts)))
    old = old.with_nothing_said(from_us, to_us)
    moved = replace(line, duration_us=1_900_000, parts=tuple(later(part, 100_000) for part in parts))
    kept, _ = again(old, replace(SOURCE, in_us=1_600_000, fingerprint="0ff1ce00"), moved)
    assert [(one.start_us, one.end_us) for one in kept.nothing_said] == left


@pytest.mark.parametrize(
    ("before_us", "after_us", "offset_us"),
    [(None, 100_000, -100_000), (100_000, None, 100_000), (None, 0, 0), (300_000, 200_000, 100_000)],
)
def test_an_in_point_that_is_not_given_is_the_recordings_beginning(plain, line, before_us, after_us, offset_us):
    old = replace(
        plain,
        source=replace(SOURCE, in_us=before_us, out_us=None),
        computed=replace(line, parts=tuple(later(part, 200_000) for part in line.parts)),
    )
    parts = tuple(later(part, 200_000 + offset_us) for part in line.parts)
    source = replace(SOURCE, in_us=after_us, out_us=None, fingerprint="0ff1ce00")
    assert offset_between(old, Computation(source, replace(line, parts=parts), "aligner 2")) == offset_us


@pytest.mark.parametrize(("later_us", "moves"), [(299_999, True), (300_000, True), (300_001, False)])
def test_a_correction_moves_up_to_the_end_of_the_sound(line, word, later_us, moves):
    """A "keeper" up to 1.7 s, in a sound of 2 s."""
    keeper = Correction((Replaced.at(4, line),), (word("keeper", "K IY1", 1200, 1280, 1700, corrected=True),))
    moved = move([keeper], line, line, later_us)
    assert (len(moved.corrections), len(moved.dropped)) == ((1, 0) if moves else (0, 1))


@pytest.mark.parametrize(
    ("noted", "offset_us", "seen"),
    [
        ((), 1000, (401_000, 501_000)),  # not noted: where it was computed
        ((410_000, 490_000), 1000, (411_000, 491_000)),
        ((410_000, 490_000), -410_000, (0, 80_000)),
        ((410_000, 490_000), -410_001, (None, None)),  # before the beginning of the new sound
        ((), -400_000, (0, 100_000)),
        ((), -400_001, (None, None)),
    ],
)
def test_where_a_replaced_part_was_seen_in_the_times_of_the_new_sound(line, noted, offset_us, seen):
    assert _seen(Replaced(1, "the", *noted), line, offset_us) == seen


def test_what_only_moved_with_its_sound_was_not_edited(plain, line):
    new = replace(line, duration_us=2_200_000, parts=tuple(later(part, 150_000) for part in line.parts))
    assert edits_in_place(plain, new, 150_000) == ()
    assert [correction.label for correction in edits_in_place(plain, new, 0)] == [label_of(p) for p in line.parts]


def test_computing_again_keeps_corrections(touched, line, long_the):
    kept, messages = again(touched, SOURCE, line)
    assert kept == replace(touched, engine="aligner 2")
    assert messages == []
    assert kept.breakdown.parts[1] == long_the
    assert kept.disagreements == ()


def test_the_same_sound_from_elsewhere_is_the_same_sound(touched, line):
    renamed = replace(SOURCE, recording="takes/lantern-03.wav", in_us=None, out_us=None)
    assert again(touched, renamed, line) == (replace(touched, source=renamed, engine="aligner 2"), [])


def test_another_engine_that_agrees_within_20_ms_says_nothing(touched, line):
    """Corrected to end at 0.52 s; now computed at 0.5 s + 0 to 40 ms: at most 20 ms away."""
    for by_ms in (1, 20, 40):
        the, lamp = line.parts[1], line.parts[2]
        the = replace(the, phonemes=(the.phonemes[0], replace(the.phonemes[1], end_us=500_000 + by_ms * 1000)))
        first = replace(lamp.phonemes[0], start_us=the.end_us)
        lamp = replace(lamp, phonemes=(first, *lamp.phonemes[1:]))
        kept, messages = again(touched, SOURCE, replace(line, parts=(line.parts[0], the, lamp, *line.parts[3:])))
        assert (kept.disagreements, messages) == ((), [])


def test_another_engine_that_disagrees_is_reported(touched, line, long_the):
    """Now computed from 0.42 to 0.541 s: 20 ms after its start as corrected, which agrees; 21 ms after its end."""
    the, lamp = line.parts[1], line.parts[2]
    the = replace(
        the,
        phonemes=tuple(
            replace(p, start_us=a, end_us=b)
            for p, a, b in zip(the.phonemes, (420_000, 440_000), (440_000, 541_000), strict=True)
        ),
    )
    lamp = replace(lamp, phonemes=(replace(lamp.phonemes[0], start_us=541_000), *lamp.phonemes[1:]))
    kept, messages = again(touched, SOURCE, replace(line, parts=(line.parts[0], the, lamp, *line.parts[3:])))
    assert messages == []
    assert kept.breakdown.parts[1] == long_the
    assert kept.disagreements == (
        'part 1 "the": its end is corrected to 0.52 s, the new computation has it at 0.541 s',
    )
    assert read_bytes(text_of(kept).encode(), "a.toml").disagreements == kept.disagreements  # what it was is on file


def test_inner_boundaries_disagree_where_the_phonemes_are_the_same(plain, line, word):
    moved = word("the", "DH AH0", 400, 470, 500, corrected=True)
    old = replace(plain, corrections=(Correction((Replaced.at(1, line),), (moved,)),))
    now = word("the", "DH AH0", 400, 440, 499)
    kept, _ = again(old, SOURCE, replace(line, parts=(line.parts[0], now, *line.parts[2:])))
    assert kept.disagreements == (
        'part 1 "the": its AH is corrected to 0.47 s, the new computation has it at 0.44 s',
    )


def test_corrections_find_their_words_when_a_cue_is_heard_before_them(touched, line, long_the):
    """The new computation hears a breath at the start: "the" is part 2 now."""
    kept, messages = again(touched, SOURCE, replace(line, parts=(Cue("breath", 0, 90_000), *line.parts)))
    assert messages == []
    assert [(ref.index, ref.text) for ref in kept.corrections[0].replaces] == [(2, "the")]
    assert kept.breakdown.parts[2] == long_the


def test_a_corrected_cue_that_is_not_computed_any_more_stays(plain, line):
    sob = Cue("sob", 880_000, 1_190_000, corrected=True)
    old = replace(plain, corrections=(Correction((Replaced.at(3, line),), (sob,), "a sob"),))
    kept, messages = again(old, SOURCE, replace(line, parts=(*line.parts[:3], line.parts[4])))
    assert kept.corrections == (Correction((), (sob,), "a sob"),)
    assert kept.breakdown.cues == (sob,)
    assert messages == []


def test_a_deleted_cue_that_is_not_computed_any_more(plain, line):
    old = replace(plain, corrections=(Correction((Replaced.at(3, line),), (), "a creak of the chair"),))
    kept, messages = again(old, SOURCE, replace(line, parts=(*line.parts[:3], line.parts[4])))
    assert kept.corrections == ()
    assert messages == [
        'lantern-03: the correction of "[breath]" is dropped: what it replaces is no longer there '
        '(its note: "a creak of the chair")'
    ]


@pytest.mark.parametrize("state", ["corrected", "checked"])
@pytest.mark.parametrize(
    ("source", "why"),
    [
        (
            replace(SOURCE, text="Mind the lantern, old keeper."),
            'its text changed: "lamp," is now "lantern, old"',
        ),
        (replace(SOURCE, text="Mind the lamp, KEEPER!"), "its text changed: only in capitals or punctuation"),
        (NEW_TAKE, "its recording changed (lantern-03b.wav)"),
        (replace(SOURCE, fingerprint="0ff1ce00"), "its recording changed (lantern-03.wav)"),
        (EARLIER, "its in or out point moved"),
        (replace(SOURCE, out_us=None, fingerprint="0ff1ce00"), "its in or out point moved"),
        (
            replace(NEW_TAKE, text="Oh, mind the keeper."),
            'its text changed: "Oh," is added, "lamp," is gone; its recording changed (lantern-03b.wav)',
        ),
    ],
)
def test_what_was_touched_is_not_computed_over(plain, touched, other_text, state, source, why):
    old = touched if state == "corrected" else replace(plain, checked=True)
    kept, messages = again(old, source, other_text)
    assert replace(kept, newer=None) == old
    assert kept.newer is not None
    assert kept.newer == Computation(source, replace(other_text, text=source.text), "aligner 2")
    assert messages == [
        f"lantern-03: {why}; the {state} breakdown stands, and the new computation waits beside it; "
        "when it is taken, corrections of unchanged words move along"
    ]
    assert again(kept, source, other_text) == (kept, messages)  # and again, until a person decides
    assert read_bytes(text_of(kept).encode(), "a.toml") == kept


def test_what_waits_goes_when_the_old_text_is_back(touched, line, other_text):
    waiting, _ = again(touched, replace(SOURCE, text=other_text.text), other_text)
    assert again(waiting, SOURCE, line) == (replace(touched, engine="aligner 2"), [])


def test_another_length_of_the_same_recording_is_another_recording(touched, line):
    kept, messages = again(touched, SOURCE, replace(line, duration_us=2_100_000))
    assert replace(kept, newer=None) == touched
    assert messages[0].startswith("lantern-03: its recording changed in length; the corrected breakdown stands")


def test_a_checked_line_is_not_computed_otherwise_unasked(plain, line):
    checked = replace(plain, checked=True)
    surer = replace(line, parts=(replace(line.parts[0], confidence=1.0), *line.parts[1:]))
    assert again(checked, SOURCE, surer) == (replace(checked, computed=surer, engine="aligner 2"), [])
    otherwise = replace(line, parts=line.parts[:4])
    kept, messages = again(checked, SOURCE, otherwise)
    assert replace(kept, newer=None) == checked
    assert messages[0].startswith(
        "lantern-03: it was checked, and is now computed otherwise; the checked breakdown stands"
    )


class TestRowsEditedInPlace:
    @pytest.fixture
    def edited(self, touched) -> Kept:
        """The K of "keeper" moved, and the breath deleted, right in the computed rows."""
        text = text_of(touched).replace("start_s = 1.280", "start_s = 1.300")
        text = text.replace('[[computed.parts]]\ncue = "breath"\nstart_s = 0.900\nend_s = 1.200\n\n', "")
        return read_bytes(text.encode(), "lantern-03.toml")

    def test_they_become_corrections(self, edited, touched, line):
        assert edited.edited
        kept, messages = again(edited, SOURCE, line)
        assert not kept.edited
        assert kept.computed == line
        assert all_heard_alike(kept.breakdown.parts, edited.breakdown.parts)
        assert [(c.label, c.note) for c in kept.corrections] == [
            ("the", "said long"),
            ("[breath]", ""),
            ("keeper", ""),
        ]
        assert kept.corrections[0] == touched.corrections[0]
        assert messages == [
            "lantern-03: rows under [computed] were edited by hand; they now stand under [[corrected]]: "
            '"[breath]", "keeper"'
        ]
        assert again(kept, SOURCE, line) == (kept, [])

    def test_a_checked_line_stays_checked(self, edited, line):
        kept, _ = again(replace(edited, checked=True), SOURCE, line)
        assert (kept.checked, kept.edited, kept.newer) == (True, False, None)
        assert all_heard_alike(kept.breakdown.parts, edited.breakdown.parts)

    def test_they_protect_the_line(self, edited, other_text):
        alone = replace(edited, corrections=())
        kept, messages = again(alone, replace(SOURCE, text=other_text.text), other_text)
        assert replace(kept, newer=None) == alone
        assert "the corrected breakdown stands" in messages[0]

    def test_they_move_along_on_the_same_sound(self, edited, other_text):
        waiting, _ = again(edited, replace(SOURCE, text=other_text.text), other_text)
        kept, messages = accept_newer(waiting)
        assert [part.phonemes[1].start_us for part in kept.breakdown.words if part.text == "keeper"] == [1_300_000]
        assert 'corrections moved along: "the", "keeper"' in messages[1]

    def test_they_are_named_when_they_are_dropped(self, edited, line):
        waiting, _ = again(edited, NEW_TAKE, line)
        kept, messages = accept_newer(waiting)
        assert kept.computed == line
        assert messages[-1] == (
            "lantern-03: rows edited by hand under [computed] belong to the old recording and are dropped"
        )

    def test_what_is_not_heard_is_no_correction(self, plain, line):
        text = text_of(plain).replace("confidence = 0.3", "confidence = 0.4")
        kept, messages = again(read_bytes(text.encode(), "a.toml"), SOURCE, line)
        assert kept == replace(plain, engine="aligner 2")
        said = "rows under [computed] were edited by hand; the edits change nothing that is heard"
        assert messages == [f"lantern-03: {said}"]


class TestAcceptNewer:
    def test_nothing_waits(self, touched):
        assert accept_newer(touched) == (touched, ["lantern-03: there is no newer computation to take"])

    def test_another_text(self, plain, line, word, long_the, other_text):
        lamp = word("lamp", "L AA1 M P", 520, 560, 700, 780, 850, origin="hand", corrected=True)
        gasp = Cue("gasp", 1_800_000, 1_900_000, corrected=True)
        corrections = (
            Correction((Replaced.at(1, line),), (long_the,), "said long"),
            Correction((Replaced.at(2, line),), (lamp,), "broad"),
            Correction((Replaced.at(3, line),), ()),
            Correction((), (gasp,)),
        )
        old = replace(plain, corrections=corrections, checked=True, pieces=(PieceChoice(3, "OP1"),))
        waiting, _ = again(old, replace(SOURCE, text=other_text.text), other_text)
        kept, messages = accept_newer(waiting)
        assert (kept.source.text, kept.computed, kept.engine) == (other_text.text, other_text, "aligner 2")
        assert kept.corrections == (corrections[0], corrections[3])
        assert not kept.checked
        assert kept.newer is None
        assert kept.pieces == old.pieces
        assert [label_of(part) for part in kept.breakdown.parts] == [
            "Mind",
            "the",
            "lantern",
            "old",
            "keeper",
            "[gasp]",
        ]
        assert messages == [
            "lantern-03: the newer computation is taken; listen to the line again and mark it as checked",
            'lantern-03: corrections moved along: "the", "[gasp]"',
            'lantern-03: the correction of "lamp" is dropped: what it replaces is no longer there '
            '(its note: "broad")',
            'lantern-03: the correction of "[breath]" is dropped: what it replaces is no longer there',
        ]

    def test_an_in_point_that_moved_takes_corrections_along(self, touched, line, long_the):
        """The in point is 0.1 s earlier: all comes 0.1 s later."""
        moved = replace(line, duration_us=2_100_000, parts=tuple(later(part, 100_000) for part in line.parts))
        waiting, _ = again(touched, EARLIER, moved)
        kept, messages = accept_newer(waiting)
        assert kept.breakdown.parts[1] == later(long_the, 100_000)
        assert kept.corrections[0].replaces == (Replaced(1, "the", 500_000, 600_000),)
        assert kept.disagreements == ()
        assert messages[1:] == ['lantern-03: corrections moved along: "the"']

    @pytest.mark.parametrize(
        ("in_us", "out_us", "the_ms", "reason"),
        [
            (1_950_000, 3_500_000, (1, 20, 50), "before the beginning"),
            (1_500_000, 2_000_000, (400, 440, 500), "after the end"),
        ],
    )
    def test_what_is_cut_away_is_dropped(self, touched, line, word, in_us, out_us, the_ms, reason):
        offset_us, duration_us = 1_500_000 - in_us, out_us - in_us
        heard = [p for p in line.parts if p.start_us + offset_us >= 0 and p.end_us + offset_us <= duration_us]
        parts = {later(part, offset_us).start_us: later(part, offset_us) for part in heard}
        parts[the_ms[0] * 1000] = word("the", "DH AH0", *the_ms)
        cut = Breakdown(SOURCE.text, duration_us, tuple(parts[start] for start in sorted(parts)))
        waiting, _ = again(touched, replace(SOURCE, in_us=in_us, out_us=out_us, fingerprint="0ff1ce00"), cut)
        kept, messages = accept_newer(waiting)
        assert kept.corrections == ()
        assert messages[1] == (
            f'lantern-03: the correction of "the" is dropped: it lies {reason} of the line (its note: "said long")'
        )

    def test_an_in_point_that_moved_in_another_take_of_the_same_name(self, plain, line, word):
        """The words do not come 0.1 s later, as the in point says, but 0.121 s: it is another sound."""
        moved = word("the", "DH AH0", 400, 470, 500, corrected=True)
        old = replace(plain, corrections=(Correction((Replaced.at(1, line),), (moved,)),))
        for by_us, corrections in ((120_000, 1), (121_000, 0)):
            other = replace(line, duration_us=2_200_000, parts=tuple(later(part, by_us) for part in line.parts))
            waiting, _ = again(old, EARLIER, other)
            assert len(accept_newer(waiting)[0].corrections) == corrections

    def test_a_new_recording(self, plain, line, word, long_the):
        """Twice as slow: "the" is heard from 0.8 to 1.0 s, "lamp" to 1.7, "keeper" from 2.4 to 3.4."""
        slow = Breakdown(
            SOURCE.text,
            4_000_000,
            tuple(
                replace(
                    w, phonemes=tuple(replace(p, start_us=2 * p.start_us, end_us=2 * p.end_us) for p in w.phonemes)
                )
                for w in line.words
            ),
        )
        la, mp = (
            word("la", "L AE1", 550, 570, 640, corrected=True),
            word("mp", "M P", 680, 780, 900, corrected=True),
        )
        keeper = word("keeper", "K IY1 P ER0", 1250, 1280, 1400, 1480, 1700, corrected=True)
        old = replace(
            plain,
            corrections=(
                Correction((Replaced.at(0, line),), ()),
                Correction((Replaced.at(1, line),), (long_the,)),
                Correction((Replaced.at(2, line),), (la, mp)),
                Correction((Replaced.at(4, line),), (keeper,)),
                Correction((), (Cue("gasp", 1_800_000, 1_900_000, corrected=True),)),
            ),
            pieces=(PieceChoice(3, "OP1"),),
        )
        waiting, _ = again(old, NEW_TAKE, slow)
        kept, messages = accept_newer(waiting)
        assert [label_of(part) for part in kept.breakdown.parts] == ["the", "la", "mp", "keeper"]
        # "the": 0.4 to 0.44 to 0.52 becomes 0.8 to 1.0, a third and two thirds of it.
        assert [p.end_us for p in kept.breakdown.parts[0].phonemes] == [866_666, 1_000_000]
        # "la mp": 0.55 to 0.9 becomes 1.0 to 1.7, twice as long: la ends 2 * 90 and mp begins 2 * 130 ms after 1.0.
        assert (kept.breakdown.parts[1].end_us, kept.breakdown.parts[2].start_us) == (1_180_000, 1_260_000)
        assert kept.breakdown.parts[3] == slow.parts[3]
        assert messages == [
            "lantern-03: the newer computation is taken; listen to the line again and mark it as checked",
            'lantern-03: corrections moved along: "Mind", "the", "lamp"; '
            "their times are guesses on the new recording",
            'lantern-03: the correction of "keeper" is dropped: its times were those of the old recording',
            'lantern-03: the correction of "[gasp]" is dropped: it was added to the old recording',
            "lantern-03: the pieces chosen by hand stay as they are; look at them again (frames 3, counted from 0)",
        ]

    def test_two_corrections_for_one_place_on_the_new_recording(self, plain, line, word, long_the):
        """ "Mind" and "lamp" were joined, before "the": on the new recording the joined word takes all the room."""
        joined = word("Mindlamp", "M AY1 N D L AE1 M P", *range(100, 190, 10), corrected=True)
        corrections = (
            Correction((Replaced.at(0, line), Replaced.at(2, line)), (joined,)),
            Correction((Replaced.at(1, line),), (long_the,)),
        )
        waiting, _ = again(replace(plain, corrections=corrections), NEW_TAKE, line)
        kept, messages = accept_newer(waiting)
        assert [c.label for c in kept.corrections] == ["Mind lamp"]
        assert messages[2] == 'lantern-03: the correction of "the" is dropped: another correction stands there'

    def test_no_room_on_the_new_recording(self, touched, line, word):
        tiny = Word("the", tuple(replace(p, start_us=i, end_us=i + 1) for i, p in enumerate(line.parts[1].phonemes)))
        waiting, _ = again(touched, NEW_TAKE, Breakdown(SOURCE.text, 2_000_000, (tiny,)))
        _, messages = accept_newer(waiting)
        assert "is dropped: there is no room for it where the word is heard now" in messages[1]


@settings(max_examples=120)
@given(data=st.data())
def test_whatever_happens_to_a_line_it_stays_valid_and_is_read_back(same_length, data):
    """A line is corrected, edited, computed again from other texts and sounds, accepted, in any order."""
    breakdowns = data.draw(same_length(4))
    texts = st.sampled_from(["tide post", "the lamp", "lamp post tide"])
    sources = st.builds(
        Source,
        texts,
        st.just("any.wav"),
        st.sampled_from(["a", "b"]),
        st.sampled_from([None, 700, 2100]),
        st.just(None),
    )
    kept, _ = again(None, data.draw(sources), breakdowns[0])
    for _ in range(5):
        other = data.draw(st.sampled_from(breakdowns))
        action = data.draw(st.sampled_from(["correct", "edit", "again", "elsewhere", "accept", "check"]))
        if action == "correct":
            kept = kept.corrected_to(other)
        elif action == "edit":
            kept = replace(
                kept, corrections=(), computed=replace(other, text=kept.source.text), stale_check="0ddba11"
            )
        elif action == "again":
            before = kept
            kept, _ = again(kept, kept.source, other)
            every = before.breakdown.parts if before.checked or before.edited else ()
            for part in (*every, *(part for c in before.corrections for part in c.parts)):
                assert any(heard_alike(part, standing) for standing in kept.breakdown.parts)
        elif action == "elsewhere":
            kept, _ = again(kept, data.draw(sources), other)
        elif action == "accept":
            kept, _ = accept_newer(kept)
        else:
            kept = replace(kept, checked=True)
        assert isinstance(kept.breakdown, Breakdown)
        assert read_bytes(text_of(kept).encode(), "a.toml").corrections == kept.corrections
