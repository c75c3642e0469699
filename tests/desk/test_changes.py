"""Changes made to a line: what stands then is exactly what was asked, and the rest is as it was."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from lipsync.align.settings import LineSettings
from lipsync.app.hear.heard import Only, lines_of
from lipsync.audio.recording import read_recording
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept, PieceChoice, Source
from lipsync.breakdown.corrections import sound_of, times_of
from lipsync.desk import again, bodies
from lipsync.desk.again import ways_of
from lipsync.desk.boundaries import boundary_moved, neighbour, room
from lipsync.desk.changing import Around, changed
from lipsync.errors import InputError, LineError
from lipsync.fit.mouthset import load_mouth_set
from lipsync.model import Breakdown, Cue, Phoneme, Word
from lipsync.production.loading import open_production
from lipsync.production.values import shipped

MOUTH_SET = load_mouth_set(shipped("mouthsets") / "tideline.toml")


def word(text: str, *sounds: tuple[str, int, int]) -> Word:
    phonemes = [Phoneme(s, a * 1000, b * 1000, 1 if s in ("AE", "AH", "OW") else None, -20.0) for s, a, b in sounds]
    return Word(text, tuple(phonemes), confidence=0.9)


# 1.0 s: "lamp" and "post" meet at 500 ms, a pause, then a breath.
LAMP = word("lamp", ("L", 100, 200), ("AE", 200, 350), ("M", 350, 430), ("P", 430, 500))
POST = word("post", ("P", 500, 560), ("OW", 560, 650), ("S", 650, 700), ("T", 700, 740))
BREATH = Cue("breath", 800_000, 950_000)
HEARD = Breakdown("lamp post [breath]", 1_000_000, (LAMP, POST, BREATH))
KEPT = Kept("a", Source(HEARD.text, "a.wav", "0" * 16), HEARD)


def no_sound():  # the sound is out of reach: nothing here needs it
    raise LineError.one("a.wav", "", "does not exist")


AROUND = Around(no_sound, LineSettings(), MOUTH_SET, frames=24)


def made(kept: Kept, kind: str, **more: object) -> Kept:
    change = bodies.CHANGE_BODY.validate_python({"version": "", "change": {"kind": kind, **more}}).change
    return changed(kept, change, AROUND)


def test_each_boundary_goes_anywhere_in_its_room_and_nowhere_else() -> None:
    """Every boundary, to both ends of its room and its middle: what was asked stands, nothing else moves."""
    for part in range(3):
        for boundary, now_us in enumerate(times_of(HEARD.parts[part])):
            earliest, latest = room(HEARD, part, boundary)
            assert earliest <= now_us <= latest
            for to_us in (earliest, (earliest + latest) // 2, latest):
                stands = made(KEPT, "move-boundary", part=part, boundary=boundary, to_us=to_us).breakdown
                assert times_of(stands.parts[part])[boundary] == to_us
                shared = neighbour(HEARD, part, boundary, alone=False)
                for other in range(3):
                    if other not in (part, shared):
                        assert times_of(stands.parts[other]) == times_of(HEARD.parts[other])
                    assert sound_of(stands.parts[other]) == sound_of(HEARD.parts[other])
            for to_us in (earliest - 1, latest + 1):
                if to_us >= 0:
                    with pytest.raises(InputError, match="there is room from"):
                        boundary_moved(HEARD, part, boundary, to_us, alone=False)


def test_rooms_are_those_counted_by_hand() -> None:
    assert room(HEARD, 0, 0) == (0, 199_000)  # silence before; L keeps its 1 ms
    assert room(HEARD, 0, 4) == (431_000, 559_000)  # shared: the P of "lamp" and the P of "post" keep theirs
    assert room(HEARD, 1, 0) == (431_000, 559_000)
    assert room(HEARD, 1, 0, alone=True) == (500_000, 559_000)
    assert room(HEARD, 1, 4) == (701_000, 800_000)  # up to the breath
    assert room(HEARD, 2, 1) == (801_000, 1_000_000)


def test_a_boundary_is_moved_on_from_where_it_was_moved_to() -> None:
    """Later, earlier, and earlier than it was: a shared boundary moved many times stays shared."""
    kept = KEPT
    for to_us in (540_000, 470_000, 500_000, 431_000, 559_000):
        kept = made(kept, "move-boundary", part=1, boundary=0, to_us=to_us)
        assert kept.breakdown.parts[0].end_us == kept.breakdown.parts[1].start_us == to_us
    assert kept.computed == HEARD


def test_one_side_moves_alone_and_leaves_a_pause() -> None:
    stands = made(KEPT, "move-boundary", part=1, boundary=0, to_us=530_000, alone=True).breakdown
    assert (stands.parts[0].end_us, stands.parts[1].start_us) == (500_000, 530_000)


def test_a_word_is_moved_in_proportion() -> None:
    stands = made(KEPT, "move-part", part=2, start_us=750_000, end_us=760_000).breakdown
    assert (stands.parts[2].start_us, stands.parts[2].end_us) == (750_000, 760_000)
    with pytest.raises(InputError, match=r"there is room from 0\.74 s to 1\.0 s"):
        made(KEPT, "move-part", part=2, start_us=700_000, end_us=900_000)


def sounds(kept: Kept) -> list[str]:
    return [" ".join(symbol for symbol, *_ in sound_of(part)) for part in kept.breakdown.words]


def test_phonemes_are_changed_divided_and_taken_out() -> None:
    assert sounds(made(KEPT, "set-phoneme", part=0, phoneme=1, symbol="AH0")) == ["L AH M P", "P OW S T"]
    divided = made(KEPT, "split-phoneme", part=0, phoneme=3, at_us=460_000, symbol="T")
    assert sounds(divided) == ["L AE M P T", "P OW S T"]
    assert times_of(divided.breakdown.parts[0])[-3:] == (430_000, 460_000, 500_000)
    dropped = made(KEPT, "drop-phoneme", part=0, phoneme=3)
    assert sounds(dropped) == ["L AE M", "P OW S T"]
    assert dropped.breakdown.parts[0].end_us == 500_000  # its time went to the M
    assert made(KEPT, "drop-phoneme", part=0, phoneme=0).breakdown.parts[0].start_us == 100_000
    with pytest.raises(InputError, match=r"L lasts from 0\.1 s to 0\.2 s; divide it there"):
        made(KEPT, "split-phoneme", part=0, phoneme=0, at_us=200_000, symbol="T")


def test_words_are_split_and_joined_again() -> None:
    split = made(KEPT, "split-word", part=1, phoneme=2, first="po", second="st")
    assert [part.text for part in split.breakdown.words] == ["lamp", "po", "st"]
    assert sounds(split) == ["L AE M P", "P OW", "S T"]
    joined = made(split, "join-words", part=1, text="post")
    assert sounds(joined) == ["L AE M P", "P OW S T"]
    both = made(KEPT, "join-words", part=0, text="lamppost")
    assert sounds(both) == ["L AE M P P OW S T"]
    with pytest.raises(InputError, match="is a cue, and has no phonemes"):
        made(KEPT, "join-words", part=1, text="post")
    with pytest.raises(InputError, match="not before the first"):
        made(KEPT, "split-word", part=1, phoneme=0, first="p", second="ost")


def test_words_with_a_pause_between_are_not_joined() -> None:
    apart = replace(HEARD, parts=(word("a", ("AH", 0, 100)), word("b", ("B", 351, 400))), text="a b")
    with pytest.raises(InputError, match=r"a pause of 0\.251 s follows"):
        made(replace(KEPT, computed=apart, source=replace(KEPT.source, text="a b")), "join-words", part=0, text="ab")


def test_cues_are_added_in_gaps_and_taken_out() -> None:
    added = made(KEPT, "add-cue", name="laugh", start_us=0, end_us=90_000)
    assert [getattr(part, "name", "") for part in added.breakdown.parts] == ["laugh", "", "", "breath"]
    assert made(added, "delete-part", part=0).breakdown.parts == HEARD.parts
    with pytest.raises(InputError, match=r'"lamp" is heard there, from 0\.1 s to 0\.5 s'):
        made(KEPT, "add-cue", name="laugh", start_us=0, end_us=100_001)
    with pytest.raises(InputError, match="is no cue of the character's mouth set; it has breath"):
        made(KEPT, "add-cue", name="cough", start_us=0, end_us=90_000)


def test_pieces_are_put_forbidden_and_left_to_the_program_again() -> None:
    put = made(KEPT, "put-piece", frame=3, code="SHUT")
    assert put.pieces == (PieceChoice(3, "SHUT"),)
    other = made(put, "put-piece", frame=3, code="TUCK")
    assert other.pieces == (PieceChoice(3, "TUCK"),)
    off = made(other, "forbid-piece", frame=3, code="TUCK")
    assert off.pieces == (PieceChoice(3, "TUCK", forbidden=True),)
    assert made(off, "put-piece", frame=3, code="TUCK").pieces == (PieceChoice(3, "TUCK"),)
    assert made(off, "free-frame", frame=3).pieces == ()
    with pytest.raises(InputError, match="is no piece of the mouth set; it has REST, SHUT"):
        made(KEPT, "put-piece", frame=3, code="NONE")
    with pytest.raises(InputError, match="the shot has 24 frames"):
        made(KEPT, "put-piece", frame=24, code="SHUT")


def test_the_last_piece_of_a_frame_cannot_be_forbidden() -> None:
    kept = KEPT
    *codes, last = MOUTH_SET.by_code
    for code in codes:
        kept = made(kept, "forbid-piece", frame=0, code=code)
    with pytest.raises(InputError, match=f"{last} is the only piece that is left for this frame"):
        made(kept, "forbid-piece", frame=0, code=last)


def test_what_is_filmed_stays_as_it_is() -> None:
    filmed = replace(AROUND, filmed=frozenset({5, 6}), filmed_us=((200_000, 300_000),))

    def ask(kind: str, **more: object) -> Kept:
        return changed(
            KEPT, bodies.CHANGE_BODY.validate_python({"version": "", "change": {"kind": kind, **more}}).change, filmed
        )

    with pytest.raises(InputError, match="a frame is filmed, and stays as it is"):
        ask("put-piece", frame=5, code="SHUT")
    for change in (
        {"kind": "move-boundary", "part": 0, "boundary": 1, "to_us": 210_000},
        {"kind": "set-phoneme", "part": 0, "phoneme": 1, "symbol": "AH0"},
        {"kind": "delete-part", "part": 0},
    ):
        with pytest.raises(InputError, match="are filmed; what is heard there stays as it is"):
            ask(**change)
    assert ask("move-boundary", part=0, boundary=3, to_us=440_000).corrections  # after the filmed frames


def test_a_change_takes_the_mark_of_a_checked_line_away() -> None:
    checked = made(KEPT, "set-checked", checked=True)
    assert checked.checked
    assert not made(checked, "confirm-part", part=0).checked
    assert not made(checked, "put-piece", frame=0, code="SHUT").checked


def test_a_confirmed_word_is_no_longer_doubtful_and_stays_so() -> None:
    doubtful = replace(HEARD, parts=(replace(LAMP, confidence=0.1), POST, BREATH))
    kept = made(replace(KEPT, computed=doubtful), "confirm-part", part=0)
    assert not kept.breakdown.words[0].doubtful
    assert breakdown_file.read_bytes(breakdown_file.text_of(kept).encode(), "a.toml") == kept


def in_the_sample(sample: Path, line: str, settings: LineSettings | None = None) -> tuple[Kept, Callable[..., Kept]]:
    """What is kept of a line of the sample, and a function that changes it with its own sound."""
    production = open_production(sample)
    (placed,) = (one for one in lines_of(production, Only()) if one.line.id == line)
    around = replace(
        AROUND,
        recording=lambda: read_recording(
            production.folder / placed.line.recording, placed.line.in_us, placed.line.out_us
        ),
        settings=settings or LineSettings(),
    )

    def change(kept: Kept, kind: str, **more: object) -> Kept:
        body = bodies.CHANGE_BODY.validate_python({"version": "", "change": {"kind": kind, **more}})
        return changed(kept, body.change, around)

    return breakdown_file.read(sample / f"breakdowns/{placed.scene.id}/{line}.toml"), change


def test_a_word_that_is_missing_is_found_in_its_gap(sample: Path) -> None:
    """In the sample's "Oops. My foot is blue." a word is taken out, and added again in the silence that it leaves."""
    kept, change = in_the_sample(sample, "020-c")
    parts = kept.breakdown.parts
    foot = parts[2]
    without = change(kept, "delete-part", part=2)
    middle_us = (foot.start_us + foot.end_us) // 2
    added = change(without, "add-word", text="foot", at_us=middle_us).breakdown
    assert [part.text for part in added.words] == ["Oops", "My", "foot", "is", "blue"]
    assert added.parts[2].start_us == pytest.approx(foot.start_us, abs=40_000)
    assert added.parts[2].end_us == pytest.approx(foot.end_us, abs=40_000)
    assert added.parts[2].corrected
    assert (*added.parts[:2], *added.parts[3:]) == (*parts[:2], *parts[3:])
    with pytest.raises(InputError, match=r'"foot": "foot" is heard there; choose that word and add this one before'):
        change(kept, "add-word", text="foot", at_us=middle_us)
    with pytest.raises(InputError, match="holds a cue; add cues by themselves"):
        change(without, "add-word", text="[breath]", at_us=middle_us)


