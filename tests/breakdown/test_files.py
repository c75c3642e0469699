"""Files are whole at every moment, and what cannot be written says why.

Real faults where the machine can make them (a killed process, a file in the place of a folder, a folder of the
system's); a full disk is simulated, since making one needs rights that a test should not have.
"""

import errno
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from lipsync.errors import ExitCode, OutputError
from lipsync.files import write_whole

# Writes two contents in turn, and is killed from outside; the write of the number that is given stops when all is on
# the disk and nothing in its place.
WRITER = """
import sys, time
from itertools import count
from pathlib import Path
from lipsync.files import write_whole

def stop():
    print("all but in its place", flush=True)
    time.sleep(600)

path, last = Path(sys.argv[1]), int(sys.argv[2])
for number in count(1):
    write_whole(path, (b"b", b"a")[number % 2] * 3_000_000, stop if number == last else lambda: None)
    if number == 1:
        print("one is written", flush=True)
"""


@contextmanager
def writing(path: Path, last: int) -> Iterator[subprocess.Popen[bytes]]:
    """Run the writer from when it has written once until it has ended."""
    with subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(last)], stdout=subprocess.PIPE) as writer:
        assert writer.stdout is not None
        writer.stdout.readline()
        yield writer


def hidden_files(folder: Path) -> list[Path]:
    return sorted(folder.glob(".*"))


def test_the_bytes_arrive_and_folders_are_made(tmp_path):
    path = tmp_path / "scene 3" / "breakdowns" / "lantern-03.toml"
    write_whole(path, b"\x00\xff\r\n")
    assert path.read_bytes() == b"\x00\xff\r\n"
    assert sorted(path.parent.iterdir()) == [path]


def test_a_file_is_replaced_and_its_permissions_stay(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(b"old, and longer than the new one")
    path.chmod(0o640)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_new_file_has_the_permissions_that_the_system_gives(tmp_path):
    plain = tmp_path / "plain"
    plain.touch()
    write_whole(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == plain.stat().st_mode


def test_a_link_stays_a_link(tmp_path):
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_bytes(b"old")
    link.symlink_to(real)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_killed_process_leaves_a_whole_file(tmp_path):
    path = tmp_path / "a.toml"
    whole = {letter * 3_000_000 for letter in (b"a", b"b")}
    for attempt in range(12):
        with writing(path, 0) as writer:
            time.sleep(0.003 * attempt + 0.02)
            writer.send_signal(signal.SIGKILL)
        assert path.read_bytes() in whole
    with writing(path, 3) as writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"all but in its place\n"
        writer.send_signal(signal.SIGKILL)
    assert path.read_bytes() == b"b" * 3_000_000
    assert [file.stat().st_size for file in hidden_files(tmp_path)] == [3_000_000]

    for file in hidden_files(tmp_path):
        os.utime(file, (time.time() - 3700,) * 2)
    write_whole(path, b"next")
    assert sorted(tmp_path.iterdir()) == [path]


def test_the_hidden_file_of_another_writer_is_left_alone(tmp_path):
    """A writer holds its hidden file while it lives: what nobody holds was left by one that was killed."""
    fcntl = pytest.importorskip("fcntl", reason="there is no holding of files on this system")
    other = tmp_path / ".lipsync-0123456789abcdef.part"
    with other.open("wb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        write_whole(tmp_path / "a.toml", b"")
        assert other.exists()
    write_whole(tmp_path / "a.toml", b"")
    assert not other.exists()


@pytest.mark.parametrize(
    ("path", "reason"),
    [
        ("file/a.toml", "a file stands where a folder is needed; move it or choose another folder"),
        ("file/deeper/a.toml", "a file stands where a folder is needed; move it or choose another folder"),
        ("folder", "a folder stands where the file should be; move it or choose another name"),
        ("n" * 300, "the name is too long; choose a shorter one"),
    ],
)
def test_what_stands_in_the_way_is_said(tmp_path, path, reason):
    (tmp_path / "file").write_bytes(b"kept")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputError) as caught:
        write_whole(tmp_path / path, b"new")
    assert str(caught.value) == f"{tmp_path / path}: cannot be written: {reason}"
    assert caught.value.exit_code is ExitCode.OUTPUT
    assert (tmp_path / "file").read_bytes() == b"kept"
    assert not hidden_files(tmp_path)


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="needs a folder in which nobody may make files")
def test_a_folder_that_takes_no_files():
    with pytest.raises(OutputError, match=r"^/proc/a\.toml: cannot be written: .*; choose another"):
        write_whole(Path("/proc/a.toml"), b"")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_folder_without_permission(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(OutputError, match="writing is not allowed; allow it"):
        write_whole(tmp_path / "a.toml", b"")


def test_a_file_locked_against_writing_is_not_replaced(tmp_path, monkeypatch):
    path = tmp_path / "filmed.toml"
    path.write_bytes(b"in the can")
    path.chmod(0o444)
    monkeypatch.setattr(os, "access", lambda *_: False)  # what the system says to anybody but root
    with pytest.raises(OutputError, match=r"filmed\.toml: cannot be written: writing is not allowed; allow it"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"in the can"
    assert not hidden_files(tmp_path)


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize(
    ("number", "reason"),
    [
        (errno.ENOSPC, "the disk is full; free some space"),
        (errno.EROFS, "the disk is read-only; choose another folder"),
        (errno.EIO, f"{os.strerror(errno.EIO)}; choose another folder"),
    ],
)
def test_a_disk_that_fails(tmp_path, monkeypatch, step, number, reason):
    path = tmp_path / "a.toml"
    path.write_bytes(b"old")

    def fail(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(OutputError) as caught:
        write_whole(path, b"new")
    assert str(caught.value) == f"{path}: cannot be written: {reason}"
    assert path.read_bytes() == b"old"
    assert not hidden_files(tmp_path)


def test_stopped_from_the_keyboard(tmp_path, monkeypatch):
    def stop(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "a.toml", b"new")
    assert not list(tmp_path.iterdir())
