"""Measures the fitting: python tests/measure_fitting.py FOLDER [--set tideline] [--minutes 60] [--condition clean].

In: a folder with `manifest.jsonl` and recordings, as tests/measure_timing.py describes it. Out, printed:

    agreement    the same phonemes fitted at the times that a person placed and at computed times: frames alike,
                 frames alike when one frame's shift is allowed, mean visual distance (lipsync/fit/lips.py)
    steadiness   the same agreement of tracks where the times are a person's and a person's moved by noise: what the
                 fitting makes of so many milliseconds, whatever the listening does
    seen         closed lips and lip to teeth that no frame in the film tolerance shows, at 24, 25 and 30, on ones and
                 on twos with closures on ones: at labelled times, and of all recordings at their own computed times
    mouth time   start of the first frame that shows a phoneme, plus the lead that was applied, minus its labelled
                 start, and the same with the whole lead where a closure took a part of it: the shares
                 within EBU R 37 (sound at most 40 ms early, 60 ms late against its mouth) and the film tolerance
                 (mouth at most two frames ahead, one behind), and of phonemes that no frame shows
    closed lips  by how many frames P B M begin after their sound, how many begin more than half a frame before
                 it, and on how many frames those are worn that last for two
    first form   fittings and visual cost of the first form's rule, of the optimum at the default settings, and of the
                 optimum with the dearest fittings at which its visual cost is no higher than the first form's; on
                 each shot of the sample production and on the folder's recordings
    time         seconds for an hour of dialogue without a rest, on one core, and for half of it; for which of 30
                 pieces are worth making over that hour, in shots of a minute

"The same phonemes": computed and labelled ones are paired as in tests/measure_timing.py; pairs are fitted twice, with
the symbol, stress and level that were computed, once at the labelled and once at the computed times. What is in one
only is left out of both.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from math import floor
from pathlib import Path
from typing import Any

from fit.first_form import pieces_by_rule
from measure_timing import pairs

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings
from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.errors import LineError
from lipsync.fit.costs import Costs
from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.fit.lips import distance
from lipsync.fit.mouthset import Lips, MouthSet, Piece, load_mouth_set
from lipsync.fit.schedule import turns_of
from lipsync.fit.serving import track_of
from lipsync.fit.weighing import weigh
from lipsync.model import Breakdown
from lipsync.phonemes import LIPS_CLOSED, MUST_BE_SEEN, PHONEMES, VOWELS
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample
from lipsync.production.values import rest_piece, shipped
from lipsync.timing import frame_start_us, frames_covering, us_of_seconds
from lipsync.track import Sound, sounds_of
from lipsync.workshop.piece_selection import reduced_sets
from lipsync.workshop.trade_off import PRICES, with_price

RATE = Fraction(24)


@dataclass(frozen=True)
class Twice:
    """The phonemes of a recording that are both labelled and computed: with either times, in the same order."""

    labelled: tuple[Sound, ...]
    computed: tuple[Sound, ...]
    frames: int


def job_of(sounds: Sequence[Sound], frames: int, mouth_set: MouthSet, settings: FittingSettings) -> Job:
    rest = rest_piece(mouth_set, None)
    assert rest is not None
    return Job("speaker", sounds, (True,) * frames, mouth_set, settings, RATE, rest)


def paired(breakdown: Breakdown, labels: Sequence[Sequence[object]]) -> Twice:
    """Return the recording's phonemes at both times."""
    heard = sounds_of(breakdown, "line", 0)
    by_start = {sound.start_us / 1e6: sound for sound in heard}
    computed = [(s.symbol, s.start_us / 1e6, s.end_us / 1e6) for s in heard if not s.is_cue]
    ours: list[Sound] = []
    theirs: list[Sound] = []
    for our, their in pairs(computed, [tuple(label) for label in labels]):  # type: ignore[arg-type]
        sound = by_start[our[1]]
        ours.append(sound)
        theirs.append(replace(sound, start_us=us_of_seconds(their[1]), end_us=us_of_seconds(their[2])))
    return Twice(tuple(theirs), tuple(ours), frames_covering(breakdown.duration_us, RATE))


