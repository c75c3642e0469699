"""The program from Python: what `lipsync` offers, with text or paths, and at no cost before it is used."""

import ast
import os
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

import lipsync

SOURCE = Path(lipsync.__file__).read_text("utf-8")


def test_each_name_is_there_and_is_documented() -> None:
    assert sorted(lipsync.__all__) == lipsync.__all__
    for name in lipsync.__all__:
        assert getattr(lipsync, name).__doc__, name
    assert {*lipsync.__all__} <= {*dir(lipsync)}


def test_what_a_type_checker_sees_is_what_there_is() -> None:
    """Names are given twice: for those who check types, and for those who run."""
    (block, *_) = (node for node in ast.parse(SOURCE).body if isinstance(node, ast.If))
    seen = {alias.name: node.module for node in block.body for alias in node.names}
    assert {*lipsync.__all__} - {"break_down"} <= {*seen}
    for name in {*lipsync.__all__} - {"break_down"}:
        assert getattr(lipsync, name).__module__.startswith("lipsync."), name
        assert getattr(sys.modules[seen[name]], name) is getattr(lipsync, name)


def test_another_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'hum'"):
        lipsync.hum  # noqa: B018


def test_types_are_shipped() -> None:
    assert (Path(str(files("lipsync"))) / "py.typed").is_file()


def test_importing_loads_nothing() -> None:
    script = "import sys, lipsync\nprint(sorted(m for m in sys.modules if m.startswith('lipsync.') or m == 'numpy'))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "['lipsync.version']\n"


@pytest.mark.parametrize("kind", [str, Path, os.fsencode])
def test_a_folder_is_text_or_a_path(sample: Path, kind) -> None:
    if kind is os.fsencode:
        with pytest.raises(TypeError):
            lipsync.open_production(kind(sample))
        return
    production = lipsync.open_production(kind(sample))
    assert production.folder == sample


def test_a_folder_that_is_no_production_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(lipsync.InputError, match="start one with `lipsync new FOLDER`"):
        lipsync.open_production(str(tmp_path / "nowhere"))


def test_a_production_from_recordings_to_files(sample: Path, tmp_path: Path) -> None:
    out = str(tmp_path / "out")
    production = lipsync.open_production(str(sample))
    heard = lipsync.hear(production)
    assert (len(heard.lines), heard.report.problems) == (11, ())
    plans = lipsync.plan(production, heard, lipsync.Only(shot="020"))
    (shot,) = plans.shots
    assert {len(cast.track.pieces) for cast in shot.cast} == {shot.shot.frames} == {len(shot.cast[0].levels_db)}
    assert all(len(cast.pitches_hz) == len(cast.sounds) for cast in shot.cast)
    printed = lipsync.write_sheets(production, plans, out)
    assert printed.paths == (tmp_path / "out/01-lamp-room/020.pdf",)
    assert printed.paths[0].read_bytes()[:5] == b"%PDF-"
    counts = lipsync.count_pieces(production, plans.tracked)
    for row in counts:
        worn = [cast.track.pieces.count(row.code) for cast in shot.cast if cast.character == row.character]
        assert row.frames_seen == sum(worn)
    assert len(lipsync.write_count(production, plans.tracked, counts, out).paths) == 2
    order, _ = lipsync.order_pieces(production, lipsync.plan(production, heard).tracked)
    assert len(lipsync.write_order(production, order, out)) == 3
    (track,) = lipsync.write_tracks(production, plans, ["csv"], out).paths
    assert track == tmp_path / "out/01-lamp-room/020.csv"


def test_a_line_that_cannot_be_done_holds_up_no_other(lacking: Path) -> None:
    heard = lipsync.hear(lipsync.open_production(lacking))
    assert len(heard.lines) == 10
    (problem,) = heard.report.problems
    assert (problem.scene, problem.shot, problem.line) == ("01-lamp-room", "020", "020-c")
