"""Corrected parts stand exactly; computed neighbours give way; what stands is always a valid breakdown.

The examples are worked out by hand beside each; the loops over drawn breakdowns check what holds for all.
"""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lipsync.breakdown.breakdown_file import Correction, Kept, Replaced, Source, by_hand, corrections_between
from lipsync.breakdown.correcting import _sorted
from lipsync.breakdown.corrections import all_heard_alike, label_of, same_words
from lipsync.breakdown.laying import lay, least_us, stretched
from lipsync.model import Breakdown, Cue, Phoneme, Word

SOURCE = Source("Mind the lamp, keeper.", "lantern-03.wav", "5c0ffee5")


@pytest.fixture
def kept(line) -> Kept:
    return Kept("lantern-03", SOURCE, line)


def corrected(word, *given, **more):
    return word(*given, **more, origin="hand", corrected=True)


def shown(breakdown: Breakdown) -> list[tuple]:
    """Label and boundaries in milliseconds of each part."""
    return [
        (
            label_of(p),
            *(t / 1000 for t in ([q.start_us for q in p.phonemes] if isinstance(p, Word) else [p.start_us])),
            p.end_us / 1000,
        )
        for p in breakdown.parts
    ]


def test_without_corrections_the_computed_breakdown_stands(kept, line):
    assert kept.breakdown == line
    assert kept.disagreements == ()


def test_a_moved_boundary_shortens_the_neighbour_in_proportion(kept, line, word):
    """The end of "the" moves to 0.675: "lamp", computed 0.5 to 0.85, keeps half of its 350 ms, each phoneme too."""
    the = corrected(word, "the", "DH AH0", 400, 440, 675)
    laid = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,)),))
    assert laid.breakdown.parts[1] == the
    assert shown(laid.breakdown)[2] == ("lamp", 675, 705, 775, 815, 850)
    assert laid.breakdown.parts[0] is line.parts[0]
    assert laid.breakdown.parts[3:] == line.parts[3:]
    assert laid.breakdown.parts[2].confidence == 0.3
    assert laid.disagreements == ()


def test_both_sides_give_way(kept, line, word):
    """Now "the" is from 0.25 to 0.675: "Mind" keeps 150 of its 300 ms, "lamp" 175 of 350."""
    the = corrected(word, "the", "DH AH0", 250, 440, 675)
    laid = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,)),)).breakdown
    assert shown(laid)[:3] == [
        ("Mind", 100, 130, 200, 230, 250),
        ("the", 250, 440, 675),
        ("lamp", 675, 705, 775, 815, 850),
    ]


def test_no_phoneme_is_made_shorter_than_a_millisecond(kept, line, word):
    """Now "the" ends at 0.845: 5 ms are left for "lamp". In proportion L has 5 * 60 / 350 = 0.857 ms: it gets 1."""
    the = corrected(word, "the", "DH AH0", 400, 440, 845)
    laid = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,)),))
    lamp = laid.breakdown.parts[2]
    lengths = [p.end_us - p.start_us for p in lamp.phonemes]
    assert lengths[0] == 1000
    assert min(lengths) >= 1000
    assert (lamp.start_us, lamp.end_us) == (845_000, 850_000)
    assert laid.disagreements == ()


def test_a_neighbour_that_is_covered_keeps_a_millisecond_a_phoneme_and_is_reported(kept, line, word):
    """Now "the" ends at 0.86, after "lamp": its four phonemes get 4 ms, still before the breath at 0.9."""
    the = corrected(word, "the", "DH AH0", 400, 440, 860)
    laid = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,)),))
    assert shown(laid.breakdown)[2:4] == [("lamp", 860, 861, 862, 863, 864), ("[breath]", 900, 1200)]
    assert laid.disagreements == (
        'part 2 "lamp", computed from 0.5 s to 0.85 s: squeezed to next to nothing by the corrections beside it',
    )


