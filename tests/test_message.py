"""Messages are values: each kind has its words, each place that makes one gives the facts; nothing reads words."""

import ast
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

from lipsync.errors import InputError, Problem
from lipsync.message import Message, Where
from lipsync.model import Rejection
from lipsync.report import Report
from lipsync.wording import SENTENCES

PACKAGE = Path(__file__).parent.parent / "lipsync"
LINE = Where("scenes/01-pier.toml", '[[shot]] "010" [[line]] "010-a"', "01-pier", "010", "010-a")


def made() -> Iterator[tuple[str, ast.Call]]:
    """Yield every call that makes a message of a kind, with its file."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                owner = getattr(getattr(node.func, "value", None), "id", "")
                known = owner in ("Message", "Problem", "InputError", "LineError")
                if name in ("told", "_told", "refuse") or (name == "of" and known):
                    yield path.name, node


def texts_in(path: str) -> set[str]:
    (found,) = PACKAGE.rglob(path)
    nodes = ast.walk(ast.parse(found.read_text("utf-8")))
    return {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}


def test_each_kind_is_made_somewhere_and_each_that_is_made_has_words() -> None:
    files = {file for file, _ in made()}
    assert len(files) > 8, "the calls were not found: the test shows nothing"
    used = set().union(
        *map(texts_in, sorted({path.name for path in PACKAGE.rglob("*.py")} - {"wording.py", "__init__.py"}))
    )
    used |= {f"rejection: {kind.value}" for kind in Rejection}  # made of the value itself
    assert sorted(kind for kind in SENTENCES if kind not in used) == []
    named = {node.args[0].value for _, node in made() if node.args and isinstance(node.args[0], ast.Constant)}
    assert len(named) > 20
    assert named <= {*SENTENCES}


def test_where_facts_are_spelt_out_they_are_those_of_the_sentences() -> None:
    seen = 0
    for file, node in made():
        if not node.args or not isinstance(node.args[0], ast.Constant) or any(k.arg is None for k in node.keywords):
            continue
        kind = node.args[0].value
        fields = {name for text in SENTENCES[kind] for _, name, _, _ in string.Formatter().parse(text) if name}
        assert fields <= {str(keyword.arg) for keyword in node.keywords}, (file, kind)
        seen += 1
    assert seen > 15


def test_a_message_says_file_place_what_is_so_and_what_to_do() -> None:
    message = Message.of("ends after its shot", LINE, ends=50, last=48)
    assert (message.kind, message.scene, message.shot, message.line) == (
        "ends after its shot", "01-pier", "010", "010-a",
    )  # fmt: skip
    assert (message.what, message.remedy) == (
        "is heard up to frame 50, after its shot's last frame, 48",
        "lengthen the shot or let the line begin earlier",
    )
    assert str(message) == f"{LINE.file}: {LINE.place}: {message.what}; {message.remedy}"


def test_a_report_is_asked_for_a_shot_by_value() -> None:
    """A text that only speaks of the shot, or a file called like it, is not taken for one that is about it."""
    about = Message.of("ends after its shot", LINE, ends=50, last=48)
    other = Message("scenes/01-pier.toml", '[[shot]] "020"', 'begins like [[shot]] "010"', shot="020")
    named_alike = Problem("breakdowns/02-quay/010-a.toml", "", "is not TOML here", scene="02-quay", shot="030")
    report = Report((named_alike,), (about, other))
    assert report.about_shot("01-pier", "010") == Report((), (about,))
    assert report.about_shot("02-quay", "010") == Report()  # another scene's
    assert report.about_shot("02-quay", "030") == Report((named_alike,), ())


def test_words_with_braces_and_percents_stay_as_a_person_wrote_them() -> None:
    assert "'{last}%s'" in Message.of("pronunciation of no line", LINE, word="{last}%s").text


def test_an_unknown_kind_is_a_fault_of_ours() -> None:
    with pytest.raises(KeyError, match="no such kind"):
        InputError.of("no such kind", LINE)
