"""The movies of a production's shots or scenes, into files.

In: a production, its plans, and what is meant. Out: the paths of the movies, `previews/SCENE/SHOT.mp4`, or
`previews/SCENE.mp4` for a whole scene.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lipsync import timing
from lipsync.app.planning import Plans, ShotPlan
from lipsync.app.printing import art_of_all
from lipsync.files import AnyPath, write_whole
from lipsync.preview.mixing import RATE_HZ, mixed
from lipsync.preview.movie import Form, Movie, movie_bytes
from lipsync.preview.painting import HEIGHT_PX, WIDTH_PX, Painter
from lipsync.preview.reel import reel_of
from lipsync.production.values import Production
from lipsync.report import Progress, no_progress


def write_shot_movies(
    production: Production, plans: Plans, forms: Sequence[Form], out: AnyPath | None, progress: Progress = no_progress
) -> tuple[Path, ...]:
    """Write a movie of each shot that is planned, and return the files' paths.

    Raises:
        LineError: if a recording cannot be read.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("previews", out)
    movies = [(folder / one.scene.id / one.shot.id, [one]) for one in plans.shots]
    return _written(production, movies, forms, progress)


def write_scene_movies(
    production: Production, plans: Plans, forms: Sequence[Form], out: AnyPath | None, progress: Progress = no_progress
) -> tuple[Path, ...]:
    """Write a movie of each scene that is planned, its shots one after the other, and return the files' paths.

    Raises:
        LineError: if a recording cannot be read.
        OutputError: if a file cannot be written.
    """
    scenes: dict[str, list[ShotPlan]] = {}
    for one in plans.shots:
        scenes.setdefault(one.scene.id, []).append(one)
    folder = production.folder_for("previews", out)
    return _written(production, [(folder / scene, shots) for scene, shots in scenes.items()], forms, progress)


def _written(
    production: Production, movies: Sequence[tuple[Path, list[ShotPlan]]], forms: Sequence[Form], progress: Progress
) -> tuple[Path, ...]:
    own = art_of_all(production)
    sets = {key: mouth_set.name for key, mouth_set in production.mouth_sets.items()}
    art = {(sets[key], code): picture for key, pieces in own.items() for code, picture in pieces.items()}
    paths: list[Path] = []
    for name, shots in movies:
        reel = reel_of(production, shots)
        samples = timing.sample_of_us(timing.frame_start_us(len(reel.frames), reel.rate), RATE_HZ)
        sound = mixed(reel.clips, samples)
        for form in forms:
            painter = Painter(reel.title, art)
            pictures = (painter.paint(frame) for frame in reel.frames)
            what = f"filming {name.name}.{form}"

            def done(frame: int, what: str = what, total: int = len(reel.frames)) -> None:
                progress(what, frame + 1, total)

            path = name.with_name(f"{name.name}.{form}")
            write_whole(path, movie_bytes(Movie((WIDTH_PX, HEIGHT_PX), reel.rate, pictures, sound), form, done))
            paths.append(path)
    return tuple(paths)
