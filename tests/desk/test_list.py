"""The list of lines as a place to work: found again as it was left, moved in by keys, sorted, and always true."""

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import lipsync.desk
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Computation
from tests.desk.conftest import Served, ServedHere
from tests.desk.large import many_lines
from tests.desk.paging import kept, open_line, saved, until
from tests.desk.rounds import plan
from tests.running import run

STATIC = Path(lipsync.desk.__file__).parent / "static"

# The address changes before the page does: the page of a line says whose it is.
AT_ITS_DOUBT = """(id) => document.querySelector(".line-page")?.model.view.id === id
    && location.hash.startsWith(`#/line/${id}?doubt`) && document.querySelector(".word.doubtful.chosen") !== null"""
IN_FOCUS = "document.activeElement.querySelector('.line-id')?.textContent"
TOP = """(id) => [...document.querySelectorAll('li a')]
    .find((a) => a.textContent.startsWith(id)).getBoundingClientRect().top"""
# Every line has been read: the five with a doubt are known.
ALL_READ = "document.querySelectorAll('li .state[data-state=doubts]').length === 5"


@pytest.fixture(scope="module")
def many(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A desk with 40 lines, 5 of them with a doubt; to look at."""
    folder = many_lines(heard_sample, tmp_path_factory.mktemp("many") / "many", 40)
    plan(folder, 5, seed=3)
    served = ServedHere(folder)
    yield served
    served.end()


def test_the_page_asks_at_once_for_every_module_of_the_list() -> None:
    """Modules name each other only once they have come; the page names them before, so that all come together."""
    named, found = ["main.js", "list.js"], set[str]()
    while named:
        name = named.pop()
        if name not in found:
            found.add(name)
            text = (STATIC / name).read_text(encoding="utf-8")
            named += re.findall(r'^(?:import .*|\} from )"\./([\w-]+\.js)"', text, re.MULTILINE)
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    assert {*re.findall(r'rel="modulepreload" href="/static/([^"]+)"', page), "main.js"} == found


def test_the_list_is_found_again_as_it_was_left(many: Served, opened: Callable[..., Any]) -> None:
    page = opened(many)
    until(page, ALL_READ)
    page.get_by_label("Find").fill("She moved")  # every fifth line: l3, l8, ...
    page.keyboard.press("ArrowDown")
    for _ in range(5):
        page.keyboard.press("ArrowDown")
    assert page.evaluate(IN_FOCUS) == "l28"
    was = page.evaluate(TOP, "l28")
    page.keyboard.press("Enter")
    page.wait_for_selector("frame-sheet .row")
    page.keyboard.press("n")  # the next line of the list as it was left
    until(page, "document.title.startsWith('l33 ')")  # the address is that of the next line sooner
    page.wait_for_selector("frame-sheet .row")
    page.keyboard.press("Shift+N")
    until(page, "document.title.startsWith('l28 ')")
    page.wait_for_selector("frame-sheet .row")
    page.get_by_role("link", name="All lines").click()
    page.wait_for_selector("li:visible")
    assert page.get_by_label("Find").input_value() == "She moved"
    until(page, f"{IN_FOCUS} === 'l28'")
    assert page.evaluate(TOP, "l28") == pytest.approx(was, abs=3)


def test_keys_move_in_the_list_and_it_is_sorted(many: Served, opened: Callable[..., Any]) -> None:
    page = opened(many)
    until(page, ALL_READ)
    page.locator("main").evaluate("(main) => { main.tabIndex = -1; main.focus(); }")
    page.keyboard.press("End")
    assert page.evaluate(IN_FOCUS) == "l39"
    page.keyboard.press("Home")
    page.keyboard.press("PageDown")
    assert page.evaluate(IN_FOCUS) == "l10"
    page.keyboard.type("l27")
    assert page.evaluate(IN_FOCUS) == "l27"
    page.get_by_label("Sort by").select_option("most doubts first")
    doubts = page.locator("li:visible .state").all_text_contents()  # what is not in view has no inner text
    assert doubts == ["1 doubt"] * 5 + ["computed"] * 35
    assert "5 doubtful words" in page.locator(".count").inner_text()


def test_a_whole_name_is_typed(desk: Served, opened: Callable[..., Any]) -> None:
    page = opened(desk)
    page.wait_for_selector("li:has-text('030-b')")
    page.keyboard.type("030-b")
    assert page.evaluate(IN_FOCUS) == "030-b"


def test_d_goes_on_to_the_next_line_with_doubts(many: Served, opened: Callable[..., Any]) -> None:
    page = opened(many)
    until(page, ALL_READ)
    first, second = page.locator("li", has_text="1 doubt").locator(".line-id").all_text_contents()[:2]
    page.evaluate("(id) => { location.hash = `#/line/${id}`; }", first)
    page.wait_for_selector("frame-sheet .row")
    page.keyboard.press("d")
    page.wait_for_selector(".word.doubtful.chosen")
    page.keyboard.press("d")
    until(page, AT_ITS_DOUBT, second)
    page.keyboard.press("Shift+F")
    until(page, AT_ITS_DOUBT, first)


def test_what_is_changed_outside_is_in_the_list_by_itself(desk: Served, opened: Callable[..., Any]) -> None:
    """Within a second where nothing else runs: measure_desk.py."""
    page = opened(desk)
    page.wait_for_selector("li .state[data-state=computed]")
    page.get_by_label("Find").fill("020")
    path = desk.folder / "breakdowns/01-lamp-room/020-a.toml"
    breakdown_file.write(path, replace(breakdown_file.read(path), checked=True))
    page.wait_for_selector("li:has-text('020-a') .state[data-state=checked]")
    assert page.get_by_label("Find").input_value() == "020"
    assert run("sheet", desk.folder, "--shot", "020").code == 0
    page.locator("h3", has_text="shot 020").get_by_text("printed A").wait_for()
    assert run("lock", desk.folder, "020", "--upto", "192").code == 0
    page.locator("h3", has_text="shot 020").get_by_text("· filmed").wait_for()
    page.locator("summary", has_text="Figures").click()
    row = page.locator(".figures tr", has_text="scene 01-lamp-room").inner_text().split("\t")
    assert row[1:] == ["5", "5", "0", "1", "1", "2", "192", "384"]


def test_a_newer_computation_is_told_at_the_top_and_kept_or_taken(desk: Served, opened: Callable[..., Any]) -> None:
    path = desk.folder / "breakdowns/01-lamp-room/020-a.toml"
    stands = breakdown_file.read(path)
    other = "Good evening, Miss Wade! Any letters for the boats?"
    parts = list(stands.computed.parts)
    k = next(k for k, part in enumerate(parts) if part.text == "messages")
    parts[k] = replace(parts[k], text="letters")
    computed = replace(stands.computed, text=other, parts=tuple(parts))
    newer = Computation(replace(stands.source, text=other), computed, "test")
    breakdown_file.write(path, replace(stands, checked=True, newer=newer))
    page = open_line(opened, desk)
    said = page.locator(".newer").inner_text()
    assert said.startswith(f"A newer computation waits, from the text “{other}”. What stands is from “Good evening,")
    assert page.get_by_label("checked against “Good evening, Miss Wade! Any messages for the boats?”").is_checked()
    page.locator("summary", has_text="Old beside new").click()
    rows = [row.split("\t") for row in page.locator(".newer tbody tr").all_inner_texts()]
    assert [row[-1] for row in rows].count("the same") == len(parts) - 1
    assert [row[0].partition(",")[0] for row in rows if row[-1] == "gone"] == ["messages"]
    assert [row[1].partition(",")[0] for row in rows if row[-1] == "added"] == ["letters"]
    saved(page, page.get_by_role("button", name="Keep what stands").click)
    assert "newer" not in kept(desk.folder)
    saved(page, page.get_by_role("button", name="undo: drop newer").click)
    saved(page, page.get_by_role("button", name="Take the newer one").click)
    assert kept(desk.folder)["source"]["text"] == other
    assert page.locator(".newer").is_hidden()
