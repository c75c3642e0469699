"""What stands on a sheet beside the pieces: modelling between keys, holds to keep alive, strong beats."""

from dataclasses import replace

import pytest

from lipsync.app.plan.planning import ShotPlan, plan
from lipsync.app.print.pictures import pictures_of
from lipsync.app.print.printing import revised_sheet, sheet_job
from lipsync.fit.keys import Toward
from lipsync.fit.lips import distance
from lipsync.floor.revising import Revised
from lipsync.paper.sheet_job import KeepAlive, SheetJob
from lipsync.timing import frame_at
from tests.workshop.conftest import lines_of, pages_of


@pytest.fixture(scope="module")
def sheets(production, plans) -> list[tuple[ShotPlan, SheetJob]]:
    art = pictures_of(production).art
    return [(one, sheet_job(production, one, art)) for one in plans.shots]


def test_every_leap_of_clay_is_modelled_and_hard_pieces_never(sheets, production) -> None:
    """By the rule as DEVELOPERS' readers know it: the next key is far, and there is a frame for it."""
    found = 0
    for one, job in sheets:
        for cast, shown in zip(one.cast, job.characters, strict=True):
            notes = {note.frame + note.frames: note for note in shown.modelling if isinstance(note, Toward)}
            pieces = shown.mouth_set.by_code
            if shown.mouth_set.material == "hard":
                assert notes == {}
                continue
            for before, after in zip(cast.track.fittings, cast.track.fittings[1:], strict=False):
                far = distance(pieces[before.code].lips, pieces[after.code].lips) > production.file.fitting.far
                if after.frame in notes:
                    assert far
                    assert notes[after.frame].code == after.code
                    found += 1
                elif far and after.frame - before.frame > 1:
                    # The frame before the next key is off camera or there to be seen closed, or a sound of this key
                    # has only just begun.
                    sound = cast.track.serves[after.frame - 1]
                    begins = [frame_at(one.start_us, production.rate) for one in cast.job.sounds]
                    begun = any(after.frame - 1 <= frame <= after.frame for frame in begins)
                    closed = sound is not None and sound.symbol in ("P", "B", "M", "F", "V")
                    assert cast.track.pieces[after.frame - 1] is None or closed or begun
    assert found > 0


def test_long_holds_are_kept_alive_from_the_limit_on(sheets, production) -> None:
    longest, found = production.file.fitting.hold.longest, 0
    for one, job in sheets:
        for cast, shown in zip(one.cast, job.characters, strict=True):
            alive = {note.frame for note in shown.modelling if isinstance(note, KeepAlive)}
            expected = set()
            for frame in range(len(cast.track.pieces)):
                worn = [code for code in cast.track.pieces[: frame + 1] if code is not None]
                run = next((n for n, code in enumerate(reversed(worn)) if code != worn[-1]), len(worn)) if worn else 0
                if cast.track.pieces[frame] is not None and run == longest + 1:
                    expected.add(frame)
            assert alive == expected
            found += len(alive)
    assert found > 0


def test_notes_are_printed(sheets, production, plans) -> None:
    art = pictures_of(production).art
    one = next(shot for shot, _ in sheets if shot.shot.id == "040")
    revised = revised_sheet(production, one, art)
    assert isinstance(revised, Revised)
    texts = [text for line in lines_of(pages_of(revised.document())) for text in line]
    assert any(text.startswith("toward ") for text in texts)
    assert "keep alive" in texts
    assert "strong beat: head and brows may move" in texts


def test_each_line_has_a_beat_and_none_lies_off_camera(sheets) -> None:
    for one, job in sheets:
        for cast, shown in zip(one.cast, job.characters, strict=True):
            assert all(cast.track.pieces[frame] is not None for frame in shown.beats)
            assert len(shown.beats) >= 1


def test_a_beat_after_the_end_of_the_shot_is_on_no_sheet(production, heard) -> None:
    scene, shot = production.shots(shot="010")[0]
    short = shot.model_copy(update={"frames": 24})
    lines = tuple(replace(one, placed=replace(one.placed, shot=short)) for one in heard.lines)
    lines = tuple(replace(one, levels_db=one.levels_db[:24]) for one in lines if one.placed.line.id == "010-a")
    cut = replace(production, scenes=(replace(scene, shots=(short,)),))
    plans = plan(cut, replace(heard, lines=lines))
    job = sheet_job(cut, plans.shots[0], pictures_of(cut).art)
    assert all(frame < 24 for frame in job.characters[0].beats)
