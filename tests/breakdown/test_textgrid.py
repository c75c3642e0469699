"""The interval form, there and back.

Evidence from outside: the form as Praat's manual describes it under "TextGrid file formats" (from memory): a reader
takes from a text file only what stands free between white space, that is numbers, texts in double quotes in which a
double quote is doubled, and flags in angle brackets; all else is for the human eye. `praat_values` below is such a
reader, written from that rule alone. The text of `GRID` is laid out by hand after the manual's example.
"""

import random
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from praatio import textgrid as praatio_textgrid

from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.breakdown.corrections import all_heard_alike, label_of
from lipsync.breakdown.textgrid import from_textgrid, to_textgrid
from lipsync.errors import InputError
from lipsync.model import Breakdown, Cue, Word

GRID = """\
File type = "ooTextFile"
Object class = "TextGrid"

xmin = 0
xmax = 0.9
tiers? <exists>
size = 2
item []:
    item [1]:
        class = "IntervalTier"
        name = "words"
        xmin = 0
        xmax = 0.9
        intervals: size = 4
        intervals [1]:
            xmin = 0
            xmax = 0.1
            text = ""
        intervals [2]:
            xmin = 0.1
            xmax = 0.3
            text = "the"
        intervals [3]:
            xmin = 0.3
            xmax = 0.7
            text = "lamp"
        intervals [4]:
            xmin = 0.7
            xmax = 0.9
            text = "[breath]"
    item [2]:
        class = "IntervalTier"
        name = "phonemes"
        xmin = 0
        xmax = 0.9
        intervals: size = 8
        intervals [1]:
            xmin = 0
            xmax = 0.1
            text = ""
        intervals [2]:
            xmin = 0.1
            xmax = 0.15
            text = "DH"
        intervals [3]:
            xmin = 0.15
            xmax = 0.3
            text = "AH0"
        intervals [4]:
            xmin = 0.3
            xmax = 0.4
            text = "L"
        intervals [5]:
            xmin = 0.4
            xmax = 0.55
            text = "AE1"
        intervals [6]:
            xmin = 0.55
            xmax = 0.65
            text = "M"
        intervals [7]:
            xmin = 0.65
            xmax = 0.7
            text = "P"
        intervals [8]:
            xmin = 0.7
            xmax = 0.9
            text = ""
"""


@pytest.fixture
def short(word) -> Breakdown:
    """What GRID shows."""
    the = word("the", "DH AH0", 100, 150, 300, confidence=0.9)
    lamp = word("lamp", "L AE1 M P", 300, 400, 550, 650, 700, level_db=-18.5, confidence=0.2)
    return Breakdown("the lamp", 900_000, (the, lamp, Cue("breath", 700_000, 900_000)), 1.1, "wide")


@pytest.fixture
def grid(tmp_path):
    """Write a text, or bytes, as a TextGrid file."""

    def write(content: str | bytes):
        path = tmp_path / "lantern-03.TextGrid"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write


def praat_values(text: str) -> list[Fraction | str]:
    """The free-standing numbers, texts and flags of a text file."""
    found: list[Fraction | str] = []
    for quoted, flag, number in re.findall(
        r'(?<!\S)(?:("(?:[^"]|"")*")|(<[^>\s]*>)|([-+]?[0-9][0-9.]*(?:[eE][-+]?[0-9]+)?))(?!\S)', text
    ):
        found.append(quoted[1:-1].replace('""', '"') if quoted else flag or Fraction(number))
    return found


def praat_tiers(text: str) -> dict[str, list[tuple[int, int, str]]]:
    """The interval tiers as Praat reads them, in whole microseconds; fails where a time is finer than that."""
    values = iter(praat_values(text))

    def time_us() -> int:
        us = next(values) * 1_000_000
        assert us == int(us)
        return int(us)

    assert [next(values), next(values)] == ["ooTextFile", "TextGrid"]
    whole = (time_us(), time_us())
    assert next(values) == "<exists>"
    tiers = {}
    for _ in range(int(next(values))):
        assert next(values) == "IntervalTier"
        name = next(values)
        assert (time_us(), time_us()) == whole
        tiers[name] = [(time_us(), time_us(), next(values)) for _ in range(int(next(values)))]
    assert list(values) == []
    return tiers


