"""Who can use the desk, and with what: narrow windows, the system's own colours, small targets, keys and messages."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.desk.conftest import Served, ServedHere
from tests.desk.large import many_lines
from tests.desk.paging import until
from tests.desk.rounds import plan, wait_until

# A word or a phoneme is as high as it lasts; keys reach it too (WCAG 2.2, 2.5.8: its size is essential).
SMALL = """() => [...document.querySelectorAll('button, a, input, select, summary, .boundary')]
    .filter((one) => one.offsetParent && !one.matches('.word, .phoneme, .untold'))
    .map((one) => [one.className || one.textContent, one.getBoundingClientRect()])
    .filter(([, { width, height }]) => width < 24 || height < 24).map(([name]) => name)"""


@pytest.fixture(scope="module")
def doubts(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A desk with four lines and four doubts; to look at."""
    folder = many_lines(heard_sample, tmp_path_factory.mktemp("few") / "few", 4)
    plan(folder, 4, seed=3)
    served = ServedHere(folder)
    yield served
    served.end()


def pages(page: Any) -> Any:
    """Show the list, a round and a line, one after the other."""
    page.wait_for_selector("li .state[data-state=doubts]")
    page.locator("summary", has_text="Figures").click()
    yield "list"
    page.get_by_label("Sort by").select_option("most doubts first")
    yield "sorted"
    page.keyboard.press("Control+Enter")
    page.wait_for_selector(".round-page .asked h2")
    yield "round"
    page.keyboard.press("o")
    yield "typing"
    page.keyboard.press("Escape")
    page.keyboard.press("e")
    page.wait_for_selector("frame-sheet .row .code:not(:empty)")
    page.locator(".others a").first.wait_for()
    yield "line"


def test_every_page_is_clean_and_its_targets_are_large_enough(doubts: Served, opened: Callable[..., Any]) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(doubts)
    for name in pages(page):
        violations = Axe().run(page).response["violations"]
        assert [(name, rule["id"], [node["target"] for node in rule["nodes"]]) for rule in violations] == []
        assert page.evaluate(SMALL) == [], name


def test_nothing_scrolls_sideways_at_320_pixels(doubts: Served, opened: Callable[..., Any]) -> None:
    """WCAG 2.2, 1.4.10: reflow at a width of 320 CSS pixels."""
    page = opened(doubts, viewport={"width": 320, "height": 640})
    for name in pages(page):
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, name
        wide = "[...document.querySelectorAll('main, header')].map((one) => one.scrollWidth - one.clientWidth)"
        assert max(page.evaluate(wide)) <= 0, name


def test_the_row_that_is_heard_is_marked_in_the_systems_own_colours(
    doubts: Served, opened: Callable[..., Any]
) -> None:
    page = opened(doubts, "#/line/l0", forced_colors="active")
    page.wait_for_selector("frame-sheet .row.current")
    outline = "getComputedStyle(document.querySelector('.row.current')).outlineStyle"
    assert page.evaluate(outline) == "solid"
    other = "getComputedStyle(document.querySelector('.row:not(.current)')).outlineStyle"
    assert page.evaluate(other) == "none"


def test_keys_have_a_page_of_their_own_and_messages_are_reached_by_key(
    doubts: Served, opened: Callable[..., Any]
) -> None:
    page = opened(doubts, "#/line/l0")
    page.wait_for_selector("frame-sheet .row .code:not(:empty)")
    assert page.locator(".panel .keys").count() == 0
    page.keyboard.press("?")
    box = page.locator("dialog.keys-page[open]").bounding_box()
    assert (box["width"], box["height"]) == (1280, 860)
    page.keyboard.press("Escape")
    # What the desk refuses is in a place that is announced, and F6 goes there and back.
    page.keyboard.press("Enter")
    page.get_by_label("until, in seconds").wait_for(state="attached")
    page.get_by_text("Place words by hand").click()
    page.get_by_label("words placed").fill("lamp")
    page.get_by_label("until, in seconds").fill("0")
    page.get_by_role("button", name="Place them").click()
    page.locator("#banner[role=alert]", has_text="must begin before it ends").wait_for()
    page.keyboard.press("F6")
    until(page, "document.activeElement.id === 'banner'")
    page.keyboard.press("Escape")
    until(page, "document.activeElement.matches('.scroller')")
    assert page.locator("#banner").is_hidden()
    opened.faults[:] = [fault for fault in opened.faults if "422" not in fault]  # type: ignore[attr-defined]


def test_a_round_says_what_is_asked_to_those_who_hear_the_page(doubts: Served, opened: Callable[..., Any]) -> None:
    page = opened(doubts, "#/round")
    wait_until(page, "() => document.querySelector('.asked h2') !== null")
    word = page.locator(".asked h2").inner_text()
    said = page.locator("#announcer").text_content()
    assert said.startswith(f"{word}, line l")
    assert said.endswith(", Zoë Wade")
