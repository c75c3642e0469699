"""The record of what is in the can: events played in order, and the file that keeps them."""

from __future__ import annotations

import contextlib
import datetime
import random
from dataclasses import replace
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.floor.record import Event, Filmed, Modelled, Run, Worn, runs_of
from lipsync.floor.record_file import read, records_in, text_of, write
from lipsync.floor.spans import frames_in, spans_of
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample
from lipsync.production.values import Production

FILMED = Event(1, "lock", ((0, 3),), {"heron": (Run(0, 1, "REST", "REST"), Run(2, 3, "SHUT", "SHUT"))}, "A", "ABC")
MENDED = Event(2, "mend", ((1, 1),), {"heron": (Run(1, 1, "OPEN1", "REST"),)})
AGAIN = Event(3, "refilm", ((2, 3),), reason="the lamp fell over", dated=datetime.date(2026, 11, 24))
ANEW = Event(4, "lock", ((2, 2),), {"heron": (Run(2, 2, None, "SHUT"),)}, "B", "DEF")
BY_HAND = {"heron": (Modelled("toward", 2, 5, "SHUT"), Modelled("keep alive", 2, 2), Modelled("not modelled", 2, 2))}


def test_events_are_played_in_order() -> None:
    assert Filmed("010", (FILMED,)).frames == {0, 1, 2, 3}
    record = Filmed("010", (FILMED, MENDED, AGAIN))
    assert record.frames == {0, 1}
    assert record.worn == {"heron": {0: Worn("REST", "REST"), 1: Worn("OPEN1", "REST")}}
    assert record.with_event(ANEW).worn["heron"][2] == Worn(None, "SHUT")


@pytest.mark.parametrize("first_frame", [0, 1, 1001])
def test_the_file_gives_back_what_was_written(tmp_path, first_frame) -> None:
    record = Filmed("010", (FILMED, MENDED, AGAIN, ANEW))
    path = tmp_path / "filmed" / "01-pier" / "010.toml"
    write(path, record, first_frame)
    assert read(path) == record


def test_a_record_of_the_first_form_is_read_and_written_in_the_present_one(tmp_path) -> None:
    """Form 1 had the same fields, and called its events filmed, mended, taken back, to film again."""
    record = Filmed("010", (FILMED, MENDED, AGAIN, ANEW, Event(5, "unlock", ((0, 1),))))
    text = text_of(record, 1).replace('"lipsync filmed 2"', '"lipsync filmed 1"')
    for now, then in (("lock", "filmed"), ("mend", "mended"), ("unlock", "taken back"), ("refilm", "to film again")):
        assert f'what = "{now}"' in text
        text = text.replace(f'what = "{now}"', f'what = "{then}"')
    path = tmp_path / "010.toml"
    path.write_text(text, "utf-8")
    assert read(path) == record
    write(path, read(path), 1)
    assert path.read_text("utf-8") == text_of(record, 1)


def test_any_record_comes_back(tmp_path) -> None:
    dice = random.Random(7)
    path = tmp_path / "010.toml"
    for _ in range(60):
        record = Filmed("010")
        for number in range(1, dice.randint(2, 9)):
            free = [f for f in range(40) if f not in record.frames]
            held = sorted(record.frames)
            what = dice.choice(["lock", "mend", "unlock", "refilm"] if held else ["lock"])
            pool = free if what == "lock" else held
            frames = dice.sample(pool, dice.randint(1, len(pool)))
            worn = {
                who: runs_of({f: Worn(dice.choice(["A", "B-1", None]), dice.choice(["A", None])) for f in frames})
                for who in ("heron", "the.crab")
                if what in ("lock", "mend")
            }
            reason = dice.choice(["", 'a "lamp"', "Zoë\\n", "#1, 2-3"])
            record = record.with_event(Event(number, what, spans_of(frames), worn, reason=reason))
        write(path, record, 1)
        assert read(path) == record


