"""Which pieces are worth making: the choice equals exhaustive search over all sets of pieces."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from lipsync.fit.lips import distance
from lipsync.fit.mouthset import Lips
from lipsync.fit.schedule import turns_of
from lipsync.fit.weighing import weigh
from lipsync.workshop.integer_program import Median, medians
from lipsync.workshop.piece_selection import asked, asked_costs, loss_of, reduced_sets
from tests.fit.build import MOUTH_SETS, job_of, small_set, sounds_from, speech


def test_every_set_of_1000_small_choices(capfd: pytest.CaptureFixture[str]) -> None:
    seed = np.random.default_rng(9)
    solved = 0
    for _ in range(200):
        demands, pieces = int(seed.integers(1, 12)), int(seed.integers(4, 8))
        costs = seed.random((demands, pieces))
        costs[seed.random((demands, pieces)) < 0.15] = np.inf
        costs[~np.isfinite(costs).any(axis=1)] = 0.5
        kept = frozenset(int(piece) for piece in seed.integers(0, pieces, 1))
        found = medians(Median(costs, kept), range(1, pieces + 1))
        for count in range(1, pieces + 1):
            sets = [c for c in combinations(range(pieces), count) if kept <= set(c)]
            least = min(loss_of(costs, pieces_kept) for pieces_kept in sets)
            if np.isinf(least):
                assert count not in found
                continue
            assert len(found[count]) == count
            assert kept <= set(found[count])
            assert loss_of(costs, found[count]) == pytest.approx(least, abs=1e-9)
            solved += 1
    assert solved > 750
    assert capfd.readouterr() == ("", "")  # the solver says nothing to the user


def character() -> list:
    seed = random.Random(2)
    words = [["B", "AA1", "K"], ["S", "IY1"], ["F", "UW1", "T"], ["M", "OW1", "SH"], ["TH", "AE1", "N"], ["W", "EY0"]]
    return [job_of(speech(seed.choices(words, k=8), seed), "driftwood") for _ in range(3)]


def test_the_sets_of_a_character_are_the_best_of_all() -> None:
    jobs = character()
    rows = reduced_sets(jobs)
    codes = list(MOUTH_SETS["driftwood"].by_code)
    costs = asked_costs(asked([weigh(job, turns_of(job)) for job in jobs]), MOUTH_SETS["driftwood"])
    assert [row.pieces for row in rows] == [4, 5, 6, 7, 8]
    for row in rows:
        sets = [kept for kept in combinations(range(8), row.pieces) if codes.index("REST") in kept]
        assert row.loss == pytest.approx(min(loss_of(costs, kept) for kept in sets))
        assert {"REST", "SHUT", "TUCK"} <= set(row.codes)
        assert row.lost == 0
    losses = [row.loss for row in rows]
    assert losses == sorted(losses, reverse=True)
    assert [row.next_brings for row in rows[:-1]] == pytest.approx([a - b for a, b in pairwise(losses)])
    assert rows[-1].next_brings is None
    assert rows[-1].codes == tuple(codes)
    assert rows[0].visual > rows[-1].visual


def test_loss_by_hand() -> None:
    """One AA of 12 frames that wears open: without it the nearest is tuck, 0.65 off in opening, 0.1 in width..."""
    job = job_of(sounds_from("AA1:600"), small_set(), on_camera=(True,) * 12)
    weighing = weigh(job, turns_of(job))
    costs = asked_costs(asked([weighing]), small_set())
    codes = list(small_set().by_code)
    open_lips, tucked = Lips(opening=0.8, width=0.6, rounding=0.1), Lips(opening=0.15, width=0.5, rounding=0.0)
    assert loss_of(costs, [codes.index("OP")]) == pytest.approx(0.0)
    # 12 frames at a weight of 1.5 (stressed, of middling loudness).
    assert loss_of(costs, [codes.index("TU")]) == pytest.approx(12 * 1.5 * distance(open_lips, tucked), abs=1e-6)


def test_thirty_pieces() -> None:
    """A set of 30 keeps working; that it takes less than a minute is measured, not tested."""
    tideline = MOUTH_SETS["tideline"]
    seed = random.Random(30)
    extra = [
        piece.model_copy(
            update={
                "code": f"X{n}",
                "name": f"{piece.shape}-{n}",
                "size": 4 + n % 6,
                "lips": Lips(**{axis: seed.random() for axis in ("opening", "width", "rounding", "teeth", "tongue")}),
            }
        )
        for n, piece in enumerate((tideline.piece * 2)[:16])
    ]
    large = tideline.model_copy(update={"piece": (*tideline.piece, *extra)})
    large.__dict__.pop("sizes", None)
    large.__dict__.pop("by_code", None)
    words = [["B", "AA1", "K"], ["S", "IY1"], ["F", "UW1", "T"], ["M", "OW1", "SH"]] * 3
    rows = reduced_sets([job_of(speech(words, seed), large)])
    assert [row.pieces for row in rows] == list(range(4, 31))


def test_two_hundred_pieces() -> None:
    """Along a line: what serves each demand is where it stands. It is found soon; that is measured, not tested."""
    pieces = np.linspace(0.0, 1.0, 200)
    demands = np.array([0.1, 0.5, 0.9])
    found = medians(Median(np.abs(demands[:, None] - pieces[None, :]), frozenset({0})), [2, 3, 4, 5, 100, 200])
    # By hand: 0 is kept and serves 0.1; one more lies between 0.5 and 0.9 or on either; then each has its own.
    assert loss_of(np.abs(demands[:, None] - pieces[None, :]), found[2]) == pytest.approx(0.1 + 0.4, abs=0.01)
    assert loss_of(np.abs(demands[:, None] - pieces[None, :]), found[3]) == pytest.approx(0.1, abs=0.01)
    nearest = {int(np.abs(pieces - demand).argmin()) for demand in demands}
    for count in (4, 5, 100):
        assert len(found[count]) == count
        assert nearest <= set(found[count])
    assert found[200] == tuple(range(200))


def test_jobs_of_two_sets_are_refused() -> None:
    one = character()[0]
    with pytest.raises(ValueError, match="all with the same mouth set"):
        reduced_sets([one, replace(one, mouth_set=MOUTH_SETS["tideline"])])
    with pytest.raises(ValueError, match="at least one job"):
        reduced_sets([])
