"""What is written is read back exactly, and is laid out to be read, compared and edited.

Evidence: the round trip; TOML 1.0 as Python's own tomllib reads it; the layout, checked by eye below.
"""

import subprocess
import sys
import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lipsync.breakdown.breakdown_file import (
    Computation,
    Correction,
    Kept,
    PieceChoice,
    Replaced,
    Source,
    by_hand,
    read,
    read_bytes,
    text_of,
    write,
)
from lipsync.model import Breakdown, Cue

SOURCE = Source("Mind the lamp, keeper.", "lantern-03.wav", "5c0ffee5")


@pytest.fixture
def kept(line, word) -> Kept:
    """A line with everything in it."""
    later = word("lamp", "L AE1 M P", 500, 560, 700, 780, 880, level_db=-18.25, origin="hand", corrected=True)
    return Kept(
        "lantern-03",
        replace(SOURCE, in_us=1_500_000, out_us=3_500_000),
        line,
        "aligner 1",
        (
            Correction((Replaced.at(2, line),), (later,), "the P bursts late"),
            Correction((Replaced(1, "the"),), ()),
            Correction((), (Cue("gasp", 1_800_000, 1_900_001, corrected=True),)),
        ),
        checked=True,
        pieces=(PieceChoice(12, "OP2"), PieceChoice(20, "PT1", forbidden=True)),
        newer=Computation(SOURCE, Breakdown(SOURCE.text, 1_900_000, ()), "aligner 2"),
    )


LAYOUT = """\
# Words, cues and phonemes of one line in time. Times are seconds; parts are counted from 0. So are frames, on which a
# piece is put: the shot's first frame is 0, whatever its number on paper is.
# What is under [computed] may be computed again: write what you correct under [[corrected]], which stays.

form = "lipsync breakdown 1"
line = "lantern-03"
pieces = [
    { frame = 12, code = "OP2" },
    { frame = 20, forbid = "PT1" },
]

[status]
checked = true

[source]
text = "Mind the lamp, keeper."
recording = "lantern-03.wav"
fingerprint = "5c0ffee5"
in_s = 1.500
out_s = 3.500

[computed]
duration_s = 2.000
voice_factor = 1.08
effort = "plain"
engine = "aligner 1"
check = "CHECK"

[[computed.parts]]
word = "Mind"
from = "dictionary"
confidence = 0.98
phonemes = [
    { start_s = 0.100, phoneme = "M", level_db = -20.5 },
    { start_s = 0.160, phoneme = "AY1", level_db = -20.5 },
    { start_s = 0.300, phoneme = "N", level_db = -20.5 },
    { start_s = 0.360, phoneme = "D", level_db = -20.5 },
]
end_s = 0.400

[[computed.parts]]
word = "the"
from = "dictionary"
confidence = 0.9
phonemes = [
    { start_s = 0.400, phoneme = "DH" },
    { start_s = 0.440, phoneme = "AH0" },
]
end_s = 0.500

[[computed.parts]]
word = "lamp"
from = "dictionary"
confidence = 0.3
phonemes = [
    { start_s = 0.500, phoneme = "L", level_db = -18.25 },
    { start_s = 0.560, phoneme = "AE1", level_db = -18.25 },
    { start_s = 0.700, phoneme = "M", level_db = -18.25 },
    { start_s = 0.780, phoneme = "P", level_db = -18.25 },
]
end_s = 0.850

[[computed.parts]]
cue = "breath"
start_s = 0.900
end_s = 1.200

[[computed.parts]]
word = "keeper"
from = "guess"
confidence = 0.75
phonemes = [
    { start_s = 1.200, phoneme = "K" },
    { start_s = 1.280, phoneme = "IY1" },
    { start_s = 1.400, phoneme = "P" },
    { start_s = 1.480, phoneme = "ER0" },
]
end_s = 1.700

[[corrected]]
note = "the P bursts late"
replaces = [
    { index = 2, text = "lamp", start_s = 0.500, end_s = 0.850 },
]

[[corrected.parts]]
word = "lamp"
from = "hand"
phonemes = [
    { start_s = 0.500, phoneme = "L", level_db = -18.25 },
    { start_s = 0.560, phoneme = "AE1", level_db = -18.25 },
    { start_s = 0.700, phoneme = "M", level_db = -18.25 },
    { start_s = 0.780, phoneme = "P", level_db = -18.25 },
]
end_s = 0.880

[[corrected]]
replaces = [
    { index = 1, text = "the" },
]
parts = []

[[corrected]]
replaces = []
parts = [
    { cue = "gasp", start_s = 1.800, end_s = 1.900001 },
]

[newer.source]
text = "Mind the lamp, keeper."
recording = "lantern-03.wav"
fingerprint = "5c0ffee5"

[newer.computed]
duration_s = 1.900
voice_factor = 1.0
effort = "plain"
engine = "aligner 2"
parts = []

[end]
of = "lantern-03"
"""


