"""What making each of a character's reduced sets would take, by the studio's own figures.

In: a production, the character, the shots that its sets were fitted on, and the sets. Out: for each set the pressings
that the shooting plan would take if all were still to be made (workshop/pressings.py; without a plan each puppet
shoots every scene at once, as in an order), and what they take to make. Nothing where the studio gives no figures.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.app.order.ordering import plan_of
from lipsync.production.values import Production
from lipsync.track import PieceTrack
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.making import MakingFigures
from lipsync.workshop.making_cost import Cost, making_cost
from lipsync.workshop.order_rows import Reckoned
from lipsync.workshop.piece_selection import ReducedSet
from lipsync.workshop.pressings import order
from lipsync.workshop.shooting import heads_of


def sets_made(
    production: Production, character: str, shots: Sequence[tuple[str, str]], sets: Sequence[ReducedSet]
) -> tuple[Cost, ...]:
    """Return what each set takes to make, in their order; none if no figure is given for any of its pieces.

    Args:
        production: the production.
        character: the character's id.
        shots: scene and shot of each track that a set has, in the order of `ReducedSet.worn`.
        sets: the sets.
    """
    file, mouth_set = production.file, production.mouth_sets[character]
    given = (file.making.figures_of(character, code, mouth_set.material) for code in mouth_set.by_code)
    if all(one == MakingFigures() for one in given):
        return ()
    one = file.characters[character]
    reckoned = Reckoned({character: heads_of(character, one.puppets, one.interchangeable)})
    found: list[Cost] = []
    for chosen in sets:
        tracks = [
            ShotTrack(scene, shot, PieceTrack(character, pieces))
            for (scene, shot), pieces in zip(shots, chosen.worn, strict=True)
        ]
        plan = plan_of(production, tracks)
        own = tuple(shoot for shoot in plan.shoot if shoot.character == character)
        plan = plan.model_copy(update={"shoot": own})
        rows = order(plan, tracks, {character: mouth_set}, reckoned).rows
        cost = making_cost(file.making, rows, planned=bool(file.shooting.shoot))
        found.append(Cost(sum(row.to_make for row in rows)) if cost is None else cost.total)
    return tuple(found)
