"""What was ordered: `orders/A.json`, `orders/B.json` ... of a production, a file for each revision of its order.

Written by `order`, before its pages; no person needs to touch it. An order that says what the newest one said keeps
its letter, and writes nothing. The form of the files is described in formats/orders.md.

In: a production's folder, or an `OrderRevision` to write. Out: `Orders`, or every fault of every file; or the file.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from lipsync.errors import InputError, Problem
from lipsync.files import write_whole
from lipsync.folders import files_in
from lipsync.paper.rows import stamp_of_text
from lipsync.production.letters import letter_of
from lipsync.workshop.shooting import Heads

FOLDER = "orders"
FORM: Literal["lipsync order 1"] = "lipsync order 1"

_RESTORE = "take it back from version control; without it, what it ordered would be ordered again"
_Count = Annotated[int, Field(ge=0)]
# A character, the heads that take it, and the code.
_Piece = tuple[str, Heads, str]


class _OrderPart(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class OrderedRow(_OrderPart):
    """What an order said of one piece."""

    character: str
    code: str
    heads: Heads
    needed: _Count
    there: _Count
    on_the_way: _Count
    make: _Count
    unneeded: _Count
    by: tuple[str, ...] = ()

    @property
    def key(self) -> _Piece:
        """Which piece it is."""
        return self.character, self.heads, self.code


class HandedRow(_OrderPart):
    """A piece that goes from one board to another."""

    day: str
    code: str
    giver: str
    taker: str


class OrderState(_OrderPart):
    """What an order says."""

    film: str
    dated: str | None
    pieces: tuple[OrderedRow, ...]
    hand_overs: tuple[HandedRow, ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def stamp(self) -> str:
        """The code of all that it says, for its pages."""
        return stamp_of_text(self.model_dump_json())


class OrderRevision(_OrderPart):
    """An order with its letter."""

    letter: str
    state: OrderState


class _OrderFile(OrderState):
    form: Literal["lipsync order 1"]
    revision: str
    stamped: str = Field(alias="stamp")
    end: str


@dataclass(frozen=True, slots=True)
class Orders:
    """The revisions of a production's order, the newest last."""

    revisions: tuple[OrderRevision, ...] = ()

    @property
    def newest(self) -> OrderRevision | None:
        """The newest revision; None if there is none."""
        return self.revisions[-1] if self.revisions else None

    @property
    def before_newest(self) -> Orders:
        """All revisions but the newest."""
        return Orders(self.revisions[:-1])

    def next(self, state: OrderState) -> OrderRevision:
        """Return a state as the next revision."""
        return OrderRevision(letter=letter_of(len(self.revisions)), state=state)

    def ordered(self, heads: Sequence[tuple[str, Heads]]) -> Counter[_Piece]:
        """Return how many of each piece all revisions together ordered, for the groups of heads of now."""
        found: Counter[_Piece] = Counter()
        for piece, row in self._rows(heads):
            found[piece] += row.make
        return found

    def days(self, heads: Sequence[tuple[str, Heads]]) -> dict[_Piece, list[str]]:
        """Return by which days the pressings of each piece were ordered, in order, for the groups of now."""
        found: dict[_Piece, list[str]] = {}
        for piece, row in self._rows(heads):
            found[piece] = sorted([*found.get(piece, ()), *row.by])
        return found

    def _rows(self, heads: Sequence[tuple[str, Heads]]) -> Iterator[tuple[_Piece, OrderedRow]]:
        """Yield each row of each revision, and the piece that it is of now.

        Where puppets were grouped otherwise then, a piece counts for the present group of its first puppet.
        """
        now = {puppet: (character, group) for character, group in heads for puppet in group}
        for revision in self.revisions:
            for row in revision.state.pieces:
                whose = next((now[puppet] for puppet in row.heads if puppet in now), None)
                if whose is not None:
                    yield (*whose, row.code), row


def read_orders(folder: Path) -> Orders:
    """Return the revisions that are kept in a production's folder.

    Args:
        folder: the production's.

    Raises:
        InputError: naming every file that is broken, and every letter that is missing.
    """
    paths = {path.stem: path for path in files_in(folder / FOLDER, ".json")}
    found: list[OrderRevision] = []
    problems: list[Problem] = []
    for index in range(len(paths)):
        path = paths.get(letter_of(index))
        if path is None:
            missing = folder / FOLDER / f"{letter_of(index)}.json"
            problems.append(Problem(str(missing), "", "is missing, and later orders are there", _RESTORE))
            break
        try:
            found.append(_read(path))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return Orders(tuple(found))


def _read(path: Path) -> OrderRevision:
    try:
        content = path.read_bytes()
        form = json.loads(content)["form"]
        if form != FORM and str(form).startswith("lipsync order "):
            text = f"found {form!r}, from a later version of this program; bring this one up to date"
            raise InputError.one(path, "form", text)
        file = _OrderFile.model_validate_json(content)
        state = OrderState(**{name: getattr(file, name) for name in OrderState.model_fields})
    except OSError as error:
        raise InputError.one(path, "", f"cannot be read ({error.strerror}); check its permissions") from None
    except (ValidationError, ValueError, KeyError, TypeError, RecursionError):
        raise InputError.one(path, "", f"does not hold what was written to it; {_RESTORE}") from None
    if (file.revision, file.end, file.stamped) != (path.stem, path.stem, state.stamp):
        raise InputError.one(
            path, "", f"does not hold what was written to it: its stamp is of another order; {_RESTORE}"
        )
    return OrderRevision(letter=file.revision, state=state)


def write_order_record(folder: Path, revision: OrderRevision) -> Path:
    """Write a revision, whole or not at all, and return its file.

    Raises:
        OutputError: if it cannot be written.
    """
    data: dict[str, Any] = {
        "form": FORM,
        "revision": revision.letter,
        "stamp": revision.state.stamp,
        **revision.state.model_dump(mode="json"),
        "end": revision.letter,
    }
    path = folder / FOLDER / f"{revision.letter}.json"
    rows = ",\n".join(f"{json.dumps(key)}: {_told(value)}" for key, value in data.items())
    write_whole(path, f"{{\n{rows}\n}}\n".encode())
    return path


def _told(value: object) -> str:
    """Return a value as JSON; a list has a line for each entry, so that version control shows what changed."""
    if isinstance(value, list) and value:
        return "[\n  " + ",\n  ".join(json.dumps(one, ensure_ascii=False) for one in value) + "\n]"
    return json.dumps(value, ensure_ascii=False)
