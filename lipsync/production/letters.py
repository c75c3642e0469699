"""Letters of texts and names: texts compared without case, spaces and signs; numbers in letters; file names."""

from __future__ import annotations


def letters_of(text: str) -> str:
    """Return the letters and digits of a text, without case.

    >>> letters_of("Don't, Zoë: 010!")
    'dontzoë010'
    """
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def letter_of(index: int) -> str:
    """Return the letter, or letters, with which something is numbered, such as a revision; `index` counts from 0.

    >>> [letter_of(index) for index in (0, 25, 26, 27, 701, 702)]
    ['A', 'Z', 'AA', 'AB', 'ZZ', 'AAA']
    """
    letters = ""
    index += 1
    while index:
        index, place = divmod(index - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def stem_of(name: str) -> str:
    """Return a file's name without folder and ending; a number after a point is no ending.

    >>> stem_of("reel-1/010-a.wav"), stem_of("take.10")
    ('010-a', 'take.10')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    head, point, ending = last.rpartition(".")
    return head if point and 1 <= len(ending) <= 4 and not ending.isdecimal() else last
