"""Learns the model of lips in time again: `python tests/learn_lips.py FOLDER` prints lipsync/fit/data/lips.toml.

In: filmed lips (tests/lip_clips.py). Given the pulls of all classes the targets follow by least squares, drawn toward
the mean of their group; the pulls are found by trying one number after the other up and down until nothing gets
better. Few numbers are free: each class has a strength of its own, and
times are shared by classes that are made alike (`KINDS`). Sounds that the clips do not have take their class's pull
and their group's target, but for those of `CHOSEN`. `--folds 5` prints instead how well clips that were left out are
told: the correlation over pictures of speech.
"""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from lip_clips import Clip, Floats, clips

from lipsync.fit.fit_job import voice_range
from lipsync.fit.fit_settings import Sizes
from lipsync.fit.lips_in_time import ALL_KEYS, Gesture, LipModel, keys_of, shares_of
from lipsync.fit.sizes import strengths
from lipsync.phonemes import SILENCE, VOWELS

# Classes: how they are made -> keys, and which kind of times they share.
CLASSES: dict[str, tuple[str, str]] = {
    "lips closed": ("P B M", "lips"),
    "lip to teeth": ("F V", "lips"),
    "lip glides": ("W R", "rounded"),
    "rounded vowels": ("AO OW> >OW OY> UH UW ER", "rounded"),
    "tongue at the teeth": ("TH DH", "tongue"),
    "tongue behind the teeth": ("T D N HH", "tongue"),
    "hissing": ("S Z SH ZH CH JH", "tongue"),
    "lateral": ("L", "tongue"),
    "back": ("K G NG Y", "tongue"),
    "vowels": ("AA AE AH EH IH IY AW> >AW AY> >AY EY> >EY >OY", "vowels"),
    "weak vowel": ("AH0", "vowels"),
    "rest": (SILENCE, "rest"),
}

# Targets are drawn toward the mean of these groups.
GROUPS = (
    "P B M", "F V", "W R", "TH DH", "T D N HH", "S Z", "SH ZH CH JH", "L", "K G NG", "Y IY IH >AY >EY >OY",
    "AA AE AH EH AW> AY> EY>", "AH0", "AO OW> OY>", "UH UW >OW >AW", "ER", SILENCE,
)  # fmt: skip

# Pictures that speak for the mean of the group, and of all; chosen. Without the second a class that pulls weakly gets
# targets far beyond what lips can do: clips left out are told better by 0.02, but a sound that is held would go
# there.
DRAWN, GROUPS_DRAWN = 10.0, 30.0

# Opening and width of sounds that the clips do not have and that are not like their group. ER is pushed out somewhat
# in American English, SH and ZH in all English, and the jaw is high in these (common knowledge in phonetics, from
# memory; Keating, Lindblom, Lubker and Kreiman 1994). The numbers are chosen.
CHOSEN = {"ER": (0.45, -0.7), "SH": (0.7, -1.0), "ZH": (0.7, -1.0)}

_ROUNDS = 6
_LEAST_MS, _MOST_MS = 8.0, 200.0
# How much a number may cost that departs from the mean of its kind, so that what is hardly heard stays in the middle.
_STIFF = 3e-5


@dataclass(frozen=True)
class Material:
    """All clips one after the other, ten seconds apart."""

    gestures: tuple[Gesture, ...]
    moments_us: tuple[int, ...]
    clip: np.ndarray[tuple[int], np.dtype[np.intp]]
    speech: np.ndarray[tuple[int], np.dtype[np.bool_]]
    near: np.ndarray[tuple[int], np.dtype[np.bool_]]
    sides: Mapping[str, Floats]


def gestures_of(clip: Clip, voice: object, shift_us: int) -> Iterator[Gesture]:
    """Yield a clip's gestures, and the rests between and around them."""
    reached = -5_000_000
    for sound, strength in zip(clip.sounds, strengths(clip.sounds, voice, Sizes()), strict=True):  # type: ignore[arg-type]
        if sound.start_us > reached:
            yield Gesture(SILENCE, reached + shift_us, sound.start_us + shift_us)
        keys = keys_of(sound.symbol, sound.stress)
        middle = sound.start_us + (sound.end_us - sound.start_us) * 60 // 100
        edges = [sound.start_us, middle, sound.end_us] if len(keys) == 2 else [sound.start_us, sound.end_us]
        size = strength.size if sound.symbol in VOWELS else 0.5
        for key, from_us, to_us in zip(keys, edges, edges[1:], strict=False):
            yield Gesture(key, from_us + shift_us, to_us + shift_us, size)
        reached = sound.end_us
    yield Gesture(SILENCE, reached + shift_us, reached + 5_000_000 + shift_us)