def test_a_neighbour_without_room_is_left_out_and_reported(kept, line, word):
    """Now "the" ends where a corrected breath begins: nothing is left for "lamp"."""
    the = corrected(word, "the", "DH AH0", 400, 440, 897)
    breath = Cue("breath", 900_000, 1_200_000, corrected=True)
    fixed = (Correction((Replaced.at(1, line),), (the,)), Correction((Replaced.at(3, line),), (breath,)))
    laid = replace(kept, corrections=fixed)
    assert [label_of(part) for part in laid.breakdown.parts] == ["Mind", "the", "[breath]", "keeper"]
    assert laid.disagreements == (
        'part 2 "lamp", computed from 0.5 s to 0.85 s: left out, since the corrections leave no room for it',
    )


def test_of_two_neighbours_without_room_the_one_that_is_heard_more_stays(kept, line, word):
    """Between "Mind" to 0.793 and a breath from 0.8 are 7 ms: "lamp" needs 4 and "the" 2. From 0.795 are 5: not both.

    Of "lamp" 5 ms were computed there, of "the", which ended at 0.5, nothing.
    """
    breath = Correction((Replaced.at(3, line),), (Cue("breath", 800_000, 1_200_000, corrected=True),))
    for end, labels in (
        (793, ["Mind", "the", "lamp", "[breath]", "keeper"]),
        (795, ["Mind", "lamp", "[breath]", "keeper"]),
    ):
        mind = Correction((Replaced.at(0, line),), (corrected(word, "Mind", "M AY1 N D", 100, 160, 300, 360, end),))
        laid = replace(kept, corrections=(mind, breath)).breakdown
        assert [label_of(part) for part in laid.parts] == labels


@pytest.mark.parametrize(
    ("gasp_ms", "lamp_ms"),
    [((700, 800), (500, 700)), ((520, 600), (600, 850)), ((625, 725), (725, 850)), ((626, 726), (500, 626))],
)
def test_a_cue_that_is_added_within_a_word_leaves_it_on_the_side_of_its_middle(kept, gasp_ms, lamp_ms):
    """The middle of "lamp" is at 0.675 s; a cue whose middle is there or before comes before it."""
    gasp = Cue("gasp", *(1000 * ms for ms in gasp_ms), corrected=True)
    lamp = replace(kept, corrections=(Correction((), (gasp,)),)).breakdown.words[2]
    assert (lamp.text, lamp.start_us, lamp.end_us) == ("lamp", *(1000 * ms for ms in lamp_ms))


def test_a_word_stays_behind_the_corrected_one_before_it(kept, line, word):
    """Now "the" is moved behind the computed "lamp" and breath: these keep their order behind it."""
    the = corrected(word, "the", "DH AH0", 1000, 1040, 1100)
    laid = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,)),)).breakdown
    assert shown(laid)[1:4] == [
        ("the", 1000, 1040, 1100),
        ("lamp", 1100, 1101, 1102, 1103, 1104),
        ("[breath]", 1104, 1200),
    ]


def test_a_word_stays_behind_all_corrected_ones_before_it_and_before_all_behind_it(kept, line, word):
    """By its middle "lamp" (0.5 to 0.85) would be before both, and "Mind" (0.1 to 0.4) behind both."""
    mind = corrected(word, "Mind", "M AY1 N D", 900, 910, 920, 930, 940)
    the = corrected(word, "the", "DH AH0", 940, 950, 960)
    fixed = (Correction((Replaced.at(0, line),), (mind,)), Correction((Replaced.at(1, line),), (the,)))
    laid = replace(kept, corrections=fixed).breakdown
    assert shown(laid)[2] == ("lamp", 960, 961, 962, 963, 964)
    the = corrected(word, "the", "DH AH0", 160, 170, 180)
    lamp = corrected(word, "lamp", "L AE1 M P", 180, 185, 190, 195, 200)
    fixed = (Correction((Replaced.at(1, line),), (the,)), Correction((Replaced.at(2, line),), (lamp,)))
    laid = replace(kept, corrections=fixed).breakdown
    assert shown(laid)[0] == ("Mind", 100, 112, 140, 152, 160)  # a fifth of 60, 140, 60 and 40 ms