def test_the_reader_of_this_test_reads_the_manuals_form():
    tiers = praat_tiers(GRID)
    assert tiers["words"][1:] == [
        (100_000, 300_000, "the"),
        (300_000, 700_000, "lamp"),
        (700_000, 900_000, "[breath]"),
    ]


def test_what_is_written_is_what_the_manual_asks_for(short):
    assert praat_tiers(to_textgrid(short)) == praat_tiers(GRID)


def test_the_layout_is_the_manuals(short):
    """Row by row, but for spaces at the ends of rows and for zeros at the ends of numbers."""
    rows = [re.sub(r"(\.\d*?)0+$", r"\1", row.rstrip()).removesuffix(".") for row in to_textgrid(short).splitlines()]
    assert rows == GRID.splitlines()


def test_praatio_itself_reads_it(short, grid):
    read = praatio_textgrid.openTextgrid(str(grid(to_textgrid(short))), includeEmptyIntervals=False)
    assert read.tierNames == ("words", "phonemes")
    assert [tuple(entry) for entry in read.getTier("phonemes").entries][1] == (0.15, 0.3, "AH0")
    assert read.maxTimestamp == 0.9


def test_nothing_changed_is_the_same_breakdown(short, line, grid):
    assert from_textgrid(grid(GRID), short) == short
    assert from_textgrid(grid(to_textgrid(line)), line) == line


# What a label can hold: not what praatio takes for the layout of the file.
_LABELS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), min_size=1).filter(
    lambda text: text.strip() and not re.search(r"item ?\[|intervals ?\[", text)
)


@given(data=st.data())
def test_any_breakdown_comes_back_to_the_microsecond(any_breakdown, tmp_path_factory, data):
    breakdown = data.draw(any_breakdown(_LABELS).filter(lambda b: b.duration_us > 0))
    text = to_textgrid(breakdown)
    path = tmp_path_factory.mktemp("grid") / "any.TextGrid"
    path.write_text(text, encoding="utf-8", newline="")
    assert from_textgrid(path, breakdown) == breakdown
    tiers = praat_tiers(text)
    assert [(a, b, c) for a, b, c in tiers["words"] if c] == [
        (p.start_us, p.end_us, " ".join(label_of(p).split())) for p in breakdown.parts
    ]
    assert [(a, b) for a, b, _ in tiers["phonemes"]] == [(p.start_us, p.end_us) for p in breakdown.phonemes]


@pytest.mark.parametrize("start_us", [1, 9, 10, 99, 100, 101, 999_999, 1_000_000, 86_399_999_999])
def test_times_that_floats_print_otherwise(start_us, grid, word):
    breakdown = Breakdown("a", start_us + 3, (Cue("gasp", start_us, start_us + 1),))
    assert "e-" not in to_textgrid(breakdown)
    assert from_textgrid(grid(to_textgrid(breakdown)), breakdown) == breakdown


def test_a_person_moves_a_boundary(short, grid, word):
    """The A of "lamp" ends at 0.5 s: levels stay with their phonemes, the word is by hand, the rest as it was."""
    imported = from_textgrid(grid(GRID.replace("0.55\n", "0.5\n")), short)
    the, lamp, breath = imported.parts
    assert (the, breath) == (short.parts[0], short.parts[2])
    assert lamp == word(
        "lamp", "L AE1 M P", 300, 400, 500, 650, 700, level_db=-18.5, origin="hand", confidence=None, corrected=True
    )
    assert (imported.voice_factor, imported.effort, imported.text) == (1.1, "wide", "the lamp")


