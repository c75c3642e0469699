"""The board of each puppet for each scene, to lay its pieces out on.

In: a production and its tracks. Out: a page or more for each board, in the production's `sheets/`, or in another
folder, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.app.order.ordering import plan_messages, plan_of, still_to_shoot
from lipsync.app.plan.part_tracks import shot_tracks
from lipsync.app.plan.tracked import TrackedShots
from lipsync.app.print.pictures import pictures_of
from lipsync.errors import InputError, Problem
from lipsync.files import AnyPath, write_whole
from lipsync.message import Where, listed
from lipsync.paper.board_page import BoardJob, BoardsJob, board_pages_of
from lipsync.paper.pdf import draw
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.workshop.pressings import unplanned
from lipsync.workshop.scene_boards import SceneBoard, scene_boards
from lipsync.workshop.shooting import character_of

# Pictures at size are seldom wider than a puppet's head, some 60 mm, 200 points to the inch (chosen).
_BOARD_POINTS = 480


@dataclass(frozen=True, slots=True)
class BoardsAsked:
    """The boards that are asked for: by character, puppet and scene; a field that is None allows all."""

    character: str | None = None
    puppet: str | None = None
    scene: str | None = None

    @property
    def named(self) -> tuple[str, ...]:
        """What of it stands in the name of a file."""
        return tuple(part for part in (self.puppet or self.character, self.scene) if part)

    def takes(self, board: SceneBoard) -> bool:
        """Return whether a board is asked for."""
        return (
            self.character in (None, board.character)
            and self.puppet in (None, board.puppet)
            and self.scene in (None, board.scene)
        )


@dataclass(frozen=True, slots=True)
class BoardsMade:
    """The file that was written, its boards, and what is to be said."""

    path: Path
    boards: tuple[SceneBoard, ...]
    report: Report

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each piece on each board."""
        return [
            {
                "puppet": board.puppet,
                "scene": board.scene,
                "code": piece.code,
                "count": piece.count,
                "times_fitted": piece.times_fitted,
            }
            for board in self.boards
            for piece in board.pieces
        ]


def board_problems(production: Production, asked: BoardsAsked) -> Iterator[Problem]:
    """Yield who or which scene is asked for and is not there."""
    character, puppet, scene = asked.character, asked.puppet, asked.scene
    file, cast = str(production.folder / "production.toml"), production.file.characters
    if character is not None and character not in cast:
        yield Problem.of("no such character", Where(file, "[characters]"), character=character, known=", ".join(cast))
    known = [f"{key}-{which}" for key, one in cast.items() for which in range(1, one.puppets + 1)]
    if puppet is not None and puppet not in known:
        yield Problem.of("no such puppet", Where(file, "[characters]"), puppet=puppet, known=", ".join(known))
    elif puppet is not None and character is not None and character_of(puppet) != character:
        yield Problem.of("puppet of another", Where(file, "[characters]"), puppet=puppet, character=character)
    scenes = [one.id for one in production.scenes]
    if scene is not None and scene not in scenes:
        where = Where(str(production.folder / "scenes"))
        yield Problem.of("no such scene", where, scene=scene, known=listed(scenes, scene))


def boards_asked(
    production: Production, tracked: TrackedShots, asked: BoardsAsked
) -> tuple[tuple[SceneBoard, ...], bool, Report]:
    """Return the boards that are asked for, whether they follow a plan of the studio, and a report."""
    tracks = [track for one in tracked.shots for track in shot_tracks(production, one, one.filmed)]
    plan = plan_of(production, tracks)
    boards = scene_boards(plan, tracks, production.mouth_sets) if plan.shoot else ()
    said = plan_messages(production, plan, still_to_shoot(tracked, unplanned(plan, tracks)))
    messages = tuple(one for one in said if asked.scene is None or one.scene in ("", asked.scene))
    planned = bool(production.file.shooting.shoot)
    return tuple(board for board in boards if asked.takes(board)), planned, Report(messages=messages)


def write_boards(
    production: Production,
    tracked: TrackedShots,
    asked: BoardsAsked,
    page: str | None = None,
    out: AnyPath | None = None,
) -> BoardsMade:
    """Write the boards of puppets for scenes.

    Args:
        production: the production.
        tracked: its shots; where a scene is asked for, at least that scene's.
        asked: whose boards.
        page: the size of paper; that of the production's sheets if None.
        out: where to write; the production's `sheets/` if None.

    Raises:
        InputError: if what is asked for is not there, there is no board, or a mouth is larger than the page.
        OutputError: if the file cannot be written.
    """
    if problems := tuple(board_problems(production, asked)):
        raise InputError(problems)
    boards, planned, said = boards_asked(production, tracked, asked)
    if not boards:
        raise InputError.of("no board", Where(str(production.folder / "production.toml"), "[shooting]"))
    file, pictures = production.file, pictures_of(production, points=_BOARD_POINTS)
    titles = {one.id: one.title for one in production.scenes}
    jobs = tuple(
        BoardJob(
            board,
            file.characters[board.character].name,
            titles.get(board.scene, board.scene),
            production.mouth_sets[board.character],
            file.characters[board.character].mouth_mm,
            pictures.art[board.character],
            planned,
            production.part_codes[board.character],
        )
        for board in boards
    )
    alerts = tracked.alerts(production)
    job = BoardsJob(file.title, jobs, file.dated, page or file.sheet.page, alerts, file.sheet.words)
    path = production.folder_for("sheets", out) / f"{'-'.join(('boards', *asked.named))}.pdf"
    write_whole(path, draw(board_pages_of(job)))
    return BoardsMade(path, boards, pictures.report + said)