def test_a_word_that_is_missing_beside_another_is_found_with_it(sample: Path) -> None:
    """The text lacks "My", so that "foot" stands where both are heard: written as two, both are found."""
    kept, change = in_the_sample(sample, "020-c")
    my = kept.breakdown.parts[1]
    without = change(kept, "delete-part", part=1)
    both = change(without, "retype", part=1, text="my foot").breakdown
    assert [part.text for part in both.words] == ["Oops", "my", "foot", "is", "blue"]
    assert both.parts[1].end_us == both.parts[2].start_us == pytest.approx(my.end_us, abs=40_000)
    assert both.parts[2].end_us == pytest.approx(kept.breakdown.parts[2].end_us, abs=40_000)


def test_a_word_typed_otherwise_is_found_in_its_own_part_of_the_sound(sample: Path) -> None:
    """In the sample's "Oops. My foot is blue." the last word, typed as "glue", lies where "blue" is heard."""
    kept, change = in_the_sample(sample, "020-c")
    blue = kept.breakdown.words[-1]
    typed = change(kept, "retype", part=len(kept.breakdown.parts) - 1, text="glue")
    glue = typed.breakdown.words[-1]
    assert [p.symbol for p in glue.phonemes] == ["G", "L", "UW"]
    assert glue.start_us == pytest.approx(blue.start_us, abs=60_000)
    assert glue.end_us == pytest.approx(blue.end_us, abs=60_000)
    assert typed.breakdown.parts[:-1] == kept.breakdown.parts[:-1]


def test_a_part_is_heard_again_in_the_characters_accent(sample: Path) -> None:
    """The sample's "parcels" has an R; of a character who says R only before vowels none is looked for."""
    for accent, r_said in (("american", True), ("non-rhotic", False)):
        settings = LineSettings(accent=accent)
        kept, change = in_the_sample(sample, "030-a", settings)
        at = next(i for i, part in enumerate(kept.breakdown.parts) if getattr(part, "text", "").startswith("parcel"))
        (heard,) = change(kept, "retype", part=at, text="parcels").breakdown.parts[at : at + 1]
        assert ("R" in [p.symbol for p in heard.phonemes]) == r_said, accent
        assert all(("R" in way.bare) == r_said for way in ways_of("parcels", settings)), accent


def test_r_is_linked_to_the_word_that_follows(sample: Path) -> None:
    settings = LineSettings(accent="non-rhotic")
    assert not any("R" in way.bare for way in ways_of("far", settings))
    for after, linked in (
        (word("old", ("OW", 0, 1), ("L", 1, 2), ("D", 2, 3)), True),
        (POST, False),
        (BREATH, False),
    ):
        _, (said,) = again.said_of("far", settings, [after])
        assert any("R" in way.bare for way in said) == linked
