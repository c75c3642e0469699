"""What a sound editor corrects on the page by mouse, keyboard and touch, and what the file says afterwards."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lipsync.breakdown import breakdown_file
from tests.desk.conftest import Served
from tests.desk.paging import LINE, at_us, boundary, kept, open_line, saved, until
from tests.running import run


def test_a_boundary_snaps_to_frames_and_is_moved_by_keys(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    page.locator(".scroller").focus()
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    assert page.locator(".word.chosen").inner_text() == "evening"
    page.keyboard.press("b")
    saved(page, lambda: page.keyboard.press("Alt+ArrowDown"))
    # Frames of 24 begin at multiples of 1/24 s; the page says times to the nearest millisecond, 0.012 of a frame.
    begins_us = page.evaluate("document.querySelector('.line-page').model.view.begins_us")
    frame = (at_us(page, "start of evening") + begins_us) * 24 / 1e6
    assert frame == pytest.approx(round(frame), abs=0.013)
    was_us = at_us(page, "start of evening")
    saved(page, lambda: page.keyboard.press("Alt+Shift+ArrowUp"))
    assert at_us(page, "start of evening") == was_us - 5_000


def test_words_are_retyped_joined_and_confirmed_by_keyboard_alone(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk, "020-c")
    page.locator(".scroller").focus()
    page.keyboard.press("ArrowRight")
    saved(page, lambda: page.keyboard.press("r"))
    assert [c["parts"][0]["word"] for c in kept(desk.folder, "020-c")["corrected"]] == ["Oops"]
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.get_by_label("write").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("blew")
    saved(page, lambda: page.keyboard.press("Enter"))
    words = [part["word"] for c in kept(desk.folder, "020-c")["corrected"] for part in c["parts"]]
    assert words == ["Oops", "blew"]
    page.keyboard.press("Escape")
    saved(page, lambda: page.keyboard.press("c"))
    assert kept(desk.folder, "020-c")["status"] == {"checked": True}


def test_another_pronunciation_is_picked_and_found_in_the_sound(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    page.locator(".scroller").focus()
    page.keyboard.press("End")
    page.locator(".word", has_text="the").last.click()
    page.get_by_role("button", name="Other ways to say it").click()
    saved(page, page.get_by_role("button", name="DH IY0 (dictionary)").click)
    (corrected,) = kept(desk.folder)["corrected"]
    assert [row["phoneme"] for row in corrected["parts"][0]["phonemes"]] == ["DH", "IY0"]


def test_a_missing_word_is_added_by_keyboard_alone(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk, "020-c")
    page.locator(".scroller").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert page.locator(".word.chosen").inner_text() == "foot"
    page.keyboard.press("Enter")
    saved(page, page.get_by_role("button", name="Take it out").click)
    page.keyboard.press("Escape")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("a")
    page.keyboard.type("foot")
    saved(page, lambda: page.keyboard.press("Enter"))
    assert page.locator(".word").all_inner_texts()[:4] == ["Oops", "My", "foot", "is"]
    assert page.get_by_role("button", name='undo: add word "foot"').is_enabled()
    page.locator(".word", has_text="foot").click()
    page.keyboard.press("a")
    assert page.get_by_role("button", name="It comes before “foot”").is_visible()


def test_the_sound_is_heard_while_a_boundary_is_dragged(desk: Served, opened: Callable[..., Any]) -> None:
    """Moments of sound while it is dragged, each where the boundary is then; the large mouth follows."""
    page = open_line(opened, desk)
    page.evaluate(
        """() => {
            const { player } = document.querySelector('.line-page');
            const grain = player.grain.bind(player);
            window.heard = [];
            player.grain = (us) => { window.heard.push(us); return grain(us); };
        }"""
    )
    was_us = at_us(page, "start of evening")
    box = boundary(page, "start of evening").bounding_box()
    x, y = box["x"] + 60, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 7):
        page.mouse.move(x, y + 26 * step)
        page.wait_for_timeout(80)
    frame = page.evaluate("document.querySelector('frame-sheet').frame")
    saved(page, page.mouse.up)
    heard = page.evaluate("window.heard")
    assert len(heard) >= 4
    assert heard == sorted(heard)
    assert was_us < heard[0] <= heard[-1] == pytest.approx(at_us(page, "start of evening"), abs=1_000)
    assert frame == page.evaluate("us => document.querySelector('.line-page').model.frameAt(us)", heard[-1])


def test_words_are_split_and_joined_cues_added_pieces_kept_off_by_buttons(
    desk: Served, opened: Callable[..., Any]
) -> None:
    page = open_line(opened, desk)
    press = lambda name: saved(page, page.get_by_role("button", name=name, exact=True).click)  # noqa: E731
    page.get_by_role("button", name="N in evening", exact=False).click()
    page.get_by_text("A new word begins here").click()
    page.get_by_label("first", exact=True).fill("even")
    page.get_by_label("second", exact=True).fill("ing")
    press("Split the word")
    page.locator(".word", has_text="even").first.click()
    press("Join with “ing”")
    assert page.locator(".word").nth(1).inner_text() == "evening"

    boundary(page, "start of evening").click(position={"x": 20, "y": 12})
    press("Leave a pause before it")
    page.locator(".scroller").focus()
    page.keyboard.press("Home")
    page.keyboard.press("a")
    page.get_by_label("cue").select_option("breath")
    press("Add the cue")
    assert page.locator(".word").first.inner_text() == "[breath]"

    code = page.locator(".row .code:not(:empty)").first.inner_text()
    page.locator(".row .piece", has_text=code).first.click()
    page.get_by_label("keep off instead of putting on").check()
    saved(page, page.locator(f".pieces button[data-name={code}]").click)
    (choice,) = kept(desk.folder)["pieces"]
    assert choice["forbid"] == code
    until(page, "([frame, code]) => document.querySelector('.line-page').model.piece(frame) !== code",
          [choice["frame"], code])  # fmt: skip
    page.reload()
    page.wait_for_selector("frame-sheet .row .code:not(:empty)")
    for _ in range(5):  # undo goes on where it was before the page was opened again
        saved(page, page.locator(".top button", has_text="Undo").click)
    assert "corrected" not in kept(desk.folder)
    assert page.locator(".top button", has_text="Undo").is_disabled()


def test_a_line_is_played_looped_and_slowed_by_keys(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    page.locator(".scroller").focus()
    page.keyboard.press("s")
    page.keyboard.press("s")
    assert page.get_by_label("speed").input_value() == "0.5"
    page.keyboard.press("ArrowRight")
    page.keyboard.press("l")
    first, last = page.evaluate(
        "(() => { const { model } = document.querySelector('.line-page'); const times = model.times(0);"
        " return [times[0], times.at(-1)]; })()"
    )
    until(page, "document.querySelector('.line-page').player.playing?.loop")
    heard_s = "(() => { const { player } = document.querySelector('.line-page');"
    heard_s += " return player.context.currentTime - player.playing.began; })()"
    until(page, f"{heard_s} > {2.2 * (last - first) / 1e6}")  # more than once through, at half the speed
    now = page.evaluate("document.querySelector('.line-page').player.positionUs")
    assert first <= now <= last
    page.keyboard.press("l")
    assert page.evaluate("document.querySelector('.line-page').player.playing") is None
    frame = page.evaluate("document.querySelector('frame-sheet').frame")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.querySelector('frame-sheet').frame") == frame + 1


def test_all_is_done_by_touch_at_tablet_size(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk, viewport={"width": 820, "height": 1180}, has_touch=True)
    page.get_by_role("button", name="Play", exact=True).tap()
    until(page, "document.querySelector('.line-page').player.positionUs > 200_000")
    page.get_by_role("button", name="Stop", exact=True).tap()
    page.locator(".scroller").evaluate("element => { element.scrollTop = 0; }")
    page.locator(".word", has_text="Good").tap(position={"x": 30, "y": 12})
    page.get_by_role("button", name="Over and over").tap()
    until(page, "document.querySelector('.line-page').player.playing?.loop")
    page.get_by_role("button", name="Over and over").tap()
    page.get_by_role("button", name="one frame on").tap()
    saved(page, page.get_by_role("button", name="It is right").tap)
    page.locator(".row .piece").nth(12).tap()
    saved(page, page.locator(".pieces button[data-name=RING]").tap)
    saved(page, page.get_by_role("button", name="undo: put piece RING").tap)
    page.get_by_label("checked").tap()
    until(page, "document.querySelector('.line-page').model.view.checked")
    small = page.evaluate(
        "[...document.querySelectorAll('button, select, input')]"
        ".filter((e) => e.offsetParent && !e.closest('.rows, .parts'))"
        ".map((e) => [e.textContent || e.id, e.getBoundingClientRect()])"
        ".filter(([, box]) => box.height < 24 || box.width < 24).map(([name]) => name)"
    )
    assert small == []  # WCAG 2.2, 2.5.8: at least 24 by 24 CSS px


def test_touch_at_tablet_size_moves_a_boundary(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk, viewport={"width": 820, "height": 1180}, has_touch=True)
    name = "start of evening"
    boundary(page, name).tap(force=True)
    was_us = at_us(page, name)
    box = boundary(page, name).bounding_box()
    assert box["height"] >= 44  # WCAG 2.2, target size (enhanced): 44 CSS px, once it is chosen
    x, y = box["x"] + box["width"] - 16, box["y"] + box["height"] / 2
    touch = page.context.new_cdp_session(page)
    send = lambda kind, points: touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})  # noqa: E731
    send("touchStart", [{"x": x, "y": y}])
    for step in range(1, 9):
        send("touchMove", [{"x": x, "y": y + step * 8}])
    saved(page, lambda: send("touchEnd", []))
    assert at_us(page, name) > was_us + 60_000


def test_filmed_frames_are_shown_locked_and_stay(
    sample: Path, serve_here: Callable[[Path], Served], opened: Callable
) -> None:
    assert run("sheet", sample, "--shot", "020").code == 0
    locked = run("lock", sample, "020", "--upto", "60")
    assert locked.code == 0, locked.err
    desk = serve_here(sample)
    page = open_line(opened, desk)
    page.locator(".row.filmed").first.wait_for()
    page.get_by_role("button", name="frame 20, piece", exact=False).click()
    assert page.get_by_text("This frame is filmed. It stays as it is.").count() == 1
    before = kept(sample)
    line = desk.line(LINE)
    refused = desk.change(LINE, line["version"], kind="move-boundary", part=1, boundary=0, to_us=600_000)
    assert refused.status == 422
    assert "are filmed; what is heard there stays as it is" in refused.json()["error"]
    refused = desk.change(LINE, line["version"], kind="put-piece", frame=10, code="RING")
    assert "a frame is filmed, and stays as it is" in refused.json()["error"]
    assert kept(sample) == before
    states = {row["id"]: row["state"] for scene in desk.ask("GET", "/api/lines").json()["scenes"]
              for shot in scene["shots"] for row in shot["lines"]}  # fmt: skip
    assert states[LINE] != "filmed"
    assert run("lock", sample, "020", "--from", "61", "--to", "120").code == 0
    lines = desk.ask("GET", "/api/lines").json()["scenes"][0]["shots"][1]["lines"]
    assert [row["state"] for row in lines] == ["filmed", "computed", "computed"]


def test_where_a_later_computation_disagrees_is_shown_at_its_word(
    sample: Path, serve_here: Callable[[Path], Served], opened: Callable[..., Any]
) -> None:
    """A word's end is moved by 40 ms; then a later computation, with better settings, has that word 60 ms earlier."""
    desk = serve_here(sample)
    line = desk.line(LINE)
    end_us = line["parts"][1]["end_us"]
    boundary_at = len(line["parts"][1]["phonemes"])
    moved = desk.change(
        LINE, line["version"], kind="move-boundary", part=1, boundary=boundary_at, to_us=end_us - 40_000
    )
    assert moved.status == 200
    file = sample / "breakdowns/01-lamp-room" / f"{LINE}.toml"
    old = breakdown_file.read(file)
    good, evening, *others = old.computed.parts
    word = replace(evening, phonemes=tuple(
        replace(p, start_us=p.start_us - 60_000, end_us=p.end_us - 60_000) for p in evening.phonemes))  # fmt: skip
    good = replace(good, phonemes=(*good.phonemes[:-1], replace(good.phonemes[-1], end_us=word.start_us)))
    later = replace(old.computed, parts=(good, word, *others))
    breakdown_file.write(file, breakdown_file.merge(old, old.source, later, line=LINE, engine="a later one")[0])
    stands = desk.line(LINE)
    assert stands["parts"][1]["end_us"] == end_us - 40_000  # the correction is kept
    page = open_line(opened, desk)
    assert page.locator(".word.disagrees").all_inner_texts() == ["evening"]
    name = page.locator(".word.disagrees").get_attribute("aria-label")
    assert "a later computation disagrees" in name
    page.get_by_role("button", name="its start is corrected to").click()
    assert page.locator(".word.chosen").inner_text() == "evening"
