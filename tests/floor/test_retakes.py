"""What takes that were thrown away have worn, counted by hand."""

from __future__ import annotations

from dataclasses import replace

from lipsync.floor.prints import Prints
from lipsync.floor.record import Event, Filmed, Run
from lipsync.floor.retakes import fitted_in_retakes, parts_in_retakes
from lipsync.floor.state import state_of
from lipsync.track import PartWorn
from tests.floor.test_prints import job_with_everything

NAMES = {"heron": "Zoë Wade"}


def test_mouths_and_parts_of_a_take_that_was_thrown_away() -> None:
    """SHUT, RING1, nothing, two frames each; SHUT, RING1, REST from frame 6 on; brows from 2 on, lids from 6 on."""
    job = job_with_everything()
    parts = (PartWorn("brows", "BRUP", 2, 5), PartWorn("lids", "LIDS", 6, 9))
    state = state_of(["heron"], replace(job, characters=tuple(replace(one, parts=parts) for one in job.characters)))
    prints = Prints("010").with_state(state)
    worn = (("SHUT", 0, 1), ("RING1", 2, 3), (None, 4, 5), ("SHUT", 6, 6), ("RING1", 7, 7), ("REST", 8, 11))
    runs = {"heron": tuple(Run(first, last, code, code) for code, first, last in worn)}
    lock = Event(1, "lock", ((0, 11),), runs, prints.newest.letter, state.stamp)
    record = Filmed("010", (lock, Event(2, "refilm", ((4, 9),), reason="the lamp fell over")))
    assert fitted_in_retakes(record) == {"heron": {"SHUT": 1, "RING1": 1, "REST": 1}}
    assert parts_in_retakes(record, prints, NAMES) == {"heron": {"LIDS": 1}}  # the brows went on before, and stay
    twice = Filmed(
        "010", (lock, Event(2, "refilm", ((0, 11),)), replace(lock, number=3), Event(4, "refilm", ((0, 3),)))
    )
    assert parts_in_retakes(twice, prints, NAMES) == {"heron": {"BRUP": 2, "LIDS": 1}}
    # What was unlocked had been locked by mistake; and of a print that is missing nothing is known.
    mistaken = Filmed("010", (lock, Event(2, "unlock", ((0, 11),))))
    assert parts_in_retakes(mistaken, prints, NAMES) == {}
    assert parts_in_retakes(record, Prints("010"), NAMES) == {"heron": {}}
