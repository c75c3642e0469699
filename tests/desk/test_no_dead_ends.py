"""A line that could not be laid is at the desk all the same: its sound, its reason, the means to go on."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.desk import bodies
from lipsync.desk.desk import Desk
from lipsync.errors import InputError
from lipsync.model import Breakdown, Rejection, UntoldVoice
from tests.desk.conftest import Served
from tests.desk.paging import saved, until

LINE, FILE, SCENE = "020-c", "breakdowns/01-lamp-room/020-c.toml", "scenes/01-lamp-room.toml"


def changed(desk: Desk, **change: Any) -> dict[str, Any]:
    version = desk.version(LINE)["version"]
    return desk.change(LINE, bodies.CHANGE_BODY.validate_python({"version": version, "change": change}))


def heard(view: dict[str, Any]) -> list[tuple[str, int, int]]:
    return [(part["text"], part["start_us"] // 1000, part["end_us"] // 1000) for part in view["parts"]]


def undone(kept: Kept, rejection: Rejection = Rejection.NOT_FOUND) -> Kept:
    return replace(kept, computed=Breakdown(kept.source.text, kept.computed.duration_us, (), rejection=rejection))


def rewrite(sample: Path, change: Callable[[Kept], Kept]) -> None:
    breakdown_file.write(sample / FILE, change(breakdown_file.read(sample / FILE)))


def entry(desk: Desk, **wanted: Any) -> dict[str, Any]:
    was = desk.line(LINE)["entry"]
    return desk.write_entry(LINE, bodies.ENTRY_BODY.validate_python({"was": was, "entry": {**was, **wanted}}))


def test_a_line_that_nobody_listened_to_has_its_sound_and_can_be_placed_by_hand(sample: Path) -> None:
    (sample / FILE).unlink()
    desk = Desk(sample)
    view = desk.line(LINE)
    assert (view["heard"], view["shown"], view["rejection"], view["parts"]) == (False, True, "not heard", [])
    assert view["duration_us"] == 2_029_437
    assert desk.fingerprint(LINE)["columns"] > 300
    assert "by hand" in view["reasons"][0]
    placed = changed(desk, kind="place-words", text="Ho hum", start_us=100_000, end_us=700_000)
    assert [(text, end) for text, _, end in heard(placed)][1] == ("hum", 700)
    assert heard(placed)[0][1] == 100
    assert (placed["rejection"], placed["reasons"], placed["heard"]) == (None, [], True)
    undone_again = desk.go(LINE, placed["version"], -1)
    assert (undone_again["parts"], undone_again["rejection"]) == ([], "not heard")


def test_words_are_spread_as_long_as_their_phonemes_usually_last(sample: Path) -> None:
    """HH lasts 62 ms, OW 126 (lipsync/align/durations.py): each has 1 ms, and its share of the 188 that are left."""
    (sample / FILE).unlink()
    view = changed(Desk(sample), kind="place-words", text="Ho", start_us=0, end_us=190_000)
    assert view["parts"][0]["phonemes"] == [["HH", 0, 63_000], ["OW1", 63_000, 190_000]]


@pytest.mark.parametrize(
    ("span_ms", "expected"),
    [
        ((0, 300), ["[0 to 300]"]),
        ((200, 300), ["0 to 200", "[200 to 300]", "400 to 700"]),  # both sides give way
        ((100, 200), ["0 to 100", "[100 to 200]", "400 to 700"]),
        ((300, 400), ["0 to 300", "[300 to 400]", "400 to 700"]),  # it fits exactly between two
        ((1, 699), ["[1 to 699]", "699 to 700"]),
        ((800, 900), ["0 to 300", "400 to 700", "[800 to 900]"]),
    ],
)
def test_what_is_in_the_way_of_placed_words_gives_way(sample: Path, span_ms, expected: list[str]) -> None:
    (sample / FILE).unlink()
    desk = Desk(sample)
    changed(desk, kind="place-words", text="Oops", start_us=0, end_us=300_000)
    changed(desk, kind="place-words", text="blue", start_us=400_000, end_us=700_000)
    start, end = span_ms
    view = changed(desk, kind="place-words", text="a", start_us=start * 1000, end_us=end * 1000, symbols=["AH0"])
    told = [f"[{a} to {b}]" if text == "a" else f"{a} to {b}" for text, a, b in heard(view)]
    if span_ms == (0, 300):
        expected = ["[0 to 300]", "400 to 700"]
    if span_ms == (1, 699):
        expected = ["[1 to 699]"]  # three phonemes need 3 ms, and have 1
    assert told == expected


def test_words_in_any_letters_are_placed_if_one_says_how_they_are_spoken(sample: Path) -> None:
    desk = Desk(sample)
    with pytest.raises(InputError, match="say how it is spoken, in ARPAbet"):
        changed(desk, kind="place-words", text="灯台", start_us=0, end_us=400_000)
    said = ["T", "OW1", "D", "AY0"]
    view = changed(desk, kind="place-words", text="灯台", start_us=0, end_us=400_000, symbols=said)
    assert [symbol for symbol, *_ in view["parts"][0]["phonemes"]] == said


def test_words_are_listened_for_only_where_they_are_placed(sample: Path) -> None:
    desk = Desk(sample)
    was = heard(desk.line(LINE))
    rewrite(sample, undone)
    last = was[-1]
    view = changed(
        desk, kind="place-words", text="blue", start_us=(last[1] - 20) * 1000, end_us=2_020_000, listen=True
    )
    ((text, start, end),) = heard(view)
    assert text == "blue"
    assert abs(start - last[1]) <= 21
    assert abs(end - last[2]) <= 60


def test_placing_beyond_the_recording_or_backwards_is_refused(sample: Path) -> None:
    desk = Desk(sample)
    before = (sample / FILE).read_bytes()
    wrong = ((2_000_000, 2_100_000, r"must end by 2.029437 s"), (500_000, 400_000, "must begin before"))
    for start, end, why in wrong:
        with pytest.raises(InputError, match=why):
            changed(desk, kind="place-words", text="Oops", start_us=start, end_us=end)
    assert (sample / FILE).read_bytes() == before


def test_the_entry_of_a_line_is_changed_and_all_else_in_the_file_stays(sample: Path) -> None:
    scene = sample / SCENE
    text = scene.read_text(encoding="utf-8").replace('id = "020-c"', 'id = "020-c"  # the foot', 1)
    scene.write_text(text, encoding="utf-8")
    desk = Desk(sample)
    view = entry(desk, text="Oops. My feet are blue.", in_us=100_000, out_us=1_900_000, voice_factor=1.2)
    assert view["entry"] == {
        "text": "Oops. My feet are blue.",
        "in_us": 100_000,
        "out_us": 1_900_000,
        "voice_factor": 1.2,
        "begins": 140,
    }
    now = scene.read_text(encoding="utf-8")
    assert "# the foot" in now
    added = [row for row in now.splitlines() if row not in text.splitlines()]
    assert sorted(added) == ["in = 0.1", "out = 1.9", 'text = "Oops. My feet are blue."', "voice_factor = 1.2"]
    entry(desk, text="Oops. My foot is blue.", in_us=None, out_us=None, voice_factor=None)
    assert scene.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("wanted", "why"),
    [
        ({"out_us": 5_000_000}, r"01-lamp-room\.toml: .*020-c.* out: 5\.0 s lies after the end of the recording"),
        ({"in_us": 900_000, "out_us": 800_000}, r"020-c.* out: is not after in"),
    ],
)
def test_an_entry_that_would_be_a_fault_is_refused_in_the_commands_words(
    sample: Path, wanted: dict[str, Any], why: str
) -> None:
    before = (sample / SCENE).read_bytes()
    with pytest.raises(InputError, match=why):
        entry(Desk(sample), **wanted)
    assert (sample / SCENE).read_bytes() == before


def test_an_entry_that_was_changed_meanwhile_is_not_written_over(sample: Path) -> None:
    desk = Desk(sample)
    was = desk.line(LINE)["entry"]
    scene = sample / SCENE
    text = scene.read_text(encoding="utf-8")
    scene.write_text(text.replace("My foot is blue", "My foot is green"), encoding="utf-8")
    before = scene.read_bytes()
    body = bodies.ENTRY_BODY.validate_python({"was": was, "entry": {**was, "text": "mine"}})
    with pytest.raises(InputError, match="changed meanwhile"):
        desk.write_entry(LINE, body)
    assert scene.read_bytes() == before


def test_a_line_that_cannot_be_laid_is_listened_to_and_told_not_refused(sample: Path) -> None:
    scene = sample / SCENE
    text = scene.read_text(encoding="utf-8")
    scene.write_text(text.replace("Oops. My foot is blue.", "灯台 はどこ"), encoding="utf-8")
    (sample / FILE).unlink()
    desk = Desk(sample)
    view = desk.listen(LINE, "")
    assert view["rejection"] == "not read"
    assert "灯台" in view["reasons"][0]
    assert view["messages"] == [text for text in view["messages"] if "020-c" in text] != []
    checked = changed(desk, kind="set-checked", checked=True)
    assert (checked["rejection"], checked["checked"], checked["reasons"]) == (None, True, [])


def test_a_recording_that_is_gone_is_told_with_the_entry_to_mend_it(sample: Path) -> None:
    (sample / FILE).unlink()
    (sample / "recordings/020-c.wav").unlink()
    view = Desk(sample).line(LINE)
    assert (view["shown"], view["heard"]) == (False, False)
    assert "does not exist" in view["reasons"][0]
    assert view["entry"]["text"] == "Oops. My foot is blue."


def test_doubts_count_voice_without_text_and_a_checked_line_has_none(sample: Path) -> None:
    heard_there = (UntoldVoice(0, 150_000),)
    rewrite(sample, lambda kept: replace(kept, computed=replace(kept.computed, voice_without_text=heard_there)))
    desk = Desk(sample)
    assert desk.line(LINE)["untold"] == [[0, 150_000]]
    desk.track(LINE)  # reads the states

    def state() -> tuple[str, int]:
        rows = [row for scene in desk.lines()["scenes"] for shot in scene["shots"] for row in shot["lines"]]
        return next((row["state"], row["doubts"]) for row in rows if row["id"] == LINE)

    assert state() == ("doubts", 1)
    changed(desk, kind="set-checked", checked=True)
    desk.track(LINE)
    assert state() == ("checked", 0)


def test_nothing_is_said_only_where_there_is_voice_without_text(sample: Path) -> None:
    heard_there = (UntoldVoice(0, 150_000),)
    rewrite(sample, lambda kept: replace(kept, computed=replace(kept.computed, voice_without_text=heard_there)))
    desk = Desk(sample)
    with pytest.raises(InputError, match=r"no voice without text is heard from 0\.5 s to 0\.6 s"):
        changed(desk, kind="nothing-said", start_us=500_000, end_us=600_000)
    view = changed(desk, kind="nothing-said", start_us=10_000, end_us=90_000)  # the whole stretch is meant
    assert view["untold"] == []
    assert breakdown_file.read(sample / FILE).nothing_said == heard_there


def open_undone(opened: Callable[..., Any], desk: Served) -> Any:
    page = opened(desk, f"#/line/{LINE}")
    page.wait_for_selector("frame-sheet .row .number:not(:empty)")
    until(page, "document.querySelector('.line-page').player.ready")
    return page


def test_in_the_browser_a_line_without_words_is_placed_and_checked(
    sample: Path, desk: Served, opened: Callable[..., Any]
) -> None:
    rewrite(sample, undone)
    page = open_undone(opened, desk)
    band = page.locator(".alert")
    assert "was not found in the recording" in band.inner_text()
    colours = band.evaluate("e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]")
    assert colours == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    until(page, "document.querySelector('frame-sheet').spectrum.chunks.size > 0")  # level and spectrogram are there
    page.get_by_label("words placed").fill("Oops")
    page.get_by_label("from, in seconds").fill("0.1")
    page.get_by_label("until, in seconds").fill("0.5")
    saved(page, lambda: page.get_by_role("button", name="Place them").click())
    assert page.locator(".word").first.inner_text() == "Oops"
    assert band.inner_text() == ""
    kept = breakdown_file.read(sample / FILE)
    assert [(w.text, w.start_us, w.end_us, w.corrected) for w in kept.breakdown.words] == [
        ("Oops", 100_000, 500_000, True)
    ]
    saved(page, lambda: page.get_by_label("checked", exact=True).check())
    assert breakdown_file.read(sample / FILE).checked


def test_in_the_browser_voice_without_text_is_found_by_its_key_and_covered(
    sample: Path, desk: Served, opened: Callable[..., Any]
) -> None:
    kept = breakdown_file.read(sample / FILE)
    gap = kept.computed.parts[-1].end_us
    added = (UntoldVoice(gap, gap + 150_000),)
    rewrite(sample, lambda kept: replace(kept, computed=replace(kept.computed, voice_without_text=added)))
    page = open_undone(opened, desk)
    page.keyboard.press("d")
    assert page.locator(".chosen h2").inner_text() == "Voice without text"
    assert page.locator(".untold").is_visible()
    # A noise: that nothing is said there is kept, the line has no doubt any more, and it is undone like anything.
    saved(page, page.get_by_role("button", name="Nothing is said there").click)
    kept = breakdown_file.read(sample / FILE)
    assert (kept.nothing_said, kept.breakdown.voice_without_text, kept.corrections, kept.checked) == (
        added,
        (),
        (),
        False,
    )
    until(page, "document.querySelector('.notes').textContent.includes('nothing')")
    saved(page, page.get_by_role("button", name="undo: nothing said").click)
    page.keyboard.press("d")
    saved(page, lambda: page.keyboard.press("r"))
    saved(page, page.get_by_role("button", name="undo: nothing said").click)
    page.keyboard.press("d")
    page.get_by_label("words placed").fill("hey")
    saved(page, lambda: page.get_by_role("button", name="Place them").click())
    assert breakdown_file.read(sample / FILE).breakdown.voice_without_text == ()
    until(page, "document.querySelectorAll('.untold:not([hidden])').length === 0")


def test_in_the_browser_text_and_ends_are_written_into_the_scene(
    sample: Path, desk: Served, opened: Callable[..., Any]
) -> None:
    rewrite(sample, undone)
    page = open_undone(opened, desk)
    page.get_by_text("Text, begins, in and out").click()
    page.get_by_label("out, seconds of the recording").fill("9")
    page.get_by_role("button", name="Write it and listen").click()
    page.get_by_text("lies after the end of the recording").wait_for()
    page.get_by_label("out, seconds of the recording").fill("1.9")
    page.get_by_role("button", name="Write it and listen").click()
    page.locator(".word", has_text="Oops").wait_for(timeout=120_000)
    opened.faults.clear()  # the browser writes down each refusal
    scene = tomllib.loads((sample / SCENE).read_text(encoding="utf-8"))
    (line,) = (line for shot in scene["shot"] for line in shot["line"] if line["id"] == LINE)
    assert (line["out"], line["text"]) == (1.9, "Oops. My foot is blue.")
    assert breakdown_file.read(sample / FILE).source.out_us == 1_900_000


@pytest.mark.parametrize(
    ("end_us", "why"),
    [(520_000, "has more sounds than anyone could say"), (1_000_000, "")],
    ids=["too short", "long enough"],
)
def test_words_that_are_listened_for_and_not_found_are_refused_and_can_be_placed(
    sample: Path, end_us: int, why: str
) -> None:
    desk = Desk(sample)
    before = (sample / FILE).read_bytes()
    words = {"kind": "place-words", "text": "harbour", "start_us": 500_000, "end_us": end_us}
    if why:
        with pytest.raises(InputError, match=f"{why}.*nothing was changed"):
            changed(desk, listen=True, **words)
        assert (sample / FILE).read_bytes() == before
    assert "harbour" in [text for text, *_ in heard(changed(desk, **words))]
