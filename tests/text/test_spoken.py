"""Accents and weak forms, against forms written down by hand.

Non-rhotic forms: Wells, Accents of English (1982), 2.2 and 3.2, for received pronunciation, from memory, in the
nearest ARPAbet; weak forms: Gimson, An Introduction to the Pronunciation of English (1980), from memory.
"""

import typing

import pytest

import lipsync
from lipsync.align.settings import LineSettings
from lipsync.app.hear.line_settings import engine_of
from lipsync.errors import InputError
from lipsync.phonemes import split_stress
from lipsync.production.production_tables import Character
from lipsync.text.accents import ACCENTS, Accent
from lipsync.text.dictionary import RUN_TOGETHER, look_up, pronounce
from lipsync.text.phonology import HABITS, WEAK
from lipsync.text.script import SpokenWord, tokens_of
from lipsync.text.variants import MOST_ADDED, MOST_MEAN, as_spoken


def ways(text, accent, own=None):
    """For each word the ways to say it, as phonemes without stress."""
    tokens = tokens_of(text)
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    said = as_spoken(tokens, [pronounce(word, own or {}) for word in words], accent)
    return {word.text: [" ".join(one.bare) for one in them] for word, them in zip(words, said, strict=True)}


@pytest.mark.parametrize(
    ("word", "form"),
    [
        ("near", "N IH AH"),
        ("square", "S K W EH"),
        ("start", "S T AA T"),
        ("north", "N AO TH"),
        ("force", "F AO S"),
        ("poor", "P AO"),
        ("fire", "F AY AH"),
        ("letter", "L EH T AH"),
        ("harbour", "HH AA B AH"),
        ("nurse", "N ER S"),
        ("forty-four", "F AO T IY F AO"),
        ("hurry", "HH AH R IY"),
        ("dance", "D AA N S"),
        ("can't", "K AA N T"),
        ("laughter", "L AA F T AH"),
        ("postmaster", "P OW S T M AA S T AH"),
        ("tune", "T Y UW N"),
        ("during", "D Y UH R IH NG"),
        ("news", "N Y UW Z"),
        ("lost", "L AO S T"),
        ("cod", "K AO D"),
        ("watch", "W AO CH"),
        ("father", "F AA DH AH"),
    ],
)
def test_received_forms(word, form):
    assert form in ways(word, "non-rhotic")[word]


@pytest.mark.parametrize("word", ["start", "near", "square", "north", "poor", "letter", "fire", "harbour", "farmer"])
def test_no_r_is_left_but_before_a_vowel(word):
    for follows in ("", " [breath] of", " now"):
        assert not any(set(form.split()) & {"R", "ER"} for form in ways(word + follows, "non-rhotic")[word])


@pytest.mark.parametrize("word", ["classic", "passenger", "plastic", "fantastic", "gas", "mass", "hand"])
def test_the_bath_vowel_is_in_bath_words_only(word):
    """TRAP words, for all that they look like BATH words (Wells 1982, 2.2.4 and 2.2.7, from memory)."""
    assert all("AE" in form.split() for form in ways(word, "non-rhotic")[word])


@pytest.mark.parametrize("word", ["moon", "do", "noodle", "two", "tooth"])
def test_yod_is_kept_only_where_it_was(word):
    assert not any("Y" in form.split() for form in ways(word, "non-rhotic")[word])


def test_r_links_to_a_vowel_of_the_next_word_and_to_nothing_else():
    assert ways("far away", "non-rhotic")["far"] == ["F AA R", "F AA"]
    assert ways("far now", "non-rhotic")["far"] == ["F AA"]
    assert ways("far [breath] away", "non-rhotic")["far"] == ["F AA"]
    assert ways("letter of", "non-rhotic")["letter"] == ["L EH T AH R", "L EH T AH"]
    assert ways("her own", "non-rhotic")["her"] == ["HH ER", "HH ER R", "HH AH R", "HH AH"]
    assert ways("idea of", "non-rhotic")["idea"] == ["AY D IY AH", "AY D IY AH R"]
    assert ways("idea now", "non-rhotic")["idea"] == ["AY D IY AH"]


@pytest.mark.parametrize("accent", ["american", "non-rhotic"])
def test_which_is_said_like_witch(accent):
    # The merger of WINE and WHINE: Wells (1982), vol. 1, section 3.2.4, and vol. 3, section 6.1.4, from memory.
    forms = ways("What whales, somewhere, who", accent)
    assert all("HH W" not in way for word in ("What", "whales", "somewhere") for way in forms[word])
    assert forms["who"][0] == "HH UW"
    own = {"what": (("HH", "W", "AH1", "T"),)}
    assert ways("What", accent, own)["What"][0] == "HH W AH T"