def heard(folder: Path, plain: bool, condition: str = "") -> Iterator[tuple[dict[str, Any], Breakdown]]:
    """Yield each recording's row of the list and its breakdown, of those made under a condition only."""
    for row in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        line = json.loads(row)
        if condition not in line.get("condition", ""):
            continue
        try:
            settings = LineSettings(voice_factor=1.0 if plain else None)
            yield line, listen(folder / line["wav"], line["text"], settings)
        except LineError as error:
            print(error)


def spoken(twice: Twice) -> range:
    """The frames from the first sound to the last, at either times."""
    both = [*twice.labelled, *twice.computed]
    first = frames_covering(min(s.start_us for s in both), RATE) - 1
    return range(max(0, first), min(twice.frames, frames_covering(max(s.end_us for s in both), RATE)))


def agreement(lines: Sequence[tuple[str, Twice]], mouth_set: MouthSet, settings: FittingSettings) -> None:
    found: dict[str, Counter[str]] = {}
    for source, twice in lines:
        one, other = (
            fit(job_of(sounds, twice.frames, mouth_set, settings)).pieces
            for sounds in (twice.labelled, twice.computed)
        )
        for where, frames in (("speech only", spoken(twice)), ("all frames", range(twice.frames))):
            for name in ([f"{source}, speech only"] if where == "speech only" else []) + [f"pooled, {where}"]:
                tally = found.setdefault(name, Counter())
                for frame in frames:
                    near = other[max(0, frame - 1) : frame + 2]
                    tally["frames"] += 1
                    tally["alike"] += one[frame] == other[frame]
                    tally["near"] += one[frame] in near
                    lips = mouth_set.by_code
                    tally["unlike"] += round(1e6 * distance(lips[str(one[frame])].lips, lips[str(other[frame])].lips))
    print("agreement of tracks at labelled and at computed times")
    for name, tally in sorted(found.items()):
        n = tally["frames"]
        print(
            f"  {name:30} {n:5} frames  alike {100 * tally['alike'] / n:5.1f} %  with a shift of one "
            f"{100 * tally['near'] / n:5.1f} %  mean distance {tally['unlike'] / n / 1e6:.4f}"
        )


def shaken(sounds: Sequence[Sound], sd_us: float, seed: random.Random) -> tuple[Sound, ...]:
    """Return sounds with each boundary moved by normal noise; neighbours keep theirs in common, none is gone."""
    moved = {us: round(us + seed.gauss(0, sd_us)) for sound in sounds for us in (sound.start_us, sound.end_us)}
    found: list[Sound] = []
    reached_us = -(1 << 62)
    for sound in sounds:
        start_us = max(reached_us, moved[sound.start_us])
        reached_us = max(start_us + 5_000, moved[sound.end_us])
        found.append(replace(sound, start_us=start_us, end_us=reached_us))
    return tuple(found)


def steadiness(lines: Sequence[tuple[str, Twice]], mouth_set: MouthSet, settings: FittingSettings) -> None:
    print("agreement of tracks at labelled times, and at the same moved by normal noise, five times over")
    for sd_ms in (5, 10, 15, 20, 30):
        seed = random.Random(sd_ms)
        frames = alike = near = 0
        for _, twice in lines * 5:
            moved = shaken(twice.labelled, 1000 * sd_ms, seed)
            one, other = (
                fit(job_of(sounds, twice.frames, mouth_set, settings)).pieces for sounds in (twice.labelled, moved)
            )
            frames += len(one)
            alike += sum(a == b for a, b in zip(one, other, strict=True))
            near += sum(code in other[max(0, at - 1) : at + 2] for at, code in enumerate(one))
        share, with_shift = 100 * alike / frames, 100 * near / frames
        print(f"  {sd_ms:2} ms: alike {share:.1f} %, with a shift of one {with_shift:.1f} %")


