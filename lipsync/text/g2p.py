"""Guesses how a word is said that no dictionary has. The only file that knows g2p_en.

In: a word. Out: ARPAbet with stress. The network ships inside the package g2p_en; that package would fetch other data
(a tagger and a dictionary, which are not needed here) when it is imported and again when it is built. So it is
imported and built with the fetching replaced by nothing: nothing leaves the machine, nothing is printed. Importing
it takes two seconds, so that is done for the first word that needs it.

On 400 words of the CMU dictionary 70 % came out exactly, 9 % of the phonemes wrong: a guess is marked as one.
"""

from __future__ import annotations

import functools
import importlib
import re
import threading
import warnings
from types import SimpleNamespace
from typing import Any

PIECE = 20  # letters said at once: the network writes 20 phonemes at most, and was trained on words

_building = threading.Lock()


def guess(word: str) -> tuple[str, ...]:
    """Return the likeliest phonemes of a word, with stress; all but the letters from a to z is passed over.

    Raises:
        ValueError: if it has no such letter, or the network finds nothing to say.

    >>> guess("lampwick")
    ('L', 'AE1', 'M', 'P', 'W', 'IH0', 'K')
    """
    letters = re.sub(r"[^a-z]", "", word)
    said: list[str] = []
    for at in range(0, len(letters), PIECE):
        said += _network().predict(letters[at : at + PIECE])
    # The network has one symbol without stress where the dictionary has three, and marks for the edges of a word.
    found = tuple("UW0" if symbol == "UW" else symbol for symbol in said if not symbol.startswith("<"))
    if not found:
        raise ValueError(f"{word!r} has no letters from a to z that could be said")
    return found


@functools.cache
def _network() -> Any:
    with _building, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of how the package writes its patterns
        nltk: Any = importlib.import_module("nltk")
        fetch, nltk.download = nltk.download, lambda *_, **__: True
        try:
            module: Any = importlib.import_module("g2p_en.g2p")
        finally:
            nltk.download = fetch
        dictionary, module.cmudict = module.cmudict, SimpleNamespace(dict=dict)
        try:
            return module.G2p()
        finally:
            module.cmudict = dictionary