def test_an_american_keeps_every_r_and_the_dictionary_comes_first():
    text = "Far away her letter of ours hurried after the last poor dancers in the north"
    american = ways(text, "american")
    for word, forms in american.items():
        listed = [" ".join(one.bare) for one in pronounce(tokens_of(word)[0], {})]
        assert forms[: len(listed)] == listed
    assert american["Far"] == ["F AA R"]
    assert american["letter"] == ["L EH T ER"]


def test_weak_forms_and_dropped_stops():
    """Gimson 1980: "at" weak in "at the door"; the T of "last post" and the D of "old man" dropped.

    Where the T of "first step" is dropped, its two S are one long one.
    """
    forms = ways("Stay at the last post you old man", "american")
    assert "AH T" in forms["at"]
    assert "L AE S" in forms["last"]
    assert "Y AH" in forms["you"]
    assert "OW L" in forms["old"]
    assert {"F ER S", "F ER"} <= set(ways("first step", "american")["first"])
    assert "F ER" not in ways("first post", "american")["first"]
    assert "L AE S" not in ways("lasts [breath] past a fast ant", "american")["fast"]
    assert ways("the fast ant", "american")["fast"] == ["F AE S T"]


def test_what_the_studio_wrote_stays_and_is_given_the_accent_alone():
    own = {"skerr": (("S", "K", "EH1", "R"),), "at": (("AE1", "T"),)}
    assert ways("skerr now", "non-rhotic", own)["skerr"] == ["S K EH R", "S K EH"]
    assert ways("at now", "american", own)["at"] == ["AE T"]


def test_few_are_added_and_every_word_keeps_one():
    text = "Ask her for a letter or an order of after all " * 20
    for accent in ACCENTS:
        tokens = tokens_of(text)
        listed = [pronounce(word, {}) for word in tokens]
        said = as_spoken(tokens, listed, accent)
        added = [len(more) - len(own) for own, more in zip(listed, said, strict=True)]
        assert max(added) <= MOST_ADDED
        assert sum(max(0, one) for one in added) <= MOST_MEAN * len(listed)
        for own, more in zip(listed, said, strict=True):
            assert more
            assert {one.origin for one in more} == {one.origin for one in own}
            assert len({one.bare for one in more}) == len(more)


def test_every_row_does_something_and_stays_within_arpabet():
    """Each rule on each word of the CMU dictionary's likes would be slow; the words here meet each."""
    text = (
        "which cod dance tune hurry furry letter letter of near fire poor start idea of law and last post now her own"
    )
    tokens = tokens_of(text)
    own = [pronounce(word, {}) for word in tokens]
    for rule in (*ACCENTS["non-rhotic"], *HABITS):
        met = {
            one.bare
            for token, said in zip(tokens, own, strict=True)
            for one in said
            for mark in ("&", "=P", "=S", "|")
            if rule.applied(one.symbols, (token.text,), mark) != one.symbols
        }
        assert met, rule.name
    for word, forms in WEAK.items():
        listed = {tuple(split_stress(symbol)[0] for symbol in form) for form in look_up(word)}
        assert listed, word
        for form in forms:
            assert all(split_stress(symbol) for symbol in form)
    assert not [word for word in RUN_TOGETHER if look_up(word)]


def test_words_run_together_are_known():
    for word, form in (("sorta", "S AO R T AH"), ("d'you", "D Y UW"), ("'fraid", "F R EY D")):
        (said,) = [pronounce(token, {}) for token in tokens_of(f"{word}")]
        assert (said[0].origin, " ".join(said[0].bare)) == ("dictionary", form)
    for word in ("gonna", "wanna", "'er", "'em", "lemme", "kinda", "dunno", "ain't", "y'all", "o'clock"):
        (said,) = [pronounce(token, {}) for token in tokens_of(f"{word}")]
        assert said[0].origin == "dictionary", word


def test_another_accent_is_listened_to_again():
    assert len({engine_of(LineSettings(accent=accent), "Far away") for accent in ACCENTS}) == 2


def test_a_character_has_an_accent_that_is_known():
    assert Character(name="Heron", mouth_set="tideline").accent == "american"
    assert Character(name="Heron", mouth_set="tideline", accent="non-rhotic").accent == "non-rhotic"
    with pytest.raises(ValueError, match="'american' or 'non-rhotic'"):
        Character(name="Heron", mouth_set="tideline", accent="martian")


def test_the_accents_are_those_of_the_type():
    assert tuple(ACCENTS) == typing.get_args(Accent)
    with pytest.raises(
        InputError, match=r"accent: 'martian' is none that is known; write \"american\" or \"non-rhotic\""
    ):
        lipsync.break_down("nothing.wav", "Hello", accent="martian")
