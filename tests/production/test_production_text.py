"""production.toml amended in place: the entry meant, and not a byte beside it."""

import tomllib

import pytest

from lipsync.production.production_text import OtherwiseWrittenError, with_entry

BEFORE = """# ours
title = "Low Tide Post"

[characters.heron]
name = "Zoë Wade"   # the keeper
mouth_set = "tideline"

# words of the island
[pronunciations]
Skerrivane = "S K EH1 R AH0 V EY2 N"  # as Zoë says it

# paper
[sheet]
page = "A4"
"""


@pytest.mark.parametrize(
    ("table", "key", "value", "old", "new"),
    [
        (("pronunciations",), "Skerrivane", "S K", '"S K EH1 R AH0 V EY2 N"', '"S K"'),
        (("pronunciations",), "Skerrivane", ["S K", "S"], '"S K EH1 R AH0 V EY2 N"', '["S K", "S"]'),
        (("pronunciations",), "o'clock", "AH0", "as Zoë says it\n", 'as Zoë says it\n"o\'clock" = "AH0"\n'),
        (("characters", "heron"), "accent", "non-rhotic", 'e"\n\n# words', 'e"\naccent = "non-rhotic"\n\n# words'),
        (("characters", "heron"), "name", "Zoë", '"Zoë Wade"', '"Zoë"'),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_only_the_entry_is_changed(table: tuple[str, ...], key: str, value, old: str, new: str, end: str) -> None:
    before = BEFORE.replace("\n", end)
    assert before.count(old.replace("\n", end)) == 1
    after = with_entry(before, table, key, value)
    assert after == before.replace(old.replace("\n", end), new.replace("\n", end))
    assert with_entry("\ufeff" + before, table, key, value) == "\ufeff" + after


def test_a_table_that_is_not_there_is_added_at_the_end() -> None:
    text = 'title = "a"'
    assert with_entry(text, ("pronunciations",), "lamp", "L") == text + '\n\n[pronunciations]\nlamp = "L"\n'


@pytest.mark.parametrize(
    "text",
    [
        'pronunciations = { lamp = "L" }\n',
        '[pronunciations]\nlamp = [\n  "L",\n]\n',
        'pronunciations.lamp = "L"\n',
        'title = """\n[pronunciations]\n"""\n[sheet]\n',
    ],
)
def test_what_is_written_otherwise_is_refused_and_never_spoiled(text: str) -> None:
    with pytest.raises(OtherwiseWrittenError):
        with_entry(text, ("pronunciations",), "lamp", "M")
    tomllib.loads(text)
