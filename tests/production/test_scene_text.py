"""A scene's file amended: what is not named keeps every byte. Expected texts are written by hand."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lipsync.production.scene_text import InlineTablesError, SceneText, new_scene_text
from lipsync.production.values import shipped

TEXT = """\
# The lamp room, as of the animatic.
title = "The lamp room"   # under the roof

# ---- evening ----

# The heron alone.
[[shot]]
id = "010"
frames = 192   # a long one
start = "01:00:00:00"

[shot.characters.heron]
rests_on = "REST"   # tired

# She mutters.
[[shot.line]]
  id = "010-a"
  character = "heron"
  recording = 'recordings/010-a.wav' # "take" 3
  text = \"\"\"
Poor old lamp. # no remark
\"\"\"
  begins = 7 # by ear

# ---- night ----

# The crab.
[[shot.line]]
id = "010-b"
character = "crab"
recording = "recordings/010-b.wav"
text = "Oops."
begins = "01:00:04:04"
"""


def amended(**what: object) -> str:
    scene = SceneText(TEXT)
    for name, arguments in what.items():
        getattr(scene, name)(*arguments)  # type: ignore[misc]
    text = scene.text()
    tomllib.loads(text)
    return text


@pytest.mark.parametrize(
    "text", [TEXT, TEXT.replace("\n", "\r\n"), "\ufeff" + TEXT, TEXT.rstrip("\n"), 'title = "x"', ""]
)
def test_what_is_not_changed_keeps_every_byte(text: str) -> None:
    assert SceneText(text).text() == text


@pytest.mark.parametrize("path", sorted((shipped("sample_audio") / "scenes").glob("*.toml")), ids=lambda p: p.stem)
def test_the_sample_keeps_every_byte(path: object) -> None:
    text = path.read_text("utf-8")  # type: ignore[attr-defined]
    assert SceneText(text).text() == text


@pytest.mark.parametrize(
    ("line", "entry", "old", "new"),
    [
        ("010-a", ("begins", 9), "  begins = 7 # by ear", "  begins = 9 # by ear"),
        ("010-a", ("begins", "1.5 s"), "  begins = 7 # by ear", '  begins = "1.5 s" # by ear'),
        (
            "010-a",
            ("recording", "recordings/x.wav"),
            "'recordings/010-a.wav' # \"take\" 3",
            '"recordings/x.wav" # "take" 3',
        ),
        ("010-a", ("text", "Hm."), 'text = """\nPoor old lamp. # no remark\n"""', 'text = "Hm."'),
        ("010-b", ("text", 'A "b" \\ é'), 'text = "Oops."', 'text = "A \\"b\\" \\\\ é"'),
        ("010-b", ("in", 1.5), 'text = "Oops."', 'in = 1.5\ntext = "Oops."'),
        ("010-b", ("begins", None), 'begins = "01:00:04:04"\n', ""),
    ],
)
def test_one_entry_changes_and_nothing_else(line: str, entry: tuple[str, object], old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert amended(set_line=(line, [entry])) == TEXT.replace(old, new)


def test_a_shot_grows_and_keeps_its_remark() -> None:
    assert amended(set_shot=("010", [("frames", 200)])) == TEXT.replace("192   # a", "200   # a")


def test_a_line_goes_with_its_own_remark_alone() -> None:
    start, end = TEXT.index("\n# She mutters"), TEXT.index("\n# ---- night")
    assert amended(drop_line=("010-a",)) == TEXT[:start] + TEXT[end:]


def test_the_last_line_goes() -> None:
    assert amended(drop_line=("010-b",)) == TEXT[: TEXT.index("\n# The crab.")]


def test_a_shot_is_added_and_a_line_moves_into_it_with_its_remark() -> None:
    entries = [("id", "020"), ("frames", 48), ("start", "01:00:08:00")]
    text = amended(add_shot=(entries, "010"), move_line=("010-a", "020", None))
    moved = TEXT[TEXT.index("\n# She mutters") : TEXT.index("\n# ---- night")]
    rest = TEXT.replace(moved, "")
    assert text.replace(moved, "").startswith(rest)
    new = '\n[[shot]]\nid = "020"\nframes = 48\nstart = "01:00:08:00"\n'
    assert new in text
    assert '# She mutters.\n[[shot.line]]\n  id = "010-a"' in text[text.index(new) :]


def test_a_line_is_added_where_it_belongs() -> None:
    entries = [("id", "010-c"), ("character", "crab"), ("recording", "r.wav"), ("text", "Ah."), ("begins", 3)]
    added = '\n[[shot.line]]\nid = "010-c"\ncharacter = "crab"\nrecording = "r.wav"\ntext = "Ah."\nbegins = 3\n'
    assert amended(add_line=("010", entries, "010-b")) == TEXT + added
    head = TEXT[: TEXT.index("\n# She mutters")]
    assert amended(add_line=("010", entries, None)) == head + added + TEXT[len(head) :]
    night = TEXT.index("\n# ---- night")
    assert amended(add_line=("010", entries, "010-a")) == TEXT[:night] + added + TEXT[night:]


def test_a_dropped_shot_takes_its_lines_and_leaves_what_stands_apart() -> None:
    assert amended(drop_shot=("010",)).startswith(TEXT[: TEXT.index("\n# The heron alone")])
    assert "[[" not in amended(drop_shot=("010",))
    assert "# ---- night ----" in amended(drop_shot=("010",))


@pytest.mark.parametrize("text", ['shot = [{ id = "010" }]', '[[shot]]\nid = "1"\nline = [{ id = "a" }]'])
def test_inline_tables_are_not_amended(text: str) -> None:
    with pytest.raises(InlineTablesError):
        SceneText(text)


def test_a_file_that_ends_without_a_line_end_grows() -> None:
    scene = SceneText('title = "x"')
    scene.add_shot([("id", "1"), ("frames", 2)], None)
    assert scene.text() == 'title = "x"\n\n[[shot]]\nid = "1"\nframes = 2\n'


@settings(max_examples=150, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=30))
def test_any_text_is_written_so_that_it_is_read_again(text: str) -> None:
    scene = SceneText(TEXT)
    scene.set_line("010-b", [("text", text)])
    assert tomllib.loads(scene.text())["shot"][0]["line"][1]["text"] == text
    scene.set_line("010-b", [("text", "Oops.")])
    assert scene.text() == TEXT
    assert tomllib.loads(new_scene_text(text)) == {"title": text}
