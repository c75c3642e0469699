"""The best paths through chains of states, followed over all ticks at once.

In: the log likelihood of each state at each tick, and the probability of staying in it. Out: from the log likelihoods
with which paths reach a phone, those with which they leave it; or the same from its end back to its beginning.

A path stays in a state for one tick or more and goes on to the next one (Viterbi: Rabiner 1989, Proceedings of the
IEEE 77(2):257-286, section III). What a path gains from entering a state at tick a to leaving it behind tick b is a
difference of two sums, one up to b and one up to a. So the best tick to enter is where a running maximum was reached,
and a state takes three operations on whole arrays instead of one for each tick.

Paths are arrays of shape (row, ticks + 1). In those that lead up to a place, the value at t is that of the best path
behind which that place begins at tick t. In those that lead on from a place, it is that of the best path from tick t
to the end. The last value is for the end itself, behind the last tick.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

Phone = TypeVar("Phone", bound=Hashable)


@dataclass(frozen=True, slots=True, eq=False)
class Chains(Generic[Phone]):
    """The phones of which chains are made, within some ticks of a sound.

    Attributes:
        states: for each phone its states, in order; all phones have equally many.
        before: what a path that enters a state at a tick has not gained there before it, of shape (state, tick).
        through: what one that leaves it behind a tick has gained, and its leaving.
    """

    states: Mapping[Phone, Sequence[int]]
    before: Floats
    through: Floats

    @classmethod
    def scored(cls, scores: Floats, stay: Floats, states: Mapping[Phone, Sequence[int]]) -> Chains[Phone]:
        """Return the phones with their scores.

        Args:
            scores: log likelihoods of shape (state, tick).
            stay: the probability of staying in each state for another tick, above 0 and below 1.
            states: for each phone its states, as rows of `scores`.
        """
        stayed = np.cumsum(scores, axis=1) + np.log(stay)[:, None] * np.arange(scores.shape[1])
        return cls(states, stayed - scores, stayed + np.log(1 - stay)[:, None])

    def within(self, ticks: slice) -> Chains[Phone]:
        """Return the same phones within fewer ticks, which count from their start then."""
        return replace(self, before=self.before[:, ticks], through=self.through[:, ticks])

    def begin(self) -> Floats:
        """Return the paths up to the first tick: none is longer."""
        return _only(0, self.before.shape[1])

    def end(self) -> Floats:
        """Return the paths from behind the last tick on: none is longer."""
        return _only(-1, self.before.shape[1])

    def ahead(self, phones: Sequence[Phone], reached: Floats) -> Floats:
        """Return the paths through a phone for each row, from those up to it; one row serves all phones."""
        for state in self._in_turn(phones):
            gained = reached[:, :-1] - self.before[state]
            reached = np.empty((len(gained), gained.shape[1] + 1))
            reached[:, 0] = -np.inf
            np.maximum.accumulate(gained, axis=1, out=reached[:, 1:])
            reached[:, 1:] += self.through[state]
        return reached

    def back(self, phones: Sequence[Phone], rest: Floats) -> Floats:
        """Return the paths from the beginning of a phone on for each row, from those behind it."""
        for state in self._in_turn(phones)[::-1]:
            gained = rest[:, 1:] + self.through[state]
            rest = np.empty((len(gained), gained.shape[1] + 1))
            rest[:, -1] = -np.inf
            np.maximum.accumulate(gained[:, ::-1], axis=1, out=rest[:, -2::-1])
            rest[:, :-1] -= self.before[state]
        return rest

    def _in_turn(self, phones: Sequence[Phone]) -> Ints:
        """Return the states of phones, of shape (state of a phone, phone)."""
        return np.array([self.states[phone] for phone in phones]).T

    def first_tick(self, phones: Sequence[Phone], reached: Floats, end: int) -> int:
        """Return the tick at which the best path enters a row of phones that it leaves at `end`.

        `reached` has one row: the paths up to the first phone.
        """
        entries: list[Floats] = []
        for phone in phones:
            for state in self.states[phone]:
                entries.append(reached[0, :-1] - self.before[state])
                reached = np.append(-np.inf, np.maximum.accumulate(entries[-1]) + self.through[state])[None]
        for entry in reversed(entries):
            end = int(entry[:end].argmax())
        return end


def _only(place: int, ticks: int) -> Floats:
    paths = np.full((1, ticks + 1), -np.inf)
    paths[0, place] = 0.0
    return paths
