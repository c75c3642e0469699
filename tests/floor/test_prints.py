"""Revisions: letters, stamps, and the file that keeps what was printed."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.fit.keys import Toward
from lipsync.floor.prints import Prints, Revision, from_bytes, own_place, plain, read, to_bytes, write
from lipsync.floor.state import as_data, from_data, state_of
from lipsync.paper.exposure import sheet
from lipsync.paper.pdf import draw
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.sheet_job import KeepAlive, SheetCharacter, SheetJob
from lipsync.production.letters import letter_of
from lipsync.track import FrameTrack, Lost, PartWorn, Sound
from tests.fit.build import MOUTH_SETS
from tests.floor.build import planned, printed, production_of, state_of_plan, the_plan

PATH = Path("prints/01-pier/010.json")


def test_letters_count_like_spreadsheet_columns() -> None:
    """A to Z, AA to ZZ, AAA: 26 + 26 * 26 letters of one and two, worked out by hand."""
    letters = [letter_of(index) for index in range(26 + 26 * 26 + 1)]
    assert letters[:3] == ["A", "B", "C"]
    assert letters[25:28] == ["Z", "AA", "AB"]
    assert letters[51:53] == ["AZ", "BA"]
    assert letters[-2:] == ["ZZ", "AAA"]
    assert len(set(letters)) == len(letters)


def job_with_everything(**changes: object) -> SheetJob:
    """Return a sheet that has one of each thing that a row can say."""
    sounds = (
        Sound("l", 0, "P", "post", 0, 100_000),
        Sound("l", 0, "OW", "post", 100_000, 300_000, 1),
        Sound("l", 1, "[laugh]", "[laugh]", 320_000, 400_000),
        Sound("l", 2, "M", "mind", 800_000, 900_000, doubtful=True),
    )
    pieces = ("SHUT", "SHUT", "RING1", "RING1", None, None, "SHUT", "RING1", *(["REST"] * 16))
    serves = (sounds[0], sounds[0], sounds[1], sounds[1], None, None, None, sounds[1], *([None] * 16))
    track = FrameTrack("heron", pieces, serves, (Lost(sounds[3], "no frame"),))
    character = SheetCharacter(
        "Zoë Wade", MOUTH_SETS["tideline"], track, sounds, modelling=(Toward(2, "SHUT", 2), KeepAlive(9)), beats=(3,)
    )
    fields = {
        "production": "Low Tide Post",
        "scene": "The pier",
        "shot": "010",
        "rate": Fraction(30000, 1001),
        "frames": 24,
        "characters": (character,),
        "first_frame": 1001,
        "start_frame": 107_892,
        "drop": True,
        "film": "16mm",
        "alerts": ("Line 010-c is missing here.",),
        **changes,
    }
    return SheetJob(**fields)  # type: ignore[arg-type]


def test_a_state_comes_back_from_its_data_row_by_row() -> None:
    job = job_with_everything()
    state = state_of(["heron"], job)
    assert from_data(json.loads(json.dumps(as_data(state)))) == state
    assert state.rows == rows_of(job)
    assert state.stamp == stamp_of(job, rows_of(job))


def test_prints_come_back_from_their_file(tmp_path) -> None:
    known = Prints("010")
    for frames in (24, 24, 24):
        scene = f"scene {len(known.revisions)}"
        known = known.with_state(state_of(["heron"], job_with_everything(scene=scene, frames=frames)))
    path = own_place(tmp_path, "01-pier", "010")
    write(path, known)
    assert read(path) == known
    assert [revision.letter for revision in known.revisions] == ["A", "B", "C"]
    assert path.read_text("utf-8").count("\n") == 5  # a line for each revision, one before and one after


def test_the_same_state_has_the_same_revision_and_a_returning_one_the_next_letter() -> None:
    one, other = (state_of(["heron"], job_with_everything(scene=scene)) for scene in ("here", "there"))
    known = Prints("010").with_state(one)
    assert known.with_state(one) is known
    returned = known.with_state(other).with_state(one)
    assert [revision.letter for revision in returned.revisions] == ["A", "B", "C"]
    assert returned.revisions[0].state.stamp == returned.revisions[2].state.stamp
    assert returned.named(one.stamp.lower().replace("-", " ")).letter == "C"
    assert returned.named("b").state == other


def test_letters_go_up_from_a_and_each_but_the_first_has_one_before() -> None:
    state = state_of(["heron"], job_with_everything())
    first, second, third = (Revision(letter, state) for letter in "ABC")
    with pytest.raises(ValueError, match=r"^revision 2 is B, not C$"):
        Prints("010", (first, third))
    known = Prints("010", (first, second, third))
    assert [known.before(letter) for letter in "ABC"] == [None, first, second]


def test_a_file_that_was_cut_short_is_never_taken_for_whole() -> None:
    content = to_bytes(Prints("010").with_state(state_of(["heron"], job_with_everything())))
    for length in range(len(content.rstrip())):
        with pytest.raises(
            InputError, match="does not hold what was written to it; take it back from version control"
        ):
            from_bytes(content[:length], PATH)
    assert from_bytes(content, PATH).newest.letter == "A"


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"[]",
        b"null",
        b"\xff",
        b'{"form":"lipsync prints 1"}',
        b'{"form":1,"shot":"010","revisions":[],"end":"010"}',
        b'{"form":"lipsync prints 1","shot":"010","revisions":[],"end":"011"}',
    ],
)
def test_nonsense_is_a_sentence(broken) -> None:
    with pytest.raises(InputError, match=r"010\.json: does not hold what was written to it"):
        from_bytes(broken, PATH)


def test_a_print_that_is_not_what_its_stamp_is_of_is_named(tmp_path) -> None:
    """Each value of a revision in turn becomes another of its type: nothing is read from such a file."""
    content = to_bytes(Prints("010").with_state(state_of(["heron"], job_with_everything())))
    stamp = from_bytes(content, PATH).newest.state.stamp
    text = content.decode()
    for was, now in (
        ('"SHUT"]', '"OPEN1"]'),
        ('"post"', '"lamp"'),
        ('"Zoë Wade"', '"Mr Clamp"'),
        ('"The pier"', '"The quay"'),
        ('"beats":[3]', '"beats":[4]'),
        ('"keep_alive":[9]', '"keep_alive":[10]'),
        ('[[2,"SHUT",2]]', '[[2,"SHUT",3]]'),
        ('"first_frame":1001', '"first_frame":1'),
        ("Line 010-c is missing here.", "Nothing is missing."),
    ):
        assert was in text, was
        with pytest.raises(InputError, match=f"010.json: revision A: has the stamp {stamp}, and what it says has "):
            from_bytes(text.replace(was, now, 1).encode(), PATH)


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ('"SHUT"]', '"a b"]', "pieces"),
        ('"post"', "7", "heard"),
        ('"beats":[3]', '"beats":["3"]', "beats"),
        ('"beats":[3]', '"beats":[3000]', "speaks of a frame that is not among the 24 of the shot"),
        ('"frames":24', '"frames":24000000', "frames"),
        ('"frames":24', '"frames":23', "speaks of a frame that is not among the 23 of the shot"),
        ('"phonemes":[[0,', '"phonemes":[[0.5,', "is no frame with its phonemes"),
        ('"drop":true', '"drop":"yes"', "drop"),
        ('"alerts":[', '"alert":[', "alert"),
    ],
)
def test_a_value_of_another_type_is_named(was, now, said) -> None:
    text = to_bytes(Prints("010").with_state(state_of(["heron"], job_with_everything()))).decode()
    assert was in text
    with pytest.raises(InputError, match=r"010\.json: does not hold what was written to it \(.*" + said):
        from_bytes(text.replace(was, now, 1).encode(), PATH)


def test_a_later_form_is_told_from_a_broken_one() -> None:
    content = to_bytes(Prints("010")).replace(b"prints 1", b"prints 3")
    with pytest.raises(InputError, match="form: found 'lipsync prints 3', from a later version"):
        from_bytes(content, PATH)


def test_a_file_has_the_lowest_form_that_can_hold_it() -> None:
    """Where no revision has parts, a program that knows of none reads the file; where one has, it is told so."""
    job = job_with_everything()
    plain_one = Prints("010").with_state(state_of(["heron"], job))
    cast = tuple(replace(one, parts=(PartWorn("brows", "BRUP", 2, 5),)) for one in job.characters)
    with_parts = plain_one.with_state(state_of(["heron"], replace(job, characters=cast)))
    again = with_parts.with_state(plain_one.newest.state)
    for prints, number in ((Prints("010"), 1), (plain_one, 1), (with_parts, 2), (again, 2)):
        content = to_bytes(prints)
        assert json.loads(content)["form"] == f"lipsync prints {number}"
        assert from_bytes(content, PATH) == prints


def test_printing_the_same_state_again_gives_the_same_bytes(tmp_path) -> None:
    production = production_of(tmp_path)
    one = the_plan(planned(production))
    first = printed(production, one)
    content = draw(first.document())
    record = first.path.read_bytes()
    again = printed(production, the_plan(planned(production)))
    assert (again.revision.letter, again.is_new) == ("A", False)
    assert draw(again.document()) == content
    assert first.path.read_bytes() == record
    # The second revision too, with its marks in the margin and its last page.
    second = printed(production, the_plan(planned(production, shift_us=84_000)))
    twice = printed(production, the_plan(planned(production, shift_us=84_000)))
    assert second.revision.letter == twice.revision.letter == "B"
    assert second.job.changed
    assert draw(second.document()) == draw(twice.document()) != content


def test_any_changed_row_changes_the_stamp(tmp_path) -> None:
    """Every single change of one cell, of each kind, and each fact of the heading: all stamps differ."""
    state = state_of(["heron"], job_with_everything())
    data = as_data(state)
    character = data["characters"][0]
    variants = [json.dumps(data)]

    def varied(**changes: object) -> None:
        variants.append(json.dumps({**data, "characters": [{**character, **changes}]}))

    codes = [value for length, value in character["pieces"] for _ in range(length)]
    shown = [value for length, value in character["shown"] for _ in range(length)]
    for frame in range(24):
        varied(pieces=[[1, "OPEN1" if at == frame else code] for at, code in enumerate(codes)])
        varied(shown=[[1, "ZH" if at == frame else what] for at, what in enumerate(shown)])
        varied(phonemes=[*(row for row in character["phonemes"] if row[0] != frame), [frame, "ZH", "ZH"]])
        varied(lost=[*character.get("lost", []), [frame, "ZH", "ZH"]])
        varied(beats=[*(beat for beat in character["beats"] if beat != frame), *([frame] if frame != 3 else [])])
        varied(keep_alive=[*(f for f in character["keep_alive"] if f != frame), *([frame] if frame != 9 else [])])
        varied(toward=[[2, "SHUT", 2], [frame, "OPEN2", 5]])
        varied(heard=[*character["heard"], ["word", "lamp", frame, frame]])
    for index, row in enumerate(character["heard"]):
        others = (
            ["word" if row[0] == "cue" else "cue", *row[1:]],
            [row[0], "x", *row[2:]],
            [*row[:3], row[3] + 1, *row[4:]],
            [*row[:4], len(row) == 4],
        )
        for other in others:
            varied(heard=[other if at == index else kept for at, kept in enumerate(character["heard"])])
    stamps = {stamp_of_data(text) for text in variants}
    assert len(stamps) == len(variants) == 1 + 8 * 24 + 4 * len(character["heard"])


def stamp_of_data(text: str) -> str:
    """Return the stamp of what data say, computed anew from its rows by the one function that makes stamps."""
    state = from_data(json.loads(text))
    facts = state.facts
    job = job_with_everything(production=facts.production, scene=facts.scene, shot=facts.shot)
    return stamp_of(job, state.rows)


def test_paper_and_form_do_not_change_the_stamp() -> None:
    job = job_with_everything()
    large = replace(
        job, settings=job.settings.model_copy(update={"page": "A3", "form": "large"}), filmed=frozenset({1})
    )
    assert state_of(["heron"], large).stamp == state_of(["heron"], job).stamp
    assert sheet(job).title == "shot 010"


def test_the_plan_of_a_shot_is_what_its_print_says(tmp_path) -> None:
    production = production_of(tmp_path)
    one = the_plan(planned(production))
    revised = printed(production, one)
    kept = read(revised.path).newest
    assert kept.state == state_of_plan(production, one)
    assert kept.state.pieces("heron") == one.cast[0].track.pieces
    assert kept.state.pieces("nobody") == ()
    assert plain(kept.state.stamp) in revised.path.read_text("utf-8").replace("-", "")
