"""Two runs at once on one production, a disk that fills and a clock that goes back: nothing is lost or done twice."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from lipsync import files
from lipsync.app.hear.hearing import hear
from lipsync.app.index import production_index
from lipsync.app.index.production_index import ProductionIndex, code_of_bytes
from lipsync.app.work.in_hand import InHand
from lipsync.app.work.workers import Workers
from lipsync.errors import OutputError
from lipsync.message import Message
from lipsync.production.loading import open_production
from tests.app.conftest import Listener

ROOT = Path(__file__).parents[2]

# Has something in hand until it is told to let go of it.
HOLDING = """
import sys
from pathlib import Path
from lipsync.app.work.in_hand import InHand
with InHand(Path(sys.argv[1])) as in_hand:
    print(*(in_hand.take(name) for name in sys.argv[2:]), flush=True)
    sys.stdin.read()
"""


@contextmanager
def another_run(folder: Path, *names: str) -> Iterator[subprocess.Popen[str]]:
    """Have another process take something in hand."""
    started = subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(folder), *names], text=True, stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert started.stdout is not None
    assert started.stdout.readline().split() == ["True"] * len(names)
    yield started
    started.kill()
    started.communicate()


def breakdowns(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("breakdowns/*/*.toml")}


def test_what_is_in_hand_is_nobody_elses_until_it_is_let_go_or_killed(tmp_path: Path) -> None:
    with InHand(tmp_path) as in_hand, another_run(tmp_path, "line a", "line b") as other:
        assert not in_hand.take("line a")
        assert in_hand.take("line c")
        other.kill()
        other.wait()
        in_hand.wait("line b")
        assert in_hand.take("line a")


def test_a_run_beside_it_in_the_same_process_lets_go_of_nothing_but_its_own(tmp_path: Path) -> None:
    """As at the desk, where a line is listened to while a shot is printed."""
    with InHand(tmp_path) as printing:
        assert printing.take("line a")
        with InHand(tmp_path) as listening:
            assert listening.take("voice b")
        other = subprocess.run(
            [sys.executable, "-c", HOLDING, str(tmp_path), "line a", "voice b"], text=True, check=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
    assert other.stdout.split() == ["False", "True"]


def test_who_waits_for_another_run_can_be_stopped(sample: Path, listener: Listener) -> None:
    def stopped(in_hand: Sequence[object]) -> None:
        if not in_hand:
            raise KeyboardInterrupt

    with another_run(sample, "line 010-a"), pytest.raises(KeyboardInterrupt):
        hear(open_production(sample), workers=Workers(running=stopped))
    (sample / "voices.toml").unlink()
    (sample / "breakdowns/01-lamp-room/010-a.toml").unlink()
    with another_run(sample, "voice heron", "voice crab"), pytest.raises(KeyboardInterrupt):
        hear(open_production(sample), workers=Workers(running=stopped))


def test_where_nothing_can_be_held_nobody_is_kept_out(tmp_path: Path) -> None:
    (tmp_path / production_index.FOLDER).write_text("a file in the way")
    with InHand(tmp_path) as in_hand:
        assert in_hand.take("line a")
        in_hand.wait("line a")


def test_the_second_run_takes_the_rest_and_says_so(sample: Path, listener: Listener) -> None:
    production = open_production(sample)
    shutil.move(sample / "breakdowns/01-lamp-room/010-a.toml", sample / "elsewhere.toml")
    (sample / "breakdowns/01-lamp-room/010-b.toml").unlink()
    told: list[Message] = []
    with another_run(sample, "line 010-a") as other:

        def rest_is_done(_what: str, done: int, of: int) -> None:
            if done == of - 1:
                shutil.move(sample / "elsewhere.toml", sample / "breakdowns/01-lamp-room/010-a.toml")
                other.kill()

        heard = hear(production, workers=Workers(tell=told.append), progress=rest_is_done)
    text = {line.placed.key: line.placed.line.text for line in heard.lines}
    assert len(text) == 11
    assert listener.texts == [text["010-b"]]  # the other run has heard its line itself
    assert [one.kind for one in told] == ["another run"]
    assert "another run is at work on it" in str(told[0])


def test_of_a_run_that_is_killed_nothing_is_waited_for(sample: Path, listener: Listener) -> None:
    production = open_production(sample)
    (sample / "breakdowns/01-lamp-room/010-a.toml").unlink()
    with another_run(sample, "line 010-a") as other:
        other.kill()
        heard = hear(production)
    assert len(heard.lines) == 11
    assert len(listener.texts) == 1


def test_a_voice_that_another_run_looks_for_is_waited_for(sample: Path, listener: Listener) -> None:
    production = open_production(sample)
    for one in sample.glob("breakdowns/*/*.toml"):
        one.unlink()
    shutil.move(sample / "voices.toml", sample / "elsewhere.toml")
    characters = [f"voice {character}" for character in production.file.characters]
    with another_run(sample, *characters) as other:

        def tell(_: Message) -> None:
            shutil.move(sample / "elsewhere.toml", sample / "voices.toml")
            other.kill()

        hear(production, workers=Workers(tell=tell))
    assert listener.found == []
    assert len(listener.texts) == 11


@pytest.mark.parametrize("fills_at", [0, 1, 4])
def test_a_disk_that_fills_keeps_what_is_finished(
    sample: Path, listener: Listener, monkeypatch: pytest.MonkeyPatch, fills_at: int
) -> None:
    for one in sample.glob("breakdowns/*/*.toml"):
        one.unlink()
    undisturbed = sample.with_name("undisturbed")
    shutil.copytree(sample, undisturbed)
    hear(open_production(undisturbed))
    whole, left = files._unfinished, [fills_at]

    def part(target: Path, content: bytes, within: Path | None) -> object:
        if target.parent.parent.name == "breakdowns":
            if left[0] == 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            left[0] -= 1
        return whole(target, content, within)

    listener.asked.clear()
    with monkeypatch.context() as full:
        full.setattr(files, "_unfinished", part)
        with pytest.raises(OutputError, match="the disk is full; free some space"):
            hear(open_production(sample))
    assert len(breakdowns(sample)) == fills_at
    hear(open_production(sample))
    assert breakdowns(sample) == breakdowns(undisturbed)
    assert len(listener.texts) == 12  # but for the one that could not be written none twice


def test_a_clock_that_goes_back_hides_no_change(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of the future is read each time; one that is changed after the clock went back is another."""
    file, hour_ns = tmp_path / "line.toml", 3600 * 10**9
    now_ns = file.write_text("a") and file.stat().st_mtime_ns
    os.utime(file, ns=(now_ns + hour_ns, now_ns + hour_ns))
    for content in ("b", "c"):
        with ProductionIndex(tmp_path) as index:
            index.code(file)
        file.write_text(content)
        os.utime(file, ns=(now_ns + hour_ns, now_ns + hour_ns))
        with ProductionIndex(tmp_path) as index:
            assert index.code(file) == code_of_bytes(content.encode())
    monkeypatch.setattr(production_index.time, "time_ns", lambda: now_ns + 10 * hour_ns)
    with ProductionIndex(tmp_path) as index:
        index.code(file)
        assert index._new_files
    monkeypatch.setattr(production_index.time, "time_ns", lambda: now_ns - 10 * hour_ns)
    file.write_text("d")
    os.utime(file, ns=(now_ns - hour_ns, now_ns - hour_ns))
    with ProductionIndex(tmp_path) as index:
        assert index.code(file) == code_of_bytes(b"d")
