"""What `production.toml` says for all lines, changed in place: how a word is spoken, a character's accent.

In: a production, the new value, and the value when the person saw it. Out: the file, in which all else stays as
people wrote it. A change that would be a fault is refused with the sentences of that fault.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from lipsync.errors import InputError
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.message import Where
from lipsync.production.production_tables import ProductionFile
from lipsync.production.production_text import OtherwiseWrittenError, Written, with_entry
from lipsync.production.values import Production
from lipsync.tomlfile import tables_of, what_stands


def write_pronunciation(production: Production, word: str, ways: Sequence[Sequence[str]]) -> None:
    """Write how a word is spoken in the whole production: `ways`, each in ARPAbet, replace those that stood there.

    Raises:
        InputError: if that would be a fault, or the file is written in a way that is not changed here.
        OutputError: if it cannot be written; it is then as it was.
    """
    spoken = [" ".join(symbols) for symbols in ways]
    key = _own_word(production, word) or word
    _write(production, ("pronunciations",), key, spoken[0] if len(spoken) == 1 else spoken)


def drop_pronunciation(production: Production, word: str) -> None:
    """Take out what the production says of how a word is spoken.

    Raises:
        InputError: if it says nothing of it, or the file is written in a way that is not changed here.
        OutputError: likewise.
    """
    key = _own_word(production, word)
    if key is None:
        where = Where(str(production.folder / "production.toml"), "[pronunciations]")
        raise InputError.of("nothing said of the word", where, word=word)
    _write(production, ("pronunciations",), key, None)


def write_accent(production: Production, character: str, was: str, accent: str) -> None:
    """Write with which accent a character speaks.

    Raises:
        InputError: if the accent is not `was` any more, if that would be a fault, or if the file is written in a way
            that is not changed here.
        OutputError: if it cannot be written; it is then as it was.
    """
    if production.file.characters[character].accent != was:
        where = Where(str(production.folder / "production.toml"), f"characters {character} accent")
        raise InputError.of("entry changed meanwhile", where)
    if was != accent:
        _write(production, ("characters", character), "accent", accent)


def _own_word(production: Production, word: str) -> str | None:
    """Return a word as the production's own pronunciations write it; None if it is not among them."""
    return {key.lower(): key for key in _tables(production).get("pronunciations", {})}.get(word.lower())


def _tables(production: Production) -> dict[str, dict[str, object]]:
    path = production.folder / "production.toml"
    return tables_of(path, path.read_bytes())


def _write(production: Production, table: tuple[str, ...], key: str, value: Written | None) -> None:
    path = production.folder / "production.toml"
    with alone(path):
        content = path.read_bytes()
        try:
            new = with_entry(content.decode("utf-8"), table, key, value).encode()
        except (OtherwiseWrittenError, UnicodeDecodeError):
            raise InputError.of("not changed here", Where(str(path), f"[{'.'.join(table)}] {key}")) from None
        _, problems = what_stands(path, tables_of(path, new), ProductionFile)
        if problems:
            raise InputError(problems)
        write_whole(path, new, _unchanged(production, content))


def _unchanged(production: Production, content: bytes) -> Callable[[], None]:
    path = production.folder / "production.toml"

    def check() -> None:
        if path.read_bytes() != content:
            raise InputError.of("entry changed meanwhile", Where(str(path)))

    return check