def seen(name: str, lines: Sequence[Sequence[Sound]], mouth_set: MouthSet) -> None:
    """Print how many closures are not seen in the film tolerance, in exact arithmetic."""
    for rate, on in product((24, 25, 30), ("ones", "mixed")):
        missing = closures = 0
        for sounds in lines:
            settings = FittingSettings.model_validate({"on": on})
            frames = frames_covering(max(s.end_us for s in sounds) + 500_000, Fraction(rate))
            job = replace(job_of(sounds, frames, mouth_set, settings), rate=Fraction(rate))
            pieces = fit(job).pieces
            for sound in sounds:
                if sound.symbol in MUST_BE_SEEN:
                    start = Fraction(sound.start_us * rate, 1_000_000) - settings.lead.of(sound.symbol)
                    worn = {piece.code for piece in mouth_set.sizes[mouth_set.shapes_of(sound.symbol)[0]]}
                    near = [f for f in range(max(0, floor(start) - 2), frames) if -2 <= f - start <= 1]
                    closures += 1
                    missing += not any(pieces[frame] in worn for frame in near)
        print(f"  {name}, at {rate}, on {on}: {missing} of {closures} not seen")


def mouth_times_us(job: Job, labelled: Sequence[Sound], whole_lead: bool) -> list[int | None]:
    """Return each phoneme's mouth time in microseconds; None where no frame shows it."""
    first: dict[Sound, int] = {}
    for frame, sound in enumerate(fit(job).serves):
        if sound is not None:
            first.setdefault(sound, frame)
    applied_us = {
        turn.sound: turn.sound.start_us - turn.due_us for turn in turns_of(job) if turn.sound and not turn.second
    }
    return [
        frame_start_us(first[sound], RATE)
        + (frame_start_us(job.settings.lead.of(sound.symbol), RATE) if whole_lead else applied_us[sound])
        - label.start_us
        if sound in first
        else None
        for sound, label in zip(job.sounds, labelled, strict=True)
    ]


def mouth_time(lines: Sequence[tuple[str, Twice]], mouth_set: MouthSet, settings: FittingSettings) -> None:
    print("mouth time against labelled starts, at 24 on ones")
    for what, whole_lead in product(("labelled", "computed"), (False, True)):
        times: defaultdict[str, list[int | None]] = defaultdict(list)
        for source, twice in lines:
            job = job_of(getattr(twice, what), twice.frames, mouth_set, settings)
            times[source] += mouth_times_us(job, twice.labelled, whole_lead)
        print(f"  fitted at {what} times, {'the whole lead' if whole_lead else 'lead as applied'}")
        times["pooled"] = [us for found in times.values() for us in found]
        for source in times if (what, whole_lead) == ("computed", False) else ["pooled"]:
            print(f"    {source:16} {_shares(times[source])}")


def _shares(times: Sequence[int | None]) -> str:
    frame = 1_000_000 / 24
    shown = [us for us in times if us is not None]
    ebu = 100 * sum(-60_000 <= us <= 40_000 for us in shown) / len(shown)
    film = 100 * sum(-2 * frame <= us <= frame for us in shown) / len(shown)
    none = 100 * (1 - len(shown) / len(times))
    early, late = sum(us < -2 * frame for us in shown), sum(us > frame for us in shown)
    return (
        f"{len(times):3} phonemes, no frame shows {none:.1f} %; within EBU R 37 {ebu:.1f} %,"
        f" film tolerance {film:.1f} % (early {early}, late {late})"
    )


def closed_lips(name: str, jobs: Sequence[Job]) -> None:
    """Print where closed lips lie against their sound; of those that follow each other at once, the first counts."""
    begins: list[float] = []
    held: Counter[int] = Counter()
    for job in jobs:
        shut = {piece.code for piece in job.mouth_set.piece if piece.shape in job.mouth_set.shapes_of("P")}
        pieces, reached = fit(job).pieces, -1.0
        for sound in sorted(job.sounds, key=lambda sound: sound.start_us):
            from_, to = (float(us * job.rate / 1_000_000) for us in (sound.start_us, sound.end_us))
            if sound.symbol not in LIPS_CLOSED:
                continue
            near = [f for f in range(max(0, int(from_) - 2), min(len(pieces), int(to) + 2)) if pieces[f] in shut]
            if near and from_ > reached:
                first = last = min(near, key=lambda f: abs(f - from_))
                while first > 0 and pieces[first - 1] in shut and first - 1 >= reached:
                    first -= 1
                while last + 1 < len(pieces) and pieces[last + 1] in shut:
                    last += 1
                begins.append(first - from_)
                if to - from_ >= 2:
                    held[min(last - first + 1, 3)] += 1
            reached = to
    print(
        f"  {name}: {len(begins)} closures begin {sum(begins) / len(begins):+.2f} frames after their sound, from"
        f" {min(begins):+.2f} to {max(begins):+.2f}, {sum(b < -0.5 for b in begins)} more than half a frame before"
        f" it; of {sum(held.values())} that last two frames {held[1]} are worn on one, {held[2]} on two, {held[3]} on"
        " more"
    )


