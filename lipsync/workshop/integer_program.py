"""The one file that knows the solver of integer programs, HiGHS (Huangfu and Hall 2018, through highspy).

Two kinds of program are solved here. The first (`medians`) is the p-median problem. In: demands and pieces, with the
cost of each pair. Out: the pieces to keep, so that the sum over all demands of the cost of the nearest piece kept is
least. The answer is exact, for the solver may leave no gap; the same input gives the same answer: one thread, no time
limit.

A demand costs what its nearest piece costs; and for each k, if none of its k nearest pieces is kept, additionally the
step from the k-th cost to the next. So the program has one column for each set of pieces that is the k nearest of
some demand: 1 if none of the set is kept. Demands with the same set share the column (Cornuéjols, Nemhauser and
Wolsey 1980, from memory): there are many demands, but few such sets. A set with a piece that is kept in any case
needs no column. Each set is a smaller set and one piece more; its column is at least the smaller set's column minus
the piece's.

The second (`least`, `bound`) is the plain form: whole numbers, bounds on sums of them, and the cost of each.
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
        costs: of shape (demands, pieces); infinity where a piece may not serve a demand.
        kept: indices of pieces that are kept in any case.
    """

    costs: npt.NDArray[np.float64]
    kept: frozenset[int] = frozenset()


_NO_ROWS = np.array([], dtype=np.int32)
_NO_VALUES = np.array([], dtype=np.float64)


# How far a sum of whole costs may be off: far more than the solver's own error (1e-7 of a bound), far less than 1.
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
    """Whole numbers from 0 on, and bounds on sums of them.

    Attributes:
        upper: for each number, the most that it may be.
        bounds: for each sum, the least and the most that it may be.
        parts: for each number, the sums that it is part of: index of the sum, and the factor that it counts with.
    """

    upper: Sequence[float]
    bounds: Sequence[tuple[float, float]]
    parts: Sequence[Sequence[tuple[int, float]]]


def least(sums: Sums, costs: Sequence[float], nodes: int | None = None) -> tuple[int, ...] | None:
    """Return the numbers that cost least, or None if no numbers keep the bounds.

    Args:
        sums: the numbers and their bounds.
        costs: what 1 of each number costs.
        nodes: the search ends after so many nodes, with the best found or None; without it the answer is exact.
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
    """Return a lower bound of what the numbers cost, found quickly: the least cost of fractions, rounded up.

    Args:
        sums: the numbers and their bounds; some numbers must keep them.
        costs: what 1 of each number costs: whole, so that the answer may be rounded up.
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
    """The p-median program. Columns: for each piece 1 if it is kept; then for each set 1 if none of it is kept."""

    def __init__(self, median: Median) -> None:
        self._pieces = median.costs.shape[1]
        self._highs = highs = _solver()
        serving = {frozenset(np.flatnonzero(np.isfinite(row)).tolist()) for row in median.costs}
        # A piece that is the only one that may serve a demand is kept in any case.
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
    """Return each set of nearest pieces that has no piece kept in any case, smaller sets first.

    For each: the set with one piece less, that piece, and the additional cost if none of the set is kept.
    """
    sets: dict[frozenset[int], tuple[frozenset[int], int, float]] = {}
    for row in costs:
        nearest = [int(piece) for piece in np.argsort(row, kind="stable") if np.isfinite(row[piece])]
        less: frozenset[int] = frozenset()
        for piece, further in pairwise(nearest):
            if piece in kept:
                break
            pieces = less | {piece}
            smaller, added, more = sets.get(pieces, (less, piece, 0.0))
            sets[pieces] = smaller, added, more + float(row[further] - row[piece])
            less = pieces
    return sets


def medians(median: Median, counts: Sequence[int]) -> dict[int, tuple[int, ...]]:
    """Return for each count the indices of the pieces to keep; a count with which no set serves all is left out."""
    program = _Program(median)
    found = {count: program.keep(count) for count in counts}
    return {count: pieces for count, pieces in found.items() if pieces is not None}
