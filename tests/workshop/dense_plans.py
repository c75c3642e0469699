"""How long the fewest pressings of a piece of a dense plan take to find, and what is found soon.

python -m tests.workshop.dense_plans 20
python -m tests.workshop.dense_plans 200 random

Plans of two to four puppets, each with three to six rows and days off between them, in which most shots go on over
two or three rows; a piece is put on up to 60 times in each and lasts for 40. With `random`, plans of random_plans.py
with a break at least, also those of which a search would not come to an end.
"""

from __future__ import annotations

import random
import sys
import time

from lipsync.workshop.board_uses import BoardUse, Rules
from lipsync.workshop.handing_on import Fitted, supply
from tests.workshop.random_plans import random_plan


def dense_plan(seed: int) -> tuple[list[BoardUse], list[Fitted], Rules]:
    """Return the rows of a plan, the fittings in them, and what is reckoned with."""
    chance = random.Random(seed)
    uses: list[BoardUse] = []
    fitted: list[Fitted] = []
    for puppet in range(1, chance.randint(2, 4) + 1):
        day, own = chance.randint(1, 5), list[int]()
        for _ in range(chance.randint(3, 6)):
            last = day + chance.randint(0, 6)
            own.append(len(uses))
            uses.append(BoardUse(f"heron-{puppet}", day, last))
            day = last + chance.randint(1, 6)
        at = 0
        while at < len(own):
            rows = chance.choice([1, 1, 2, 2, 3])
            fitted.append(Fitted(tuple(own[at : at + rows]), chance.randint(0, 60)))
            at += rows
    return uses, fitted, Rules(40, chance.choice([0, 0, 1]), 1)


def broken_plan(seed: int) -> tuple[list[BoardUse], list[Fitted], Rules]:
    """Return a random plan in which a shot goes on after a break."""
    chance = random.Random(seed)
    while True:
        rows, fitted, rules, _ = random_plan(chance)
        if any(len(own) > 1 for own, _ in fitted):
            uses = [BoardUse(row.puppet, row.first, row.last) for row in rows]
            return uses, [Fitted(own, times) for own, times in fitted], rules


def main(plans: int, kind: str = "dense") -> None:
    """Time so many plans, in seconds of processor time."""
    make = {"dense": dense_plan, "random": broken_plan}[kind]
    taken: list[float] = []
    exact = 0
    for seed in range(plans):
        uses, fitted, rules = make(seed)
        began = time.process_time()
        found = supply(uses, fitted, rules)
        taken.append(time.process_time() - began)
        soon = supply(uses, fitted, rules, fewest=False)
        exact += soon.exact
        told = f"{seed}: {len(uses)} rows, {sum(len(one.uses) > 1 for one in fitted)} with breaks, "
        sys.stdout.write(f"{told}{found.to_make} to make, {taken[-1]:.2f} s, soon {soon.to_make}\n")
        sys.stdout.flush()
    taken.sort()
    sys.stdout.write(
        f"{exact} of {plans} known soon to be the fewest; median {taken[plans // 2]:.2f} s, most {taken[-1]:.2f} s\n"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]), *sys.argv[2:])