@pytest.mark.parametrize(
    ("from_ms", "to_ms", "stays"), [(497, 502, "the"), (498, 503, "lamp")], ids=["3 ms of the", "3 ms of lamp"]
)
def test_the_part_that_overlaps_the_free_room_least_is_left_out(kept, line, word, from_ms, to_ms, stays):
    """Of 5 ms of room "the" needs 2 and "lamp" 4. "the" was computed up to 0.5, "lamp" from there."""
    mind = corrected(word, "Mind", "M AY1 N D", 100, 160, 300, 360, from_ms)
    breath = Cue("breath", to_ms * 1000, 1_200_000, corrected=True)
    fixed = (Correction((Replaced.at(0, line),), (mind,)), Correction((Replaced.at(3, line),), (breath,)))
    laid = replace(kept, corrections=fixed).breakdown
    assert [label_of(part) for part in laid.parts] == ["Mind", stays, "[breath]", "keeper"]


def test_parts_before_a_correction_that_begins_earlier_make_room_for_each_other(kept, line):
    """A breath from 0.45: "lamp", computed from 0.5, keeps 1 ms a phoneme before it, and "the" gives way to that."""
    breath = Cue("breath", 450_000, 1_200_000, corrected=True)
    laid = replace(kept, corrections=(Correction((Replaced.at(3, line),), (breath,)),)).breakdown
    assert shown(laid)[2] == ("lamp", 446, 447, 448, 449, 450)
    assert (laid.parts[1].start_us, laid.parts[1].end_us) == (400_000, 446_000)


def test_a_part_that_was_computed_as_short_as_can_be_is_not_squeezed(line, word):
    short = replace(line, parts=(word("a", "AH0", 100, 101), *line.parts[1:]))
    gasp = Correction((), (Cue("gasp", 1_750_000, 1_900_000, corrected=True),))
    assert lay(short, (gasp,)).squeezed == ()


def test_how_short_the_room_is_that_a_word_cannot_take(line):
    with pytest.raises(ValueError, match=r"^3999 us are too short for "):
        stretched(line.parts[0], 1_000_000, 1_003_999)


@pytest.mark.parametrize(
    ("change", "labels"),
    [
        ("split", ["Mind", "the", "la", "mp", "[breath]", "keeper"]),
        ("join", ["Mind", "thelamp", "[breath]", "keeper"]),
        ("add", ["Mind", "the", "lamp", "[breath]", "keeper", "[gasp]"]),
        ("delete", ["Mind", "the", "[breath]", "keeper"]),
        ("retype", ["Mind", "the", "lamps", "[breath]", "keeper"]),
        ("phonemes", ["Mind", "the", "lamp", "[breath]", "keeper"]),
        ("cue to word", ["Mind", "the", "lamp", "old", "keeper"]),
        ("confirm", ["Mind", "the", "lamp", "[breath]", "keeper"]),
    ],
)
def test_what_can_be_corrected(kept, line, word, change, labels):
    """Each way to correct, as a tool does it: the wanted breakdown is drawn, the correction is found."""
    mind, the, lamp, breath, keeper = line.parts
    wanted = {
        "split": (mind, the, word("la", "L AE1", 500, 560, 650), word("mp", "M P", 650, 780, 850), breath, keeper),
        "join": (mind, word("thelamp", "DH AH0 L AE1 M P", 400, 440, 500, 560, 700, 780, 850), breath, keeper),
        "add": (*line.parts, Cue("gasp", 1_750_000, 1_900_000)),
        "delete": (mind, the, breath, keeper),
        "retype": (mind, the, word("lamps", "L AE1 M P S", 500, 560, 700, 780, 820, 850), breath, keeper),
        "phonemes": (mind, the, word("lamp", "L AE1 M", 500, 560, 700, 850), breath, keeper),
        "cue to word": (mind, the, lamp, word("old", "OW1 L D", 900, 1000, 1100, 1200), keeper),
        "confirm": (mind, the, by_hand(lamp), breath, keeper),
    }[change]
    after = kept.corrected_to(replace(line, parts=wanted), "why")
    assert len(after.corrections) == 1
    assert after.corrections[0].note == "why"
    assert [label_of(part) for part in after.breakdown.parts] == labels
    assert all_heard_alike(after.breakdown.parts, wanted)
    assert after.computed == line
    assert after.disagreements == ()
    assert not any(word.doubtful for word in after.breakdown.words if word.corrected)


