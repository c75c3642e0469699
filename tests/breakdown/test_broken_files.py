"""A broken file is refused with every fault named: file, place, what was found, what to do. Never a traceback."""

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest

from lipsync.breakdown.breakdown_file import (
    Computation,
    Correction,
    Kept,
    PieceChoice,
    Replaced,
    Source,
    read,
    read_bytes,
    text_of,
)
from lipsync.errors import InputError
from lipsync.model import Cue

SOURCE = Source("Mind the lamp, keeper.", "lantern-03.wav", "5c0ffee5", 1_500_000, 3_500_000)


@pytest.fixture(scope="module")
def text(line, word) -> str:
    the = word("the", "DH IY0", 400, 450, 500, origin="hand", corrected=True)
    kept = Kept(
        "lantern-03",
        SOURCE,
        line,
        "aligner 1",
        (Correction((Replaced.at(1, line),), (the,), "heard as thee"),),
        pieces=(PieceChoice(12, "OP2"), PieceChoice(20, "PT1", forbidden=True)),
        newer=Computation(replace(SOURCE, in_us=None, out_us=None), replace(line, parts=line.parts[:1]), "aligner 2"),
    )
    return text_of(kept)


def faults_of(content: str | bytes) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_bytes(content.encode() if isinstance(content, str) else content, "a.toml")
    assert all(problem.file == "a.toml" for problem in caught.value.problems)
    return [str(problem) for problem in caught.value.problems]


