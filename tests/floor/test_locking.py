"""Lock, unlock, refilm: what each does, and what it refuses, in whose words."""

from __future__ import annotations

import datetime
import re
import shutil
from dataclasses import replace

import pytest

from lipsync.app.print.printing import sheet_job
from lipsync.errors import InputError
from lipsync.fit.keys import Toward
from lipsync.floor import prints
from lipsync.floor.locked_frames import _differing_from_print
from lipsync.floor.locking import lock, refilm, shot_record_of, unlock
from lipsync.floor.record_file import own_place
from lipsync.paper.exposure import sheet
from lipsync.paper.rows import stamped
from lipsync.production.production_tables import OnCamera
from lipsync.seen import seen
from tests.floor.build import (
    SPOKEN,
    breakdown_of,
    pieces_of,
    planned,
    printed,
    production_of,
    state_of_plan,
    the_plan,
    with_shot,
)


@pytest.fixture
def floor(tmp_path):
    """A production of one shot of 72 frames that was printed once."""
    production = production_of(tmp_path)
    printed(production, the_plan(planned(production)))
    return production


def told(act, *arguments, **options):
    """Return what an act has to say, in words."""
    return tuple(map(str, act(*arguments, **options)))


def the_text(production):
    return own_place(production.folder, "01-pier", "010").read_text("utf-8")


def test_what_was_printed_is_what_is_filmed(floor) -> None:
    """The line moves after the print: the record says what was on paper, not what would be planned now."""
    before = pieces_of(the_plan(planned(floor)))
    locked = told(lock, floor, "010", (1, 20))
    stamp = shot_record_of(floor, "010").record.events[0].stamp
    assert locked == (f"shot 010: locked frames 1 to 20, filmed from revision A ({stamp})",)
    after = pieces_of(the_plan(planned(floor, shift_us=250_000)))
    assert {who: pieces[:20] for who, pieces in after.items()} == {who: p[:20] for who, p in before.items()}
    assert after["heron"][20:] != before["heron"][20:]


def test_an_older_print_may_have_been_filmed_from(floor) -> None:
    older = pieces_of(the_plan(planned(floor)))
    printed(floor, the_plan(planned(floor, shift_us=250_000)))
    lock(floor, "010", (1, 30), revision="a")
    assert pieces_of(the_plan(planned(floor, shift_us=250_000)))["heron"][:30] == older["heron"][:30]
    assert 'revision = "A"' in the_text(floor)
    with pytest.raises(InputError, match="has no revision 'C' of shot 010; it has A, B"):
        lock(floor, "010", (31, 32), revision="C")


def test_what_was_really_worn_is_kept_beside_what_was_planned(floor) -> None:
    planned_code = pieces_of(the_plan(planned(floor)))["heron"][2]
    said = told(lock, floor, "010", (1, 12), ["3=RING1", "4-5=crab:-"], dated=datetime.date(2026, 11, 24))
    assert said[1:] == (
        f"shot 010: frame 3: heron wore RING1, planned was {planned_code}",
        "shot 010: frames 4 to 5: crab was off camera, planned was REST",
    )
    text = the_text(floor)
    assert f'"3 RING1, planned {planned_code}",' in text
    assert '"4-5 off camera, planned REST",' in text
    assert "dated = 2026-11-24" in text
    one = the_plan(planned(floor))
    assert pieces_of(one)["heron"][2] == "RING1"
    assert pieces_of(one)["crab"][3:5] == (None, None)


def test_a_lock_is_mended_without_a_range(floor) -> None:
    planned_code = pieces_of(the_plan(planned(floor)))["heron"][2]
    lock(floor, "010", (1, 12))
    assert told(lock, floor, "010", None, ["3=ring1"]) == (
        f"shot 010: frame 3: heron wore RING1, planned was {planned_code}",
    )
    assert [event.what for event in shot_record_of(floor, "010").record.events] == ["lock", "mend"]
    assert told(lock, floor, "010", None, ["3=RING1"]) == (
        "shot 010: frame 3 had been locked already; nothing changed",
    )
    assert len(shot_record_of(floor, "010").record.events) == 2