def test_a_correction_that_still_holds_keeps_its_note(kept, line, word):
    mind, the, lamp, breath, keeper = line.parts
    first = kept.corrected_to(replace(line, parts=(mind, the, lamp, Cue("sob", 900_000, 1_200_000), keeper)), "a sob")
    later = word("keeper", "K IY1 P ER0", 1250, 1280, 1400, 1480, 1700)
    second = first.corrected_to(replace(first.breakdown, parts=(*first.breakdown.parts[:4], later)), "late K")
    assert [(c.replaces[0].index, c.note) for c in second.corrections] == [(3, "a sob"), (4, "late K")]
    assert second.corrections[0] == first.corrections[0]
    back = second.corrected_to(replace(second.breakdown, parts=second.breakdown.parts[:4]))
    assert [(c.replaces[0].index, c.note, c.parts) for c in back.corrections][1] == (4, "late K", ())
    assert breath not in second.breakdown.parts


def test_a_correction_of_several_parts_stays_one_with_its_note_when_one_of_them_is_changed(kept, line, word):
    mind, the, _, breath, keeper = line.parts
    la, mp = word("la", "L AE1", 500, 560, 650), word("mp", "M P", 650, 780, 850)
    split = kept.corrected_to(replace(line, parts=(mind, the, la, mp, breath, keeper)), "two sounds")
    la = word("la", "L AE1", 500, 600, 650)
    after = split.corrected_to(replace(line, parts=(mind, the, la, mp, breath, keeper)))
    assert [(c.label, [label_of(part) for part in c.parts], c.note) for c in after.corrections] == [
        ("lamp", ["la", "mp"], "two sounds")
    ]
    assert all_heard_alike(after.breakdown.parts, (mind, the, la, mp, breath, keeper))


def test_a_join_that_is_taken_apart_again_keeps_its_note_where_the_parts_are_not_all_as_computed(kept, line, word):
    mind, the, _, breath, keeper = line.parts
    both = word("thelamp", "DH AH0 L AE1 M P", 400, 440, 500, 560, 700, 780, 850)
    joined = kept.corrected_to(replace(line, parts=(mind, both, breath, keeper)), "one word")
    shorter = word("lamp", "L AE1 M P", 500, 560, 700, 780, 840)
    after = joined.corrected_to(replace(line, parts=(mind, the, shorter, breath, keeper)))
    assert [([ref.text for ref in c.replaces], c.note) for c in after.corrections] == [(["the", "lamp"], "one word")]


def test_what_gave_way_stays_while_other_parts_are_deleted(kept, line, word):
    """As above, "lamp" is to stay shortened beside the "the" that was computed; and the breath is deleted."""
    the = Correction((Replaced.at(1, line),), (corrected(word, "the", "DH AH0", 400, 440, 675),))
    one = replace(kept, corrections=(the,))
    wanted = replace(line, parts=(line.parts[0], line.parts[1], one.breakdown.parts[2], line.parts[4]))
    after = one.corrected_to(wanted)
    assert all_heard_alike(after.breakdown.parts, wanted.parts)
    assert [(c.label, len(c.parts)) for c in after.corrections] == [("lamp", 1), ("[breath]", 0)]


def test_where_no_correction_so_far_can_stay_all_are_found_anew(word):
    """Alike cues and words, most of them deleted: which of them is left is not the same before and after."""
    cues = [Cue("tide", at, at + 700) for at in range(0, 2800, 700)]
    words = [Word("tide", (Phoneme("AA", at, at + 700),)) for at in (700, 2800, 3500)]
    computed = Breakdown("any", 4200, (*cues, *words[1:]))
    kept = Kept("any", replace(SOURCE, text="any"), computed)
    for wanted in ((cues[0], words[0]), (cues[1],)):
        kept = kept.corrected_to(replace(computed, parts=wanted))
        assert all_heard_alike(kept.breakdown.parts, wanted)


