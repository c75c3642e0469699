"""Measures tracks against filmed lips: `python tests/measure_lips.py FOLDER [--set tideline] [--folds 5]`.

In: filmed lips, as tests/lip_clips.py describes them; each clip is one shot, at its own rate, on ones, default
settings. A picture is compared with the frame that is shown at its time: real lips move before their sound by
themselves, and at a lead of 0 the mouth is to do what they do. Out, printed, over frames of speech (first phoneme to
last) unless said otherwise:

    opening        correlation of the opening of the piece worn with the gap between real lips, on the same frame and
                   with the mouth some frames early or late
    width          the same for the width
    wrong way      frames on which the piece is among the widest third of all that are worn and the lips are among
                   their narrowest, or the other way round; pieces that lie at the limits of the thirds count to
                   these, and where the two limits are one piece, to the narrowest
    closed         of frames on which real lips are closed (below a tenth of wide) how many wear a closed or nearly
                   closed piece (opening up to 0.1; and, in brackets, up to 0.2) within one frame; of frames that wear
                   a closed piece (up to 0.05), how many have real lips closed within one frame
    model          correlation of what the model of lips in time says with the real ones. The table that ships is
                   learned from one speaker's clips: on those it is not left out, `learn_lips.py FOLDER --folds 5`
                   tells what it is when it is; and with `--folds 5` here tracks are made by tables learned without
                   their clip
    tolerance      of P, B, M and F, V of random words how many are not seen in the film tolerance, and how many of
                   these are not named either, at 24, 25 and 30, on ones, twos and mixed (tests/in_tolerance.py)
    in-betweens    of rounded and stressed vowels how many begin before their own mouth is modelled away, on ones
    twos           in-betweens on twos that begin on the second frame of a pair

Agreement of tracks at hand-placed and computed times, fittings on the sample and the time of an hour are told by
tests/measure_fitting.py.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from in_tolerance import print_tolerance
from learn_lips import learned_without
from lip_clips import Clip, Floats, clips

from lipsync.fit import asked_lips as asked_room
from lipsync.fit.fit_job import Job, VoiceRange, voice_range
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.fitting import fit
from lipsync.fit.keys import keys
from lipsync.fit.lips_in_time import LipModel, shipped_model
from lipsync.fit.mouthset import MouthSet, load_mouth_set
from lipsync.fit.schedule import turns_of
from lipsync.phonemes import PHONEMES, VOWELS
from lipsync.production.values import rest_piece, shipped
from lipsync.timing import frame_at
from lipsync.track import FrameTrack

SHIFTS = (-2, -1, 0, 1, 2)
CLOSED, NEARLY, ALMOST = 0.05, 0.1, 0.2


def job_of(clip: Clip, mouth_set: MouthSet, settings: FittingSettings, voice: VoiceRange | None) -> Job:
    rest = rest_piece(mouth_set, None)
    assert rest is not None
    on_camera = (True,) * len(clip.speech)
    return Job(clip.speaker, clip.sounds, on_camera, mouth_set, settings, clip.rate, rest, voice)


def jobs_of(found: Sequence[Clip], mouth_set: MouthSet, settings: FittingSettings) -> list[Job]:
    voices = {
        who: voice_range(sound for clip in found if clip.speaker == who for sound in clip.sounds)
        for who in {clip.speaker for clip in found}
    }
    return [job_of(clip, mouth_set, settings, voices[clip.speaker]) for clip in found]


def paired(found: Sequence[Clip], tracks: Sequence[Floats], side: str, early: int = 0) -> tuple[Floats, Floats]:
    """Return what is worn and what real lips do on frames of speech, the mouth so many frames early."""
    worn: list[Floats] = []
    real: list[Floats] = []
    for clip, track in zip(found, tracks, strict=True):
        frames = np.flatnonzero(clip.speech)
        frames = frames[(frames + early >= 0) & (frames + early < len(track))]
        worn.append(track[frames])
        real.append(getattr(clip, side)[frames + early])
    a, b = np.concatenate(worn), np.concatenate(real)
    return a[~np.isnan(b)], b[~np.isnan(b)]


def correlation(pair: tuple[Floats, Floats]) -> float:
    return float(np.corrcoef(*pair)[0, 1])


def wrong_way(pair: tuple[Floats, Floats]) -> float:
    """Return the share of frames that are in the widest third of one and in the narrowest of the other."""
    thirds = [
        np.where(values <= np.quantile(values, 1 / 3), -1, np.where(values >= np.quantile(values, 2 / 3), 1, 0))
        for values in pair
    ]
    return float(np.mean(thirds[0] * thirds[1] == -1))


def closed_shares(found: Sequence[Clip], tracks: Sequence[Floats]) -> tuple[float, float, float]:
    """Return of closed lips how many wear a piece closed by `NEARLY`, by `ALMOST`; of closed pieces how many fit."""
    counts = np.zeros(5)
    for clip, worn in zip(found, tracks, strict=True):
        real = clip.opening < 0.1
        for frame in np.flatnonzero(clip.speech):
            near = slice(max(0, frame - 1), frame + 2)
            if real[frame]:
                counts[:3] += (1, (worn[near] <= NEARLY).any(), (worn[near] <= ALMOST).any())
            if worn[frame] <= CLOSED:
                counts[3:] += (1, real[near].any())
    return counts[1] / counts[0], counts[2] / counts[0], counts[4] / counts[3]


def with_lips(found: Sequence[Clip], mouth_set: MouthSet, tracks: Sequence[FrameTrack]) -> None:
    """Print what is measured against real lips."""
    opening, width = (
        [np.array([getattr(mouth_set.by_code[str(code)].lips, side) for code in track.pieces]) for track in tracks]
        for side in ("opening", "width")
    )
    early = [correlation(paired(found, opening, "opening", shift)) for shift in SHIFTS]
    print(f"  fittings a clip   {np.mean([len(track.fittings) for track in tracks]):.1f}")
    print(f"  r of opening      {early[SHIFTS.index(0)]:.2f} on the same frame; mouth early by", end=" ")
    print(", ".join(f"{shift}: {r:.2f}" for shift, r in zip(SHIFTS, early, strict=True)))
    print(f"  r of width        {correlation(paired(found, width, 'width')):.2f}")
    print(f"  wrong way         {100 * wrong_way(paired(found, opening, 'opening')):.1f} % of frames")
    nearly, almost, fits = closed_shares(found, opening)
    print(f"  lips closed       {100 * nearly:.0f} % wear a closed or nearly closed piece within one frame", end=" ")
    print(f"({100 * almost:.0f} % up to an opening of {ALMOST:g})")
    print(f"  closed piece      {100 * fits:.0f} % have lips closed within one frame")


def in_betweens(jobs: Sequence[Job], tracks: Sequence[FrameTrack]) -> tuple[int, int, int, int]:
    """Return vowels whose mouth is modelled away, those of them that have begun before, and both again for pairs.

    Counted are in-betweens that leave a piece which shows a rounded sound or a stressed vowel first of all on it.
    """
    begun = leaving = odd = every = 0
    for job, track in zip(jobs, tracks, strict=True):
        for key in keys(track, job):
            if key.toward is None:
                continue
            every += 1
            odd += key.toward.frame % 2
            worn = range(key.frame, key.frame + key.hold)
            shown = {track.serves[frame] for frame in worn if frame < len(track.serves)} - {None}
            for sound in shown:
                assert sound is not None
                rounded = sound.symbol in PHONEMES and any(PHONEMES[sound.symbol].rounded)
                if rounded or (sound.symbol in VOWELS and sound.stress == 1):
                    leaving += 1
                    begun += frame_at(sound.start_us, job.rate) < key.toward.frame
    return begun, leaving, odd, every


def folded(found: Sequence[Clip], folds: int) -> Iterator[tuple[list[Clip], LipModel]]:
    """Yield clips with the model to fit them by: the one that ships, or one learned from all the others."""
    if not folds:
        yield list(found), shipped_model()
    for fold in range(folds):
        here = [clip for at, clip in enumerate(found) if at % folds == fold]
        yield here, learned_without(found, here)


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure tracks against filmed lips.")
    parser.add_argument("folder", type=Path, help="folder with manifest.jsonl and its recordings")
    parser.add_argument("--set", default="", help="a mouth set that ships; all of them if not given")
    parser.add_argument("--folds", type=int, default=0, help="learn the model without the clips measured")
    arguments = parser.parse_args()
    found = clips(arguments.folder)
    for path in sorted(shipped("mouthsets").glob(f"{arguments.set or '*'}.toml")):
        mouth_set = load_mouth_set(path)
        measured(found, mouth_set, arguments.folds)


def measured(found: Sequence[Clip], mouth_set: MouthSet, folds: int) -> None:
    ordered: list[Clip] = []
    jobs: list[Job] = []
    tracks: list[FrameTrack] = []
    asked: list[Floats] = []
    every = dict(zip([clip.id for clip in found], jobs_of(found, mouth_set, FittingSettings()), strict=True))
    for here, model in folded(found, folds):
        asked_room.shipped_model = lambda model=model: model  # type: ignore[assignment]
        ordered += here
        jobs += [every[clip.id] for clip in here]
        tracks += [fit(every[clip.id]) for clip in here]
        asked += [asked_room.asked_lips(job, turns_of(job)).rows for job in jobs[len(asked) :]]
    print(f"{mouth_set.name}, {len(found)} clips" + (f", model learned without them, {folds} folds" if folds else ""))
    with_lips(ordered, mouth_set, tracks)
    for at, side in enumerate(("opening", "width")):
        r = correlation(paired(ordered, [rows[:, at] for rows in asked], side))
        print(f"  lips asked for    r of {side} {r:.2f}")
    if mouth_set.material == "clay":
        begun, leaving, _, _ = in_betweens(jobs, tracks)
        print(f"  in-betweens       {begun} of {leaving} rounded or stressed vowels begin before theirs is left")
        on_twos = [replace(job, settings=job.settings.model_copy(update={"on": "twos"})) for job in jobs]
        _, _, odd, many = in_betweens(on_twos, [fit(job) for job in on_twos])
        print(f"  on twos           {odd} of {many} in-betweens begin on the second frame of a pair")
    asked_room.shipped_model = shipped_model
    print_tolerance(mouth_set)


if __name__ == "__main__":
    main()
