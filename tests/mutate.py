"""Mutation testing of the core: `python tests/mutate.py [ROOM ...] [--module NAME] [--most N] [--seed N]`.

A mutant is the program with one small thing wrong: `<` for `<=`, `+` for `-`, `and` for `or`, a number one more, a
branch never or always taken. On each, the quickest of the tests that reach its function are run (`mutant_trials.py`);
a mutant that they let pass is a rule that no quick test holds. `CORE` says which modules are the core and which tests
hold them; `EQUAL` names mutants that change nothing that can be seen, and why.

In: nothing but the tree. Out: a line for each survivor, and how many of each module were killed. Ends with 1 if one
survived that is not named equal. `--most` takes a sample of each module's mutants, the same for the same seed;
`--check` first sees that the tests, chosen and run in this way, pass on the program itself.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import sys
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.mutant_trials import Trials, Trying, Where

ROOT = Path(__file__).resolve().parent.parent
Tell = Callable[[str], None]

# A room -> its modules that are the core, and the tests that hold them, beside the examples in the modules.
CORE: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "timing": (("timing.py",), ("tests/test_timing.py",)),
    "fit": (
        (
            "fit/closures.py",
            "fit/costs.py",
            "fit/backtrace.py",
            "fit/keys.py",
            "fit/optimum.py",
            "fit/overlap.py",
            "fit/rules.py",
            "fit/schedule.py",
            "fit/serving.py",
            "fit/sizes.py",
        ),
        (
            "tests/fit/test_any_job.py",
            "tests/fit/test_backtrace.py",
            "tests/fit/test_closures.py",
            "tests/fit/test_costs.py",
            "tests/fit/test_cue_lips.py",
            "tests/fit/test_every_phoneme.py",
            "tests/fit/test_fitting.py",
            "tests/fit/test_keys.py",
            "tests/fit/test_lips_in_time.py",
            "tests/fit/test_optimum.py",
            "tests/fit/test_overlap.py",
            "tests/fit/test_rule_edges.py",
            "tests/fit/test_rules.py",
            "tests/fit/test_serving.py",
            "tests/fit/test_schedule.py",
            "tests/fit/test_sample_production.py",
            "tests/fit/test_settings.py",
            "tests/fit/test_sizes.py",
            "tests/fit/test_why.py",
        ),
    ),
    "workshop": (
        (
            "workshop/counting.py",
            "workshop/pressings.py",
            "workshop/shooting.py",
            "workshop/fitting_shares.py",
            "workshop/standing_lanes.py",
        ),
        (
            "tests/workshop/test_counting.py",
            "tests/workshop/test_fitting_shares.py",
            "tests/workshop/test_handing_on.py",
            "tests/workshop/test_pressings.py",
            "tests/workshop/test_shooting.py",
            "tests/workshop/test_standing_lanes.py",
            "tests/workshop/test_stocked_orders.py",
            "tests/workshop/test_side_by_side_sums.py",
        ),
    ),
    "floor": (
        (
            "floor/locking.py",
            "floor/locked_frames.py",
            "floor/misfits.py",
            "floor/wearing.py",
            "floor/prints.py",
        ),
        (
            "tests/floor/test_comparing.py",
            "tests/floor/test_locking.py",
            "tests/floor/test_misfits.py",
            "tests/floor/test_pairs.py",
            "tests/floor/test_prints.py",
            "tests/floor/test_record.py",
            "tests/floor/test_retakes.py",
            "tests/floor/test_wearing.py",
        ),
    ),
    "breakdown": (
        ("breakdown/merging.py", "breakdown/rebase.py", "breakdown/laying.py", "breakdown/correcting.py"),
        ("tests/breakdown",),
    ),
    "paper": (("paper/rows.py",), ("tests/paper/test_rows.py", "tests/paper/test_parts.py")),
    "align": (("align/fine.py",), ("tests/align/test_second_look.py", "tests/align/test_boundaries.py")),
}

# Mutants that cannot be told from the program, as printed -> why.
_LAST = "rows, key=lambda row: row[0].last"
_LANES = "workshop/standing_lanes.py __init__: "
_SETS = "np.arange(2 ** len(lasting))[:, None] >> np.arange(len(lasting)) & 1"
_BEFORE = "fit/backtrace.py _before: "
_SHORTER = "it is a shorter way to the same"
_EACH = "fit/optimum.py solve_each: "
_OVERLAPS = "fit/overlap.py overlaps: "
_KNOWN = """if pair not in unlike:
    unlike[pair] = row_distance(lips[code], turn.lips) if code in lips else 0.0"""
_MARK_ANEW = """if before != now:
    into_now = np.full((variants, 1 << len(now), *rest), FORBIDDEN, dtype=np.int64)
    for mask in range(masks):
        into, price = moved(self._problem, mask, before, now)
        np.minimum(into_now[:, into], costs[:, mask] + price, out=into_now[:, into])
    costs = into_now"""
_FEWER = "min(_AT_ONCE, _MOST_NUMBERS // numbers)"
_BESIDE = "how many are solved side by side changes none of them"
_NO_WAY = "there is no way from there, whatever it is called"
_PLACE = "what stands there is replaced"
EQUAL: Mapping[str, str] = {
    f"{_BEFORE}if 0 < row < last and len(costs) == 1:\n    return (0, row - 1, piece)  ->  if False:\n"
    "    return (0, row - 1, piece)": _SHORTER,
    f"{_BEFORE}0  ->  1": _SHORTER,
    f"{_BEFORE}2  ->  3": "either is more than any way costs",
    f"{_BEFORE}0  ->  1 #3": _PLACE,
    f"{_BEFORE}0  ->  1 #4": _PLACE,
    f"{_BEFORE}0  ->  1 #5": _PLACE,
    f"{_BEFORE}0  ->  1 #7": "all ways cost more by the same",
    f"{_BEFORE}moved(passed.problem, earlier, before, now) if before else (0, 0)  ->  "
    "moved(passed.problem, earlier, before, now) if True else (0, 0)": _SHORTER,
    f"{_EACH}1  ->  2": _BESIDE,
    f"{_EACH}1  ->  2 #2": _BESIDE,
    f"{_EACH}1  ->  2 #3": _BESIDE,
    f"{_EACH}frames * pieces * (problem.longest + 1)  ->  frames * pieces // (problem.longest + 1)": _BESIDE,
    f"{_EACH}frames * pieces  ->  frames // pieces": _BESIDE,
    f"{_EACH}problem.longest + 1  ->  problem.longest - 1": _BESIDE,
    f"{_EACH}max(1, {_FEWER})  ->  min(1, {_FEWER})": _BESIDE,
    f"{_EACH}{_FEWER}  ->  max{_FEWER[3:]}": _BESIDE,
    "fit/optimum.py __init__: 0  ->  1 #6": "more frames are kept by then than have been single",
    "fit/optimum.py _worn_on: if self._long[frame]:\n    after[:, :, -1] += self._long[frame]  ->  "
    "if True:\n    after[:, :, -1] += self._long[frame]": "nothing is added",
    f"fit/optimum.py _mark: {_MARK_ANEW}  ->  {_MARK_ANEW.replace('before != now', 'True')}": _SHORTER,
    "fit/optimum.py _mark: 1  ->  2 #2": "either means all that is left",
    f"{_OVERLAPS}1  ->  2 #3": _SHORTER,
    f"{_OVERLAPS}turns[first + 1].start_us <= begin_us  ->  turns[first + 1].start_us < begin_us": _SHORTER,
    f"{_OVERLAPS}first + 1  ->  first - 1 #2": _SHORTER,
    f"{_OVERLAPS}index == first  ->  index != first": _SHORTER,
    f"{_OVERLAPS}turns[index].start_us < end_us  ->  turns[index].start_us <= end_us": _SHORTER,
    "fit/rules.py allowed_on: frame > 0  ->  frame >= 0": "on the first frame, an even one, all are allowed anyway",
    "fit/rules.py resting: 0 if turn is turns[0] else max(0, first)  ->  0 if False else max(0, first)": (
        "the first rest begins before the shot"
    ),
    **{f"fit/schedule.py _turns: 0  ->  1 #{nth}": _PLACE for nth in (3, 4, 5, 6)},
    "fit/serving.py _in_order: 1  ->  2": "either is before the first",
    "fit/serving.py seen_in: 0  ->  1": "where lips are not known no piece is near them",
    f"fit/serving.py _shown: {_KNOWN}  ->  {_KNOWN.replace('pair not in unlike', 'True')}": _SHORTER,
    "fit/schedule.py _with_rests: 0  ->  1": _PLACE,
    "fit/schedule.py _with_rests: 0  ->  1 #2": _PLACE,
    "fit/schedule.py _spread: pools[-1][1] * pool[0] > pool[1] * pools[-1][0]  ->  "
    "pools[-1][1] * pool[0] >= pool[1] * pools[-1][0]": "pools of the same mean have it together too",
    "fit/schedule.py _with_rests: 0  ->  1 #5": "without a sound there is no closure before it",
    "fit/overlap.py overlaps: 1  ->  2": "the time beyond is not asked for",
    "fit/overlap.py overlaps: while first + 1 < len(turns) and turns[first + 1].start_us <= begin_us:\n"
    "    first += 1  ->  while False:\n    first += 1": _SHORTER,
    "fit/keys.py _done_on: one.frame <= frame_at(sound.start_us, job.rate) <= after.frame  ->  "
    "one.frame < frame_at(sound.start_us, job.rate) <= after.frame": "the first frame is never modelled on",
    "fit/keys.py _done_on: 0  ->  1": "the first frame is never modelled on",
    "fit/backtrace.py _put_on: 2  ->  3": "either is more than any way costs",
    "fit/backtrace.py _put_on: 2 * FORBIDDEN  ->  2 // FORBIDDEN": _NO_WAY,
    "fit/backtrace.py _put_on: 0  ->  1": _NO_WAY,
    "fit/backtrace.py _put_on: 0  ->  1 #2": _NO_WAY,
    "fit/backtrace.py _put_on: 0  ->  1 #3": _NO_WAY,
    "timing.py parse_rate: 1  ->  2": "what is not written is only asked whether it is 0",
    "timing.py us_of_seconds: 1  ->  2": "the number's exponent is taken, and not the number",
    "paper/rows.py stamp_of_text: 1  ->  2": "the steps are of five bits, so they end at the same one",
    "breakdown/laying.py _room_of: wall.index < index  ->  wall.index <= index": "what is replaced has no room",
    "breakdown/laying.py _room_of: wall.index > index  ->  wall.index >= index": "what is replaced has no room",
    "breakdown/rebase.py _seen: start_us is None or end_us is None  ->  start_us is None and end_us is None": (
        "both are noted, or neither is"
    ),
    "floor/misfits.py misfits: if not any((code is not None for code in job.filmed.values())):\n    return ()  ->  "
    "if False:\n    return ()": "it saves a plan: where nothing was worn nothing is far",
    "workshop/pressings.py _needs: 1  ->  2": "a spare has neither a puppet nor a scene",
    "workshop/pressings.py row: [Held(on_the_way)] if on_the_way else []  ->  [Held(on_the_way)] if True else []": (
        "no pressings serve nowhere"
    ),
    "workshop/pressings.py row: 0  ->  1 #11": "either is before all days of a plan",
    f"workshop/pressings.py _after: max({_LAST})  ->  min({_LAST})": (
        "rows of a puppet and a shot differ in their days alone, which are not taken"
    ),
    "align/fine.py look: 1  ->  2 #2": "what comes after the last phone is not asked for",
    "align/fine.py _state_scores: 0  ->  1": _PLACE,
    "align/fine.py _beside: 0 <= at < len(phones)  ->  0 < at < len(phones)": "the first phone is no pause",
    "align/fine.py _beside: 0  ->  1": "the first phone is no pause",
    f"{_LANES}len(lasting) <= _MOST_LANES  ->  len(lasting) < _MOST_LANES": "one serving less is looked at",
    f"{_LANES}if not self.few_enough:\n    return  ->  if False:\n    return": "what is found then is not asked for",
    f"{_LANES}{_SETS} > 0  ->  {_SETS} <= 0": "each set of lanes changes places with the others",
    f"{_LANES}2  ->  3": "some sets of lanes are looked at twice",
}

KINDS: Mapping[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.FloorDiv,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One small thing wrong: what it is, in which module and function, and the whole module so changed."""

    said: str
    module: str
    function: str
    source: str

    def __str__(self) -> str:
        return self.said


