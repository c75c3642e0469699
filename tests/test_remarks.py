"""What is told of lines that is no fault of any."""

from types import SimpleNamespace

import pytest

from lipsync.app.hear.heard import of_line
from lipsync.breakdown.kept import Kept, Source
from lipsync.message import Where
from lipsync.model import Breakdown, Phoneme, Rejection, UntoldVoice, Word

PLACED = SimpleNamespace(where=Where("pier.toml", '[[shot]] "010" [[line]] "010-a"', "pier", "010", "010-a"))
HERE = 'pier.toml: [[shot]] "010" [[line]] "010-a"'


def kept(doubtful: int, words: int, *, checked: bool = False, **more: object) -> Kept:
    """Return a line of so many words of 100 ms, the first of them doubtful."""
    said = tuple(
        Word("ah", (Phoneme("AA", 100_000 * at, 100_000 * (at + 1)),), confidence=0.1 if at < doubtful else 0.9)
        for at in range(words)
    )
    text = " ".join(["ah"] * words)
    breakdown = Breakdown(text, 100_000 * words + 500_000, said, **more)  # type: ignore[arg-type]
    return Kept("010-a", Source(text, "a.wav", "f"), breakdown, checked=checked)


def told(line: Kept) -> list[str]:
    return [str(message) for message in of_line(PLACED, line)]  # type: ignore[arg-type]


@pytest.mark.parametrize(("doubtful", "words", "said"), [(9, 11, True), (6, 10, True), (5, 10, False), (4, 4, False)])
def test_a_line_of_which_nearly_all_is_doubtful_is_told(doubtful: int, words: int, said: bool) -> None:
    start = f"{HERE}: {doubtful} of its {words} words are doubtful; check that"
    assert [text.startswith(start) for text in told(kept(doubtful, words))] == [True] * said


def test_a_line_that_does_not_match_its_text_is_told_with_one_reason() -> None:
    (text,) = told(kept(11, 11, rejection=Rejection.NOT_SAID))
    assert text.startswith(HERE)
    assert "is not what is said" in text
    assert "of its 11 words" not in text


def test_voice_without_text_is_told_with_its_times() -> None:
    (text,) = told(kept(0, 3, voice_without_text=(UntoldVoice(400_000, 650_000),)))
    assert text.startswith(f"{HERE}: voice without text from 0.400 s to 0.650 s")


@pytest.mark.parametrize("more", [{}, {"rejection": Rejection.NOT_SAID}])
def test_a_line_that_a_person_has_checked_is_not(more: dict[str, object]) -> None:
    assert told(kept(9, 11, checked=True, **more)) == []