def test_a_deletion_whose_time_was_not_noted_is_the_earliest():
    early = Correction((Replaced(1, "the"),), (Cue("sob", 0, 1000, corrected=True),))
    gone = Correction((Replaced(0, "Mind"),), ())
    assert _sorted([early, gone]) == (gone, early)


def test_what_gave_way_becomes_no_correction(kept, line, word):
    the = corrected(word, "the", "DH AH0", 400, 440, 675)
    one = replace(kept, corrections=(Correction((Replaced.at(1, line),), (the,), "long"),))
    sob = replace(one.breakdown, parts=(*one.breakdown.parts[:3], Cue("sob", 900_000, 1_200_000), line.parts[4]))
    assert [c.label for c in one.corrected_to(sob).corrections] == ["the", "[breath]"]


def test_what_gave_way_stays_as_it_was_seen_when_the_correction_is_withdrawn(kept, line, word):
    """The wanted breakdown shows "the" as it was computed and "lamp" still shortened: that is then what stands."""
    the = Correction((Replaced.at(1, line),), (corrected(word, "the", "DH AH0", 400, 440, 675),))
    sob = Correction((Replaced.at(3, line),), (Cue("sob", 900_000, 1_200_000, corrected=True),), "a sob")
    two = replace(kept, corrections=(the, sob))
    wanted = replace(line, parts=(line.parts[0], line.parts[1], *two.breakdown.parts[2:]))
    after = two.corrected_to(wanted)
    assert all_heard_alike(after.breakdown.parts, wanted.parts)
    assert [(c.label, c.note) for c in after.corrections] == [("lamp", ""), ("[breath]", "a sob")]


def test_a_correction_is_withdrawn_by_wanting_what_was_computed(kept, line, word):
    the = Correction((Replaced.at(1, line),), (corrected(word, "the", "DH AH0", 400, 440, 675),))
    gone = Correction((Replaced.at(3, line),), (), "a creak")
    two = replace(kept, corrections=(the, gone))
    assert two.corrected_to(replace(line, parts=(*line.parts[:3], line.parts[4]))).corrections == (gone,)
    assert two.corrected_to(line).corrections == ()


def test_an_addition_that_is_deleted_again_leaves_nothing(kept, line):
    added = kept.corrected_to(replace(line, parts=(*line.parts, Cue("gasp", 1_750_000, 1_900_000))))
    assert added.corrected_to(line).corrections == ()


def test_two_breakdowns_of_different_sounds_have_no_corrections_between_them(line):
    with pytest.raises(ValueError, match="the recording lasts 2000000 us, the wanted one 2000001 us"):
        corrections_between(line, replace(line, duration_us=2_000_001))


@given(data=st.data())
def test_corrections_between_any_two_lead_from_one_to_the_other(same_length, data):
    computed, wanted = data.draw(same_length(2))
    kept = Kept(
        "any", replace(SOURCE, text=computed.text), computed, corrections=corrections_between(computed, wanted)
    )
    assert all_heard_alike(kept.breakdown.parts, wanted.parts)
    assert corrections_between(computed, computed) == ()


@given(data=st.data())
def test_any_series_of_corrections_ends_where_it_was_meant_to(same_length, data):
    computed, *wanted = data.draw(same_length(4))
    kept = Kept("any", replace(SOURCE, text=computed.text), computed)
    for breakdown in wanted:
        kept = kept.corrected_to(breakdown)
        assert all_heard_alike(kept.breakdown.parts, breakdown.parts)