def test_stress_that_is_not_written_is_that_of_the_same_phoneme(short, grid):
    imported = from_textgrid(grid(GRID.replace("AE1", "ae").replace("AH0", "IY").replace('"P"', '" B "')), short)
    the, lamp, _ = imported.parts
    assert [(p.symbol, p.stress) for p in lamp.phonemes] == [("L", None), ("AE", 1), ("M", None), ("B", None)]
    assert [p.level_db for p in lamp.phonemes] == [-18.5, -18.5, -18.5, None]
    assert [(p.symbol, p.stress) for p in the.phonemes] == [("DH", None), ("IY", None)]
    assert from_textgrid(grid(GRID.replace("AE1", "AE")), short) == short
    assert from_textgrid(grid(GRID.replace("AE1", "AE2")), short).words[1].phonemes[1].stress == 2


@pytest.mark.parametrize(
    ("change", "labels", "corrected"),
    [
        (('"lamp"', '"lamps"'), ["the", "lamps", "[breath]"], [False, True, False]),
        (('"[breath]"', '"[sob]"'), ["the", "lamp", "[sob]"], [False, False, True]),
        (('"[breath]"', '""'), ["the", "lamp"], [False, False]),
        (('""', '"[gasp]"'), ["[gasp]", "the", "lamp", "[breath]"], [True, False, False, False]),
    ],
)
def test_words_and_cues_are_retyped_added_and_deleted(short, grid, change, labels, corrected):
    words, phonemes = GRID.split("item [2]")
    imported = from_textgrid(grid(words.replace(*change) + "item [2]" + phonemes), short)
    assert [label_of(part) for part in imported.parts] == labels
    assert [part.corrected for part in imported.parts] == corrected


def test_an_import_is_kept_as_corrections(short, grid):
    kept = Kept("lantern-03", Source("the lamp", "a.wav", "5c0ffee5"), short)
    after = kept.corrected_to(from_textgrid(grid(GRID.replace("0.55\n", "0.5\n")), kept.breakdown), "by ear")
    assert [(c.label, c.note) for c in after.corrections] == [("lamp", "by ear")]
    assert after.breakdown.words[1].phonemes[1].end_us == 500_000
    again = after.corrected_to(from_textgrid(grid(to_textgrid(after.breakdown)), after.breakdown))
    assert again == after


@pytest.mark.parametrize(
    "content",
    [
        GRID.replace("\n", "\r\n").encode(),
        GRID.encode("utf-8-sig"),
        GRID.encode("utf-16"),
        GRID.replace("xmax = 0.9", "xmax = 0.90000000000000002").encode(),
        GRID.replace("0.15\n", "1.5e-01\n").encode(),
        GRID.replace('text = ""', 'text = "sil"').replace("sil", "", 1).encode(),
    ],
    ids=["windows", "byte order mark", "utf-16", "17 digits", "exponent", "silence by name"],
)
def test_forms_that_editors_write(short, grid, content):
    assert from_textgrid(grid(content), short) == short


def test_the_short_form(short, grid):
    values = [f'"{v}"' if isinstance(v, str) and v[:1] != "<" else str(v) for v in praat_values(GRID)]
    rows = [value if "/" not in value else str(float(Fraction(value))) for value in values]
    short_form = f"File type = {rows[0]}\nObject class = {rows[1]}\n\n" + "\n".join(rows[2:]) + "\n"
    assert from_textgrid(grid(short_form), short) == short