def test_no_date_is_written_that_nobody_gave(floor) -> None:
    lock(floor, "010", (1, 12))
    assert "dated" not in the_text(floor)


def test_a_take_that_is_filmed_again_is_kept_with_its_reason(floor) -> None:
    lock(floor, "010", (1, 40))
    assert told(refilm, floor, "010", (31, 45), " the lamp\nfell over ") == (
        "shot 010: unlocked frames 31 to 40, to refilm",
        "shot 010: frames 41 to 45 had not been locked",
    )
    first, again = shot_record_of(floor, "010").record.events
    assert first.frames == ((0, 39),)
    assert (again.what, again.frames, again.reason) == ("refilm", ((30, 39),), "the lamp fell over")
    assert the_plan(planned(floor)).filmed == frozenset(range(30))
    lock(floor, "010", (1, 40))
    third = shot_record_of(floor, "010").record.events[2]
    assert (third.number, third.frames) == (3, ((30, 39),))
    with pytest.raises(InputError, match="--reason: is empty; say why"):
        refilm(floor, "010", (1, 2), "  ")


def test_a_slip_is_taken_back(floor) -> None:
    lock(floor, "010", (1, 40))
    unlock(floor, "010", (1, 40))
    assert the_plan(planned(floor)).filmed == frozenset()
    with pytest.raises(InputError, match="frames 1 to 2 cannot be unlocked: nothing of it is locked"):
        unlock(floor, "010", (1, 2))


def test_nothing_is_recorded_if_a_file_changed_while_it_was_read(floor, tmp_path) -> None:
    path = tmp_path / "production.toml"
    was = replace(floor, read_from=seen(path))
    path.write_text("", "utf-8")
    with pytest.raises(InputError, match=r"nothing is recorded, since .*production\.toml changed while it was read"):
        lock(was, "010", (1, 3))
    assert not (floor.folder / "filmed").exists()


def test_which_frames_had_been_locked_is_said_when_others_are_unlocked(floor) -> None:
    lock(floor, "010", (1, 40))
    with pytest.raises(InputError, match="frames 41 to 50 cannot be unlocked: locked are frames 1 to 40"):
        unlock(floor, "010", (41, 50))
    assert told(unlock, floor, "010", (1, 10)) == ("shot 010: unlocked frames 1 to 10",)
    assert told(unlock, floor, "010", (1, 20)) == (
        "shot 010: unlocked frames 11 to 20",
        "shot 010: frames 1 to 10 had not been locked",
    )


def test_frames_may_be_unlocked_up_to_the_last_one_filmed_and_no_further(floor, tmp_path) -> None:
    lock(floor, "010", (1, 40))
    shorter = with_shot(floor, frames=30)
    with pytest.raises(InputError, match="has frames 1 to 40, and not 31 to 41"):
        unlock(shorter, "010", (31, 41))
    assert told(unlock, shorter, "010", (31, 40)) == ("shot 010: unlocked frames 31 to 40",)
    with pytest.raises(InputError, match="has frames 1 to 1, and not 2 to 2"):
        unlock(with_shot(production_of(tmp_path / "other"), frames=1), "010", (2, 2))


def test_modelling_is_told_when_a_record_is_mended(modelled) -> None:
    lock(modelled, "010", (1, 40))
    marks = ["2-4=heron:toward RING1", "6=heron:keep alive"]
    assert told(lock, modelled, "010", None, marks) == (
        "shot 010: frames 2 to 4: heron: toward RING1",
        "shot 010: frame 6: heron: keep alive",
    )
    # On the sheet from frame 20 on: it was filmed from there, so saying it changes nothing.
    assert told(lock, modelled, "010", None, ["20-22=heron:toward OPEN2"]) == (
        "shot 010: frames 20 to 22 had been locked already; nothing changed",
    )


def test_modelling_that_a_record_does_not_have_is_that_of_its_print(modelled) -> None:
    lock(modelled, "010", (1, 40))
    path = own_place(modelled.folder, "01-pier", "010")
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[event.modelled]")] + text[text.index("[end]") :], "utf-8")
    assert [(one.first, one.last) for one in shot_record_of(modelled, "010").modelled()["heron"]] == [(19, 21)]