def test_a_file_that_was_cut_short_is_never_taken_for_whole(tmp_path) -> None:
    path = tmp_path / "010.toml"
    content = text_of(Filmed("010", (FILMED, MENDED, AGAIN, ANEW)), 1).encode()
    for length in range(len(content.rstrip())):
        path.write_bytes(content[:length])
        with pytest.raises(InputError, match=r"010\.toml"):
            read(path)


def test_spans_and_frames_are_inverse() -> None:
    for frames in range(1 << 9):
        wanted = {frame for frame in range(9) if frames >> frame & 1}
        assert frames_in(spans_of(wanted)) == wanted


# One change of a good file -> what is said of it.
FAULTS = {
    ('form = "lipsync filmed 2"', 'form = "lipsync filmed 3"'): "from a later version of this program",
    ('form = "lipsync filmed 2"', 'form = "x"'): "this is no record of filmed frames",
    ('of = "010"', 'of = "020"'): r"\[end\] of: found '020', but this is shot '010'",
    ("number = 2", "number = 3"): r"\[\[event\]\] 2 number: found 3; events are numbered 1, 2, 3",
    ('what = "mend"', 'what = "mendet"'): "what: found 'mendet'; allowed are 'lock', 'mend', 'unlock'",
    ('frames = "1-4"', 'frames = "4-1"'): "'4-1' are no frames; write such as",
    ('frames = "1-4"', 'frames = "all"'): "'all' are no frames",
    ('frames = "1-4"', 'frames = "1-48000000"'): "'1-48000000' is longer than any shot",
    ('frames = "1-4"', 'frames = "0-4"'): "'0-4' begins before the shot's first frame, 1",
    ('frames = "1-4"', 'frames = "1-5"'): r"\[worn\] heron: does not say what was worn on frame 5; add it",
    ('frames = "1-4"', 'frames = "1-3"'): r"\[worn\] heron: speaks of frame 4, which this event does not hold",
    ('frames = "3-4"', 'frames = "3-6"'): r"\[\[event\]\] 3 frames: found frames 5 to 6, not in the can before",
    ('frames = "3"', 'frames = "2-3"'): r"\[\[event\]\] 4 frames: found frame 2, already in the can before",
    ('"1-2 REST"', '"1-20000000 REST"'): "'1-20000000 REST' is longer than any shot",
    ('"1-2 REST"', '"1-2 REST twice"'): "'1-2 REST twice' is no run of frames",
    ('"1-2 REST"', '"1-3 REST"'): "says twice what was worn on frame 3; keep one",
    ('"3-6 toward SHUT"', '"3-6 toward"'): "'3-6 toward' is no modelling; write such as \"62-64 toward OPEN1\"",
    ('"3-6 toward SHUT"', '"6-3 toward SHUT"'): "'6-3 toward SHUT' ends before it begins",
    ('"3-6 toward SHUT"', '"0-6 toward SHUT"'): "'0-6 toward SHUT' begins before the shot's first frame, 1",
    ('"3-6 toward SHUT"', '"2-6 toward SHUT"'): r"\[modelled\] heron: begins on frame 2, which this event does not",
    ("first_frame = 1", "first_frame = -1"): "first_frame: found -1; 0 or more is allowed",
    ('shot = "010"', 'shoot = "010"'): "shoot: is not known here",
    ('reason = "the', "reason = the"): "is not TOML here",
}


@pytest.mark.parametrize(("change", "message"), FAULTS.items(), ids=[new for _, new in FAULTS])
def test_each_fault_is_named(tmp_path, change, message) -> None:
    path = tmp_path / "010.toml"
    text = text_of(Filmed("010", (FILMED, MENDED, AGAIN, replace(ANEW, modelled=BY_HAND))), 1)
    assert text.count(change[0]) == 1
    path.write_text(text.replace(*change), "utf-8")
    with pytest.raises(InputError, match=message):
        read(path)