def compare(name: str, jobs: Sequence[Job], totals: Counter[str]) -> None:
    """Print the first form and the optimum on some jobs, and add them up."""
    for job in jobs:
        turns = turns_of(job)
        weighing = weigh(job, turns)
        by_rule = pieces_by_rule(job, turns)
        rule, best = weighing.costs(by_rule), weighing.costs(fit(job).pieces)
        price, matched = at_no_higher_cost(job, rule)
        lost = len(track_of(weighing, by_rule).lost)
        for key, value in (("rule", rule), ("best", best), ("matched", matched)):
            totals[f"{key} fittings"] += value.fittings
            totals[f"{key} visual"] += round(1e6 * value.visual)
        if name:
            print(
                f"  {name:18} {job.character:6} first form {rule.fittings:3} fittings, visual {rule.visual:6.2f}"
                f", lost {lost}; optimum {best.fittings:3}, {best.visual:6.2f}, lost {best.missed}; at no higher"
                f" visual cost {matched.fittings:3}, {matched.visual:6.2f} (a fitting at {price:g})"
            )


def at_no_higher_cost(job: Job, rule: Costs) -> tuple[float, Costs]:
    """Return the dearest price at which the optimum's mouths are no more unlike than the first form's."""
    found = (0.0, rule)
    for price in PRICES:
        dear = replace(job, settings=with_price(job.settings, price))
        weighing = weigh(dear, turns_of(dear))
        costs = weighing.costs(fit(dear).pieces)
        if costs.visual <= rule.visual:
            found = (price, costs)
    return found


def print_totals(name: str, totals: Counter[str]) -> None:
    for key, what in (("best", "optimum"), ("matched", "at no higher visual cost in any")):
        fewer = 100 * (1 - totals[f"{key} fittings"] / totals["rule fittings"])
        visual = 100 * (1 - totals[f"{key} visual"] / totals["rule visual"])
        pairs_of = [(totals[f"rule {unit}"], totals[f"{key} {unit}"]) for unit in ("fittings", "visual")]
        (rule, ours), (rule_visual, our_visual) = pairs_of
        print(
            f"  {name}, {what}: {rule} and {ours} fittings, {fewer:.1f} % fewer;"
            f" visual {rule_visual / 1e6:.2f} and {our_visual / 1e6:.2f}, {visual:.1f} % less"
        )


def sample_jobs() -> Iterator[tuple[str, Job]]:
    with tempfile.TemporaryDirectory() as folder:
        put_sample(Path(folder) / "sample")
        production = open_production(Path(folder) / "sample")
        for shot in plan(production, hear(production)).shots:
            for cast in shot.cast:
                mouth_set = production.mouth_sets[cast.character]
                said = shot.shot.characters.get(cast.character)
                rest = rest_piece(mouth_set, said.rests_on if said else None)
                assert rest is not None
                on_camera = production.on_camera(cast.character, shot.shot)
                yield (
                    f"{shot.scene.id} {shot.shot.id}",
                    Job(cast.character, cast.sounds, on_camera, mouth_set, production.file.fitting, RATE, rest),
                )


def first_form(lines: Sequence[tuple[str, Twice]], mouth_set: MouthSet, settings: FittingSettings) -> None:
    print("first form and optimum")
    totals: Counter[str] = Counter()
    for name, job in sample_jobs():
        compare(name, [replace(job, settings=settings)], totals)
    print_totals("sample production", totals)
    totals = Counter()
    compare("", [job_of(t.computed, t.frames, mouth_set, settings) for _, t in lines], totals)
    print_totals("recordings", totals)


