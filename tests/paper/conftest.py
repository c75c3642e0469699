"""Shots made by a seeded hand, and pages read back by another PDF library than the one that drew them."""

import ctypes
import datetime
import random
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pypdfium2
import pytest
from pypdfium2 import raw

from lipsync import timing
from lipsync.fit.keys import Toward
from lipsync.fit.mouthset import load_mouth_set
from lipsync.paper.page_forms import FORMS, ORIENTATIONS, PAPER
from lipsync.paper.pdf import draw
from lipsync.paper.sheet_job import KeepAlive, SheetCharacter, SheetJob
from lipsync.paper.sheet_settings import COLUMNS, SheetSettings
from lipsync.phonemes import PHONEMES, VOWELS
from lipsync.track import FrameTrack, Lost, Sound

MM = 25.4 / 72
MOUTH_SETS = [load_mouth_set(path) for path in sorted((Path(__file__).parents[2] / "mouthsets").glob("*.toml"))]
NAMES = ("Zoë Wade", "Mr Clamp", "Ænne Šťovíková", "Old Plumbeck of the Outer Pier")
WORDS = ("tide", "lamp", "oysters", "a", "Skerrivane", "Šťovíková", "forty-two", "undeliverable", "I'm", "post")
RATES = [Fraction(24), Fraction(25), Fraction(30), Fraction(24000, 1001), Fraction(30000, 1001), Fraction(12)]


@dataclass(frozen=True)
class Printed:
    """A text as it stands on paper: its box in mm from the page's top left, its baseline, size in points, weight."""

    text: str
    left: float
    top: float
    right: float
    bottom: float
    baseline: float
    size: float
    bold: bool


def texts_of(page):
    """The texts of a page, in the order in which they were drawn."""
    height = page.get_height() * MM
    letters = page.get_textpage()
    found = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        length = raw.FPDFTextObj_GetText(item, letters, None, 0)
        buffer = ctypes.create_string_buffer(length)
        raw.FPDFTextObj_GetText(item, letters, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), length)
        size, name = ctypes.c_float(), ctypes.create_string_buffer(100)
        raw.FPDFTextObj_GetFontSize(item, size)
        raw.FPDFFont_GetBaseFontName(raw.FPDFTextObj_GetFont(item), name, 100)
        left, bottom, right, top = (n * MM for n in item.get_bounds())
        text = buffer.raw[: length - 2].decode("utf-16-le").strip()
        baseline = height - item.get_matrix().f * MM
        box = (left, height - top, right, height - bottom)
        found.append(Printed(text, *box, baseline, size.value, b"Bold" in name.value))
    return found


@pytest.fixture(scope="session")
def read():
    """A function that reads a document back: for each page its width and height in mm, and its texts."""

    def read_back(document):
        pdf = pypdfium2.PdfDocument(draw(document))
        return [(page.get_width() * MM, page.get_height() * MM, texts_of(page)) for page in pdf]

    return read_back


def sounds_said(rng, line, begins_us, ends_us):
    """Words, cues and pauses one after the other, from a time until past another."""
    found, at, part = [], begins_us, 0
    while at < ends_us:
        text = rng.choice(WORDS) if rng.random() > 0.1 else rng.choice(("[breath]", "[laugh]"))
        doubtful = rng.random() < 0.15
        for symbol in [text] if text.startswith("[") else rng.choices(list(PHONEMES), k=rng.randint(1, 6)):
            lasts = rng.randint(30_000, 200_000)
            stress = rng.choice((0, 1, 2)) if symbol in VOWELS else None
            level = rng.uniform(-50, -5)
            found.append(Sound(line, part, symbol, text, at, at + lasts, stress, level, doubtful))
            at += lasts
        part += 1
        if rng.random() < 0.3:
            at += rng.randint(20_000, 900_000)
    return found


