"""How words are said. Entries of the CMU dictionary are published values; what rules give was checked by hand."""

import gzip
import hashlib
import re
from importlib import resources

import pytest

from lipsync.errors import LineError
from lipsync.phonemes import PHONEMES, split_stress
from lipsync.text.dictionary import INTERJECTIONS, MOST, look_up, pronounce
from lipsync.text.morphology import Pronunciation
from lipsync.text.script import SpokenWord, tokens_of

DATA = resources.files("lipsync.text") / "data"
LINES = gzip.decompress((DATA / "cmudict.dict.gz").read_bytes()).decode("ascii").splitlines()


def said(text, own=None):
    """Every pronunciation of a text's words, with the origin."""
    return [
        [(" ".join(p.symbols), p.origin) for p in pronounce(token, own or {})]
        for token in tokens_of(text)
        if isinstance(token, SpokenWord)
    ]


def first(text, own=None):
    return [ways[0] for ways in said(text, own)]


def test_the_data_are_those_that_the_page_beside_them_names():
    page = (DATA / "README.md").read_text(encoding="utf-8")
    sums = re.findall(r"`([0-9a-f]{64})`", page)
    assert hashlib.sha256(gzip.decompress((DATA / "cmudict.dict.gz").read_bytes())).hexdigest() == sums[1]
    assert f"{len(LINES):,}" in page
    assert "Carnegie Mellon University" in (DATA / "LICENSE").read_text(encoding="utf-8")


def test_every_entry_is_arpabet_with_stress_and_in_order():
    keys = [re.sub(r"\(\d+\)$", "", line.split(" ")[0]) for line in LINES]
    assert keys == sorted(keys)
    assert {split_stress(symbol)[0] for symbol in {s for line in LINES for s in line.split(" ")[1:]}} == set(PHONEMES)


def test_every_entry_is_found():
    entries = {}
    for line in LINES:
        word, *symbols = line.split(" ")
        entries.setdefault(re.sub(r"\(\d+\)$", "", word), []).append(tuple(symbols))
    some = sorted(entries)[::17] + sorted(entries)[:20] + sorted(entries)[-20:]
    assert [word for word in some if list(look_up(word)) != entries[word]] == []


@pytest.mark.parametrize("word", ["", " ", "'", "(2)", "a(2)", "lamp ", "zzzzzz", "crabx", "é", "!", "~"])
def test_what_is_no_entry(word):
    assert look_up(word) == ()


# Published: the CMU Pronouncing Dictionary, as anyone can look it up.
def test_words_with_several_pronunciations():
    assert look_up("tomato") == (("T", "AH0", "M", "EY1", "T", "OW2"), ("T", "AH0", "M", "AA1", "T", "OW2"))
    assert ("DH", "IY0") in look_up("the")
    assert look_up("lamp") == (("L", "AE1", "M", "P"),)


# Hand-checked: the ending's sound follows the sound before it, and nothing else changes. None is an entry itself.
DERIVED = [
    ("barnacle's", "B AA1 R N AH0 K AH0 L Z"),
    ("lamp's", "L AE1 M P S"),
    ("mailbox's", "M EY1 L B AA2 K S IH0 Z"),
    ("lantern'll", "L AE1 N T ER0 N AH0 L"),
    ("tide'd", "T AY1 D IH0 D"),
    ("mendin'", "M EH1 N D AH0 N"),
    ("'ouse", "AW1 S"),
    ("lamp-mender", "L AE1 M P M EH1 N D ER0"),
    ("menders", "M EH1 N D ER0 Z"),
    ("lampless", "L AE1 M P L AH0 S"),
    ("b-b-but", "B AH0 B AH0 B AH1 T"),
    ("vapour", "V EY1 P ER0"),
    ("litre", "L IY1 T ER0"),
    ("organise", "AO1 R G AH0 N AY2 Z"),
    ("organised", "AO1 R G AH0 N AY2 Z D"),
    ("analyse", "AE1 N AH0 L AY2 Z"),
    ("st-stop", "S T AH0 S T AA1 P"),
    ("no-no", "N OW1 N OW1"),
]


@pytest.mark.parametrize(("word", "expected"), DERIVED)
def test_words_that_follow_from_known_ones(word, expected):
    assert look_up(word) == ()
    assert first(word) == [(expected, "dictionary")]


def test_readings_are_one_after_the_other():
    assert first("42") == [("F AO1 R T IY0 T UW1", "dictionary")]
    assert first("B.B.C.") == [("B IY1 B IY1 S IY1", "dictionary")]


def test_the_reading_that_is_known_wins_over_one_that_is_guessed():
    assert said("Nooo") == [[("N OW1", "dictionary")]]
    assert all(origin == "dictionary" for _, origin in said("so DVDs")[1])


def test_the_productions_own_list_comes_first():
    own = {"skerrivane": (("S", "K", "EH1", "R", "AH0", "V", "EY2", "N"),), "lamp": (("L", "AA1", "M", "P"),)}
    assert first("Skerrivane lamp", own) == [("S K EH1 R AH0 V EY2 N", "production"), ("L AA1 M P", "production")]
    assert first("Skerrivane's", own) == [("S K EH1 R AH0 V EY2 N Z", "production")]
    assert first("Skerrivane-lamp", own) == [("S K EH1 R AH0 V EY2 N L AA1 M P", "production")]
    assert first("Skerrivane-crab", own) == [("S K EH1 R AH0 V EY2 N K R AE1 B", "dictionary")]
    assert first("42", {"42": (("F", "AO1", "R"),)}) == [("F AO1 R", "production")]


def test_a_guess_is_marked_as_one():
    ((_, origin),) = first("Pomfleby")
    assert origin == "guess"
    assert [origin for _, origin in said("lampwick")[0]] == ["guess"]
    assert "T AY1 D P OW1 S T" in [symbols for symbols, _ in said("tidepost")[0]]
    assert first("Pomfleby-crab")[0][1] == "guess"
    assert first("Pomfleby's") == [(first("Pomfleby")[0][0] + " Z", "guess")]


def test_no_two_pronunciations_are_alike_and_they_are_not_too_many():
    for text in ("1984", "the", "w-w-what", "$1,250.75", "St.", "tomato's"):
        for ways in said(text):
            bare = [tuple(split_stress(symbol)[0] for symbol in symbols.split()) for symbols, _ in ways]
            assert len(set(bare)) == len(bare) <= MOST


def test_every_interjection_is_arpabet_and_missing_from_the_dictionary():
    for word, symbols in INTERJECTIONS.items():
        assert look_up(word) == ()
        assert first(word) == [(symbols, "dictionary")]


def test_what_nobody_can_say():
    with pytest.raises(LineError, match=r"a\.wav: text: nobody has said how 'Привет' is spoken; add it to"):
        pronounce(tokens_of("Привет")[0], {}, "a.wav")


def test_a_pronunciation_is_arpabet():
    with pytest.raises(ValueError, match="'XX' is no ARPAbet phoneme"):
        Pronunciation(("XX",), "production")
    with pytest.raises(ValueError, match="at least one phoneme"):
        Pronunciation((), "production")
    with pytest.raises(ValueError, match="'rumour' is no origin"):
        Pronunciation(("AA1",), "rumour")
