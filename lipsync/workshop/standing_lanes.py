"""Lanes that are enough for a whole box of ways, whichever days the fittings fall on.

In: a serving found for one way to share fittings out, and boxes of ways (fitting_shares.py). Out: whether its lanes,
with nothing moved, serve every way of a box.

Fittings that are spread over uses, pressings that are there in some of them and last for so many: that is a transport
problem. It can be solved if no set of pressings is short: the fittings that only they can take must not exceed what
they last for (the theorem of max-flow and min-cut, Ford and Fulkerson 1956; for such problems Gale 1957; from
memory). So each set of pressings is looked at once, with the most fittings that a way of the box lets fall to it
alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lipsync.workshop.board_uses import BoardUse, Rules, Serving, lying
from lipsync.workshop.fitting_shares import Box

# Servings with more different lanes are not looked at: there would be too many sets of them (chosen: 65,536 sets).
_MOST_LANES = 16


class StandingLanes:
    """The lanes of a serving, each also on every other board that it can lie on meanwhile."""

    def __init__(self, serving: Serving, uses: Sequence[BoardUse], rules: Rules) -> None:
        assert rules.lasts is not None  # if nothing is used up, it does not matter where fittings fall
        lasting: dict[frozenset[int], int] = {}
        for lane in serving.lanes:
            own = _on_more_boards([use for use, _ in lane.stays], lane.held, uses, rules)
            worn = 0 if lane.held is None else rules.held[lane.held].fitted
            lasting[own] = lasting.get(own, 0) + max(0, rules.lasts - worn)
        self.counted = serving.counted(rules)
        self.few_enough = len(lasting) <= _MOST_LANES and len(frozenset().union(*lasting)) == len(uses)
        if not self.few_enough:
            return
        chosen = (np.arange(2 ** len(lasting))[:, None] >> np.arange(len(lasting))) & 1 > 0
        serves = np.array([[use in own for use in range(len(uses))] for own in lasting])
        self._lasts = chosen @ np.array(list(lasting.values()))
        self._only: npt.NDArray[np.bool_] = ~(~chosen @ serves)  # set of lanes, use: no other lane serves the use

    def serve(self, settled: Sequence[int], spread: Sequence[tuple[tuple[int, ...], int]], box: Box) -> bool:
        """Return whether every way of a box is served.

        Args:
            settled: for each use the fittings that fall into it in any case.
            spread: for each share its uses, and how many fittings fall into them together.
            box: the ways.
        """
        falls = self._only @ np.array(settled)
        for (own, times), ranges in zip(spread, box, strict=True):
            low, high = np.array(ranges).T
            inside = self._only[:, list(own)]
            falls = falls + np.minimum(inside @ high, times - ~inside @ low)
        return bool((falls <= self._lasts).all())


def _on_more_boards(
    served: Sequence[int], held: int | None, uses: Sequence[BoardUse], rules: Rules
) -> frozenset[int]:
    """Return the uses that a pressing serves, and all others on whose boards it can lie as well."""
    own = list(served)
    for at in range(len(uses)):
        if at not in own and _possible([*own, at], held, uses, rules):
            own.append(at)
    return frozenset(own)


def _possible(served: Sequence[int], held: int | None, uses: Sequence[BoardUse], rules: Rules) -> bool:
    """Return whether one pressing can serve these uses; `held` is its index if it exists already."""
    lies = lying(None if held is None else rules.held[held], rules)
    for use in sorted((uses[at] for at in served), key=lambda use: (use.first, use.last)):
        if not lies.reaches(use, rules):
            return False
        lies = lies.after(use)
    return True
