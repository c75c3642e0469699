"""Guesses the pronunciation of a word that no dictionary has. The only file that knows g2p_en.

In: a word. Out: ARPAbet with stress. The neural network ships inside the package g2p_en. That package would download
other data (a tagger and a dictionary, which are not needed here) when it is imported, and again when its `G2p` is
built. Both are done with the download replaced by a function that does nothing: no request leaves the machine,
nothing is printed. The import takes half a second, so it waits for the first word that needs it. It would take four
if `inflect`, which it imports, had typeguard rewrite each of its functions to check the types of what they are given.

On 400 words of the CMU dictionary, 70 % came out exactly as they are there, and 9 % of the phonemes were wrong; so a
guess is marked as one.
"""

from __future__ import annotations

import functools
import importlib
import re
import threading
import warnings
from types import SimpleNamespace
from typing import Any

LETTERS_AT_ONCE = 20  # the network returns 20 phonemes at most, and was trained on single words

_import_lock = threading.Lock()


def guess(word: str) -> tuple[str, ...]:
    """Return the likeliest phonemes of a word, with stress; only its letters from a to z count.

    Raises:
        ValueError: if it has no such letter, or the network returns no phoneme.

    >>> guess("lampwick")
    ('L', 'AE1', 'M', 'P', 'W', 'IH0', 'K')
    """
    letters = re.sub(r"[^a-z]", "", word)
    said: list[str] = []
    for at in range(0, len(letters), LETTERS_AT_ONCE):
        said += _network().predict(letters[at : at + LETTERS_AT_ONCE])
    # The network has UW without stress beside UW0 to UW2, and symbols such as </s> for the edges of a word.
    found = tuple("UW0" if symbol == "UW" else symbol for symbol in said if not symbol.startswith("<"))
    if not found:
        raise ValueError(f"{word!r} has no letters from a to z that could be said")
    return found


@functools.cache
def _network() -> Any:
    with _import_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package's regular expressions cause warnings
        nltk: Any = importlib.import_module("nltk")
        typeguard: Any = importlib.import_module("typeguard")
        fetch, nltk.download = nltk.download, lambda *_, **__: True
        checked, typeguard.typechecked = typeguard.typechecked, lambda function: function
        try:
            module: Any = importlib.import_module("g2p_en.g2p")
        finally:
            nltk.download, typeguard.typechecked = fetch, checked
        dictionary, module.cmudict = module.cmudict, SimpleNamespace(dict=dict)
        try:
            return module.G2p()
        finally:
            module.cmudict = dictionary
