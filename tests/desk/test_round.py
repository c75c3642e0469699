"""A round of doubts: every doubt heard and answered by keyboard alone, and what the files say afterwards."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from lipsync.breakdown import breakdown_file
from lipsync.desk.desk import Desk
from lipsync.production.loading import open_production
from tests.desk.conftest import Served
from tests.desk.large import many_lines
from tests.desk.paging import until
from tests.desk.rounds import KINDS, drive, expected, found, plan, wait_until


def begins_of(folder: Path) -> dict[str, int]:
    production = open_production(folder)
    shots = [shot for scene in production.scenes for shot in scene.shots]
    return {line.id: production.begins_us(line, shot) for shot in shots for line in shot.line}


def test_a_round_is_driven_by_keyboard_alone_and_the_corrections_are_exactly_its_answers(
    sample: Path, tmp_path: Path, serve_here: Callable[[Path], Served], opened: Callable[..., Any]
) -> None:
    folder = many_lines(sample, tmp_path / "round", 10)
    planned = plan(folder, 12, seed=5, kinds=[*dict.fromkeys(KINDS)])
    assert {one.kind for one in planned} >= {"right", "other word", "moved", "not said", "cue"}
    paths = sorted((folder / "breakdowns").rglob("*.toml"))
    before = {path: breakdown_file.read(path) for path in paths}
    desk = serve_here(folder)
    page = opened(desk)
    page.wait_for_selector("li .state[data-state=doubts]")
    page.keyboard.press("Control+Enter")
    waits, keys = drive(page, planned)
    assert max(keys.values()) <= 2 * max(sum(one.kind == kind for one in planned) for kind in keys)
    assert len(waits) >= len(planned) - 1
    wanted = expected(before, planned, Fraction(24), begins_of(folder))
    assert {path: found(path, planned) for path in paths} == wanted
    assert page.locator(".count").inner_text() == "12 of 12 answered"

    # The last one is taken back as it would be on its line's page, and asked again.
    last = planned[-1]
    page.keyboard.press("Control+z")
    wait_until(page, "() => document.querySelector('.round-page').round.asked !== null")
    wanted = expected(before, planned[:-1], Fraction(24), begins_of(folder))
    assert {path: found(path, planned) for path in paths} == wanted
    page.keyboard.press("l")
    page.get_by_text("1 doubt left for later.").wait_for()
    page.keyboard.press("Enter")
    wait_until(page, "(text) => document.querySelector('.asked h2').textContent.includes(text)", last.text)


def test_the_round_of_a_scene_or_a_character_asks_its_own_the_worst_first(
    sample: Path, tmp_path: Path, serve_here: Callable[[Path], Served], opened: Callable[..., Any]
) -> None:
    folder = many_lines(sample, tmp_path / "round", 8, shots_a_scene=1)
    planned = plan(folder, 8, seed=2)
    desk = serve_here(folder)
    page = opened(desk)
    page.wait_for_selector("li .state[data-state=doubts]")
    page.get_by_role("link", name="round of its doubts").nth(1).click()
    page.get_by_label("Order").select_option("the worst first")
    page.wait_for_url("**order=worst")
    queue = "document.querySelector('.round-page').round.queue.waiting.map((one) => [one.line, one.confidence])"
    wait_until(page, "() => document.querySelector('.round-page')?.round.wanted.order === 'worst'")
    asked = page.evaluate(queue)
    own = {one.line for one in planned if one.path.parent.name == "002"}
    assert {line for line, _ in asked} == own
    assert [sure for _, sure in asked] == sorted(sure for _, sure in asked)


def test_every_doubt_of_every_line_is_told_and_none_of_what_is_settled(sample: Path) -> None:
    folder = sample.parent / "round"
    planned = plan(many_lines(sample, folder, 10), 12, seed=5)
    desk = Desk(folder)
    assert desk.round() == {"doubts": [], "unread": 10}
    desk._states.read_all(desk._held.now().production, desk._held.now().lines.values(), lambda: True)
    told = desk.round()
    assert told["unread"] == 0
    assert [(one["line"], one["start_us"], one["text"]) for one in told["doubts"]] == [
        (one.line, one.start_us, one.text) for one in planned
    ]
    desk.close()
    again = Desk(folder)  # remembered over the desk's end
    assert again.round() == told


# How bright the level and the spectrogram of the sheet on the page are, from 0 to 255; -1 while nothing is painted.
BRIGHTNESS = """() => {
    const canvas = document.querySelector("frame-sheet canvas.ink");
    if (!canvas?.width) return -1;
    const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    let [sum, count] = [0, 0];
    for (let at = 0; at < data.length; at += 4) if (data[at + 3]) [sum, count] = [sum + data[at], count + 1];
    return count ? sum / count : -1;
}"""


@pytest.mark.parametrize("path", ["#/round", "#/line/040-b"])
def test_what_is_painted_follows_light_and_dark(to_look_at: Served, opened: Callable[..., Any], path: str) -> None:
    page = opened(to_look_at, path, color_scheme="light")
    page.wait_for_selector("frame-sheet .row")
    until(page, f"({BRIGHTNESS})() > 128")
    page.emulate_media(color_scheme="dark")
    until(page, f"(({BRIGHTNESS})() + 256) % 256 < 128")
    page.emulate_media(color_scheme="light")
    until(page, f"({BRIGHTNESS})() > 128")
