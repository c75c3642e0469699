"""What is said for all lines, changed at the desk: how a word is spoken, an accent; where a line begins."""

from pathlib import Path
from typing import Any

import pytest

from lipsync.desk import bodies
from lipsync.desk.desk import Desk
from lipsync.errors import InputError

LINE = "020-c"


def told(desk: Desk, **change: Any) -> dict[str, Any]:
    return desk.write_whole(LINE, bodies.WHOLE_BODY.validate_python({"change": change}))


def test_a_word_is_said_so_in_the_whole_production(sample: Path) -> None:
    desk, path = Desk(sample), sample / "production.toml"
    before = path.read_text(encoding="utf-8")
    told(desk, kind="set-pronunciation", word="Oops", symbols=["UW1", "P", "S"])
    after = path.read_text(encoding="utf-8")
    added = 'Skerrivane = "S K EH1 R AH0 V EY2 N"\nOops = "UW1 P S"\n'
    assert after == before.replace('Skerrivane = "S K EH1 R AH0 V EY2 N"\n', added)
    ways = desk.pronunciations(LINE, 0)["pronunciations"]
    assert ways[0]["symbols"] == ["UW1", "P", "S"]
    told(desk, kind="set-pronunciation", word="oops", symbols=["UH1", "P", "S"])  # the same word
    assert path.read_text(encoding="utf-8") == after.replace("UW1 P S", "UH1 P S")


def test_what_the_production_says_of_a_word_is_taken_out_again(sample: Path) -> None:
    desk, path = Desk(sample), sample / "production.toml"
    before = path.read_text(encoding="utf-8")
    told(desk, kind="set-pronunciation", word="Oops", symbols=["UW1", "P", "S"])
    told(desk, kind="drop-pronunciation", word="oops")  # the same word
    assert path.read_text(encoding="utf-8") == before
    assert "production" not in [way["from"] for way in desk.pronunciations(LINE, 0)["pronunciations"]]
    with pytest.raises(InputError, match=r"production\.toml.*nothing is said of 'oops' there"):
        told(desk, kind="drop-pronunciation", word="oops")
    path.write_text(before.replace("[pronunciations]\n", "[pronunciations]\nOops = [\n'UW1 P S',\n]\n"), "utf-8")
    with pytest.raises(InputError, match="not changed here; change it with an editor"):
        told(desk, kind="drop-pronunciation", word="Oops")


def test_an_accent_is_written_once_and_not_over_what_was_not_seen(sample: Path) -> None:
    desk, path = Desk(sample), sample / "production.toml"
    view = desk.line(LINE)
    was = desk.production()["characters"][view["character"]]["accent"]
    other = next(accent for accent in desk.production()["accents"] if accent != was)
    told(desk, kind="set-accent", was=was, accent=other)
    assert desk.production()["characters"][view["character"]]["accent"] == other
    written = path.read_bytes()
    with pytest.raises(InputError, match="changed meanwhile"):
        told(desk, kind="set-accent", was=was, accent=other)
    path.write_bytes(written.replace(b"[pronunciations]\n", b"[pronunciations]\nOops = [\n'UW1 P S',\n]\n"))
    with pytest.raises(InputError, match="not changed here; change it with an editor"):
        told(desk, kind="set-pronunciation", word="Oops", symbols=["UH1"])


def test_where_a_line_begins_is_changed_in_the_scenes_file(sample: Path) -> None:
    desk, path = Desk(sample), sample / "scenes/01-lamp-room.toml"
    view = desk.line(LINE)
    before, was = path.read_text(encoding="utf-8"), view["entry"]
    later = was["begins"] + 2
    body = {"was": was, "entry": {**was, "begins": later}}
    now = desk.write_entry(LINE, bodies.ENTRY_BODY.validate_python(body))
    assert now["begins_us"] - view["begins_us"] == pytest.approx(2e6 / 24, abs=1)
    old = f"begins = {was['begins']}"
    assert sorted(path.read_text("utf-8").splitlines()) == sorted(
        before.replace(old, f"begins = {later}").splitlines()
    )
    body = bodies.ENTRY_BODY.validate_python({"was": now["entry"], "entry": {**now["entry"], "begins": "soon"}})
    with pytest.raises(InputError, match="begins"):
        desk.write_entry(LINE, body)
