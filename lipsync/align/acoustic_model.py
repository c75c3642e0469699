"""The recogniser's own acoustic model, read into arrays, so that it can score any moment, not only each tick.

In: the folder of the model inside the recogniser's package (BSD-2-Clause): `mdef` names phones and their states,
`means` and `variances` hold 128 Gaussians for each phone and feature stream, `sendump` the weights of their mixtures
in 8 bits, `transition_matrices` the probabilities of staying in a state. Out: log likelihoods of states for feature
vectors.

Source: the formats as the recogniser's own sources read them; a test compares our scores with the recogniser's.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from lipsync.align.recogniser import model_folder
from lipsync.audio.features import product
from lipsync.phonemes import PHONEMES, SILENCE

STREAMS, GAUSSIANS, WIDTH = 3, 128, 13  # features are 39 numbers for each step: three streams of 13
STATES = 3
LOG_STEP = np.float32(1024 * np.log(1.0001))  # a weight's unit: 1,024 steps of the logarithm to base 1.0001
LEAST = np.float32(1e-35)  # keeps the logarithm finite
FLOOR = 1e-4  # the smallest variance, the recogniser's own default

PHONES = (*sorted(PHONEMES), SILENCE)
PLACE = {phone: place for place, phone in enumerate(PHONES)}
INSIDE, BEGIN, END, SINGLE = range(4)  # the place of a phone in its word, numbered as in `mdef`

Floats = npt.NDArray[np.float64]
Senones = npt.NDArray[np.uint16]
Terms = npt.NDArray[np.float32]  # (stream, step, 2 * width)
Densities = list[tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]]


@dataclass(frozen=True, slots=True, eq=False)
class _Codebook:
    """One phone's Gaussians, arranged so that one matrix product with `Terms` gives all log densities."""

    factors: npt.NDArray[np.float32]  # (stream, 2 * width, gaussian)
    constant: npt.NDArray[np.float32]  # (stream, gaussian)


def terms_of(features: Floats) -> Terms:
    """Return the terms of the sum that a log density is: for each stream the features, then their squares."""
    parts = features.astype(np.float32).reshape(-1, STREAMS, WIDTH).swapaxes(0, 1)
    return np.concatenate([parts, parts**2], axis=2)


