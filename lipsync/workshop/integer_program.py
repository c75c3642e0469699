"""The one file that knows the solver of integer programs, HiGHS (Huangfu and Hall 2018, through highspy).

In come demands and pieces with what each pair costs, out come the pieces to keep, so that the sum over demands of the
cost of the nearest piece kept is least: the p-median problem. It is exact: the gap that the solver may leave is 0.
The same input gives the same answer: one thread, no time limit.

A demand costs what its nearest piece costs, and for each k, if none of its k nearest is kept, what the next one costs
more. So there is one column for each set of pieces that is the k nearest of any demand, 1 if none of the set is kept;
demands that share the set share the column (Cornuéjols, Nemhauser and Wolsey 1980, from memory). Demands are many and
such sets few, and a set with a piece that is kept in any case needs none. Each set is another one and one piece more:
its column is at least that one's, less the piece's.

Beside it stands the plain form: whole numbers, bounds on sums of them, and what each costs (`least`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import highspy
import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True)
class Median:
    """Which pieces to keep.

    Attributes:
        costs: demands x pieces; infinity where a piece may not serve a demand.
        kept: pieces that are kept in any case.
    """

    costs: npt.NDArray[np.float64]
    kept: frozenset[int] = frozenset()


_NO_ROWS = np.array([], dtype=np.int32)
_NO_VALUES = np.array([], dtype=np.float64)


# What a sum of whole costs may be off by: far more than the solver leaves (1e-7 of a bound), far less than 1.
_HAIR = 1e-4


def _solver() -> highspy._core._Highs:
    # The public class prints a banner as it is built; its base, which does the work, does not.
    highs = highspy._core._Highs()
    for option, value in (
        ("log_to_console", False),
        ("output_flag", False),
        ("threads", 1),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("mip_feasibility_tolerance", 1e-9),
    ):
        highs.setOptionValue(option, value)
    return highs


@dataclass(frozen=True, slots=True)
class Sums:
    """Whole numbers of 0 and more, and bounds on sums of them.

    Attributes:
        upper: the most that each number may be.
        bounds: of each sum, the least and the most that it may be.
        parts: for each number, the sums that it is part of, each with how often it counts.
    """

    upper: Sequence[float]
    bounds: Sequence[tuple[float, float]]
    parts: Sequence[Sequence[tuple[int, float]]]


def least(sums: Sums, costs: Sequence[float], nodes: int | None = None) -> tuple[int, ...] | None:
    """Return the numbers that cost least, or None if no numbers keep the bounds.

    Args:
        sums: the numbers and their bounds.
        costs: what 1 of each number costs.
        nodes: after so many nodes of the search the best found is taken, or None if nothing is found by then; to the
            end, and exact, if not given.
    """
    highs = _solver()
    if nodes is not None:
        highs.setOptionValue("mip_max_nodes", nodes)
    highs.passModel(_model(sums, costs, whole=True))
    highs.run()
    status = highs.getModelStatus()
    found = status == highspy.HighsModelStatus.kOptimal or (
        nodes is not None and highs.getInfo().primal_solution_status == 2
    )
    return tuple(round(value) for value in highs.getSolution().col_value) if found else None


def bound(sums: Sums, costs: Sequence[int]) -> int:
    """Return what the numbers cost at least, as soon found: as if they need not be whole, rounded up.

    Args:
        sums: the numbers and their bounds, which some numbers keep.
        costs: what 1 of each number costs, whole, so that all numbers cost a whole number.
    """
    highs = _solver()
    highs.passModel(_model(sums, costs, whole=False))
    highs.run()
    found = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return ceil(highs.getInfo().objective_function_value - _HAIR) if found else 0


def _model(sums: Sums, costs: Sequence[float], *, whole: bool) -> highspy.HighsLp:
    lp, columns = highspy.HighsLp(), len(costs)
    lp.num_col_, lp.num_row_ = columns, len(sums.bounds)
    lp.col_cost_ = np.array(costs, dtype=np.float64)
    lp.col_lower_, lp.col_upper_ = np.zeros(columns), np.array(sums.upper, dtype=np.float64)
    lp.row_lower_ = np.array([low for low, _ in sums.bounds], dtype=np.float64)
    lp.row_upper_ = np.array([high for _, high in sums.bounds], dtype=np.float64)
    if whole:
        lp.integrality_ = [highspy.HighsVarType.kInteger] * columns
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.cumsum([0, *map(len, sums.parts)]).astype(np.int32)
    lp.a_matrix_.index_ = np.array([row for own in sums.parts for row, _ in own], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([value for own in sums.parts for _, value in own], dtype=np.float64)
    return lp


class _Program:
    """Columns: one a piece, whether it is kept; then one for each set of nearest pieces, whether none of it is."""

    def __init__(self, median: Median) -> None:
        self._pieces = median.costs.shape[1]
        self._highs = highs = _solver()
        serving = {frozenset(np.flatnonzero(np.isfinite(row)).tolist()) for row in median.costs}
        # Of a demand that one piece alone may serve, it is kept.
        kept = median.kept.union(*(pieces for pieces in serving if len(pieces) == 1))
        for piece in range(self._pieces):
            highs.addCol(0.0, 1.0 if piece in kept else 0.0, 1.0, 0, _NO_ROWS, _NO_VALUES)
            highs.changeColIntegrality(piece, highspy.HighsVarType.kInteger)
        for pieces in sorted(map(sorted, serving)):
            highs.addRow(1.0, highspy.kHighsInf, len(pieces), np.array(pieces), np.ones(len(pieces)))
        columns: dict[frozenset[int], int] = {}
        for nearest, (less, piece, more) in _more_without(median.costs, kept).items():
            columns[nearest] = column = self._pieces + len(columns)
            highs.addCol(more, 0.0, 1.0, 0, _NO_ROWS, _NO_VALUES)
            if less:
                row = np.array([piece, column, columns[less]]), np.array([1.0, 1.0, -1.0])
            else:
                row = np.array([piece, column]), np.array([1.0, 1.0])
            highs.addRow(0.0 if less else 1.0, highspy.kHighsInf, len(row[0]), *row)
        highs.addRow(0.0, float(self._pieces), self._pieces, np.arange(self._pieces), np.ones(self._pieces))
        self._count_row = highs.getNumRow() - 1

    def keep(self, count: int) -> tuple[int, ...] | None:
        highs = self._highs
        highs.changeRowBounds(self._count_row, float(count), float(count))
        highs.run()
        if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        values = highs.getSolution().col_value[: self._pieces]
        return tuple(piece for piece, value in enumerate(values) if value > 0.5)


def _more_without(
    costs: npt.NDArray[np.float64], kept: frozenset[int]
) -> dict[frozenset[int], tuple[frozenset[int], int, float]]:
    """Return each set of nearest pieces without one that is kept in any case, smaller ones before larger ones.

    With it come the set that has one piece less, that piece, and what it costs if none of the set is kept.
    """
    found: dict[frozenset[int], tuple[frozenset[int], int, float]] = {}
    for row in costs:
        nearest = [int(piece) for piece in np.argsort(row, kind="stable") if np.isfinite(row[piece])]
        less: frozenset[int] = frozenset()
        for piece, further in pairwise(nearest):
            if piece in kept:
                break
            pieces = less | {piece}
            smaller, added, more = found.get(pieces, (less, piece, 0.0))
            found[pieces] = smaller, added, more + float(row[further] - row[piece])
            less = pieces
    return found


def medians(median: Median, counts: Sequence[int]) -> dict[int, tuple[int, ...]]:
    """Return for each count the pieces to keep, where there are any that serve every demand."""
    program = _Program(median)
    found = {count: program.keep(count) for count in counts}
    return {count: pieces for count, pieces in found.items() if pieces is not None}