FAULTS = [
    ('name = "words"', 'name = "Words"',
     ["tier words: one interval tier of this name is needed, not more nor fewer; found Words, phonemes"]),
    ('name = "phonemes"', 'name = "words"',
     ["tier words: one interval tier of this name is needed, not more nor fewer; found words, words",
      "tier phonemes: one interval tier of this name is needed, not more nor fewer; found words, words"]),
    ('class = "IntervalTier"\n        name = "words"', 'class = "TextTier"\n        name = "words"',
     ["tier words: one interval tier of this name is needed, not more nor fewer; found phonemes"]),
    ('"DH"', '"DX"', ["tier phonemes at 0.1 s: 'DX' is no ARPAbet phoneme; the 39 are "]),
    ('"DH"', '"DH0"', ["tier phonemes at 0.1 s: 'DH0' is no ARPAbet phoneme; the 39 are "]),
    ("xmax = 0.7\n            text = \"P\"", "xmax = 0.73\n            text = \"P\"",
     ["tier phonemes at 0.73 s: found an interval from 0.7 s to 0.9 s; "
      "intervals must follow each other without a gap",
      'tier words at 0.3 s: "lamp" ends at 0.7 s, and its phonemes at 0.73 s; move one to the other']),
    ('xmin = 0.3\n            xmax = 0.7\n            text = "lamp"',
     'xmin = 0.3\n            xmax = 0.7\n            text = ""',
     ['tier phonemes at 0.3 s: "L" is in no word; label its word in tier words, or delete it',
      'tier phonemes at 0.4 s: "AE1" is in no word; label its word in tier words, or delete it',
      'tier phonemes at 0.55 s: "M" is in no word; label its word in tier words, or delete it',
      'tier phonemes at 0.65 s: "P" is in no word; label its word in tier words, or delete it']),
    ('"[breath]"', '"breath"',
     ['tier words at 0.7 s: "breath" has no phonemes; add them, or write a cue as [breath]']),
    ('"[breath]"', '"[]"', ['tier words at 0.7 s: "[]" has no phonemes; add them, or write a cue as [breath]']),
    ('"M"', '""', ['tier phonemes at 0.55 s: a silence within "lamp"; close it, or split the word in two']),
    ('"L"', '""', ['tier words at 0.3 s: "lamp" begins at 0.3 s, and its phonemes at 0.4 s; move one to the other']),
    ("xmin = 0.3\n            xmax = 0.7", "xmin = 0.302\n            xmax = 0.7",
     ["tier words at 0.3 s: found an interval from 0.302 s to 0.7 s; intervals must follow each other without a gap",
      'tier phonemes at 0.3 s: "L" is in no word; ', 'tier phonemes at 0.4 s: "AE1" is in no word; ',
      'tier phonemes at 0.55 s: "M" is in no word; ', 'tier phonemes at 0.65 s: "P" is in no word; ']),
    ('xmax = 0.9\n            text = "[breath]"', 'xmax = 0.95\n            text = "[breath]"',
     ["tier words at 0.95 s: ends there, but the recording lasts 0.9 s; "
      "the file is cut short, or of another recording"]),
    ('xmax = 0.9\n            text = "[breath]"', 'xmax = 0.9005\n            text = "[breath]"',
     ['tier words at 0.7 s: "[breath]" ends after the recording; end it earlier']),
]  # fmt: skip


@pytest.mark.parametrize(("found", "instead", "said"), FAULTS)
def test_faults_are_named_with_file_tier_and_time(short, grid, found, instead, said):
    broken = GRID.replace(found, instead, 1)
    assert broken != GRID
    path = grid(broken)
    with pytest.raises(InputError) as caught:
        from_textgrid(path, short)
    faults = [str(problem) for problem in caught.value.problems]
    assert len(faults) == len(said)
    for fault, sentence in zip(faults, said, strict=True):
        assert fault.startswith(f"{path}: {sentence}")
        assert fault == f"{path}: {sentence}" or sentence.endswith(" ")


def test_all_faults_in_one_go(short, grid):
    broken = GRID.replace('"DH"', '"DX"').replace('"M"', '""').replace('"[breath]"', '"breath"')
    with pytest.raises(InputError) as caught:
        from_textgrid(grid(broken), short)
    assert [problem.place for problem in caught.value.problems] == [
        "tier phonemes at 0.1 s",
        "tier phonemes at 0.55 s",
        "tier words at 0.7 s",
    ]


