"""Random plans against the search of searched.py: never a pressing short, never one too many.

python -m tests.workshop.random_plans 5000 [SEED]
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from math import comb, prod

from lipsync.workshop.board_uses import BoardUse, Held, Rules
from lipsync.workshop.handing_on import Fitted, supply
from tests.workshop.searched import Row, There, may_serve_both, most_of_fewest

# The most rows, fittings and ways to share them out that are searched in well under a second (measured).
MOST_ROWS, MOST_FITTINGS, MOST_WAYS = 6, 10, 12


def searchable_plan(seed: random.Random) -> tuple[list[Row], list[tuple[tuple[int, ...], int]], Rules, list[There]]:
    """Return a random plan of which every way can be searched."""
    while True:
        plan = rows, fitted, _, there = random_plan(seed)
        total = sum(times for _, times in fitted)
        ways = prod(comb(times + len(own) - 1, len(own) - 1) for own, times in fitted)
        if ways <= MOST_WAYS and total <= MOST_FITTINGS and len(rows) + len(there) <= MOST_ROWS + 1:
            return plan


def random_plan(seed: random.Random) -> tuple[list[Row], list[tuple[tuple[int, ...], int]], Rules, list[There]]:
    """Return rows of one to four puppets, fittings in them, what is reckoned with, and what is there."""
    rows: list[Row] = []
    fitted: list[tuple[tuple[int, ...], int]] = []
    for puppet in range(1, seed.randint(1, 4) + 1):
        day, own = seed.randint(1, 4), []
        for _ in range(seed.randint(1, 3)):
            if len(rows) == MOST_ROWS:
                break
            last = day + seed.randint(0, 4)
            own.append(len(rows))
            rows.append(Row(f"heron-{puppet}", day, last))
            # The next begins later, on the last day, or, of other shots, within.
            day = seed.choice([last + 1, last + 1, last + seed.randint(1, 4), last, seed.randint(day, last)])
        if len(own) > 1 and seed.random() < 0.5:  # a shot with a break
            broken = tuple(own[: seed.randint(2, len(own))])
            fitted.append((broken, seed.randint(1, 5)))
        fitted += [((at,), seed.randint(0, 4)) for at in own if seed.random() < 0.75]
    lasts = seed.choice([None, 1, 2, 3, 3, 4, 4, 5, 7])
    most = lasts or 4
    held = tuple(
        Held(1, seed.randint(0, most - 1), seed.choice(["", "heron-1", "heron-2"]))
        for _ in range(seed.choice([0, 0, 1, 2, 3]))
    )
    rules = Rules(lasts, seed.choice([0, 0, 1, 2]), seed.choice([0, 0, 1, 2]), held, 0)
    return rows, fitted, rules, [There(one.fitted, one.puppet, 0) for one in held]


def differs(seed: random.Random) -> tuple[str, object]:
    """Return how the program's answer differs from the search's, and the plan."""
    rows, fitted, rules, there = searchable_plan(seed)
    uses = [BoardUse(row.puppet, row.first, row.last) for row in rows]
    found = supply(uses, [Fitted(own, times) for own, times in fitted], rules)
    made, old = most_of_fewest(rows, fitted, rules.lasts, rules.change_over, there, rules.spares)
    told = rows, fitted, rules, found, (made, old)
    if not found.exact:
        return "not exact", told
    if found.to_make != made:
        return ("one short" if found.to_make < made else "too many"), told
    serve = old + made - max(0, rules.spares - (len(there) - old))
    if found.serving != serve:
        return "kept for nothing" if found.serving > serve else "given up too soon", told
    for lane in found.lanes:
        served = [rows[use] for use, _ in lane.stays]
        if not all(may_serve_both(a, b, rules.change_over) for a in served for b in served):
            return "in two places", told
        worn = sum(times for _, times in lane.stays) + (rules.held[lane.held].fitted if lane.held is not None else 0)
        if rules.lasts is not None and worn > rules.lasts:
            return "worn too often", told
    if {use for lane in found.lanes for use, _ in lane.stays} != set(range(len(rows))):
        return "a board without it", told
    return "agrees", told


def main(plans: int, seed: int = 20) -> None:
    """Try so many plans, and print how many agree."""
    chance = random.Random(seed)
    counts: Counter[str] = Counter()
    for place in range(1, plans + 1):
        verdict, told = differs(chance)
        counts[verdict] += 1
        if verdict != "agrees":
            sys.stdout.write(f"{verdict}: {told}\n")
        if place % 100 == 0 or place == plans:
            sys.stdout.write(f"{place} {dict(counts)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
