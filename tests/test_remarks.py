"""What is told of lines that is no fault of any."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from lipsync.app.heard import of_line

PLACED = SimpleNamespace(scene=SimpleNamespace(path=Path("pier.toml")), place='[[shot]] "010" [[line]] "010-a"')


def kept(doubtful: int, words: int, checked: bool = False) -> SimpleNamespace:
    said = [SimpleNamespace(doubtful=place < doubtful) for place in range(words)]
    return SimpleNamespace(breakdown=SimpleNamespace(words=said), checked=checked)


@pytest.mark.parametrize(("doubtful", "words", "told"), [(9, 11, True), (6, 10, True), (5, 10, False), (4, 4, False)])
def test_a_line_of_which_nearly_all_is_doubtful_is_told(doubtful: int, words: int, told: bool) -> None:
    said = list(of_line(PLACED, kept(doubtful, words)))  # type: ignore[arg-type]
    start = f'pier.toml: [[shot]] "010" [[line]] "010-a": {doubtful} of its {words} words are doubtful; check that'
    assert [text.startswith(start) for text in said] == [True] * told


def test_a_line_that_a_person_has_checked_is_not() -> None:
    assert not list(of_line(PLACED, kept(9, 11, checked=True)))  # type: ignore[arg-type]