def mutants(module: str) -> Iterator[Mutant]:
    """Yield every mutant of a module's functions, in the order of its lines."""
    tree = ast.parse((ROOT / "lipsync" / module).read_text("utf-8"))
    again: Counter[str] = Counter()
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for node in _own_nodes(function):
                for change in _changes(node):
                    was = ast.unparse(node)
                    undo = change()
                    now = ast.unparse(node)
                    # Of types and texts nothing is changed: they decide nothing.
                    source = ast.unparse(tree)
                    undo()
                    said = f"{module} {function.name}: {was}  ->  {now}"
                    again[said] += 1
                    yield Mutant(
                        said + (f" #{again[said]}" if again[said] > 1 else ""), module, function.name, source
                    )


def _own_nodes(function: ast.FunctionDef) -> Iterator[ast.AST]:
    """Yield the nodes of a function's body but for docstrings, types and functions inside it."""
    waiting: list[ast.AST] = list(reversed(function.body))
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            continue
        yield node
        children = [
            child
            for name, value in ast.iter_fields(node)
            if name not in {"annotation", "returns"}
            for child in (value if isinstance(value, list) else [value])
            if isinstance(child, ast.AST)
        ]
        waiting += reversed(children)


Undo = Callable[[], None]


def _changes(node: ast.AST) -> Iterator[Callable[[], Undo]]:
    """Yield ways to change a node in place; each returns what undoes it."""
    if isinstance(node, ast.Compare):
        for other in KINDS.get(type(node.ops[0]), ()):
            yield lambda other=other: _put(node, "ops", [other(), *node.ops[1:]])
    elif isinstance(node, ast.BinOp | ast.AugAssign | ast.BoolOp):
        for other in KINDS.get(type(node.op), ()):
            yield lambda other=other: _put(node, "op", other())
    elif isinstance(node, ast.Constant) and type(node.value) is int:
        yield lambda: _put(node, "value", node.value + 1)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield lambda: _put(node, "operand", ast.UnaryOp(ast.Not(), node.operand))
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        yield lambda: _put(node, "test", ast.Constant(value=False))
        if not isinstance(node, ast.While):
            yield lambda: _put(node, "test", ast.Constant(value=True))
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"min", "max"}:
        other_name = "max" if node.func.id == "min" else "min"
        yield lambda: _put(node, "func", ast.Name(id=other_name, ctx=ast.Load()))