def talk(minutes: float) -> list[Sound]:
    """Return random speech without a rest, 30 to 130 ms a phoneme."""
    seed = random.Random(1)
    vowels, consonants = sorted(VOWELS), sorted(set(PHONEMES) - VOWELS)
    sounds: list[Sound] = []
    at_us = 0
    while at_us < minutes * 60e6:
        symbol = seed.choice(vowels if len(sounds) % 2 else consonants)
        stress = seed.choice([0, 1, 2]) if symbol in VOWELS else None
        end_us = at_us + seed.randint(30_000, 130_000)
        sounds.append(Sound("l", len(sounds) // 4, symbol, "w", at_us, end_us, stress, seed.uniform(-45, -10)))
        at_us = end_us
    return sounds


def thirty(mouth_set: MouthSet) -> MouthSet:
    """Return a set of thirty pieces: those of the set, and others near them."""
    seed = random.Random(3)
    pieces = list(mouth_set.piece)
    while len(pieces) < 30:
        base = seed.choice(mouth_set.piece[3:])
        size = 1 + sum(piece.shape == base.shape for piece in pieces)
        if size <= 9:
            lips = {
                axis: min(1.0, max(0.0, round(value + seed.uniform(-0.15, 0.15), 2)))
                for axis, value in base.lips.model_dump().items()
            }
            code, name = f"X{len(pieces)}", f"{base.shape}-{size}"
            pieces.append(Piece(code=code, name=name, shape=base.shape, size=size, lips=Lips(**lips)))
    return MouthSet.model_validate({**mouth_set.model_dump(), "piece": tuple(pieces)})


def minutes_of(sounds: Sequence[Sound], mouth_set: MouthSet) -> list[Job]:
    """Return speech as shots of a minute."""
    shots: dict[int, list[Sound]] = {}
    for sound in sounds:
        shot, from_us = divmod(sound.start_us, 60_000_000)
        end_us = from_us + sound.end_us - sound.start_us
        shots.setdefault(shot, []).append(replace(sound, start_us=from_us, end_us=end_us))
    return [job_of(said, 1450, mouth_set, FittingSettings()) for said in shots.values()]


def timed(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the fitting.")
    parser.add_argument("folder", type=Path, help="folder with manifest.jsonl and its recordings")
    parser.add_argument("--set", default="tideline", help="a mouth set that ships")
    parser.add_argument("--plain", action="store_true", help="listen once, at the recorded speed")
    parser.add_argument("--condition", default="", help='of synthesised lines: "clean", or "noise 10 dB"')
    parser.add_argument("--minutes", type=float, default=60.0, help="of dialogue, to be timed")
    parser.add_argument("--price", type=float, help="of a fitting")
    arguments = parser.parse_args()
    mouth_set = load_mouth_set(shipped("mouthsets") / f"{arguments.set}.toml")
    settings = FittingSettings()
    if arguments.price is not None:
        settings = with_price(settings, arguments.price)
    every = list(heard(arguments.folder, arguments.plain, arguments.condition))
    lines = [(line["source"], paired(found, line["phones"])) for line, found in every if line["labels"] != "none"]
    agreement(lines, mouth_set, settings)
    steadiness(lines, mouth_set, settings)
    print("closed lips and lip to teeth")
    seen("labelled times", [twice.labelled for _, twice in lines], mouth_set)
    spoken_only = [[s for s in sounds_of(found, "line", 0) if not s.is_cue] for _, found in every]
    seen("all recordings", spoken_only, mouth_set)
    mouth_time(lines, mouth_set, settings)
    print("closed lips")
    closed_lips("sample production", [replace(job, settings=settings) for _, job in sample_jobs()])
    closed_lips("recordings", [job_of(t.labelled, t.frames, mouth_set, settings) for _, t in lines])
    first_form(lines, mouth_set, settings)
    print("time of fitting without a rest, one core")
    for minutes in (arguments.minutes / 2, arguments.minutes):
        sounds = talk(minutes)
        job = job_of(sounds, frames_covering(sounds[-1].end_us, RATE), mouth_set, settings)
        took = timed(lambda j=job: fit(j))
        print(f"  {minutes:g} minutes, {len(job.on_camera)} frames, {len(sounds)} phonemes: {took:.1f} s")
    jobs = minutes_of(talk(arguments.minutes), thirty(mouth_set))
    took = timed(lambda: reduced_sets(jobs))
    print(f"  which of 30 pieces are worth making, {arguments.minutes:g} minutes: {took:.1f} s")


if __name__ == "__main__":
    main()