# What is found, what is written instead, and all that is then said.
ONE_FAULT = [
    ('form = "lipsync breakdown 1"', 'form = "lipsync breakdown 4"',
     ["form: is 4, newer than 3, which this program knows; update the program"]),
    ('form = "lipsync breakdown 1"', 'form = "lipsync breakdown one"',
     ["form: found 'lipsync breakdown one'; a breakdown begins with form = \"lipsync breakdown 1\""]),
    ('form = "lipsync breakdown 1"', "form = 1",
     ['form: found 1; a breakdown begins with form = "lipsync breakdown 1"']),
    ('form = "lipsync breakdown 1"\n', "",
     ['form: is missing; a breakdown begins with form = "lipsync breakdown 1"']),
    ('line = "lantern-03"', "", ['"line" is missing; add it']),
    ('of = "lantern-03"', 'of = "lantern-04"',
     ['[end]: found of = "lantern-04"; write the line\'s id, "lantern-03"']),
    ('[end]\nof = "lantern-03"\n', "",
     ['"end" is missing; add it',
      "the last lines are missing, so the file may be cut short; if it is whole, add [end] with of = the line's id"]),
    ("checked = false", 'checked = "no"', ["[status]: checked: found 'no'; write true or false"]),
    ("checked = false", "chekced = true",
     ['[status]: "chekced" is not known here; known are checked']),
    ("out_s = 3.500", "out_s = 1.5", ["[source]: out_s, 1.5, must be later than in_s, 1.5"]),
    ('fingerprint = "5c0ffee5"\nin_s', "fingerprint = 5\nin_s",
     ["[source]: fingerprint: found 5; write text in quotes"]),
    ('engine = "aligner 1"\n', "", ['[computed]: "engine" is missing; add it']),
    ("voice_factor = 1.08", "voice_factor = 0",
     ["[computed]: voice_factor: found 0; more than 0 is allowed"]),
    ('"DH"', '"DX"',
     ["[computed] part 1 'the' phoneme 0: phoneme: 'DX' is no ARPAbet phoneme; the 39 are "]),
    ('"DH"', '"DH1"', ["[computed] part 1 'the' phoneme 0: phoneme: 'DH1' is no ARPAbet phoneme; the 39 are "]),
    ('"DH"', '"SIL"', ["[computed] part 1 'the' phoneme 0: phoneme: 'SIL' is no ARPAbet phoneme; the 39 are "]),
    ("start_s = 0.440", "start_s = 0.400",
     ["[computed] part 1 'the': phoneme 1 begins at 0.4 s, and phoneme 0 at 0.4 s; times must rise"]),
    ("start_s = 0.440", "start_s = -0.440",
     ["[computed] part 1 'the' phoneme 1: start_s: found -0.440; write seconds, 0 or more, such as 1.25"]),
    ("start_s = 0.440", 'start_s = "0.440"',
     ["[computed] part 1 'the' phoneme 1: start_s: found '0.440'; write seconds, 0 or more, such as 1.25"]),
    ("start_s = 0.440", "start_s = nan",
     ["[computed] part 1 'the' phoneme 1: start_s: found NaN; write seconds, 0 or more, such as 1.25"]),
    ("start_s = 0.440", "start_s = 1e999999999999999999999",
     ["[computed] part 1 'the' phoneme 1: start_s: found Infinity; write seconds, 0 or more, such as 1.25"]),
    ("start_s = 0.440", "start_s = true",
     ["[computed] part 1 'the' phoneme 1: start_s: found true; write seconds, 0 or more, such as 1.25"]),
    ("end_s = 1.700", "end_s = 1.3",
     ["[computed] part 4 'keeper': end_s is at 1.3 s, and phoneme 3 at 1.48 s; times must rise"]),
    ("start_s = 0.900\nend_s = 1.200", "start_s = 0.800\nend_s = 1.200",
     ["[computed] part 3 '[breath]': begins at 0.8 s, before the end at 0.85 s of [computed] part 2 'lamp'; "
      "move one of the two"]),
    ("start_s = 0.900\nend_s = 1.200", "start_s = 1.200\nend_s = 1.200",
     ["[computed] part 3 '[breath]': cue [breath] must begin at 0 or later and end after it begins"]),
    ("duration_s = 2.000", "duration_s = 1.650",
     ["[computed] part 4 'keeper': ends at 1.7 s, but duration_s is 1.65; end it earlier"]),
    ("confidence = 0.3", "confidence = 1.3",
     ["[computed] part 2 'lamp': confidence: found 1.3; 1 or less is allowed"]),
    ('from = "guess"', 'from = "memory"',
     ["[computed] part 4 'keeper': from: found 'memory'; allowed are 'production', 'dictionary', 'guess' or 'hand'"]),
    ('from = "guess"\n', "", ["[computed] part 4 'keeper': \"from\" is missing; add it"]),
    ("level_db = -18.25 },\n    { start_s = 0.560", "level = -18.25 },\n    { start_s = 0.560",
     ["[computed] part 2 'lamp' phoneme 0: \"level\" is not known here; known are start_s, phoneme, level_db"]),
    ("index = 1", "index = 2",
     ["[[corrected]] 0: replaces part 2 \"the\", but that is \"lamp\"; \"the\" is part 1"]),
    ("index = 1", "index = 9",
     ["[[corrected]] 0: replaces part 9 \"the\", but there are 5, counted from 0; \"the\" is part 1"]),
    ("index = 1", "index = -1", ["[[corrected]] 0, replaces 0: index: found -1; 0 or more is allowed"]),
    ('index = 1, text = "the"', 'index = 1, text = "thy"',
     ["[[corrected]] 0: replaces part 1 \"thy\", but that is \"the\"; none has that name"]),
    (", end_s = 0.500 },\n]", " },\n]",
     ["[[corrected]] 0, replaces 0: note both the start and the end of the part that is replaced, or neither"]),
    ("start_s = 0.450", "start_s = 0.350",
     ["[[corrected]] 0 part 0 'the': phoneme 1 begins at 0.35 s, and phoneme 0 at 0.4 s; times must rise"]),
    ('code = "OP2"', 'code = "OP2", forbid = "OP2"',
     ['pieces, row 0: write either code = "..." to put a piece on the frame or forbid = "..." to keep it off']),
    ('code = "OP2"', 'code = ""', ["pieces, row 0: code: found ''; write at least 1 character"]),
    ("frame = 20, forbid", "frame = 12, code", ["pieces, frame 12: OP2 and PT1 are both put on it; keep one"]),
    ('frame = 20, forbid = "PT1"', 'frame = 12, forbid = "OP2"',
     ["pieces, frame 12: OP2 is put on it and also forbidden; keep one"]),
    ('frame = 20, forbid = "PT1"', 'frame = 12, code = "OP2"',
     ["pieces, frame 12: OP2 is named 2 times; keep one"]),
    ('engine = "aligner 2"', 'engine = "aligner 2"\ncheck = "000"',
     ['[newer.computed]: "check" is not known here; known are duration_s, voice_factor, effort, engine, '
      "rejection, voice_without_text, parts"]),
    ('effort = "plain"', 'effort = "plain"\nrejection = "so so"',
     ['[computed]: rejection: found \'so so\'; write one of "not said", "not found", "too fast", "no speech", '
      '"too short", "stopped", "not read", "not heard", or leave it out']),
    ('effort = "plain"', 'effort = "plain"\nvoice_without_text = [{ start_s = 0.5, end_s = 0.5 }, { start_s = 1 }]',
     ["[computed] voice_without_text 0: voice without text must begin at 0 or later and end after it begins, "
      "not 500000 to 500000 us", '[computed] voice_without_text 1: "end_s" is missing; add it']),
]  # fmt: skip


