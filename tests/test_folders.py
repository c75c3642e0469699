"""What may not be read is never taken for what is not there."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lipsync import folders
from lipsync.errors import ExitCode, InputError
from lipsync.folders import files_below, files_in, is_folder, is_there, unreadable
from tests.running import run
from tests.unprivileged import CANNOT, run_unprivileged


def test_files_in_the_order_of_their_names_and_none_where_there_is_no_folder(tmp_path) -> None:
    for name in ("b.toml", "a.toml", ".hidden.toml", "c.txt"):
        (tmp_path / name).write_text("")
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "d.toml").write_text("")
    assert [path.name for path in files_in(tmp_path, ".toml")] == ["a.toml", "b.toml"]
    assert [path.name for path in files_below(tmp_path, ".toml")] == ["d.toml"]
    assert files_in(tmp_path / "nothing", ".toml") == files_below(tmp_path / "nothing", ".toml") == ()
    assert unreadable(tmp_path) == unreadable(tmp_path / "nothing") == ()


def test_a_file_or_a_link_to_nothing_in_the_place_of_a_folder(tmp_path) -> None:
    (tmp_path / "filmed").write_text("")
    with pytest.raises(InputError, match="filmed: a file stands where a folder is needed; move it"):
        files_in(tmp_path / "filmed", ".toml")
    (tmp_path / "prints").symlink_to(tmp_path / "gone")
    with pytest.raises(InputError, match="prints: is a link to nothing; connect its disk"):
        files_in(tmp_path / "prints", ".json")


def test_what_is_there() -> None:
    here = Path(__file__)
    assert is_there(here)
    assert not is_folder(here)
    assert is_folder(here.parent)
    assert not is_there(here / "below a file")
    assert not is_there(here.with_name("x" * 300))
    assert not is_there(here.with_name("a\0b"))


@pytest.mark.parametrize("number", [1, 5, 13, 116])
def test_whatever_the_system_says_is_an_error_with_a_remedy(monkeypatch, tmp_path, number) -> None:
    """EPERM 1, EIO 5, EACCES 13, ESTALE 116 (errno(3))."""

    def refuse(path):
        raise OSError(number, os.strerror(number), str(path))

    monkeypatch.setattr(folders.os, "scandir", refuse)
    with pytest.raises(InputError, match=r"filmed: .*; (give|check|connect)"):
        files_in(tmp_path / "filmed", ".toml")


@pytest.mark.skipif(bool(CANNOT), reason=CANNOT or "-")
@pytest.mark.parametrize("name", ["filmed", "prints", "breakdowns", "recordings", "mouthsets", "scenes"])
@pytest.mark.parametrize("mode", [0o000, 0o400, 0o100])
def test_a_folder_that_may_not_be_read_stops_the_command_that_needs_it(sample, name, mode) -> None:
    folder = sample / name
    folder.mkdir(exist_ok=True)
    if not any(folder.iterdir()):
        (folder / "01-lamp-room").mkdir()
    os.chmod(folder, mode)
    try:
        ran = run_unprivileged("filmed", sample)
    finally:
        os.chmod(folder, 0o700)
    assert ran.code == ExitCode.INPUT, ran
    assert f"{folder}" in ran.err
    assert "may not be read" in ran.err or "Permission denied" in ran.err


@pytest.mark.skipif(bool(CANNOT), reason=CANNOT or "-")
@pytest.mark.parametrize("command", ["sheet", "count", "breakdown"])
def test_a_scene_of_filmed_that_may_not_be_read(sample, command) -> None:
    below = sample / "filmed" / "01-lamp-room"
    below.mkdir(parents=True)
    os.chmod(below, 0)
    try:
        ran = run_unprivileged(command, sample)
    finally:
        os.chmod(below, 0o700)
    assert (ran.code, ran.out) == (ExitCode.INPUT, "")
    assert f"{below}: may not be read; give whoever runs this the right to read it" in ran.err


def test_names_that_are_too_long_are_sentences(sample) -> None:
    scene = sample / "scenes" / "01-lamp-room.toml"
    text = scene.read_text("utf-8")
    long = "x" * 300
    one_more = '[[shot]]\nid = "025"\nframes = 24\n[[shot.line]]\nid = "025-a"\ncharacter = "crab"\ntext = "Oops."\n'
    scene.write_text(f'{text}\n{one_more}begins = 1\nrecording = "recordings/{long}.wav"\n', "utf-8")
    ran = run("breakdown", sample)
    assert ran.code == ExitCode.PARTLY
    assert "does not exist" in ran.err
    assert run("filmed", sample / long).code == ExitCode.INPUT
    scene.write_text(text, "utf-8")
    ours = Path(__file__).parent.parent / "mouthsets" / "tideline.toml"
    own = sample / "mouthsets"
    own.mkdir(exist_ok=True)
    sets = ours.read_text("utf-8").replace("[[piece]]\n", f'[[piece]]\npicture = "{long}.png"\n', 1)
    (own / "tideline.toml").write_text(sets, "utf-8")
    ran = run("sheet", sample)
    assert ran.code == ExitCode.PARTLY, ran  # the piece is drawn instead
    assert "File name too long" in ran.err


def test_a_file_that_is_removed_meanwhile_does_not_empty_its_folder(tmp_path: Path, monkeypatch) -> None:
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text("")
    stat_of = os.stat

    def stat_after_removal(path, **more):
        if Path(path).name == "a.toml":
            raise FileNotFoundError(path)
        return stat_of(path, **more)

    monkeypatch.setattr("lipsync.folders.os.stat", stat_after_removal)
    assert tmp_path / "b.toml" in files_in(tmp_path, ".toml")