@given(data=st.data())
def test_any_corrections_stand_exactly_over_any_computation(same_length, data):
    """Corrections, some of them withdrawn, so that what is left meets computed parts that are in its way."""
    computed, wanted = data.draw(same_length(2))
    fixed = tuple(c for c in corrections_between(computed, wanted) if data.draw(st.booleans()))
    laid = lay(computed, fixed)
    replace(computed, parts=laid.parts)  # a valid breakdown, or this raises
    assert [p for p, owner in zip(laid.parts, laid.owners, strict=True) if owner is not None] == sorted(
        (part for c in fixed for part in c.parts), key=lambda part: part.start_us
    )
    replaced = {ref.index for c in fixed for ref in c.replaces}
    left = [i for i in laid.origins if i is not None]
    assert left == sorted(set(range(len(computed.parts))) - replaced - set(laid.left_out))
    for part, index in zip(laid.parts, laid.origins, strict=True):
        if index is None:
            continue
        was = computed.parts[index]
        assert part.end_us - part.start_us >= least_us(was)
        if isinstance(part, Word):
            for now, before in zip(part.phonemes, was.phonemes, strict=True):
                assert now.end_us - now.start_us >= min(1000, before.end_us - before.start_us)
    edges = [
        0,
        *(t for p, o in zip(laid.parts, laid.owners, strict=True) if o is not None for t in (p.start_us, p.end_us)),
    ]
    for left_us, right_us in zip(edges[::2], [*edges[1::2], computed.duration_us], strict=True):
        room = [
            (part, computed.parts[i])
            for part, i in zip(laid.parts, laid.origins, strict=True)
            if i is not None and left_us <= part.start_us and part.end_us <= right_us
        ]
        if all(left_us <= was.start_us and was.end_us <= right_us for _, was in room):
            assert all(part == was for part, was in room), "nothing was in the way"


@given(
    lengths=st.lists(st.integers(1, 5000), min_size=1, max_size=6),
    start=st.integers(0, 9999),
    more=st.integers(0, 9999),
)
def test_any_word_fits_any_room_that_is_not_too_small(lengths, start, more):
    edges = [sum(lengths[:k]) for k in range(len(lengths) + 1)]
    word = Word("any", tuple(Phoneme("M", a, b) for a, b in pairwise(edges)))
    length = least_us(word) + more
    fitted = stretched(word, start, start + length)
    assert (fitted.start_us, fitted.end_us) == (start, start + length)
    assert all(p.end_us - p.start_us >= min(1000, n) for p, n in zip(fitted.phonemes, lengths, strict=True))
    with pytest.raises(ValueError, match="too short for"):
        stretched(word, start, start + least_us(word) - 1)


def test_the_same_word_is_found_whatever_its_punctuation(word):
    old = [word(text, "AH0", 1, 2) for text in ("Mind", "the", "lamp,", "keeper.")]
    new = [word(text, "AH0", 1, 2) for text in ("Oh,", "mind", "the", "old", "lamp")]
    assert same_words(old, new) == {0: 1, 1: 2, 2: 4}


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda line: Correction((), ()), "replaces a part or adds one; this one does neither"),
        (lambda line: Correction((), (Cue("gasp", 0, 1),)), "the parts of a correction are marked as corrected"),
        (
            lambda line: Correction((), (by_hand(line.parts[1]), by_hand(line.parts[0]))),
            '"Mind" begins before "the" ends',
        ),
        (lambda line: Correction((Replaced(1, "a"), Replaced(1, "a")), ()), "named once each and in their order"),
        (lambda line: Replaced(-1, "a"), "parts are counted from 0, not -1"),
        (lambda line: Replaced(1, "a", 5), "both the start and the end"),
        (lambda line: Replaced(1, "a", 5, 5), '"a" cannot have lasted from 5 us to 5 us'),
        (
            lambda line: Kept("x", replace(SOURCE, text="Mind!"), line),
            'line x: computed from "Mind the lamp, keeper.", but its source is "Mind!"',
        ),
        (
            lambda line: Kept("x", SOURCE, line, corrections=(Correction((Replaced(9, "the"),), ()),)),
            'line x: .* replaces part 9 "the", but there are 5, counted from 0; "the" is part 1',
        ),
    ],
)
def test_impossible_corrections_cannot_be_built(line, make, said):
    with pytest.raises(ValueError, match=said):
        make(line)
