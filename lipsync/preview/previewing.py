"""Writes the movies of a production's shots or scenes.

In: a production, its plans, and which forms are wanted. Out: the paths of the movies, `previews/SCENE/SHOT.mp4`, or
`previews/SCENE.mp4` for a whole scene. If single images are wanted too, each frame is written beside the movie as
`previews/SCENE/SHOT/NUMBER.png` (ISO/IEC 15948), with the frame's number on the sheet.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image as Pillow

from lipsync import timing
from lipsync.app.plan.planning import Plans, ShotPlan
from lipsync.app.print.pictures import pictures_of
from lipsync.app.print.printing import Printed
from lipsync.app.work.sparing import spared
from lipsync.errors import Problem
from lipsync.files import AnyPath, write_whole
from lipsync.preview.mixing import RATE_HZ, mixed
from lipsync.preview.movie import Form, Movie, check_installed, movie_bytes
from lipsync.preview.painting import HEIGHT_PX, WIDTH_PX, Painter
from lipsync.preview.reel import Reel, reel_of
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

# Least digits of the number in an image's name, so that names sort in the order of frames (common practice).
_DIGITS = 4


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be written: movies in these forms, and single images, made while the first form is."""

    forms: tuple[Form, ...] = ("mp4",)
    images: bool = False


def write_shot_movies(
    production: Production, plans: Plans, wanted: Wanted, out: AnyPath | None, progress: Progress = no_progress
) -> Printed:
    """Write a movie of each planned shot; a problem with one stops no other.

    Raises:
        InputError: if PyAV is not installed.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("previews", out)
    movies = [(folder / one.scene.id / one.shot.id, [one]) for one in plans.shots]
    return _written(production, movies, wanted, folder, progress)


def write_scene_movies(
    production: Production, plans: Plans, wanted: Wanted, out: AnyPath | None, progress: Progress = no_progress
) -> Printed:
    """Write a movie of each planned scene, its shots one after the other; a problem with one stops no other.

    Raises:
        InputError: if PyAV is not installed.
        OutputError: if a file cannot be written.
    """
    scenes: dict[str, list[ShotPlan]] = {}
    for one in plans.shots:
        scenes.setdefault(one.scene.id, []).append(one)
    folder = production.folder_for("previews", out)
    movies = [(folder / scene, shots) for scene, shots in scenes.items()]
    return _written(production, movies, wanted, folder, progress)


def _written(
    production: Production,
    movies: Sequence[tuple[Path, list[ShotPlan]]],
    wanted: Wanted,
    folder: Path,
    progress: Progress,
) -> Printed:
    check_installed()
    pictures = pictures_of(production)
    sets = {key: mouth_set.name for key, mouth_set in production.mouth_sets.items()}
    art = {(sets[key], code): picture for key, pieces in pictures.art.items() for code, picture in pieces.items()}
    paths: list[Path] = []
    problems: list[Problem] = []
    for name, shots in movies:
        with spared(problems, shots[0].scene.where(shots[0].shot)):
            reel = reel_of(production, shots)
            samples = timing.sample_of_us(timing.frame_start_us(len(reel.frames), reel.rate), RATE_HZ)
            sound = mixed(reel.clips, samples)
            places = _image_places(folder / shots[0].scene.id, reel) if wanted.images else ()
            for form in wanted.forms:
                path = name.with_name(f"{name.name}.{form}")
                painter = Painter(reel.title, art, production.file.sheet.words)
                painted: Iterator[Pillow.Image] = (painter.paint(frame) for frame in reel.frames)
                if form == wanted.forms[0] and places:
                    painted = _kept(painted, places)
                movie = Movie((WIDTH_PX, HEIGHT_PX), reel.rate, painted, sound)
                write_whole(path, movie_bytes(movie, form, _counting(f"filming {path.name}", reel, progress)))
                paths.append(path)
            paths += dict.fromkeys(place.parent for place in places)
    return Printed(tuple(paths), pictures.report + Report(tuple(problems)))


def _image_places(folder: Path, reel: Reel) -> tuple[Path, ...]:
    """Return the path of each frame's image; images of frames that the shot no longer has are removed."""
    digits = max(_DIGITS, *(len(str(frame.number)) for frame in reel.frames))
    places = tuple(folder / frame.shot / f"{frame.number:0{digits}}.png" for frame in reel.frames)
    for shot in {place.parent for place in places}:
        for old in shot.glob("*.png"):
            if old.stem.isdigit() and old not in places:
                old.unlink()
    return places


def _kept(pictures: Iterator[Pillow.Image], places: Sequence[Path]) -> Iterator[Pillow.Image]:
    """Yield pictures, and write each into its file before."""
    for picture, place in zip(pictures, places, strict=True):
        out = io.BytesIO()
        picture.save(out, "PNG")
        write_whole(place, out.getvalue())
        yield picture


def _counting(what: str, reel: Reel, progress: Progress) -> Callable[[int], None]:
    """Return a function that reports progress for each frame that is done."""
    return lambda frame: progress(what, frame + 1, len(reel.frames))