@pytest.mark.parametrize(("found", "instead", "said"), ONE_FAULT)
def test_one_fault(text, found, instead, said):
    broken = text.replace(found, instead, 1)
    assert broken != text
    faults = faults_of(broken)
    assert len(faults) == len(said)
    for fault, sentence in zip(faults, said, strict=True):
        assert fault.startswith(f"a.toml: {sentence}")
        assert fault == f"a.toml: {sentence}" or sentence.endswith((" ", "begins"))


@pytest.mark.parametrize("value", ["1e308", "2026-11-24", "10:00:00", "true", '"AH"', "{}"])
def test_phonemes_that_are_no_list(text, value):
    broken = re.sub(r"phonemes = \[.*?\n\]", f"phonemes = {value}", text, count=1, flags=re.DOTALL)
    assert broken != text
    (said,) = faults_of(broken)
    assert said.startswith("a.toml: [computed] part ")
    assert said.endswith("; write a list in [ ]")


def test_a_date_in_the_place_of_seconds(text):
    (said,) = faults_of(text.replace("start_s = 0.440", "start_s = 2026-11-24", 1))
    assert said.endswith("start_s: found 2026-11-24; write seconds, 0 or more, such as 1.25")


def test_all_faults_are_reported_in_one_go(text):
    broken = text
    for found, instead in [
        ('recording = "lantern-03.wav"\n', ""),
        ('"DH"', '"DX"'),
        ("start_s = 0.900\nend_s = 1.200", "start_s = 0.800\nend_s = 1.200"),
        ("confidence = 0.75", 'confidence = "high"'),
        ("index = 1", 'index = "one"'),
        ("frame = 12", "frame = 12.5"),
        ("checked = false", "checked = 0"),
    ]:
        assert found in broken
        broken = broken.replace(found, instead, 1)
    places = [fault.removeprefix("a.toml: ").split(": ")[0] for fault in faults_of(broken)]
    assert places == [
        "[status]",
        "[source]",
        "[computed] part 1 'the' phoneme 0",
        "[computed] part 4 'keeper'",
        "[computed] part 3 '[breath]'",
        "[[corrected]] 0, replaces 0",
        "pieces, row 0",
    ]


@pytest.mark.parametrize(
    ("second", "said"),
    [
        (  # the same part twice
            'replaces = [{ index = 1, text = "the" }]\nparts = []',
            '[[corrected]] 0: part 1 "the" is replaced more than once; keep one of the corrections',
        ),
        (  # over another correction
            'parts = [{ cue = "gasp", start_s = 0.45, end_s = 0.6 }]',
            '[[corrected]]: "[gasp]" begins at 0.45 s, before "the" ends at 0.5 s; corrected parts must not overlap',
        ),
        (  # after the end
            'parts = [{ cue = "gasp", start_s = 1.9, end_s = 2.1 }]',
            '[[corrected]] 1: "[gasp]" ends at 2.1 s, after the recording, which lasts 2.0 s; end it earlier',
        ),
        (  # out of order
            'replaces = [{ index = 0, text = "Mind" }]\nparts = [{ cue = "gasp", start_s = 0.6, end_s = 0.7 }]',
            '[[corrected]]: "[gasp]" comes after "the" in time, but replaces an earlier part; '
            "keep them in their order",
        ),
        (
            'replaces = [{ index = 2, text = "lamp" }, { index = 0, text = "Mind" }]',
            "[[corrected]] 1: the replaced parts must be named once each and in their order",
        ),
        ("", "[[corrected]] 1: a correction replaces a part or adds one; this one does neither"),
        (
            'parts = [{ cue = "gasp", start_s = 1.9, end_s = 2.0 }, { cue = "gasp", start_s = 1.8, end_s = 1.9 }]',
            "[[corrected]] 1 part 1 '[gasp]': begins at 1.8 s, before the end at 2.0 s of "
            "[[corrected]] 1 part 0 '[gasp]'; move one of the two",
        ),
        ('parts = ["gasp"]', "[[corrected]] 1 part 0: found 'gasp'; write a table"),
        ("parts = 3", "[[corrected]] 1: parts: found 3; write a list in [ ]"),
    ],
)
def test_a_correction_that_does_not_fit(text, second, said):
    assert f"a.toml: {said}" in faults_of(f"{text}\n[[corrected]]\n{second}\n")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "a.toml: form: is missing; a breakdown begins with"),
        (b"\x00\x01\x02", "a.toml: is no TOML: "),
        (b"\xff\xfe\x00form", "a.toml: byte 0: is no UTF-8 text; save the file as UTF-8"),
        ("form = 'lipsync breakdown 1'".encode("utf-16"), "a.toml: byte 0: is no UTF-8 text; save the file as UTF-8"),
        (b"form = ", "a.toml: is no TOML: Invalid value (at end of document)"),
        (b"form = 1\nform = 2\n", "a.toml: is no TOML: Cannot overwrite a value (at line 2, column 9)"),
        (b"form = " + b"[" * 100_000, "a.toml: tables or lists are nested too deeply"),
        (b"form = " + b"9" * 10_000, "a.toml: is no TOML: Exceeds the limit"),
        (b'form = "lipsync breakdown 99999999999999999999"', "a.toml: form: found 'lipsync breakdown 99999999"),
        (b'form = "lipsync breakdown \xc2\xb2"', "a.toml: form: found 'lipsync breakdown \u00b2'"),
    ],
)
def test_no_breakdown_at_all(content, said):
    (fault,) = faults_of(content)
    assert fault.startswith(said)


