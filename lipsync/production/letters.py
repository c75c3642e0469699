"""Texts as they are compared where case, spaces and signs do not count."""

from __future__ import annotations


def letters_of(text: str) -> str:
    """Return the letters and digits of a text, without case.

    >>> letters_of("Don't, Zoë: 010!")
    'dontzoë010'
    """
    return "".join(letter for letter in text.casefold() if letter.isalnum())