def test_nonsense_in_any_place_is_a_sentence(tmp_path) -> None:
    """Each value of a good file in turn becomes nonsense: never a traceback."""
    path = tmp_path / "010.toml"
    record = Filmed("010", (FILMED, MENDED, AGAIN, replace(ANEW, modelled=BY_HAND)))
    lines = text_of(record, 1).splitlines()
    places = [index for index, line in enumerate(lines) if " = " in line or line.startswith("    ")]
    assert len(places) > 20
    for index in places:
        head = lines[index].split(" = ")[0] + " = " if " = " in lines[index] else ""
        for nonsense in (
            "[]",
            "{}",
            "1.5",
            "true",
            '""',
            '"\\u0000"',
            "-1",
            "[[1, 2]]",
            '"9999999999"',
            "99999999999999",
        ):
            broken = [*lines[:index], f"{head}{nonsense}{'' if head else ','}", *lines[index + 1 :]]
            path.write_text("\n".join(broken), "utf-8")
            with contextlib.suppress(InputError):
                read(path)


def test_what_was_modelled_comes_back_and_nothing_is_told_from_not_recorded(tmp_path) -> None:
    path = tmp_path / "010.toml"
    for modelled in (None, {}, BY_HAND):
        record = Filmed("010", (FILMED, MENDED, AGAIN, replace(ANEW, modelled=modelled)))
        write(path, record, 1001)
        assert read(path) == record
    assert '"1003-1006 toward SHUT"' in path.read_text("utf-8")


def test_a_record_of_the_first_form_is_read(tmp_path) -> None:
    path, record = tmp_path / "010.toml", Filmed("010", (FILMED, MENDED, AGAIN, ANEW))
    path.write_text(text_of(record, 1).replace("lipsync filmed 2", "lipsync filmed 1"), "utf-8")
    assert read(path) == record
    assert all(event.modelled is None for event in read(path).events)


def sample_with(folder, *places: str):
    """The sample production, with records of a shot 010 in these scenes' folders."""
    put_sample(folder)
    for scene in places:
        write(folder / "filmed" / scene / "010.toml", Filmed("010", (FILMED,)), 1)
    return open_production(folder)


def renumbered(folder: Path, *places: str) -> Production:
    """The sample, both of whose scenes have a shot 010, with records of one in these scenes' folders."""
    sample_with(folder, *places)
    scene = folder / "scenes/02-post-office.toml"
    scene.write_text(scene.read_text("utf-8").replace('id = "030"', 'id = "010"', 1), "utf-8")
    return open_production(folder)


def test_what_is_filmed_of_a_renamed_scene_is_never_lost_where_scenes_have_shots_of_the_same_id(tmp_path) -> None:
    found = records_in(renumbered(tmp_path / "two", "01-lamp-room", "02-pier")).of_shots
    # The scene without a file of its own is the renamed one.
    assert {key: path.parent.name for key, path in found.items()} == {
        ("01-lamp-room", "010"): "01-lamp-room",
        ("02-post-office", "010"): "02-pier",
    }
    said = (
        r"02-pier/010\.toml: its scene is gone, and several shots are called 010: .* to .*lamp-room or .*post-office"
    )
    with pytest.raises(InputError, match=said):
        records_in(renumbered(tmp_path / "three", "02-pier"))


def test_two_records_of_a_shot_are_refused(tmp_path) -> None:
    production = sample_with(tmp_path / "film", "01-pier", "02-pier")
    with pytest.raises(
        InputError, match=r"shot 010 has another record, .*01-pier/010\.toml; keep the one that is true"
    ):
        records_in(production)


def test_a_record_goes_with_a_shot_whose_scene_has_another_name(tmp_path) -> None:
    files = records_in(sample_with(tmp_path / "film", "01-pier"))
    assert files.of_shots[("01-lamp-room", "010")].parent.name == "01-pier"
    assert files.of_none == {}


def test_a_record_is_that_of_the_shot_of_its_own_scene(tmp_path) -> None:
    """Another scene may have a shot of the same number."""
    files = records_in(sample_with(tmp_path / "film", "01-lamp-room", "02-post-office"))
    assert files.of_shots[("01-lamp-room", "010")].parent.name == "01-lamp-room"
    assert list(files.of_none) == [("02-post-office", "010")]
