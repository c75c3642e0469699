"""One writer at a time: among threads, among processes, and after one of them was killed."""

import subprocess
import sys
import threading
from pathlib import Path

import pytest

import lipsync.file_lock
from lipsync.errors import OutputError
from lipsync.file_lock import alone

# Adds one to the number in a file, so many times, as a program that reads, changes and writes.
COUNTING = """
import sys
from pathlib import Path
from lipsync.file_lock import alone
path = Path(sys.argv[1])
for _ in range(int(sys.argv[2])):
    with alone(path):
        path.write_text(str(int(path.read_text()) + 1))
"""


def test_no_step_of_two_processes_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "number"
    path.write_text("0")
    running = [subprocess.Popen([sys.executable, "-c", COUNTING, str(path), "300"]) for _ in range(2)]
    assert [one.wait(60) for one in running] == [0, 0]
    assert path.read_text() == "600"
    assert [one.name for one in tmp_path.iterdir()] == ["number"]  # nothing is left behind


def test_threads_wait_for_each_other(tmp_path: Path) -> None:
    inside: list[int] = []
    most: list[int] = []

    def enter() -> None:
        for _ in range(50):
            with alone(tmp_path / "a"):
                inside.append(1)
                most.append(len(inside))
                inside.pop()

    threads = [threading.Thread(target=enter) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert (len(most), max(most)) == (200, 1)


def test_a_killed_process_keeps_nobody_out(tmp_path: Path) -> None:
    path = tmp_path / "number"
    waits = "import sys\nfrom pathlib import Path\nfrom lipsync.file_lock import alone\n"
    waits += "with alone(Path(sys.argv[1])):\n    print('in', flush=True)\n    sys.stdin.read()\n"
    other = subprocess.Popen(
        [sys.executable, "-c", waits, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout is not None
    assert other.stdout.readline() == "in\n"
    other.kill()
    other.communicate()
    with alone(path):
        pass


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lipsync.file_lock, "_WAIT_S", 0.1)
    with (
        alone(tmp_path / "a"),
        pytest.raises(OutputError, match=r"a: cannot be written: another program has been writing"),
        alone(tmp_path / "a"),
    ):
        pass


def test_where_there_is_no_folder_none_is_made(tmp_path: Path) -> None:
    with alone(tmp_path / "none" / "a"):
        pass
    assert not (tmp_path / "none").exists()
