"""The desk's page in a real browser: the list, a line, its sound and picture, and who can use it."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lipsync.production.values import shipped
from tests.desk.conftest import Served
from tests.desk.paging import at_us, boundary, kept, open_line, saved, until


def test_the_printed_address_opens_one_browser(browser: Any, sample: Path, serve: Callable[..., Served]) -> None:
    desk = serve(sample)
    first, second = browser.new_context(), browser.new_context()
    try:
        page = first.new_page()
        page.goto(desk.address)
        page.wait_for_selector("text=Poor old lamp.")
        assert page.url == f"http://127.0.0.1:{desk.port}/"
        assert first.cookies() == []
        # Opened once more, or in another window, it is where it was; in another browser it opens nothing.
        again = first.new_page()
        again.goto(desk.address)
        again.wait_for_selector("text=Poor old lamp.")
        other = second.new_page()
        other.goto(desk.address)
        other.get_by_text("has been used already", exact=False).wait_for()
        assert "Poor old lamp" not in other.content()
    finally:
        first.close()
        second.close()


def test_the_list_shows_every_line_with_its_state_and_finds_it(
    to_look_at: Served, opened: Callable[..., Any]
) -> None:
    page = opened(to_look_at)
    page.wait_for_selector("li .state[data-state=computed]")
    assert page.locator("li").count() == 11
    page.get_by_label("Find").fill("clamp stamp")
    assert page.locator("li:visible .line-id").all_text_contents() == ["040-d"]
    page.get_by_label("Find").fill("nobody says this")
    assert page.locator("li:visible").count() == 0
    assert page.get_by_text("0 of 11 lines").count() == 1
    page.get_by_label("Find").fill("")
    page.get_by_text("Oops. My foot is blue.").click()
    page.wait_for_selector("frame-sheet .row")
    assert page.get_by_role("heading", level=1).inner_text() == "020-c · Mr Clamp"


def test_open_play_move_undo_redo_put_a_piece_reload_and_find_it(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    page.keyboard.press("Space")
    until(page, "document.querySelector('.line-page').player.positionUs > 300_000")
    page.keyboard.press("Space")
    assert page.evaluate("document.querySelector('.line-page').player.playing") is None

    # 80 ms, finer than a frame: snapping is taken off. A row is 26 px and a frame 1/24 s, so 80 ms are 49.92 px.
    page.keyboard.press("Home")
    page.get_by_label("boundaries snap to frames").uncheck()
    was_us = at_us(page, "start of evening")
    box = boundary(page, "start of evening").bounding_box()
    middle = (box["x"] + 60, box["y"] + box["height"] / 2)
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0], middle[1] + 30, steps=4)
    page.mouse.move(middle[0], middle[1] + 49.92, steps=4)
    saved(page, page.mouse.up)
    moved_us = at_us(page, "start of evening")
    assert moved_us - was_us == pytest.approx(80_000, abs=1_000)
    good, evening = (correction["parts"][0] for correction in kept(desk.folder)["corrected"])
    assert (good["word"], evening["word"]) == ("Good", "evening")
    assert evening["phonemes"][0]["start_s"] == good["end_s"] == pytest.approx(moved_us / 1e6, abs=0.001)
    before = kept(desk.folder)

    saved(page, page.get_by_role("button", name='undo: move boundary "evening"').click)
    assert "corrected" not in kept(desk.folder)
    assert at_us(page, "start of evening") == was_us
    page.locator(".scroller").focus()
    saved(page, lambda: page.keyboard.press("Control+y"))
    assert kept(desk.folder) == before

    page.get_by_role("button", name="frame 20, piece").click()
    saved(page, page.get_by_role("button", name="RING, ring", exact=False).click)
    assert kept(desk.folder)["pieces"] == [{"frame": 19, "code": "RING"}]
    page.wait_for_selector(".row .code:text-is('RING')")

    page.reload()
    page.wait_for_selector(".row .code:text-is('RING')")
    assert at_us(page, "start of evening") == moved_us
    assert page.get_by_role("button", name="frame 20, piece RING, put by hand").count() == 1
    assert page.get_by_role("button", name="undo: put piece RING").is_enabled()


def test_the_picture_follows_the_clock_of_the_sound(to_look_at: Served, opened: Callable[..., Any]) -> None:
    """The frame shown, against the clock of the browser's sound output (Web Audio, getOutputTimestamp)."""
    page = open_line(opened, to_look_at)
    off = page.evaluate(
        """async () => {
            const { player, sheet, model } = document.querySelector('.line-page');
            player.seek(0);
            await player.play(0);
            const off = [];
            while (player.playing) {
                await new Promise(requestAnimationFrame);
                await Promise.resolve();
                if (!player.playing) break;
                const { contextTime } = player.context.getOutputTimestamp();
                const heard = (contextTime - player.playing.began) * 1e6;
                if (heard > 0) off.push(Math.abs(model.frameAt(heard) - sheet.frame));
            }
            return off;
        }"""
    )
    # The middle one: a busy machine may be late with any picture, but not with most of them.
    assert len(off) > 10
    assert sorted(off)[len(off) // 2] <= 1


def test_slow_sound_keeps_its_pitch(to_look_at: Served, opened: Callable[..., Any]) -> None:
    """A tone of 220 Hz at half speed lasts twice as long and has as many periods a second."""
    page = opened(to_look_at)
    length, crossings = page.evaluate(
        """async () => {
            const { stretched } = await import('/static/stretch.js');
            const rate = 22050;
            const tone = Float32Array.from({ length: 2 * rate }, (_, i) => Math.sin((2 * Math.PI * 220 * i) / rate));
            const [slow] = stretched([tone], rate, 0.5);
            let crossings = 0;
            for (let i = rate + 1; i < 3 * rate; i += 1) crossings += slow[i - 1] < 0 && slow[i] >= 0;
            return [slow.length, crossings];
        }"""
    )
    assert length == 4 * 22050
    assert crossings == pytest.approx(2 * 220, abs=4)


def test_the_page_counts_frames_as_the_program_does(to_look_at: Served, opened: Callable[..., Any]) -> None:
    from fractions import Fraction

    from lipsync import timing

    page = opened(to_look_at)
    rates = [
        Fraction(24),
        Fraction(25),
        Fraction(30),
        Fraction(24000, 1001),
        Fraction(30000, 1001),
        Fraction(60000, 1001),
    ]
    for rate in rates:
        frames = [*range(0, 3000), 107_891, 107_892, 2_592_000 - 1]
        drop = rate in timing.DROPPED_LABELS
        starts, ats, nearest, labels = page.evaluate(
            """async ([rate, frames, drop]) => {
                const { Rate } = await import('/static/frames.js');
                const r = new Rate(rate);
                const starts = frames.map((f) => r.startUs(f));
                const ats = starts.map((us) => [r.frameAt(us - 1), r.frameAt(us)]);
                return [starts, ats, starts.map((us) => r.nearest(us)),
                        frames.map((f) => r.timecode(f, drop))];
            }""",
            [[rate.numerator, rate.denominator], frames, drop],
        )
        assert starts == [timing.frame_start_us(frame, rate) for frame in frames]
        assert ats == [[frame - 1, frame] for frame in frames]
        assert nearest == frames
        assert labels == [timing.timecode(frame, rate, drop=drop) for frame in frames]


def test_markup_in_texts_is_shown_as_text(
    sample: Path, serve_here: Callable[[Path], Served], opened: Callable[..., Any]
) -> None:
    scene = sample / "scenes/01-lamp-room.toml"
    hostile = '<img src=x onerror=\\"document.title=1\\"><script>document.title=2</script>'
    text = scene.read_text(encoding="utf-8").replace('title = "The lamp room"', f'title = "{hostile[:30]}"')
    scene.write_text(text.replace("Oops. My foot is blue.", f"Oops. {hostile}"), encoding="utf-8")
    desk = serve_here(sample)
    page = opened(desk)
    page.wait_for_selector("li")
    assert page.locator("main h2").first.inner_text().startswith("<img src=x")
    assert "<script>document.title=2</script>" in str(page.locator("li", has_text="Oops").text_content())
    assert page.locator("main img, main script").count() == 0
    assert page.title() == "Low Tide Post · listening desk"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_nothing_is_in_the_way_of_a_screen_reader(to_look_at: Served, opened: Callable[..., Any], theme: Any) -> None:
    """Checked by axe-core's own rules, contrast and names among them: list, line, word, piece, keys."""
    from axe_playwright_python.sync_playwright import Axe

    def check(page: Any) -> None:
        found = Axe().run(page).response["violations"]
        assert [(rule["id"], [node["target"] for node in rule["nodes"]]) for rule in found] == []

    page = opened(to_look_at, color_scheme=theme)
    page.wait_for_selector("li .state[data-state=computed]")
    check(page)
    page.get_by_role("button", name="Words").click()
    page.wait_for_selector("dialog[open]")
    check(page)
    page.keyboard.press("Escape")
    page.get_by_text("Oops. My foot is blue.").click()
    page.wait_for_selector("frame-sheet .row .code:not(:empty)")
    page.locator(".scroller").focus()
    check(page)
    for key in ("ArrowRight", "a", "Shift+ArrowRight", "b", "p") if theme == "light" else ("p",):
        page.keyboard.press(key)
        check(page)
    page.keyboard.press("Escape")
    page.keyboard.press("?")
    page.wait_for_selector("dialog[open]")
    check(page)


def test_a_studios_own_picture_is_shown_as_on_paper(
    sample: Path, serve_here: Callable[[Path], Served], opened: Callable[..., Any]
) -> None:
    from PIL import Image

    own = sample / "mouthsets"
    own.mkdir(exist_ok=True)
    text = (shipped("mouthsets") / "driftwood.toml").read_text(encoding="utf-8")
    (own / "driftwood.toml").write_text(
        text.replace('code = "REST"\n', 'code = "REST"\npicture = "rest.png"\n'), "utf-8"
    )
    Image.new("RGB", (40, 30), "red").save(own / "rest.png")
    desk = serve_here(sample)
    page = open_line(opened, desk)
    # What is seen in the middle of the large mouth, at rest: red, as a picture of the screen has it.
    box = page.locator(".mouth .large").bounding_box()
    shot = Image.open(io.BytesIO(page.screenshot()))
    assert shot.getpixel((round(box["x"] + box["width"] / 2), round(box["y"] + box["height"] / 2)))[:3] == (255, 0, 0)