def material_of(found: Sequence[Clip]) -> Material:
    voice = voice_range(sound for clip in found for sound in clip.sounds)
    gestures: list[Gesture] = []
    moments: list[int] = []
    near: list[np.ndarray[tuple[int], np.dtype[np.bool_]]] = []
    for at, clip in enumerate(found):
        shift_us = 20_000_000 * at
        gestures += gestures_of(clip, voice, shift_us)
        moments += [us + shift_us for us in clip.moments_us]
        near.append(np.convolve(clip.speech, np.ones(17), "same") > 0)
    return Material(
        tuple(gestures),
        tuple(moments),
        np.repeat(np.arange(len(found)), [len(clip.speech) for clip in found]),
        np.concatenate([clip.speech for clip in found]),
        np.concatenate(near),
        {side: np.concatenate([getattr(clip, side) for clip in found]) for side in ("opening", "width")},
    )


NAMES = list(CLASSES)
KEYS_OF = {name: keys.split() for name, (keys, _) in CLASSES.items()}
CLASS_OF = {key: at for at, name in enumerate(NAMES) for key in KEYS_OF[name]}
KIND_OF = [kind for _, kind in CLASSES.values()]
KINDS = sorted(set(KIND_OF))


@dataclass
class Pulls:
    """The free numbers of one side: a strength for each class, times for each kind."""

    strength: Floats
    times: Floats  # kinds x before, after (logarithms of ms), early, late (ms)

    @classmethod
    def at_first(cls) -> Pulls:
        return cls(np.zeros(len(NAMES)), np.tile([np.log(45.0), np.log(45.0), 0.0, 0.0], (len(KINDS), 1)))

    def of_classes(self) -> Floats:
        """Return classes x the fields of `Pull`."""
        times = self.times[[KINDS.index(kind) for kind in KIND_OF]].copy()
        times[:, :2] = np.exp(times[:, :2])
        return np.column_stack([self.strength, times])

    def stiffness(self) -> float:
        strength = np.sum((self.strength - self.strength.mean()) ** 2)
        spread = np.sum((self.times[:, :2] - self.times[:, :2].mean(axis=0)) ** 2) / 0.5
        return _STIFF * float(strength + spread + np.sum(self.times[:, 2:] ** 2) / 30.0**2)


def design(material: Material, pulls: Floats, side: str) -> Floats:
    """Return moments x keys: how much of the lips each key has; for the opening a column of sizes is the last."""
    class_of = np.array([CLASS_OF[gesture.key] for gesture in material.gestures])
    key_of = np.array([ALL_KEYS.index(gesture.key) for gesture in material.gestures])
    shares = shares_of(material.gestures, material.moments_us, pulls[class_of], barred=side == "opening")
    moments = len(material.moments_us)
    cells = shares.moment * len(ALL_KEYS) + key_of[shares.gesture]
    table = np.bincount(cells, shares.share, moments * len(ALL_KEYS)).reshape(moments, len(ALL_KEYS))
    if side == "width":
        return table
    sizes = np.array([2 * gesture.size - 1 for gesture in material.gestures])
    return np.column_stack([table, shares.sum_of(sizes, moments)])


def targets_of(table: Floats, wanted: Floats) -> Floats:
    """Return the targets that tell `wanted` best, drawn toward the mean of their group and of all."""
    keys, middle = len(ALL_KEYS), wanted.mean()
    groups = np.zeros((table.shape[1], len(GROUPS) + 1))
    for at, of_group in enumerate(GROUPS):
        groups[[ALL_KEYS.index(key) for key in of_group.split()], at] = 1
    groups[keys:, -1] = 1
    both = np.column_stack([table @ groups, table])
    weights = np.concatenate([np.full(groups.shape[1], GROUPS_DRAWN), np.full(table.shape[1], DRAWN)])
    solved = np.linalg.solve(both.T @ both + np.diag(weights), both.T @ (wanted - middle))
    found: Floats = groups @ solved[: groups.shape[1]] + solved[groups.shape[1] :]
    found[:keys] += middle
    return found


