"""What was worn and modelled, from what a person says of it and the print: each rule by itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lipsync.errors import InputError
from lipsync.fit.keys import Toward
from lipsync.floor.prints import Revision
from lipsync.floor.record import Modelled, Worn
from lipsync.floor.wearing import Wore, modelled_anew, modelled_on, with_said, worn_as_said, worn_on
from tests.floor.build import planned, production_of, state_of_plan, the_plan


@pytest.fixture(scope="module")
def production(tmp_path_factory):
    return production_of(tmp_path_factory.mktemp("floor"))


@pytest.fixture(scope="module")
def heron_alone(production) -> Revision:
    """A print of REST on every frame, of the heron alone; frame 5 is modelled on, frame 7 kept alive."""
    state = state_of_plan(production, the_plan(planned(production)))
    rows = [
        replace(row, cells=(replace(row.cells[0], piece="REST", toward=None, keep_alive=False),))
        for row in state.rows
    ]
    rows[5] = replace(rows[5], cells=(replace(rows[5].cells[0], toward=Toward(5, "OPEN1", 2)),))
    rows[7] = replace(rows[7], cells=(replace(rows[7].cells[0], keep_alive=True),))
    return Revision("A", replace(state, characters=("heron",), names=state.names[:1], rows=tuple(rows)))


def test_where_nobody_is_nobody_wore_anything(production) -> None:
    with pytest.raises(InputError, match="nobody is in this shot who could have worn it"):
        worn_as_said(["2=REST"], production, [])


def test_what_is_said_stands_and_all_else_is_as_printed(heron_alone) -> None:
    told = [Wore((2, 4), "heron", "RING1"), Wore((4, 4), "heron", None, "keep alive")]
    assert worn_on(heron_alone, told, frozenset({1, 2, 3})) == {
        "heron": {1: Worn("REST", "REST"), 2: Worn("RING1", "REST"), 3: Worn("RING1", "REST")}
    }


def test_who_is_not_on_the_print_was_off_camera_but_where_something_is_said(heron_alone) -> None:
    told = [Wore((2, 2), "crab", "REST")]
    worn = worn_on(heron_alone, told, frozenset({1, 2}))
    assert worn["crab"] == {1: Worn(None, None), 2: Worn("REST", None)}
    assert set(worn_on(heron_alone, told, frozenset({3, 4}))) == {"heron"}  # of these frames nothing is said


@pytest.mark.parametrize(
    ("new", "told", "marks"),
    [
        (range(10), (), [Modelled("toward", 5, 6, "OPEN1"), Modelled("keep alive", 7, 7)]),
        (range(6), (), [Modelled("toward", 5, 6, "OPEN1")]),  # what began on a filmed frame counts
        (range(6, 7), (), None),
        (range(5), (Wore((4, 6), "heron", "RING1", "toward"),), [Modelled("toward", 4, 6, "RING1")]),
        (range(5, 7), (Wore((4, 6), "heron", "RING1", "toward"),), [Modelled("toward", 5, 6, "OPEN1")]),
    ],
)
def test_modelling_that_begins_on_new_frames_is_as_printed_or_as_said(heron_alone, new, told, marks) -> None:
    worn = {"heron": {frame: Worn("REST", "REST") for frame in new}}
    expected = {} if marks is None else {"heron": tuple(marks)}
    assert modelled_on(heron_alone, told, worn) == expected


TOWARD, ALIVE, LATER = Modelled("toward", 5, 6, "OPEN1"), Modelled("keep alive", 7, 7), Modelled("keep alive", 20, 20)


@pytest.mark.parametrize(
    ("told", "left"),
    [
        (Modelled("toward", 4, 8, "RING1"), (ALIVE, LATER, Modelled("toward", 4, 8, "RING1"))),
        (Modelled("keep alive", 4, 8), (TOWARD, LATER, Modelled("keep alive", 4, 8))),
        (Modelled("not modelled", 4, 8), (LATER,)),
        (Modelled("not modelled", 6, 20), (TOWARD,)),  # "toward" began before
    ],
)
def test_what_is_said_of_modelling_replaces_its_own_kind_on_its_frames(told, left) -> None:
    assert with_said((TOWARD, ALIVE, LATER), told) == left


def test_modelling_is_said_anew_of_frames_on_which_it_begins() -> None:
    toward, known = Wore((4, 6), "heron", "RING1", "toward"), {"heron": (TOWARD,)}
    assert modelled_anew([toward], frozenset({4}), known) == {"heron": (Modelled("toward", 4, 6, "RING1"),)}
    assert modelled_anew([toward], frozenset({5, 6}), known) == {}
    assert modelled_anew([Wore((5, 6), "heron", "OPEN1", "toward")], frozenset({5}), known) == {}