def _put(node: ast.AST, field: str, value: object) -> Undo:
    before = copy.copy(getattr(node, field))
    setattr(node, field, value)
    return lambda: setattr(node, field, before)


def sample(module: str, most: int, seed: int) -> list[Mutant]:
    """Return a module's mutants, or a sample of them that is the same for the same seed."""
    every = list(mutants(module))
    if len(every) <= most:
        return every
    chosen = sorted(random.Random(f"{seed} {module}").sample(range(len(every)), most))
    return [every[at] for at in chosen]


@dataclass(frozen=True, slots=True)
class Found:
    """What trying a module's mutants gave."""

    module: str
    tried: int
    survivors: tuple[Mutant, ...]

    @property
    def live(self) -> list[Mutant]:
        """The survivors that are not named equal."""
        return [mutant for mutant in self.survivors if str(mutant) not in EQUAL]

    def __str__(self) -> str:
        killed, equal = self.tried - len(self.survivors), len(self.survivors) - len(self.live)
        return f"{self.module}: {self.tried} mutants, {killed} killed, {equal} named equal, {len(self.live)} survived"


class Room:
    """Tries the mutants of a room's modules."""

    def __init__(self, trials: Trials, trying: Trying, seconds: float, tell: Tell) -> None:
        self._early, self._trying, self._seconds, self._tell = trials.early, trying, seconds, tell
        self._reaching, self._took, failed = trying.reaching()
        tell(f"{len(self._took)} tests in {sum(self._took.values()):.0f} s of the processor")
        for test in failed:
            tell(f"not used, for it fails or is skipped by itself: {test}")

    def tests_of(self, where: Where) -> tuple[list[str], float]:
        """Return the tests that reach a function, as many of the quickest as the time allows, and their seconds."""
        chosen: list[str] = []
        sum_s = 0.0
        for test in self._reaching.get(where, []):
            if sum_s + self._took[test] > self._seconds:
                break
            chosen.append(test)
            sum_s += self._took[test]
        return chosen, sum_s

    def check(self, wanted: list[Mutant]) -> None:
        """Raise if the tests, run as they are for mutants, fail on the program itself."""
        for module in {mutant.module: None for mutant in wanted}:
            source = (ROOT / "lipsync" / module).read_text("utf-8")
            for function in {mutant.function: None for mutant in wanted if mutant.module == module}:
                chosen, sum_s = self.tests_of((module, function))
                if chosen and self._trying.kills(module, source, chosen, _limit_s(sum_s)):
                    raise AssertionError(f"the tests of {module} {function} fail on the program itself")

    def try_all(self, module: str, wanted: list[Mutant]) -> Found:
        """Try mutants of one module, and tell of each that survives."""
        survivors = []
        for mutant in wanted:
            where = (module, mutant.function)
            chosen, sum_s = self.tests_of(where)
            if not chosen or not self._trying.kills(module, mutant.source, chosen, _limit_s(sum_s)):
                survivors.append(mutant)
                note = EQUAL.get(str(mutant)) or ("early" if where in self._early else "")
                self._tell(f"survived: {mutant}" + f"  ({note or f'{len(chosen)} tests'})")
        return Found(module, len(wanted), tuple(survivors))


