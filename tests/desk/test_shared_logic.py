"""What the page and the server both know of boundaries: one table of cases, asked of both.

The page shows where a boundary can go while it is dragged; the server refuses what is beyond. Where they differ, a
person sees a boundary move and jump back.
"""

import random
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

from lipsync.breakdown.corrections import times_of
from lipsync.breakdown.laying import LEAST_US
from lipsync.desk import boundaries, views
from lipsync.errors import InputError
from lipsync.model import Breakdown, Cue, Part, Phoneme, Word
from tests.desk.conftest import Served


def word(text: str, *times_us: int) -> Word:
    return Word(text, tuple(Phoneme("AH", a, b, 0) for a, b in pairwise(times_us)))


# Two parts that meet, with a gap, with a gap of one microsecond; a cue between; phonemes as short as they may be.
BY_HAND = {
    "meet": (word("a", 0, 1000, 3000), word("b", 3000, 9000)),
    "a gap": (word("a", 500, 2500), word("b", 3000, 5000, 9000)),
    "next to each other": (word("a", 0, 2000), word("b", 2001, 9000)),
    "a cue between": (word("a", 0, 2000), Cue("breath", 2000, 4000), word("b", 4000, 9000)),
    "as short as can be": (word("a", 0, LEAST_US, 2 * LEAST_US), word("b", 2 * LEAST_US, 3 * LEAST_US)),
    "shorter": (word("a", 10, 20, 30), word("b", 30, 31)),
    "alone": (word("a", 2000, 4000, 8000),),
    "to the end": (word("a", 2000, 10_000),),
    "nothing": (),
}


def by_chance(count: int) -> dict[str, tuple[Part, ...]]:
    chance = random.Random(14)
    found: dict[str, tuple[Part, ...]] = {}
    for number in range(count):
        at, parts = 0, []
        for _ in range(chance.randint(1, 5)):
            at += chance.choice([0, 0, 1, 700, 40_000])
            if chance.random() < 0.2:
                parts.append(Cue("hum", at, at := at + chance.randint(1, 90_000)))
            else:
                lengths = [chance.choice([1, 999, 1000, 1001, 30_000]) for _ in range(chance.randint(1, 4))]
                times = [at, *(at := at + length for length in lengths)]
                parts.append(word("a", *times))
        found[f"by chance {number}"] = tuple(parts)
    return found


CASES = {
    name: Breakdown("any", max([10_000, *(part.end_us for part in parts)]), parts)
    for name, parts in {**BY_HAND, **by_chance(120)}.items()
}

_ASK = """async (cases) => {
    const { LineModel, LEAST_US } = await import('/static/model.js');
    const production = { rate: [24, 1], first_frame: 1, characters: {}, mouth_sets: {} };
    const answers = cases.map(({ parts, duration_us }) => {
        const view = { parts, duration_us, begins_us: 0, frames: 48, filmed: [] };
        const model = new LineModel(production, view);
        return model.parts.map((part, k) => model.times(k).map((_, b) => [model.shared(k, b), ...model.room(k, b)]));
    });
    return [LEAST_US, answers];
}"""


def test_the_page_and_the_server_agree_on_where_a_boundary_can_go(desk: Served, opened: Callable[..., Any]) -> None:
    page = opened(desk)
    asked = [
        {"parts": [views.part_view(part) for part in one.parts], "duration_us": one.duration_us}
        for one in CASES.values()
    ]
    least, answers = page.evaluate(_ASK, asked)
    assert least == LEAST_US
    for (name, one), answer in zip(CASES.items(), answers, strict=True):
        expected = [
            [
                [boundaries.neighbour(one, k, b, alone=False), *boundaries.room(one, k, b)]
                for b in range(len(times_of(part)))
            ]
            for k, part in enumerate(one.parts)
        ]
        assert answer == expected, name


def test_the_server_moves_a_boundary_to_both_ends_of_its_room_and_refuses_what_is_beyond() -> None:
    """So the table above is about what the server really does."""
    moved = 0
    for one in CASES.values():
        for k, part in enumerate(one.parts):
            for b in range(len(times_of(part))):
                earliest, latest = boundaries.room(one, k, b)
                if earliest > latest:
                    continue
                for to in {earliest, latest}:
                    assert to in {
                        t for p in boundaries.boundary_moved(one, k, b, to, alone=False).parts for t in times_of(p)
                    }
                    moved += 1
                for to in (earliest - 1, latest + 1):
                    with pytest.raises(InputError, match="there is room"):
                        boundaries.boundary_moved(one, k, b, to, alone=False)
    assert moved > 500
