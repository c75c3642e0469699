"""Mutation testing of the core: `python tests/mutate.py [ROOM ...] [--most N] [--seed N] [--jobs N]`.

A mutant is the program with one small thing wrong: `<` for `<=`, `+` for `-`, `and` for `or`, a number one more, a
branch never or always taken, a value returned as if nothing had been found. Each is made in a copy of the tree, and
the tests of its module are run on it; a mutant that they let pass is a rule that no test holds. `CORE` says which
modules are the core and which tests hold each; `EQUAL` names mutants that change nothing that can be seen, and why.

In: nothing but the tree. Out: a line for each survivor, and the share that was killed. Ends with 1 if one survived
that is not named equal. `--most` takes a sample of each module's mutants, the same for the same seed.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent

# A room's modules that are the core -> the tests that hold them, cheapest first.
CORE: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "timing": {"timing.py": ("tests/test_timing.py",)},
    "fit": {
        name: ("tests/fit",)
        for name in (
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
        )
    },
    "workshop": {
        "workshop/counting.py": ("tests/workshop",),
        "workshop/pressings.py": ("tests/workshop",),
        "workshop/shooting.py": ("tests/workshop",),
        "workshop/fitting_shares.py": ("lipsync/workshop/fitting_shares.py", "tests/workshop/test_handing_on.py"),
        "workshop/standing_lanes.py": (
            "tests/workshop/test_standing_lanes.py",
            "tests/workshop/test_handing_on.py",
        ),
    },
    "floor": {
        name: ("tests/floor",)
        for name in (
            "floor/locked_frames.py",
            "floor/locking.py",
            "floor/misfits.py",
            "floor/wearing.py",
            "floor/prints.py",
        )
    },
    "breakdown": {
        name: ("tests/breakdown",)
        for name in ("breakdown/merging.py", "breakdown/rebase.py", "breakdown/laying.py", "breakdown/correcting.py")
    },
    "paper": {"paper/rows.py": ("tests/paper",)},
    "align": {"align/fine.py": ("tests/align/test_second_look.py", "tests/align/test_boundaries.py")},
}

# Mutants that cannot be told from the program, as printed -> why.
_LANES = "workshop/standing_lanes.py __init__: "
_SETS = "np.arange(2 ** len(lasting))[:, None] >> np.arange(len(lasting)) & 1"
EQUAL: Mapping[str, str] = {
    f"{_LANES}len(lasting) <= _MOST_LANES  ->  len(lasting) < _MOST_LANES": "one serving less is looked at",
    f"{_LANES}if not self.few_enough:\n    return  ->  if False:\n    return": "what is found then is not asked for",
    f"{_LANES}{_SETS} > 0  ->  {_SETS} <= 0": "each set of lanes changes places with the others",
    f"{_LANES}2  ->  3": "some sets of lanes are looked at twice",
}

LIMIT_S = 600
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
    """One small thing wrong: where, what stood there, what stands there now, and the whole module so changed."""

    module: str
    function: str
    was: str
    now: str
    source: str

    def __str__(self) -> str:
        return f"{self.module} {self.function}: {self.was}  ->  {self.now}"


def mutants(module: str) -> Iterator[Mutant]:
    """Yield every mutant of a module's functions, in the order of its lines."""
    tree = ast.parse((ROOT / "lipsync" / module).read_text("utf-8"))
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for node in _own_nodes(function):
                for change in _changes(node):
                    was = ast.unparse(node)
                    undo = change()
                    now = ast.unparse(node)
                    # Of types and texts nothing is changed: they decide nothing.
                    yield Mutant(module, function.name, was, now, ast.unparse(tree))
                    undo()


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
        yield lambda: _put(node, "op", ast.UAdd())
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


def killed(mutant: Mutant, tree: Path, tests: tuple[str, ...]) -> bool:
    """Return whether a test fails on a mutant, in a copy of the tree that is put right again afterwards."""
    path = tree / "lipsync" / mutant.module
    before = path.read_bytes()
    path.write_text(mutant.source, "utf-8")
    try:
        command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header", *tests]
        env = {**os.environ, "PYTHONPATH": str(tree), "OMP_NUM_THREADS": "1"}
        return bool(subprocess.run(command, cwd=tree, env=env, capture_output=True, timeout=LIMIT_S).returncode)
    except subprocess.TimeoutExpired:
        return True
    finally:
        path.write_bytes(before)


def copies(number: int, folder: Path) -> list[Path]:
    """Return so many copies of the tree, each for one mutant at a time."""
    kept = shutil.ignore_patterns(".git", ".venv", "*.pyc", "__pycache__", ".*_cache", ".hypothesis")
    return [Path(shutil.copytree(ROOT, folder / str(at), ignore=kept)) for at in range(number)]


def sample(module: str, most: int, seed: int) -> list[Mutant]:
    """Return a module's mutants, or a sample of them that is the same for the same seed."""
    every = list(mutants(module))
    if len(every) <= most:
        return every
    chosen = sorted(random.Random(f"{seed} {module}").sample(range(len(every)), most))
    return [every[at] for at in chosen]


def main() -> int:
    """Print the survivors of the rooms asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("rooms", nargs="*", choices=[*CORE, []], help="only these; all if none is named")
    parser.add_argument("--module", help="only this module, such as fit/keys.py")
    parser.add_argument("--most", type=int, default=40, help="mutants of each module")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    chosen = parser.parse_args()
    wanted = [
        (mutant, tests)
        for room in chosen.rooms or CORE
        for module, tests in CORE[room].items()
        if chosen.module in {None, module}
        for mutant in sample(module, chosen.most, chosen.seed)
    ]
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(chosen.jobs) as pool:
        free = copies(chosen.jobs, Path(folder))
        survivors: list[Mutant] = []

        def run(job: tuple[Mutant, tuple[str, ...]]) -> None:
            tree = free.pop()
            try:
                if not killed(job[0], tree, job[1]):
                    survivors.append(job[0])
                    print("survived:", job[0], EQUAL.get(str(job[0]), ""), flush=True)
            finally:
                free.append(tree)

        list(pool.map(run, wanted))
    left = [mutant for mutant in survivors if str(mutant) not in EQUAL]
    print(
        f"{len(wanted)} mutants, {len(wanted) - len(survivors)} killed, {len(survivors) - len(left)} named equal, "
        f"{len(left)} survived"
    )
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
