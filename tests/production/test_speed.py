"""A list of 1,500 lines and a timeline of as many clips: taken in 3 s, again unchanged in 2 s, with no byte changed.

The times are those of the program at work, as the processor counts them, so that a busy machine does not fail them.
"""

import time
from pathlib import Path

import pytest
from production.films import Film, a_film, lay, snapshot
from production.test_recuts import edit

from lipsync.app.take.taking import find_taking, write_taking

FIRST_S, AGAIN_S = 3.0, 2.0


@pytest.fixture(scope="module")
def film() -> Film:
    return a_film(scenes=25, shots=12, lines=5)


def whole_edit(film: Film, tmp_path: Path) -> list[Path]:
    """Return an edit decision list for each scene: every scene begins at the same hour."""
    paths = []
    for scene in dict.fromkeys(scene for scene, _ in film.shots):
        own = [key for key in film.shots if key[0] == scene]
        paths.append(tmp_path / f"{scene}.edl")
        paths[-1].write_text(edit(film, own), "utf-8")
    return paths


def test_fifteen_hundred_lines_with_their_edit(film: Film, tmp_path: Path) -> None:
    assert len(film.lines) == 1500
    folder, sheet = lay(tmp_path / "film", film), tmp_path / "list.csv"
    sheet.write_text(film.csv(), "utf-8")
    files = [sheet, *whole_edit(film, tmp_path)]
    find_taking(lay(tmp_path / "warm"), [sheet][:0])  # what is loaded once is not counted
    began = time.process_time()
    taking = find_taking(folder, files)
    assert len(write_taking(taking)) == 25
    first_s = time.process_time() - began
    assert [one.what for one in taking.differences].count("new") == 1500
    before = snapshot(folder)
    began = time.process_time()
    again = find_taking(folder, files)
    write_taking(again)
    again_s = time.process_time() - began
    assert again.differences == ()
    assert snapshot(folder) == before
    assert first_s < FIRST_S
    assert again_s < AGAIN_S
