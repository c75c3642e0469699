"""The preview: a moving picture of the mouths with the sound."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from lipsync.app.commands.command_line import (
    Answered,
    AsJson,
    Folder,
    SceneOnly,
    ShotOnly,
    names,
    out_option,
    working,
)

Out = Annotated[Path | None, out_option("previews")]


def preview(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    form: Annotated[
        Literal["mp4", "webm", "both"], typer.Option("--form", help="MP4, at the production's exact rate, or WebM.")
    ] = "mp4",
    images: Annotated[
        bool, typer.Option("--images", help="Each frame too, as PNG under its number, in a folder for each shot.")
    ] = False,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Make a movie of a shot, or of a whole scene: mouths, sound, frame numbers, words and pieces.

    With neither --scene nor --shot each scene becomes a movie. Needs PyAV: pip install "av>=16,<19".
    """
    from lipsync.app.answers import PreviewAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.renew.renewing import hear_and_plan
    from lipsync.preview.previewing import Wanted, write_scene_movies, write_shot_movies
    from lipsync.production.loading import open_production

    production = open_production(folder)
    write = write_scene_movies if shot is None else write_shot_movies
    wanted = Wanted(("mp4", "webm") if form == "both" else (form,), images)
    with working() as (progress, workers):
        plans = hear_and_plan(production, Only(scene, shot), progress, workers)
        made = write(production, plans, wanted, out, progress)
    answered = Answered(PreviewAnswer, {"files": names(made.paths)}, plans.report + made.report)
    answered.give_rows(paths=made.paths, as_json=as_json)


COMMANDS = (preview,)