class AcousticModel:
    """Scores of phone states for feature vectors."""

    def __init__(self, folder: Path) -> None:
        self._read_definitions((folder / "mdef").read_bytes())
        self._inverse = 1 / (2 * np.maximum(_gaussians(folder / "variances"), FLOOR))
        self._normal = 0.5 * np.log(self._inverse / np.pi)
        self.place_means(_gaussians(folder / "means"))
        data = (folder / "sendump").read_bytes()
        count = STREAMS * GAUSSIANS * self._senones
        self._weights = np.frombuffer(data, np.uint8, count, len(data) - count).reshape(STREAMS, GAUSSIANS, -1)
        self._weight_of = np.exp(-LOG_STEP * np.arange(256, dtype=np.float32))
        self._between: dict[tuple[str, str, str, int], Senones] = {}
        stay = _transitions(folder / "transition_matrices")
        self._stay: dict[str, Floats] = {name: stay[self._phones["matrix"][i]] for name, i in self._ids.items()}

    def place_means(self, mean: Floats) -> None:
        """Set the means of the Gaussians, of shape (phone, stream, gaussian, width)."""
        self._mean = mean
        weighted = self._mean * self._inverse
        constant = (self._normal - self._mean * weighted).sum(-1).astype(np.float32)
        factors = np.empty((*mean.shape[:2], 2 * WIDTH, GAUSSIANS), np.float32)
        factors[:, :, :WIDTH] = (2 * weighted).swapaxes(2, 3)
        factors[:, :, WIDTH:] = -self._inverse.swapaxes(2, 3)
        self._codebooks = {name: _Codebook(factors[i], constant[i]) for name, i in self._ids.items()}

    def gaussians(self, phone: str) -> tuple[Floats, Floats]:
        """Return the means and inverse variances of a phone's Gaussians, each of shape (stream, gaussian, width)."""
        own = self._ids[phone]
        return self._mean[own], 2 * self._inverse[own]

    def occupancy(self, terms: Terms, phone: str, senones: Senones) -> Floats:
        """Return which share of each row each Gaussian of a phone accounts for, in the row's likeliest state.

        The shape is (stream, row, gaussian); the shares of a row sum to 1.
        """
        densities = self.densities(terms, phone)
        best = senones[self.scores(densities, senones).argmax(axis=1)]
        shares = np.stack(
            [
                relative.astype(np.float64) * self._weight_of[self._weights[stream][:, best]].T
                for stream, (relative, _) in enumerate(densities)
            ]
        )
        shares /= shares.sum(axis=2, keepdims=True)
        return shares

    def moved(self, transforms: Floats) -> AcousticModel:
        """Return the model with its means transformed; those of silence stay, for a room is no voice.

        Args:
            transforms: for each stream a matrix of shape (width, 1 + width); its first column is added to the product
                of the rest with the mean.
        """
        mean = self._mean @ transforms[:, :, 1:].swapaxes(1, 2) + transforms[:, None, :, 0]
        silence = self._ids[SILENCE]
        mean[silence] = self._mean[silence]
        other = copy(self)
        other.place_means(mean)
        return other

    def _read_definitions(self, data: bytes) -> None:
        at = 12 + struct.unpack_from("<2i", data, 4)[1]
        phones, triphones, states, _, self._senones, _, sequences, _, nodes, _ = struct.unpack_from("<10i", data, at)
        at += 40
        names_at = at
        names = []
        for _ in range(phones):
            end = data.index(b"\0", at)
            names.append(data[at:end].decode("ascii"))
            at = end + 1
        at = names_at + (at - names_at + 3) // 4 * 4
        self._ids = {name: index for index, name in enumerate(names)}
        tree: Any = np.frombuffer(data, [("key", "<i2"), ("below", "<i2"), ("to", "<i4")], nodes, at)
        self._keys, self._below, self._to = (tree[name].tolist() for name in ("key", "below", "to"))
        at += 8 * nodes
        kinds = [("states", "<i4"), ("matrix", "<i4"), ("rest", "u1", 4)]
        self._phones: Any = np.frombuffer(data, kinds, triphones, at)
        at += 12 * triphones + 4
        self._sequences = np.frombuffer(data, "<u2", sequences * states, at).reshape(sequences, states)

    def stay(self, phone: str) -> Floats:
        """Return the probability of staying in each state of a phone for one more tick."""
        return self._stay[phone]

    def stays(self) -> Floats:
        """Return the probability of staying in each state of all `PHONES`, of shape (phone, state).

        Chosen: never below 0.05 nor above 0.98, so that a path can always stay and always leave.
        """
        return np.clip(np.stack([self._stay[phone] for phone in PHONES]), 0.05, 0.98)

    def states(self, phone: str) -> Senones:
        """Return the states of a phone without regard to its neighbours."""
        states: Senones = self._sequences[self._phones[self._ids[phone]]["states"]]
        return states

    def states_between(self, phone: str, before: str, after: str, place: int) -> Senones:
        """Return the states of a phone between two others; those of the phone alone if the three were not trained."""
        asked = phone, before, after, place
        if asked not in self._between:
            self._between[asked] = self.states(phone) if phone == SILENCE else self._found_between(*asked)
        return self._between[asked]

    def _found_between(self, phone: str, before: str, after: str, place: int) -> Senones:
        first, count = 0, 4
        for key in (place, *(self._ids[name] for name in (phone, before, after))):
            try:
                found = self._keys.index(key, first, first + count)
            except ValueError:
                return self.states(phone)
            first, count = self._to[found], self._below[found]
        states: Senones = self._sequences[self._phones[first]["states"]]
        return states

    def densities(self, terms: Terms, phone: str) -> Densities:
        """Return for each stream the densities of a phone's Gaussians over the highest, and the highest's log."""
        book, found = self._codebooks[phone], []
        for stream in range(STREAMS):
            logs = product(terms[stream], book.factors[stream])
            logs += book.constant[stream]
            best = logs.max(axis=1, keepdims=True)
            logs -= best
            found.append((np.exp(logs, out=logs), best))
        return found

    def scores(self, densities: Densities, senones: Senones) -> Floats:
        """Return the log likelihood of each state (columns) for each feature vector (rows)."""
        total = np.zeros((len(densities[0][0]), len(senones)))
        for stream, (relative, best) in enumerate(densities):
            weights = self._weight_of[self._weights[stream][:, senones]]
            total += np.log(product(relative, weights) + LEAST) + best
        return total

    def alone(self, found: Iterable[Densities]) -> Floats:
        """Return the log likelihoods of all `PHONES`, each without its neighbours, of shape (row, phone, state).

        `found` are the densities of each, in order.
        """
        both = zip(PHONES, found, strict=True)
        return np.stack([self.scores(densities, self.states(phone)) for phone, densities in both], axis=1)


@cache
def acoustic_model() -> AcousticModel:
    """Return the recogniser's own acoustic model, read once."""
    return AcousticModel(model_folder())


def _body(path: Path) -> tuple[bytes, int]:
    """Return the bytes of a file, and where its values begin: after the header and four bytes for the byte order."""
    data = path.read_bytes()
    return data, data.index(b"endhdr\n") + 7 + 4


def _gaussians(path: Path) -> Floats:
    """Return the values of a file of means or variances, of shape (phone, stream, gaussian, width)."""
    data, at = _body(path)
    books, streams, gaussians = struct.unpack_from("<3i", data, at)
    at += 12 + 4 * streams + 4
    values = np.frombuffer(data, "<f4", books * streams * gaussians * WIDTH, at)
    return values.reshape(books, streams, gaussians, WIDTH).astype(np.float64)


def _transitions(path: Path) -> Floats:
    """Return the probability of staying in a state for one more tick, of shape (phone, state)."""
    data, at = _body(path)
    count, rows, columns, _ = struct.unpack_from("<4i", data, at)
    matrix = np.frombuffer(data, "<f4", count * rows * columns, at + 16).reshape(count, rows, columns)
    matrix = matrix / matrix.sum(axis=2, keepdims=True)
    return np.stack([matrix[:, k, k] for k in range(STATES)], axis=1).astype(np.float64)