def test_a_cue_that_meets_a_word_within_the_millisecond(short, grid):
    """The last phoneme ends 0.5 ms after its word, which is let pass, but the cue begins at the word's end."""
    broken = GRID.replace('xmax = 0.7\n            text = "P"', 'xmax = 0.7005\n            text = "P"')
    broken = broken.replace(
        'xmin = 0.7\n            xmax = 0.9\n            text = ""',
        'xmin = 0.7005\n            xmax = 0.9\n            text = ""',
    )
    with pytest.raises(InputError, match=r'"\[breath\]" begins before "lamp" ends; move one of the two'):
        from_textgrid(grid(broken), short)


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01", b"7", b"[1, 2]", b'{"start": 0, "end": 1, "tiers": {}}', b"ooTextFile", b"\xff\xfe\x00",
     b"\xfe\xff\xd8\x00", b'"ooTextFile"\n1\n2\n3\nhalf\nitem [1]: class = "IntervalTier"'],
)  # fmt: skip
def test_what_is_no_textgrid(short, grid, content):
    with pytest.raises(InputError, match=r"lantern-03\.TextGrid: (is no |tier )"):
        from_textgrid(grid(content), short)


def test_a_file_that_cannot_be_read(short, tmp_path):
    with pytest.raises(
        InputError, match=r"lost\.TextGrid: cannot be read: No such file or directory; check its name"
    ):
        from_textgrid(tmp_path / "lost.TextGrid", short)


def test_cut_short_at_every_byte(short, grid):
    """Refused, or, where nothing but the last quote's row end is missing, the same."""
    content = to_textgrid(short).encode()
    for length in range(len(content)):
        try:
            imported = from_textgrid(grid(content[:length]), short)
        except InputError as error:
            problems = error.problems
        else:
            problems = None
            assert imported == short
            assert length >= len(content) - 2
        assert problems is None or all(problem.text for problem in problems)


def test_random_damage_is_refused_or_read(short, grid):
    """600 damaged files: an InputError, or a valid breakdown of the same sound."""
    chance = random.Random(20_240_612)
    refused = 0
    for _ in range(600):
        content = bytearray(to_textgrid(short).encode())
        for _ in range(chance.randrange(1, 4)):
            at = chance.randrange(len(content))
            if chance.random() < 0.5:
                content[at] = chance.randrange(256)
            else:
                del content[at : at + chance.randrange(1, 60)]
        try:
            imported = from_textgrid(grid(bytes(content)), short)
        except InputError:
            refused += 1
        else:
            assert imported.duration_us == short.duration_us
            assert all(word.phonemes for word in imported.words)
    assert 300 < refused < 600


@given(data=st.data())
def test_whatever_is_drawn_is_imported_as_it_is_heard(same_length, tmp_path_factory, data):
    old, drawn = data.draw(same_length(2))
    path = tmp_path_factory.mktemp("grid") / "any.TextGrid"
    path.write_text(to_textgrid(drawn), encoding="utf-8")
    imported = from_textgrid(path, old)
    bare = [(type(p), label_of(p), p.start_us, p.end_us) for p in imported.parts]
    assert bare == [(type(p), label_of(p), p.start_us, p.end_us) for p in drawn.parts]
    for mine, theirs in zip(imported.words, drawn.words, strict=True):
        for phoneme, wanted in zip(mine.phonemes, theirs.phonemes, strict=True):
            assert (phoneme.symbol, phoneme.start_us) == (wanted.symbol, wanted.start_us)
            assert wanted.stress in (None, phoneme.stress)
    kept = Kept("any", Source(old.text, "a.wav", "5c0ffee5"), old).corrected_to(imported)
    assert all_heard_alike(kept.breakdown.parts, imported.parts)


def test_a_word_without_letters_cannot_be_shown(short, word):
    blank = replace(short, parts=(Word(" ", short.words[0].phonemes),))
    with pytest.raises(ValueError, match="has no text to show"):
        to_textgrid(blank)