def test_modelling_is_known_where_the_print_is_gone(modelled) -> None:
    lock(modelled, "010", (1, 40))
    shutil.rmtree(modelled.folder / "prints")
    assert [(one.first, one.last) for one in shot_record_of(modelled, "010").modelled()["heron"]] == [(19, 21)]


@pytest.mark.parametrize(
    ("span", "wore", "message"),
    [
        ((5, 1), [], "frames 5 to 1 end before they begin"),
        ((1, 73), [], 'pier.toml: .*"010": has frames 1 to 72, and not 1 to 73; name frames of the shot'),
        ((0, 3), [], "has frames 1 to 72, and not 0 to 3"),
        ((9, 3), [], "frames 9 to 3 end before they begin; name the first frame first"),
        (
            (1, 3),
            ["2=XX9"],
            "--wore 2=XX9: 'XX9' is a code that nobody in this shot has; heron has REST, .*; crab has",
        ),
        ((1, 3), ["2=crab:RING1"], "'RING1' is a code that crab does not have; crab has REST"),
        ((1, 3), ["2=REST"], "could be heron or crab; write who, such as heron:REST"),
        ((1, 3), ["2=gull:REST"], "'gull' is not in this shot; its characters are heron, crab"),
        ((1, 3), ["2"], "--wore 2: is not understood; write FRAME=CODE"),
        ((1, 3), ["5-4=RING1"], "ends before it begins"),
        ((1, 3), ["9=RING1"], "--wore names frame 9, which is neither locked nor among frames 1 to 3"),
        (None, ["99=RING1"], "has frames 1 to 72, and not frame 99"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(floor, span, wore, message) -> None:
    with pytest.raises(InputError, match=message):
        lock(floor, "010", span, wore)
    assert not (floor.folder / "filmed").exists()


def test_all_faults_of_what_was_worn_come_in_one_go(floor) -> None:
    with pytest.raises(InputError) as raised:
        lock(floor, "010", (1, 3), ["2=XX9", "x", "3=YY9"])
    assert [problem.file for problem in raised.value.problems] == ["--wore 2=XX9", "--wore x", "--wore 3=YY9"]


def test_a_shot_that_is_not_there(floor) -> None:
    with pytest.raises(InputError, match="holds no shot '999'; it has 010"):
        lock(floor, "999", (1, 3))


def test_a_frame_that_was_never_printed(tmp_path) -> None:
    production = production_of(tmp_path)
    with pytest.raises(
        InputError, match="was never printed, so nothing of it can have been filmed; first: lipsync sheet"
    ):
        lock(production, "010", (1, 3))
    printed(production, the_plan(planned(production)))
    longer = with_shot(production, frames=90)
    with pytest.raises(
        InputError, match="frames 73 to 80 cannot have been filmed: revision A ends at 72; print it first"
    ):
        lock(longer, "010", (1, 80))
    lock(longer, "010", (1, 72))


def test_a_shot_made_shorter_than_what_is_filmed_of_it(floor) -> None:
    lock(floor, "010", (1, 40))
    shorter = with_shot(floor, frames=30)
    plans = planned(shorter)
    assert plans.shots == ()
    (problem,) = plans.report.problems
    assert str(problem).endswith(
        '[[shot]] "010" frames: found 30, but frames 31 to 40 of shot 010 went into the can; give it 40 frames, or '
        f"unlock what is cut: lipsync unlock {floor.folder} 010 --from 31 --to 40"
    )
    # The remedy is one: what it says can be done, in the shorter shot.
    unlock(shorter, "010", (31, 40))
    assert the_plan(planned(shorter)).filmed == frozenset(range(30))


def test_a_character_that_was_renamed(floor) -> None:
    lock(floor, "010", (1, 40))
    line = floor.scenes[0].shots[0].line
    renamed = with_shot(floor, line=(line[1],))
    plans = planned(renamed, {"010-b": SPOKEN["010-b"]})
    assert plans.shots == ()
    (problem,) = plans.report.problems
    assert "heron: is in the can on frames 1 to 40, but shot 010 now has crab; name it in the shot again" in str(
        problem
    )
    # The remedy works: named in the shot, it is planned and held, although it says nothing any more.
    named = with_shot(renamed, characters={"heron": OnCamera()})
    one = the_plan(planned(named, {"010-b": SPOKEN["010-b"]}))
    assert one.filmed == frozenset(range(40))
    assert one.cast[0].character == "heron"
    assert one.cast[0].track.pieces[:40] == pieces_of(the_plan(planned(floor)))["heron"][:40]


def test_a_code_that_the_set_no_longer_has(floor) -> None:
    lock(floor, "010", (1, 40), ["3=RING1"])
    sets = {**floor.mouth_sets, "heron": floor.mouth_sets["crab"]}
    object.__setattr__(floor, "mouth_sets", sets)
    plans = planned(floor)
    assert pieces_of(the_plan(plans))["heron"][2] == "RING1"
    assert "heron wears RING1 on frame 3, a code that Driftwood does not have" in "\n".join(
        map(str, plans.report.messages)
    )


def test_a_character_that_came_after_filming_is_taken_to_be_off_camera(floor) -> None:
    line = floor.scenes[0].shots[0].line
    alone = with_shot(floor, line=(line[0],))
    printed(alone, the_plan(planned(alone, SPOKEN)))
    lock(alone, "010", (1, 40))
    plans = planned(floor)
    assert pieces_of(the_plan(plans))["crab"][:40] == (None,) * 40
    assert "crab was on no print when frames 1 to 40 went into the can" in str(plans.report.messages[-1])
    assert told(lock, floor, "010", None, ["1-40=crab:REST"]) == (
        "shot 010: frames 1 to 40: crab wore REST, planned was off camera",
    )
    assert pieces_of(the_plan(planned(floor)))["crab"][:40] == ("REST",) * 40


def test_a_record_that_is_not_of_its_print_bars_its_shot(floor) -> None:
    """One code is changed by hand in the record: nothing is planned on it, and the remedy is one."""
    lock(floor, "010", (1, 12))
    path = own_place(floor.folder, "01-pier", "010")
    text = path.read_text("utf-8")
    assert text.count('"1-12 REST",') == 1  # the crab's; the heron moves
    path.write_text(text.replace('"1-12 REST",', '"1-6 REST",\n    "7 SHUT",\n    "8-12 REST",'), "utf-8")
    plans = planned(floor)
    assert plans.shots == ()
    (problem,) = plans.report.problems
    assert "[[event]] 1 [worn] crab: says that SHUT was planned on frame 7, and revision A" in str(problem)
    assert (
        'asks for REST there; write the code that was worn, then the one that was planned: "12 OPEN2, planned REST"'
        in str(problem)
    )
    path.write_text(path.read_text("utf-8").replace('"7 SHUT"', '"7 SHUT, planned REST"'), "utf-8")
    assert pieces_of(the_plan(planned(floor)))["crab"][6] == "SHUT"


def test_a_lock_of_frames_that_its_print_does_not_have_is_not_of_its_print(floor) -> None:
    """The print is cut down to eleven rows; the twelfth frame, of index 11, is then on no row of it."""
    lock(floor, "010", (1, 12))
    there = shot_record_of(floor, "010")
    known = prints.read(prints.own_place(floor.folder, "01-pier", "010"))
    assert list(_differing_from_print(floor, there.record, known, there.path)) == []
    state = replace(known.revisions[0].state, rows=known.revisions[0].state.rows[:11])
    cut = replace(known, revisions=(prints.Revision("A", state),))
    heron, _ = _differing_from_print(floor, there.record, cut, there.path)
    assert "was planned on frame 12, and revision A" in str(heron)
    assert "asks for off camera there" in str(heron)
    # What a mend says was planned is what the record said before: it is of no print.
    mend = replace(there.record.events[0], number=2, what="mend")
    mended = replace(there.record, events=(there.record.events[0], mend))
    places = [one.place for one in _differing_from_print(floor, mended, cut, there.path)]
    assert places == ["[[event]] 1 [worn] heron", "[[event]] 1 [worn] crab"]


def test_a_record_that_is_named_for_another_shot_bars_its_shot(floor) -> None:
    lock(floor, "010", (1, 12))
    path = own_place(floor.folder, "01-pier", "010")
    text = path.read_text("utf-8")
    assert text.count(' = "010"') == 2  # it ends by naming its shot again
    path.write_text(text.replace(' = "010"', ' = "011"'), "utf-8")
    plans = planned(floor)
    assert plans.shots == ()
    assert "found '011', but the file is named for '010'; mend one of them" in str(plans.report.problems[0])


def test_where_what_is_filmed_does_not_fit_its_sound_is_said_on_paper_and_is_no_new_revision(floor, read) -> None:
    lock(floor, "010", (1, 60))
    one = the_plan(planned(floor, shift_us=250_000))
    told = [misfit for cast in one.cast for misfit in cast.misfits]
    assert told
    job = sheet_job(floor, one, {cast.character: {} for cast in one.cast})
    texts = " ".join(text.text for _, _, page in read(sheet(job)) for text in page)
    assert "filmed, and does not fit the sound:" in texts
    for misfit in told:
        assert re.search(rf"\bframe {misfit.span[0] + 1}\b", texts), misfit
    without = replace(job, characters=tuple(replace(character, misfits=()) for character in job.characters))
    assert stamped(job).stamp == stamped(without).stamp
    assert "does not fit" not in " ".join(text.text for _, _, page in read(sheet(without)) for text in page)


def test_a_print_that_is_gone_is_said_and_pieces_and_modelling_stay(modelled) -> None:
    before = rows_of_plan(modelled, spoken=MODELLED)
    lock(modelled, "010", (1, 60))
    shutil.rmtree(modelled.folder / "prints")
    plans = planned(modelled, MODELLED, 250_000)
    assert any("from which they were filmed, is not in" in str(text) for text in plans.report.messages)
    after = rows_of_plan(modelled, 250_000, MODELLED)
    for who, cells in before.items():
        pieces = [(cell.piece, cell.toward, cell.keep_alive) for cell in cells[:60]]
        assert [(cell.piece, cell.toward, cell.keep_alive) for cell in after[who][:60]] == pieces


# Long sounds, between which the clay is modelled from frame 20 on over three frames.
MODELLED = {**SPOKEN, "010-a": breakdown_of(["five", "wings"], 100_000, 160_000)}


@pytest.fixture
def modelled(tmp_path):
    """A production that was printed once, with modelling on its sheet."""
    production = production_of(tmp_path)
    printed(production, the_plan(planned(production, MODELLED)))
    cells = rows_of_plan(production, spoken=MODELLED)["heron"]
    assert [(f, cell.toward.frames) for f, cell in enumerate(cells[:40]) if cell.toward] == [(19, 3)]
    return production


def rows_of_plan(production, shift_us=0, spoken=SPOKEN):
    """Return the cells of each character as the sheet shows them."""
    state = state_of_plan(production, the_plan(planned(production, spoken, shift_us=shift_us)))
    return {who: state.cells(who) for who in state.characters}


def test_a_record_without_modelling_is_read_as_its_print(modelled) -> None:
    """What the first form of records did not say, the print says; later plans change nothing of it."""
    before = rows_of_plan(modelled, spoken=MODELLED)
    lock(modelled, "010", (1, 40))
    path = own_place(modelled.folder, "01-pier", "010")
    text = path.read_text("utf-8")
    assert '"20-22 toward OPEN2"' in text
    start, end = text.index("[event.modelled]"), text.index("[end]")
    path.write_text(text[:start] + text[end:], "utf-8")
    assert rows_of_plan(modelled, 250_000, MODELLED)["heron"][:40] == before["heron"][:40]


@pytest.mark.parametrize("upto", range(17, 27))
def test_modelling_that_was_begun_is_not_asked_for_again(modelled, upto) -> None:
    """Wherever the frames in the can end, the page of an unchanged plan stays as it is, row by row."""
    before = rows_of_plan(modelled, spoken=MODELLED)
    lock(modelled, "010", (1, upto))
    assert rows_of_plan(modelled, spoken=MODELLED) == before


@pytest.mark.parametrize("upto", range(20, 23))
def test_modelling_that_was_begun_is_not_begun_again_where_the_next_piece_comes_later(modelled, upto) -> None:
    """The clay is on its way already: until the next piece is put on, it stays as it is."""
    lock(modelled, "010", (1, upto))
    after = rows_of_plan(modelled, 120_000, MODELLED)["heron"]
    key = next(frame for frame in range(20, 60) if after[frame].fitted)
    assert key > 22
    assert [frame for frame in range(key) if after[frame].toward and after[frame].toward.code == "OPEN2"] == [19]
    assert after[key].piece == "OPEN2"


def test_nothing_is_modelled_anew_on_frames_that_are_filmed(modelled) -> None:
    """Frame 23 wore what it was modelled toward, and nobody modelled: no later page says that somebody did."""
    lock(modelled, "010", (1, 40), ["20=heron:not modelled", "24=heron:SHUT"])
    assert not any(cell.toward for cell in rows_of_plan(modelled, spoken=MODELLED)["heron"][:40])


def test_what_was_modelled_is_what_is_said(modelled) -> None:
    before = rows_of_plan(modelled, spoken=MODELLED)["heron"]
    lock(modelled, "010", (1, 72), ["20=heron:not modelled", "2-4=heron:toward RING1", "6=heron:keep alive"])
    after = rows_of_plan(modelled, spoken=MODELLED)["heron"]
    assert (after[19].toward, after[1].toward) == (None, Toward(1, "RING1", 3))
    assert after[5].keep_alive
    assert [cell.piece for cell in after] == [cell.piece for cell in before]
    assert lock(modelled, "010", None, ["2-4=heron:toward RING1"])[0].kind == "locked already"
    lock(modelled, "010", None, ["2-4=heron:not modelled"])
    assert rows_of_plan(modelled, spoken=MODELLED)["heron"][1].toward is None
    with pytest.raises(InputError, match="is a code that nobody in this shot has"):
        lock(modelled, "010", None, ["2=toward XX9"])


def test_where_the_sound_no_longer_fits_is_said_and_is_on_the_sheet(floor) -> None:
    """“Mind the paint” becomes “blue blue blue”: its rounded lips and its B fall on frames filmed otherwise."""
    lock(floor, "010", (1, 40))
    plans = planned(floor, {**SPOKEN, "010-a": breakdown_of(["blue", "blue", "blue"])})
    (message,) = [str(one) for one in plans.report.messages if "heron" in str(one)]
    assert '[[shot]] "010": heron: what is filmed does not fit the sound: frame' in message
    assert "asked for" in message
    assert any("filmed" in lost.reason for lost in the_plan(plans).cast[0].track.lost)


def test_what_fits_is_not_complained_of(floor) -> None:
    lock(floor, "010", (1, 72))
    assert planned(floor).report.messages == ()
    # A frame later is within what viewers accept.
    assert planned(floor, shift_us=41_000).report.messages == ()


def test_a_record_moves_with_its_shot_to_another_scene(floor) -> None:
    lock(floor, "010", (1, 40))
    own_place(floor.folder, "01-pier", "010").rename(own_place(floor.folder, "01-pier", "010").parent / "011.toml")
    plans = planned(floor)
    assert the_plan(plans).filmed == frozenset()
    assert "the production has no shot 011; if it was renamed" in str(plans.report.messages[0])
    (floor.folder / "filmed" / "02-quay").mkdir()
    (floor.folder / "filmed" / "01-pier" / "011.toml").rename(floor.folder / "filmed" / "02-quay" / "010.toml")
    assert the_plan(planned(floor)).filmed == frozenset(range(40))
    lock(floor, "010", (1, 41))
    assert not own_place(floor.folder, "01-pier", "010").exists()


def test_a_broken_record_bars_its_shot_only(floor) -> None:
    path = own_place(floor.folder, "01-pier", "010")
    path.parent.mkdir(parents=True)
    path.write_text("form = 'lipsync filmed 1'", "utf-8")
    plans = planned(floor)
    assert plans.shots == ()
    assert [problem.place for problem in plans.report.problems] == ["shot", "first_frame", "end"]