def learned(material: Material, side: str, used: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[Pulls, Floats]:
    """Return pulls and targets of one side, from some of the moments."""
    used = used & material.near & ~np.isnan(material.sides[side])
    wanted = material.sides[side][used]

    def loss(pulls: Pulls) -> float:
        table = design(material, pulls.of_classes(), side)[used]
        return float(np.mean((table @ targets_of(table, wanted) - wanted) ** 2)) + pulls.stiffness()

    best = Pulls.at_first()
    least = loss(best)
    steps = Pulls(np.full(len(NAMES), 0.8), np.tile([0.5, 0.5, 20.0, 20.0], (len(KINDS), 1)))
    for _ in range(_ROUNDS):
        for field in ("strength", "times"):
            for place in np.ndindex(getattr(best, field).shape):
                for sign in (1, -1):
                    tried = Pulls(best.strength.copy(), best.times.copy())
                    getattr(tried, field)[place] += sign * getattr(steps, field)[place]
                    tried.times[:, :2] = tried.times[:, :2].clip(np.log(_LEAST_MS), np.log(_MOST_MS))
                    costs = loss(tried)
                    if costs < least - 1e-7:
                        best, least = tried, costs
                        getattr(steps, field)[place] *= 1.3
                        break
                else:
                    getattr(steps, field)[place] /= 2
    table = design(material, best.of_classes(), side)[used]
    return best, targets_of(table, wanted)


def left_out(material: Material, folds: int) -> None:
    """Print how well clips that were left out are told."""
    for side in ("opening", "width"):
        told = np.zeros(len(material.moments_us))
        for fold in range(folds):
            here = material.clip % folds == fold
            pulls, targets = learned(material, side, ~here)
            told[here] = (design(material, pulls.of_classes(), side) @ targets)[here]
        counted = material.speech & ~np.isnan(material.sides[side])
        print(f"{side}: r {np.corrcoef(told[counted], material.sides[side][counted])[0, 1]:.3f}")


def unsure_of(material: Material, side: str, pulls: Pulls, targets: Floats) -> Floats:
    """Return for each class the standard deviation about the model, where it has most of the lips; shared if rare."""
    table = design(material, pulls.of_classes(), side)
    counted = material.speech & ~np.isnan(material.sides[side])
    squares = (table @ targets - material.sides[side])[counted] ** 2
    of_class = np.zeros((len(ALL_KEYS), len(NAMES)))
    for key in ALL_KEYS:
        of_class[ALL_KEYS.index(key), CLASS_OF[key]] = 1
    shares = table[counted][:, : len(ALL_KEYS)] @ of_class
    common = squares.mean()
    return np.array(
        [np.sqrt((shares[:, at] @ squares + 100 * common) / (shares[:, at].sum() + 100)) for at in range(len(NAMES))]
    )


def toml(material: Material, origin: str) -> Iterator[str]:
    """Yield the table, line by line."""
    every = np.ones(len(material.moments_us), dtype=np.bool_)
    both = {side: learned(material, side, every) for side in ("opening", "width")}
    unsure = {side: unsure_of(material, side, *both[side]) for side in both}
    yield "# Lips in time: how strongly and how long each class of sounds pulls at the lips, and where each"
    yield "# sound pulls them to. Made by tests/learn_lips.py; lipsync/fit/lips_in_time.py says what they mean."
    yield ""
    yield 'form = "lipsync lips in time 1"'
    yield f'origin = "{origin}"'
    yield ""
    yield "# What the largest mouth adds to a vowel's opening, against a middling one."
    yield f"by_size = {both['opening'][1][-1]:.2f}"
    for at, name in enumerate(NAMES):
        yield ""
        yield "[[classes]]"
        yield f'name = "{name}"'
        yield "keys = [" + ", ".join(f'"{key}"' for key in KEYS_OF[name]) + "]"
        for side in both:
            strength, before, after, early, late = both[side][0].of_classes()[at]
            yield (
                f"{side} = {{ strength = {strength:.2f}, before_ms = {before:.0f}.0, after_ms = {after:.0f}.0,"
                f" early_ms = {early:.0f}.0, late_ms = {late:.0f}.0 }}"
            )
        yield f"unsure = [{unsure['opening'][at]:.2f}, {unsure['width'][at]:.2f}]"
    yield ""
    yield '# For each sound opening (1 is wide) and width (in deviations). "AY>" is the first part of a vowel, ">AY"'
    yield '# its end; "AH0" the weak vowel. They are what lips strive for, and mostly do not reach in running speech.'
    yield "[targets]"
    heard = {gesture.key for gesture in material.gestures}
    for key in ALL_KEYS:
        opening, width = (both[side][1][ALL_KEYS.index(key)] for side in both)
        if key in CHOSEN:
            opening, width = CHOSEN[key]
        why = "" if key in heard else "  # chosen" if key in CHOSEN else "  # not heard: as its group"
        yield f'"{key}" = [{opening:.2f}, {width:.2f}]{why}'


def learned_without(found: Sequence[Clip], left_out: Sequence[Clip]) -> LipModel:
    """Return the model that is learned from all clips but some."""
    gone = {clip.id for clip in left_out}
    material = material_of([clip for clip in found if clip.id not in gone])
    return LipModel.model_validate(tomllib.loads("\n".join(toml(material, "some clips left out"))))


def main() -> None:
    parser = argparse.ArgumentParser(description="Learn the model of lips in time.")
    parser.add_argument("folder", type=Path, help="folder with manifest.jsonl and its recordings")
    parser.add_argument("--origin", default="", help="what the table says of where its numbers are from")
    parser.add_argument("--folds", type=int, default=0, help="print how well clips that are left out are told")
    arguments = parser.parse_args()
    material = material_of(clips(arguments.folder))
    if arguments.folds:
        left_out(material, arguments.folds)
    else:
        print("\n".join(toml(material, arguments.origin or f"learned from {arguments.folder.name}")))


if __name__ == "__main__":
    main()
