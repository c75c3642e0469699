"""The movies of a production's shots or scenes, into files.

In: a production, its plans, and what is meant. Out: the paths of the movies, `previews/SCENE/SHOT.mp4`, or
`previews/SCENE.mp4` for a whole scene.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from lipsync import timing
from lipsync.app.pictures import pictures_of
from lipsync.app.planning import Plans, ShotPlan
from lipsync.app.printing import Printed
from lipsync.app.sparing import spared
from lipsync.errors import Problem
from lipsync.files import AnyPath, write_whole
from lipsync.preview.mixing import RATE_HZ, mixed
from lipsync.preview.movie import Form, Movie, check_installed, movie_bytes
from lipsync.preview.painting import HEIGHT_PX, WIDTH_PX, Painter
from lipsync.preview.reel import Reel, reel_of
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress


def write_shot_movies(
    production: Production, plans: Plans, forms: Sequence[Form], out: AnyPath | None, progress: Progress = no_progress
) -> Printed:
    """Write a movie of each shot that is planned; what goes wrong with one holds up no other.

    Raises:
        InputError: if PyAV is not installed.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("previews", out)
    movies = [(folder / one.scene.id / one.shot.id, [one]) for one in plans.shots]
    return _written(production, movies, forms, progress)


def write_scene_movies(
    production: Production, plans: Plans, forms: Sequence[Form], out: AnyPath | None, progress: Progress = no_progress
) -> Printed:
    """Write a movie of each scene that is planned, its shots one after the other; one that goes wrong holds up none.

    Raises:
        InputError: if PyAV is not installed.
        OutputError: if a file cannot be written.
    """
    scenes: dict[str, list[ShotPlan]] = {}
    for one in plans.shots:
        scenes.setdefault(one.scene.id, []).append(one)
    folder = production.folder_for("previews", out)
    return _written(production, [(folder / scene, shots) for scene, shots in scenes.items()], forms, progress)


def _written(
    production: Production, movies: Sequence[tuple[Path, list[ShotPlan]]], forms: Sequence[Form], progress: Progress
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
            for form in forms:
                path = name.with_name(f"{name.name}.{form}")
                pictures_of_reel = map(Painter(reel.title, art).paint, reel.frames)
                movie = Movie((WIDTH_PX, HEIGHT_PX), reel.rate, pictures_of_reel, sound)
                write_whole(path, movie_bytes(movie, form, _counting(f"filming {path.name}", reel, progress)))
                paths.append(path)
    return Printed(tuple(paths), pictures.report + Report(tuple(problems)))


def _counting(what: str, reel: Reel, progress: Progress) -> Callable[[int], None]:
    """Return what is told of each frame that is done."""
    return lambda frame: progress(what, frame + 1, len(reel.frames))
