"""The network that guesses: it reaches no other machine, prints nothing, and is loaded only when needed."""

import subprocess
import sys

import pytest

from lipsync.phonemes import split_stress
from lipsync.text.g2p import guess

# What a process does before it guesses, so that any reach for another machine ends it.
ALONE = """
import socket
class Refused(socket.socket):
    def __init__(self, *args, **kwargs):
        raise AssertionError("a socket was opened")
def refuse(*args, **kwargs):
    raise AssertionError("another machine was looked up")
socket.socket = Refused
socket.create_connection = socket.getaddrinfo = socket.gethostbyname = refuse
"""


def run(code, tmp_path):
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", ALONE + code],
        capture_output=True,
        text=True,
        env={
            "NLTK_DATA": str(tmp_path),
            "HOME": str(tmp_path),
            "PATH": "",
            "PYTHONPATH": ":".join(filter(None, sys.path)),
        },
    )


def test_it_needs_no_other_machine_and_no_data_and_prints_nothing(tmp_path):
    done = run("from lipsync.text.g2p import guess\nassert guess('pomfleby')[0] == 'P'", tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert list(tmp_path.iterdir()) == []


def test_the_test_above_would_see_a_fetch(tmp_path):
    done = run("import nltk\nnltk.download('cmudict', quiet=True, raise_on_error=True)", tmp_path)
    assert done.returncode != 0


def test_known_words_do_not_load_it(tmp_path):
    code = """
import sys
from lipsync.text.dictionary import pronounce
from lipsync.text.script import tokens_of
for token in tokens_of("The lamp-mender's 42 lamps went out at 5:30, Mr. Crab!"):
    pronounce(token, {})
assert not {"g2p_en", "nltk", "inflect"} & set(sys.modules)
"""
    done = run(code, tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_others_can_still_fetch_afterwards():
    import nltk

    guess("a")
    assert nltk.download.__module__.startswith("nltk")


def test_a_guess_is_arpabet_with_stress():
    for word in ("pomfleby", "zorble", "tidepost", "x", "ooooooo", "brrrrrrr", "a" * 500):
        for symbol in guess(word):
            bare, stress = split_stress(symbol)
            assert (stress is None) == (symbol == bare)


# Hand-checked: plain English spelling leaves no other way to say the consonants.
@pytest.mark.parametrize(("word", "consonants"), [("blimp", "B L M P"), ("glind", "G L N D"), ("fent", "F N T")])
def test_consonants_of_plain_words(word, consonants):
    assert [symbol for symbol in guess(word) if split_stress(symbol)[1] is None] == consonants.split()


@pytest.mark.parametrize("word", ["", "42", "привет", "..."])
def test_a_word_without_letters(word):
    with pytest.raises(ValueError, match="has no letters from a to z that could be said"):
        guess(word)