def test_the_layout(kept):
    """Written by hand from the form, but for the check, whose value says nothing to an eye."""
    check = tomllib.loads(text_of(kept))["computed"]["check"]
    assert len(check) == 12
    assert text_of(kept) == LAYOUT.replace("CHECK", check)


def test_everything_comes_back(kept, tmp_path):
    path = tmp_path / "breakdowns" / "lantern-03.toml"
    write(path, kept)
    assert read(path) == kept
    assert path.read_text(encoding="utf-8") == text_of(kept)


@given(data=st.data())
def test_any_breakdown_comes_back(any_breakdown, data):
    breakdown = data.draw(any_breakdown())
    kept = Kept("any", replace(SOURCE, text=breakdown.text), breakdown, data.draw(st.text()))
    assert read_bytes(text_of(kept).encode(), "any.toml") == kept


@settings(max_examples=50)
@given(data=st.data())
def test_any_kept_line_comes_back(any_breakdown, same_length, data):
    computed, wanted = data.draw(same_length(2))
    computed, wanted = replace(computed, text="any"), replace(wanted, text="any")
    times = st.none() | st.integers(0, 10**10)
    begin_us, length_us = data.draw(times), data.draw(st.none() | st.integers(1, 10**10))
    end_us = None if length_us is None else (begin_us or 0) + length_us
    source = Source("any", data.draw(st.text()), data.draw(st.text()), begin_us, end_us)
    codes = st.text(min_size=1, max_size=3)
    pieces = data.draw(st.lists(st.builds(PieceChoice, st.integers(0, 10**6), codes), unique_by=lambda p: p.frame))
    newer = data.draw(
        st.none() | st.builds(Computation, st.just(replace(SOURCE, text="any")), st.just(wanted), st.text())
    )
    name = data.draw(st.text(min_size=1))
    kept = Kept(name, source, computed, "engine", pieces=tuple(pieces), newer=newer, checked=data.draw(st.booleans()))
    kept = kept.corrected_to(wanted, data.draw(st.text()))
    assert read_bytes(text_of(kept).encode(), "any.toml") == kept


def test_every_microsecond_of_the_first_tenth_of_a_second_comes_back():
    """The whole domain in which a float prints as 5e-05 or such; read as TOML, without our reader."""
    from lipsync.breakdown.writing import seconds
    from lipsync.timing import us_of_seconds

    for time_us in range(100_000):
        text = str(seconds(time_us))
        assert 5 <= len(text) <= 8
        assert text.replace(".", "").isdigit()
        assert us_of_seconds(tomllib.loads(f"t = {text}")["t"]) == time_us


def test_the_same_line_gives_the_same_bytes_in_another_process(kept, tmp_path):
    write(tmp_path / "a.toml", kept)
    again = (
        "import sys, pathlib, lipsync.breakdown.breakdown_file as b;"
        "b.write(pathlib.Path(sys.argv[2]), b.read(pathlib.Path(sys.argv[1])))"
    )
    subprocess.run([sys.executable, "-c", again, tmp_path / "a.toml", tmp_path / "b.toml"], check=True)
    assert (tmp_path / "a.toml").read_bytes() == (tmp_path / "b.toml").read_bytes()