def track_worn(rng, name, mouth_set, frames, sounds, rate):
    """Any track at all: runs of codes and of frames off camera, and some sounds that are lost."""
    pieces = []
    while len(pieces) < frames:
        code = None if rng.random() < 0.06 else rng.choice(list(mouth_set.by_code))
        pieces += [code] * rng.choice((1, 1, 2, 3, 5, 30))
    pieces = tuple(pieces[:frames])
    served = [None if code is None or not sounds else rng.choice(sounds) for code in pieces]
    heard = [s for s in sounds if 0 <= timing.frame_at(s.start_us, rate) < frames and not s.is_cue]
    lost = tuple(Lost(s, "the frames beside it wear others") for s in heard if rng.random() < 0.03)
    return FrameTrack(name, pieces, tuple(served), lost)


def character_made(rng, index, frames, rate):
    mouth_set = MOUTH_SETS[index % len(MOUTH_SETS)]
    ends_us = timing.frame_start_us(frames, rate)
    sounds = tuple(sounds_said(rng, f"{index}-a", rng.randint(-300_000, ends_us // 2), ends_us))
    track = track_worn(rng, NAMES[index], mouth_set, frames, sounds, rate)
    keys = [f for f in track.fittings if f.hold > 2]
    modelling = [
        Toward(f.frame + 1, rng.choice(list(mouth_set.by_code)), f.hold - 1) for f in keys if rng.random() < 0.3
    ]
    modelling += [KeepAlive(f.frame + 2) for f in keys if rng.random() < 0.2]
    level = tuple(rng.choice((None, rng.uniform(-60, 0))) for _ in range(frames)) if rng.random() < 0.8 else ()
    beats = tuple(sorted(rng.sample(range(frames), min(frames, rng.randint(0, 3)))))
    return SheetCharacter(NAMES[index], mouth_set, track, sounds, level, tuple(modelling), beats)


@pytest.fixture(scope="session")
def make_job():
    """A function that makes a shot from a seed; settings and the number of frames and of characters may be given."""

    def made(seed, *, frames=None, characters=None, settings=None, rate=None):
        rng = random.Random(seed)
        frames = frames or rng.choice((1, 5, 24, 47, 48, 49, 96, 120))
        rate = rate or rng.choice(RATES)
        count = rng.randint(0, 4) if characters is None else characters
        drop = rate == Fraction(30000, 1001) and rng.random() < 0.5
        changed = frozenset(rng.sample(range(frames), min(frames, rng.choice((0, 0, 4)))))
        return SheetJob(
            production=rng.choice(("Low Tide Post", "Ænne Šťovíková at the Post Office " * 4)),
            scene="The post office",
            shot=rng.choice(("030", "harbour-wall.long-shot-with-both-of-them")),
            rate=rate,
            frames=frames,
            characters=tuple(character_made(rng, index, frames, rate) for index in range(count)),
            first_frame=rng.choice((0, 1, 1001, 1_000_000)),
            start_frame=rng.randint(0, 2_000_000),
            drop=drop,
            film=rng.choice(("35mm", "16mm")),
            dated=rng.choice((None, datetime.date(2026, 11, 24))),
            settings=settings or settings_made(rng),
            revision=rng.choice(("", "B")),
            changed=changed,
            filmed=frozenset(range(rng.randint(0, frames))),
        )

    return made


def settings_made(rng):
    columns = [name for name in COLUMNS if name in ("frame", "character") or rng.random() < 0.6]
    rng.shuffle(columns)
    return SheetSettings(
        page=rng.choice(list(PAPER)),
        orientation=rng.choice(ORIENTATIONS),
        form=rng.choice(FORMS),
        rule_every=rng.choice(("second", 8, 16, 24)),
        columns=tuple(columns),
    )


@pytest.fixture(scope="session")
def with_sounds():
    """A function that gives a job's first character other sounds."""

    def changed(job, sounds):
        first = replace(job.characters[0], sounds=tuple(sounds), track=replace(job.characters[0].track, lost=()))
        return replace(job, characters=(first, *job.characters[1:]))

    return changed
