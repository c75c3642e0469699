"""Sheets and counts of a production, whose answers are kept while nothing changes (renew/standing_answer.py).

In: a production's folder. Out: a `StandingAnswer`. The files that people write are looked at before they are read, so
that what changes meanwhile is never taken for read.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lipsync.app.hear.heard import Only, ToMeasure
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.order.counts import count_pieces, countable, plan_counted, write_count
from lipsync.app.print.printing import write_sheets
from lipsync.app.records import count_records
from lipsync.app.renew.renewing import Renewing
from lipsync.app.renew.standing_answer import StandingAnswer, keep_answer, now_ns
from lipsync.app.work.workers import Workers
from lipsync.production.loading import open_production
from lipsync.report import Progress


@dataclass(frozen=True, slots=True)
class SheetsAsked:
    """The sheets that are asked for.

    Attributes:
        scene: only this scene; all if None.
        shot: only this shot, as `Production.shots` takes it; all if None.
        out: the folder to write to; `sheets/` in the production if None.
        changed: whether only the pages that differ from the revision before.
    """

    scene: str | None = None
    shot: str | None = None
    out: Path | None = None
    changed: bool = False


def sheets_answer(folder: Path, asked: SheetsAsked, progress: Progress, workers: Workers) -> StandingAnswer:
    """Print sheets; the answer is kept where all are asked for, and none fails.

    Raises:
        InputError: for faults in the production's files, or if there is no such scene or shot.
        OutputError: if a file cannot be written.
    """
    began_ns, index = now_ns(), ProductionIndex(folder)
    index.look_at(folder)
    production, only = open_production(folder), Only(asked.scene, asked.shot)
    with index:
        renewing = Renewing(production, index, progress, workers)
        if asked.changed:
            _, plans = renewing.heard_and_planned(only)
            made = write_sheets(production, plans, asked.out, progress, changed=True, workers=workers)
            return StandingAnswer(made.paths, plans.report + made.report)
        answer = renewing.sheets(only, asked.out)
        if only == Only() and not answer.report.problems:
            written = renewing.paths(only, asked.out).values()
            keep_answer(folder, "sheet", f"{folder} {asked.out}", answer, renewing.inputs(written, began_ns))
    return answer


def count_answer(
    folder: Path, scene: str | None, out: Path | None, progress: Progress, workers: Workers
) -> StandingAnswer:
    """Count pieces and write the count; the answer is kept where all is counted, and nothing fails.

    Raises:
        InputError: for faults in the production's files, or if there is no such scene.
        OutputError: if a file cannot be written.
    """
    began_ns, index = now_ns(), ProductionIndex(folder)
    index.look_at(folder)
    production = open_production(folder)
    words, by_plan = production.file.sheet.words, plan_counted(production)
    with index:
        renewing = Renewing(production, index, progress, workers, ToMeasure.LEVELS)
        tracked = countable(production, renewing.tracked(Only(scene)))
        counts = count_pieces(production, tracked)
        made = write_count(production, tracked, counts, out, scene=scene)
        how = words.count_planned if by_plan else words.count_unplanned
        record = {"by_plan": by_plan, "pieces": count_records(counts), "how": how}
        answer = StandingAnswer(made.paths, tracked.report + made.report, record)
        if not scene and not answer.report.problems:
            for path, code in made.codes.items():
                index.note(path, code)
            keep_answer(folder, "count", f"{folder} {out}", answer, renewing.inputs(made.paths, began_ns))
    return answer