def test_a_file_that_cannot_be_read(tmp_path):
    with pytest.raises(InputError, match=r"lost\.toml: cannot be read: No such file or directory; check its name"):
        read(tmp_path / "lost.toml")
    with pytest.raises(InputError, match=r"cannot be read: Is a directory; check its name and place"):
        read(Path(tmp_path))


def test_cut_short_at_every_byte(text):
    """Only the last line end can be missing without loss; every other place is noticed."""
    content = text.encode()
    whole = read_bytes(content, "a.toml")
    for length in range(len(content) - 1):
        with pytest.raises(InputError) as caught:
            read_bytes(content[:length], "a.toml")
        assert caught.value.problems
    assert read_bytes(content[:-1], "a.toml") == whole


def _mutated(content: bytes, chance: random.Random) -> bytes:
    rows = content.split(b"\n")
    kind = chance.randrange(6)
    at = chance.randrange(len(content))
    row = chance.randrange(len(rows))
    if kind == 0:  # a byte becomes another
        return content[:at] + bytes([chance.randrange(256)]) + content[at + 1 :]
    if kind == 1:  # a stretch is gone
        return content[:at] + content[at + chance.randrange(1, 40) :]
    if kind == 2:  # a row is doubled
        return b"\n".join([*rows[: row + 1], *rows[row:]])
    if kind == 3:  # a row is gone
        return b"\n".join([*rows[:row], *rows[row + 1 :]])
    if kind == 4:  # two rows change places
        other = chance.randrange(len(rows))
        rows[row], rows[other] = rows[other], rows[row]
        return b"\n".join(rows)
    # a value becomes one of another kind
    key, equals, _ = rows[row].partition(b"= ")
    values = [b"-1", b"1e400", b"nan", b"[]", b"{}", b'""', b"true", b"1979-05-27", b"0x7f", b"[[{}]]"]
    return b"\n".join([*rows[:row], key + equals + chance.choice(values), *rows[row + 1 :]])


def test_random_damage_is_refused_or_harmless(text):
    """1500 damaged files, some of them twice: an InputError with its file and a sentence, or a valid line."""
    chance = random.Random(20_240_611)
    refused = 0
    for _ in range(1500):
        damaged = _mutated(text.encode(), chance)
        if chance.random() < 0.3:
            damaged = _mutated(damaged, chance)
        try:
            kept = read_bytes(damaged, "a.toml")
        except InputError:
            refused += 1
            assert all(faults_of(damaged))
        else:
            assert read_bytes(text_of(kept).encode(), "a.toml") == kept
            assert kept.breakdown.duration_us > 0
            assert isinstance(kept.disagreements, tuple)
    assert 750 < refused < 1500


def test_the_lines_own_file_is_well(text):
    """What all the broken files above are made from is not broken."""
    assert read_bytes(text.encode(), "a.toml").breakdown.parts[3] == Cue("breath", 900_000, 1_200_000)
