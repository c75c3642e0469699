"""Files appear whole or not at all, those that belong together all or none, and nothing is left behind."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from lipsync import files
from lipsync.errors import OutputError
from lipsync.files import write_together, write_whole


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.mark.parametrize("call", ["fsync", "replace"])
@pytest.mark.parametrize("at", [0, 1, 2])
def test_a_disk_that_fills_leaves_files_that_belong_together_as_they_were(tmp_path, monkeypatch, call, at) -> None:
    """Three files; the disk is full at the first, second and third that is forced to it. Then all three are old."""
    paths = [tmp_path / name for name in ("count.pdf", "count.csv", "count.xlsx")]
    for path in paths:
        path.write_bytes(b"old")
    real, calls = getattr(os, call), iter(range(99))

    def full(*arguments):
        if next(calls) == at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(*arguments)

    monkeypatch.setattr(files.os, call, full)
    with pytest.raises(OutputError, match=rf"{paths[at].name}: cannot be written: the disk is full; free some space"):
        write_together(dict.fromkeys(paths, b"new"))
    if call == "fsync":
        assert [path.read_bytes() for path in paths] == [b"old"] * 3
    assert names(tmp_path) == sorted(path.name for path in paths)  # nothing hidden is left


def test_the_name_is_forced_to_the_disk_as_the_bytes_are(tmp_path, monkeypatch) -> None:
    """fsync(2): forcing a file does not force the entry in its folder; that takes a call for the folder."""
    forced = []
    real = os.fsync
    monkeypatch.setattr(files.os, "fsync", lambda file: (forced.append(os.fstat(file)), real(file))[1])
    write_whole(tmp_path / "filmed" / "01-pier" / "010.toml", b"x")
    kinds = ["folder" if stat.S_ISDIR(one.st_mode) else "file" for one in forced]
    # The two new folders in the folders that hold them, then the file, then its name.
    assert kinds == ["folder", "folder", "file", "folder"]
    holders = [one.st_ino for one in forced]
    inside = tmp_path / "filmed" / "01-pier"
    assert holders == [p.stat().st_ino for p in (tmp_path, tmp_path / "filmed", inside / "010.toml", inside)]


@pytest.mark.skipif(sys.platform == "win32", reason="there a file that is held cannot be moved: age decides")
def test_what_a_killed_writer_left_is_gone_after_the_next_write(tmp_path) -> None:
    code = (
        "import os, sys, time\nfrom pathlib import Path\nfrom lipsync import files\n"
        "files.os.replace = lambda *_: (print('here', flush=True), time.sleep(60))\n"
        "files.write_whole(Path(sys.argv[1]), b'half')"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "a")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout.readline() == "here\n"
        # While it lives its file is its own.
        write_whole(tmp_path / "b", b"whole")
        (hidden,) = (name for name in names(tmp_path) if name.startswith("."))
        writer.send_signal(signal.SIGKILL)
    assert hidden in names(tmp_path)
    write_whole(tmp_path / "b", b"whole")
    assert names(tmp_path) == ["b"]


def test_a_linked_file_stays_a_link(tmp_path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a").write_bytes(b"old")
    (tmp_path / "a").symlink_to(tmp_path / "elsewhere" / "a")
    write_together({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert (tmp_path / "a").is_symlink()
    assert (tmp_path / "elsewhere" / "a").read_bytes() == b"new"


# The disk fills when the second file of the folder of sheets is forced to it: count.pdf was the first.
FULL_AT_THE_SECOND = """
import errno, os, sys
sync, seen = os.fsync, []
def fsync(file):
    at = os.readlink(f"/proc/self/fd/{file}")
    if "/sheets/." in at:
        seen.append(at)
        if len(seen) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    sync(file)
os.fsync = fsync
from lipsync.app.cli import main
sys.exit(main())
"""


@pytest.mark.skipif(sys.platform != "linux", reason="/proc/self/fd says which file it is")
def test_a_disk_that_fills_between_a_counts_pages_and_its_table_leaves_both_as_they_were(sample) -> None:
    both = [sample / "sheets" / name for name in ("count.pdf", "count.csv")]
    both[0].parent.mkdir()
    for path in both:
        path.write_bytes(b"old")
    command = [sys.executable, "-c", FULL_AT_THE_SECOND, "count", str(sample)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 5
    assert "count.csv: cannot be written: the disk is full; free some space" in done.stderr
    assert [path.read_bytes() for path in both] == [b"old"] * 2
    assert names(both[0].parent) == ["count.csv", "count.pdf"]