def _limit_s(sum_s: float) -> float:
    return 5 + 4 * sum_s


def try_room(room: str, chosen: argparse.Namespace, tell: Tell) -> list[Found]:
    """Try the mutants of one room, in this process."""
    modules, tests = CORE[room]
    wanted = {
        module: sample(module, chosen.most, chosen.seed)
        for module in modules
        if not chosen.module or module in chosen.module
    }
    found: list[Found] = []

    def use(trying: Trying) -> None:
        one = Room(trials, trying, chosen.seconds, tell)
        if chosen.check:
            one.check([mutant for row in wanted.values() for mutant in row])
        for module, row in wanted.items():
            found.append(one.try_all(module, row))
            tell(str(found[-1]))

    trials = Trials({module: str(ROOT / "lipsync" / module) for module in wanted}, use)
    trials.collect([str(ROOT / test) for test in (*(f"lipsync/{module}" for module in wanted), *tests)])
    return found


def main() -> int:
    """Print the survivors of the rooms asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("rooms", nargs="*", choices=[*CORE, []], help="only these; all if none is named")
    parser.add_argument(
        "--module", action="append", default=[], help="only this one, such as fit/keys.py; or several"
    )
    parser.add_argument("--most", type=int, default=10**6, help="mutants of each module")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10, help="of the processor, for the tests of one mutant")
    parser.add_argument("--check", action="store_true", help="first run the tests so on the program itself")
    chosen = parser.parse_args()
    screen = os.fdopen(os.dup(1), "w")
    rooms = chosen.rooms or [
        room for room, (modules, _) in CORE.items() if not chosen.module or {*chosen.module} & {*modules}
    ]
    live = 0
    for room in rooms:
        # Each in a fork, so that what one room loaded is not there for the next.
        child = os.fork()
        if not child:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            code = 2
            try:
                found = try_room(room, chosen, lambda text: print(text, file=screen, flush=True))
                code = int(any(one.live for one in found))
            except BaseException:
                traceback.print_exc()
            os._exit(code)
        live = max(live, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
    return live


if __name__ == "__main__":
    sys.exit(main())
