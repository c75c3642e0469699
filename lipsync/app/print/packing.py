"""Packets on disk: `packets/SCENE/SHOT.pdf` for each shot, and `packets/SCENE.pdf` for each scene planned as a whole.

In: a production and its plans. Out: files, whole or not at all. A packet holds a sheet, so it is a print: its
revision is recorded before the file is written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from lipsync.app.plan.planning import Plans
from lipsync.app.print.pictures import pictures_of
from lipsync.app.print.printing import Printed, revised_sheet
from lipsync.app.print.unchanged import InputsWatch
from lipsync.app.work.sparing import spared
from lipsync.errors import Problem
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_whole
from lipsync.floor.packet import ShotParts, charts_of, parts_of, scene_packet, shot_packet
from lipsync.floor.prints import FOLDER as PRINTS
from lipsync.floor.prints import prints_in
from lipsync.folders import is_there
from lipsync.message import Message, Where
from lipsync.paper.marks import Document
from lipsync.paper.pdf import draw
from lipsync.production.values import Production, Scene
from lipsync.report import Progress, Report, no_progress

FOLDER = "packets"


def write_packets(
    production: Production,
    plans: Plans,
    out: AnyPath | None = None,
    progress: Progress = no_progress,
    *,
    scenes: bool = True,
) -> Printed:
    """Write the packet of each shot planned, and of each scene; a shot that cannot be printed stops no other.

    A scene has no packet of its own if one of its shots cannot be printed.

    Args:
        production: the production.
        plans: the shots.
        out: the folder to write to; packets/ in the production if None.
        progress: told of each shot done.
        scenes: whether scenes get a packet too; False if only one shot is meant.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for(FOLDER, out)
    pictures, printed = pictures_of(production), prints_in(production)
    watch = InputsWatch(production, plans)
    paths: list[Path] = []
    problems: list[Problem] = []
    report = pictures.report
    done = 0
    for scene in production.scenes if scenes else {one.scene.id: one.scene for one in plans.shots}.values():
        planned = [one for one in plans.shots if one.scene.id == scene.id]
        if not planned and not any(shot in plans.left_out for shot in scene.shots):
            continue
        shots: list[ShotParts] = []
        charts: dict[str, Document] = {}
        for one in planned:
            progress("packing", done, len(plans.shots))
            done += 1
            with spared(problems, scene.where(one.shot)):
                with alone(production.folder / PRINTS):
                    watch.check(one)
                    parts = parts_of(revised_sheet(production, one, pictures.art, printed), one.missing)
                    watch.check_revision(one, parts.revised)
                    own = _charts(parts, charts)
                    content, path = draw(shot_packet(parts, own)), folder / scene.id / f"{one.shot.id}.pdf"
                    parts.revised.keep()
                    write_whole(path, content)
                paths.append(path)
                shots.append(parts)
        if scenes:
            with spared(problems, Where(str(scene.path), scene=scene.id)):
                whole = _write_scene(production, folder / f"{scene.id}.pdf", scene, shots, charts)
                paths += whole.paths
                report += whole.report
    progress("packing", len(plans.shots), len(plans.shots))
    return Printed(tuple(paths), Report(tuple(problems)) + report)


def _write_scene(
    production: Production, path: Path, scene: Scene, shots: Sequence[ShotParts], charts: Mapping[str, Document]
) -> Printed:
    """Write a scene's packet, unless a shot is missing or another program has printed newer sheets meanwhile."""
    done = {parts.revised.job.shot for parts in shots}
    if lacking := [shot.id for shot in scene.shots if shot.id not in done]:
        # A packet without this shot would look complete. The reason why the shot is missing was reported before.
        kind = "scene not whole, older there" if is_there(path) else "scene not whole"
        message = Message.of(kind, Where(str(path), scene=scene.id), shots=", ".join(lacking))
        return Printed((), Report(messages=(message,)))
    content = draw(scene_packet(scene.title, shots, charts))
    with alone(production.folder / PRINTS):
        if not all(parts.revised.is_newest() for parts in shots):
            problem = Problem.of("newer printed", Where(str(path), scene=scene.id))
            return Printed((), Report((problem,)))
        write_whole(path, content)
    return Printed((path,), Report())


def _charts(parts: ShotParts, known: dict[str, Document]) -> dict[str, Document]:
    """Return the charts of a shot's characters; `known` holds those that were made for other shots of the scene."""
    job = parts.revised.job
    if any(character.name not in known for character in job.characters):
        known.update({name: made for name, made in charts_of(job).items() if name not in known})
    return {character.name: known[character.name] for character in job.characters}