def test_a_phoneme_that_moves_changes_one_row(line):
    first = text_of(Kept("lantern-03", SOURCE, line))
    mind = line.parts[0]
    moved = list(mind.phonemes)
    moved[1:3] = [replace(moved[1], end_us=310_000), replace(moved[2], start_us=310_000)]
    other = replace(line, parts=(replace(mind, phonemes=tuple(moved)), *line.parts[1:]))
    second = text_of(Kept("lantern-03", SOURCE, other))
    rows = [pair for pair in zip(first.splitlines(), second.splitlines(), strict=True) if pair[0] != pair[1]]
    assert [one.split("=")[0].strip(" {") for one, _ in rows] == ["check", "start_s"]


def test_a_person_may_write_it_otherwise(kept):
    """Other spacing, Windows line ends and byte order mark, tables in another order: the same line, not edited."""
    text = text_of(kept).replace(" = ", "=").replace("0.400", "0.4").replace("2.000", "2")
    begin, end = text.index("[status]"), text.index("[source]")
    text = text[:begin] + text[end:] + text[begin:end]
    assert read_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode(), "a.toml") == kept


def test_a_correction_written_by_hand_needs_few_keys(line):
    text = (
        text_of(Kept("lantern-03", SOURCE, line))
        + """
[[corrected]]
replaces = [{ index = 1, text = "the" }]
[[corrected.parts]]
word = "the"
phonemes = [{ start_s = 0.4, phoneme = "DH" }, { start_s = 0.45, phoneme = "IY" }]
end_s = 0.5
"""
    )
    kept = read_bytes(text.encode(), "lantern-03.toml")
    the = kept.breakdown.parts[1]
    assert (the.origin, the.corrected, the.confidence) == ("hand", True, None)
    assert [(p.symbol, p.stress, p.start_us) for p in the.phonemes] == [("DH", None, 400_000), ("IY", None, 450_000)]


def test_rows_edited_in_place_are_noticed_and_stand(line):
    text = text_of(Kept("lantern-03", SOURCE, line))
    edited = text.replace("start_s = 0.440", "start_s = 0.450")
    assert edited != text
    kept = read_bytes(edited.encode(), "lantern-03.toml")
    assert kept.edited
    assert kept.breakdown.parts[1].phonemes[1].start_us == 450_000
    assert text_of(kept) == edited  # and it is still noticed when it is read again
    assert not read_bytes(text.encode(), "lantern-03.toml").edited


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), 0.0, -1.0])
def test_what_could_not_be_read_back_is_not_kept(line, wrong):
    with pytest.raises(ValueError, match="the voice factor must be above 0, and levels must be numbers"):
        Kept("lantern-03", SOURCE, replace(line, voice_factor=wrong))


def test_a_level_that_is_no_number_is_not_kept(line, word):
    mind = word("Mind", "M AY1", 0, 50, 100, level_db=float("nan"))
    with pytest.raises(ValueError, match="levels must be numbers"):
        Kept("lantern-03", SOURCE, replace(line, parts=(mind,)))


def test_a_digital_silence_has_a_level(line, word):
    mind = word("Mind", "M AY1", 0, 50, 100, level_db=float("-inf"))
    kept = Kept("lantern-03", SOURCE, replace(line, parts=(mind,)))
    assert read_bytes(text_of(kept).encode(), "a.toml") == kept


def test_the_libraries_are_loaded_when_they_are_needed():
    code = (
        "import sys, lipsync, lipsync.breakdown.breakdown_file, lipsync.breakdown.textgrid;"
        "print([name for name in ('pydantic', 'tomli_w', 'praatio') if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert run.stdout.strip() == "[]"


def test_by_hand_marks_a_part(line):
    assert by_hand(line.parts[0]) == replace(line.parts[0], corrected=True)
