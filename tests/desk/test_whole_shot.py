"""The whole shot beside a line: who else speaks and when, and its sound, the same as the preview's."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from lipsync.app.hear.heard import Only
from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.desk.desk import Desk
from lipsync.preview.mixing import RATE_HZ, mixed
from lipsync.preview.reel import reel_of
from lipsync.production.loading import open_production
from tests.desk.conftest import Served
from tests.desk.paging import open_line, until

LINE = "020-b"


def read(wav: bytes) -> np.ndarray:
    samples, rate = soundfile.read(io.BytesIO(wav), dtype="float64")
    assert rate == RATE_HZ
    return samples


def test_the_other_lines_of_the_shot_are_told_in_its_time(sample: Path) -> None:
    desk = Desk(sample)
    told = desk.shot(LINE)
    assert [line["id"] for line in told["lines"]] == ["020-a", "020-c"]
    for line in told["lines"]:
        view = desk.line(line["id"])
        assert [(text, start - view["begins_us"]) for text, start, _ in line["parts"]] == [
            (part["text"], part["start_us"]) for part in view["parts"]
        ]
    (sample / "breakdowns/01-lamp-room/020-c.toml").write_text("broken", encoding="utf-8")
    assert "020-c.toml" in desk.shot(LINE)["lines"][1]["reason"]


def test_the_shot_sounds_as_in_its_preview(sample: Path) -> None:
    """The desk's file has 16 bits: half a step off at most."""
    production = open_production(sample)
    reel = reel_of(production, plan(production, hear(production), Only("01-lamp-room", "020")).shots)
    preview = mixed(reel.clips, 192 * RATE_HZ // 24)
    desk = Desk(sample)
    heard = read(desk.shot_sound(LINE))
    assert heard.shape == preview.shape
    assert np.abs(heard - np.clip(preview, -1, 32767 / 32768)).max() <= 0.51 / 32768
    # With the line: cut from where it begins, as long as it lasts.
    view = desk.line(LINE)
    first = round(view["begins_us"] * RATE_HZ / 1e6)
    with_others = read(desk.sound_with_others(LINE))
    assert len(with_others) == round(view["duration_us"] * RATE_HZ / 1e6)
    there = heard[first : first + len(with_others)]
    assert np.abs(with_others[: len(there)] - there).max() <= 1 / 32768


def test_the_line_is_heard_with_the_others_and_their_words_stand_beside_it(
    desk: Served, opened: Callable[..., Any]
) -> None:
    page = open_line(opened, desk, LINE)
    others = page.locator(".others")
    others.get_by_role("button", name="Hear 020-a alone").wait_for()
    rate = "document.querySelector('.line-page').player.buffer.sampleRate"
    assert page.evaluate(rate) == 22_050
    page.get_by_label("the line is heard with the others").check()
    until(page, f"{rate} === 48_000")
    page.get_by_label("the line is heard with the others").uncheck()
    until(page, f"{rate} === 22_050")
    assert others.locator("li").count() == 2
