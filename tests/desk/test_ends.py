"""In and out of a line dragged on its whole recording: the level drawn there, and what the scene's file says then."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from lipsync.desk.recording_level import COLUMNS, level_of
from lipsync.errors import LineError
from tests.desk.conftest import Served
from tests.desk.paging import open_line

SCENE = "scenes/01-lamp-room.toml"


def test_the_level_is_that_of_the_recording_wherever_it_is_looked_at(tmp_path: Path) -> None:
    """Two seconds silent, then a square wave at 0.1 (-20 dB) in one of two channels: its mean square is halved."""
    file = tmp_path / "a.wav"
    sound = np.zeros((300_000, 2))
    sound[200_000:, 0] = np.where(np.arange(100_000) % 2, 0.1, -0.1)
    soundfile.write(file, sound, 100_000, subtype="PCM_16")
    told = level_of(file, 0, 7_200_000_000)
    assert (told["duration_us"], told["first_us"], told["last_us"]) == (3_000_000, 0, 3_000_000)
    # -20 dB - 3.01 dB on the scale from -46 to -9 dB: 22.99 / 37 of 255, hand-reckoned.
    assert told["levels"][:666] == [0] * 666
    assert 0 < told["levels"][666] < 158  # two thirds of this column are silent
    assert told["levels"][667:] == [158] * (COLUMNS - 667)
    near = level_of(file, 1_900_000, 2_100_000)
    assert near["levels"] == [0] * 500 + [158] * 500
    after = level_of(file, 9_000_000, 9_500_000)
    assert (after["first_us"], after["last_us"], len(after["levels"])) == (2_999_990, 3_000_000, COLUMNS)
    with pytest.raises(LineError, match="cannot be read as sound"):
        level_of(tmp_path / "none.wav", 0, 1)


def test_edges_are_dragged_and_moved_by_keys_and_written_into_the_scene(
    desk: Served, opened: Callable[..., Any]
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = open_line(opened, desk)
    page.locator("summary", has_text="Text, begins").click()
    page.get_by_role("button", name="Drag them on the whole recording").click()
    edge = page.get_by_role("slider", name="out")
    box = edge.bounding_box()
    assert box is not None
    assert box["width"] >= 24
    page.mouse.move(box["x"] + 10, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] - 60, box["y"] + 40, steps=3)
    page.mouse.up()
    out_s = float(edge.get_attribute("aria-valuetext").split()[0])
    strip = page.locator(".strip").bounding_box()
    whole_s = 4.423  # of the recording, as a player says it
    # 70 px of a strip that is the recording's length wide, but for a margin of 24 px at each end and its own lines.
    assert out_s == pytest.approx(whole_s - 70 * whole_s / (strip["width"] - 50), abs=0.01)
    page.get_by_role("slider", name="in").focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "Shift+ArrowLeft", "Shift+ArrowLeft"):
        page.keyboard.press(key)
    assert page.locator(".ends [role=status]").inner_text().startswith("in 0.019 s · out ")
    assert Axe().run(page).response["violations"] == []
    before = (desk.folder / SCENE).read_text(encoding="utf-8").splitlines()
    # That a line is listened to then is tested elsewhere.
    page.route("**/listen", lambda route: route.fulfill(status=422, json={"error": "not now"}))
    with page.expect_console_message(lambda message: "422" in message.text):
        page.get_by_role("button", name="Write them and listen").click()
    page.locator("dialog.ends").wait_for(state="detached")
    after = (desk.folder / SCENE).read_text(encoding="utf-8").splitlines()
    assert [row for row in after if row not in before] == ["in = 0.019", f"out = {out_s:g}"]
    assert [row for row in before if row not in after] == []
    opened.faults[:] = [fault for fault in opened.faults if "422" not in fault]  # type: ignore[attr-defined]
    assert desk.ask("GET", "/api/lines/020-a/recording/level?first_us=0&last_us=x").status == 422
