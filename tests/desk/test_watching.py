"""Changes on disk are told by the system, or seen all the same where it tells none."""

import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from lipsync.desk import desk as desk_module
from lipsync.desk.desk import Desk
from lipsync.desk.watching import FolderWatch

LINE = "breakdowns/01-lamp-room/020-a.toml"


def until(true: Callable[[], bool]) -> None:
    for _ in range(6000):
        if true():
            return
        threading.Event().wait(0.01)
    raise AssertionError("never came true")


def test_a_change_is_told_and_the_end_is_no_fault(tmp_path: Path) -> None:
    watch = FolderWatch(tmp_path)
    watch.start()
    until(lambda: watch.working)
    before = watch.count
    (tmp_path / "below").mkdir()
    until(lambda: watch.count > before)
    watch.close()
    assert not watch.working


@pytest.mark.parametrize("told", [True, False])
def test_news_come_whether_or_not_the_system_tells_of_changes(
    sample: Path, monkeypatch: pytest.MonkeyPatch, told: bool
) -> None:
    looked: list[int] = []
    look = desk_module.seen_of
    monkeypatch.setattr(desk_module, "seen_of", lambda *facts: looked.append(1) or look(*facts))
    monkeypatch.setattr(desk_module, "LOOK_AGAIN_S", 1e9)  # never by itself
    if not told:
        monkeypatch.setitem(sys.modules, "watchfiles", None)  # as on a system for which there is none
    desk = Desk(sample)
    desk.start_reading()
    until(lambda: None not in desk._states.glance(*both(desk)).values())
    if told:
        until(lambda: desk._watch.working)
    until(lambda: quiet(desk, looked) == told)
    seen = desk.news()["seen"]
    (sample / LINE).write_text(
        (sample / LINE).read_text("utf-8").replace("checked = false", "checked = true"), "utf-8"
    )
    until(lambda: desk.news()["seen"] != seen)
    until(lambda: quiet(desk, looked) == told)
    desk.close()


def both(desk: Desk) -> tuple:
    loaded = desk._held.now()
    return loaded.production, tuple(loaded.lines.values())


def quiet(desk: Desk, looked: list[int]) -> bool:
    """Whether the disk is left alone while nothing is changed."""
    desk.news()
    before = len(looked)
    desk.news()
    return len(looked) == before
