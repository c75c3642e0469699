"""Labels for the drawers, boxes and backs of pieces.

In: a production, what is asked, and its tracks where boards or pressings decide what is labelled. Out: a file in the
production's `sheets/`, or in another folder, whole or not at all.

A square code holds two words with a blank between them, as stock.toml and orders name a piece: the character's id, or
on a box its puppet's, and the code.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from lipsync.app.order.laying_out import BoardsAsked, board_problems, boards_asked
from lipsync.app.order.ordering import order_pieces
from lipsync.app.plan.tracked import TrackedShots
from lipsync.app.print.pictures import Pictures, pictures_of
from lipsync.errors import InputError, Problem
from lipsync.files import AnyPath, write_whole
from lipsync.message import Message, Where
from lipsync.paper.label_page import LabelJob, LabelPages, label_pages
from lipsync.paper.label_sheets import LabelGrid, Use, no_such_size
from lipsync.paper.label_tile import LabelSaid
from lipsync.paper.pdf import draw
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

# Pictures on the largest labels are some 60 mm wide, 200 points to the inch (chosen).
_LABEL_POINTS = 480

# What of a label has no room, in words.
_PARTS = {
    "name": "the piece's name",
    "who": "whose it is",
    "where": "the scene",
    "picture": "its picture",
    "square": "a square code",
}


@dataclass(frozen=True, slots=True)
class LabelsAsked:
    """What is to be labelled, and on what.

    Attributes:
        use: what the labels are for.
        boards: whose pieces; with a puppet or a scene only those on these boards.
        size: the name of the sheet; the studio's for that use if None.
        first: the first free label of the first sheet, from 1.
        copies: how many of each; if None one of each, and of backs as many as pressings are needed.
        edges: whether the labels' edges are drawn.
    """

    use: Use
    boards: BoardsAsked = field(default_factory=BoardsAsked)
    size: str | None = None
    first: int = 1
    copies: int | None = None
    edges: bool = False

    @property
    def of_boards(self) -> bool:
        """Whether boards decide which pieces are labelled."""
        return self.use == "boxes" or self.boards.puppet is not None or self.boards.scene is not None

    @property
    def needs_tracks(self) -> bool:
        """Whether the tracks decide what is labelled."""
        return self.of_boards or (self.use == "backs" and self.copies is None)

    @property
    def named(self) -> str:
        """What the file is called."""
        return "-".join(("labels", self.use, *self.boards.named))


@dataclass(frozen=True, slots=True)
class LabelsMade:
    """The file that was written, how many labels and sheets are in it, and what is to be said."""

    path: Path
    labels: int
    sheets: int
    report: Report


def grid_asked(production: Production, asked: LabelsAsked) -> LabelGrid:
    """Return the sheet that labels are asked for on.

    Raises:
        InputError: naming all that is asked for and is not there.
    """
    file, settings = str(production.folder / "production.toml"), production.file.labels
    size = settings.size_for(asked.use, production.file.sheet.page) if asked.size is None else asked.size
    grid = settings.grids.get(size)
    problems = list(board_problems(production, asked.boards))
    if grid is None:
        problems.append(Problem(file, "[labels]", no_such_size(size, settings)))
    elif not 1 <= asked.first <= grid.count:
        problems.append(
            Problem.of("no such label", Where(file, "[labels]"), first=asked.first, size=size, count=grid.count)
        )
    if problems or grid is None:
        raise InputError(problems)
    return grid


def write_labels(
    production: Production,
    asked: LabelsAsked,
    tracked: TrackedShots | None = None,
    out: AnyPath | None = None,
    progress: Progress = no_progress,
) -> LabelsMade:
    """Write labels.

    Args:
        production: the production.
        asked: what is to be labelled.
        tracked: its shots, where `asked.needs_tracks`; where a scene is asked for, at least that scene's.
        out: where to write; the production's `sheets/` if None.
        progress: told how many pieces are counted, where labels are for pressings.

    Raises:
        InputError: if something that is asked for is not there, there is nothing to label, or it fits on no label.
        OutputError: if the file cannot be written.
    """
    grid = grid_asked(production, asked)
    pictures = pictures_of(production, points=_LABEL_POINTS)
    said = tuple(_Labelling(production, asked, pictures, tracked, progress).labels())
    if not said:
        raise InputError.of("nothing to label", Where(str(production.folder / "production.toml"), "[shooting]"))
    title, words = production.file.title, production.file.sheet.words
    made = label_pages(LabelJob(title, grid, said, asked.first, asked.edges, words))
    path = production.folder_for("sheets", out) / f"{asked.named}.pdf"
    write_whole(path, draw(made.document))
    messages = tuple(_messages(production, grid, made))
    return LabelsMade(path, len(said), len(made.document.pages), pictures.report + Report(messages=messages))


def _messages(production: Production, grid: LabelGrid, made: LabelPages) -> Iterator[Message]:
    where = Where(str(production.folder / "production.toml"), "[labels]")
    for part, codes in made.left_out.items():
        yield Message.of("no room on the label", where, size=grid.name, part=_PARTS[part], codes=", ".join(codes))


@dataclass(frozen=True, slots=True)
class _Labelling:
    """What each label says."""

    production: Production
    asked: LabelsAsked
    pictures: Pictures
    tracked: TrackedShots | None
    progress: Progress

    def labels(self) -> Iterator[LabelSaid]:
        """Yield each label, as often as it is wanted."""
        if self.asked.of_boards:
            yield from self._of_boards()
            return
        if self.asked.needs_tracks:
            yield from self._of_pressings()
            return
        for who in self.production.file.characters:
            if self.asked.boards.character in (None, who):
                for code in (*self.production.mouth_sets[who].by_code, *sorted(self.production.part_codes[who])):
                    yield from (self._said(who, code, who),) * (self.asked.copies or 1)

    def _of_pressings(self) -> Iterator[LabelSaid]:
        """Yield a label for each pressing that is needed; where not all heads take it, it says whose do."""
        assert self.tracked is not None
        made, _ = order_pieces(self.production, self.tracked, look=True, progress=self.progress)
        groups = Counter(who for who, _ in made.heads)
        for row in made.order.rows:
            if self.asked.boards.character in (None, row.character):
                whose = ", ".join(row.heads) if groups[row.character] > 1 else row.character
                yield from (self._said(row.character, row.code, whose),) * row.pressings

    def _of_boards(self) -> Iterator[LabelSaid]:
        """Yield a label for each piece on the boards meant; without a scene, one for all boards of a puppet."""
        assert self.tracked is not None
        counts: dict[tuple[str, str, str], int] = {}
        boards, _, _ = boards_asked(self.production, self.tracked, self.asked.boards)
        for board in boards:
            whose = board.character if self.asked.use == "drawers" else board.puppet
            for piece in board.pieces:
                key = (board.character, piece.code, whose)
                counts[key] = max(counts.get(key, 0), piece.count)
        for (who, code, whose), count in counts.items():
            times = self.asked.copies or (count if self.asked.use == "backs" else 1)
            yield from (self._said(who, code, whose),) * times

    def _said(self, who: str, code: str, whose: str) -> LabelSaid:
        name = self.production.file.characters[who].name
        piece = self.production.mouth_sets[who].by_code.get(code)
        title = next((one.title for one in self.production.scenes if one.id == self.asked.boards.scene), "")
        on_back = self.asked.use == "backs"
        return LabelSaid(
            code,
            piece.name if piece else self.production.part_codes[who].get(code, ""),
            name if whose == who else f"{name}\n{whose}",
            "" if on_back else title,
            f"{who if on_back else whose} {code}",
            piece,
            self.pictures.art[who],
        )
