"""A layout's numbers have names: in what draws pages no number stands bare among sums.

A number is named where it is a field of a frozen table, a constant of its module, or an argument given by its name.
"""

import ast
from pathlib import Path

import pytest

PAPER_ROOM = Path(__file__).parents[2] / "lipsync" / "paper"

# What puts marks on a page, or decides where they go. Not held to it: shapes of mouths, which are proportions, each
# with its reason beside it; what reads and writes pictures; the workshop's order.
OTHERS = {"mouth_drawing", "order_page", "pdf", "piece_pictures", "svg"}
DECIDES = {"columns", "needs", "notes", "page_breaks", "page_forms", "lettering", "measures", "choosing"}


def draws() -> list[str]:
    """Return the modules of the room that the rule holds."""
    makes = {
        path.stem for path in PAPER_ROOM.glob("*.py") if "from lipsync.paper.marks import" in path.read_text("utf-8")
    }
    return sorted((makes | DECIDES) - OTHERS)


# Halves, ends and neighbours need no name.
PLAIN = {0, 0.5, 1, 2}


def bare_numbers(source: str) -> list[tuple[int, float]]:
    """Return each number inside a function that has no name, with its line."""
    found = []
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.FunctionDef):
            named = {
                id(node)
                for call in ast.walk(function)
                if isinstance(call, ast.Call)
                for keyword in call.keywords
                for node in ast.walk(keyword.value)
            }
            defaults = {id(node) for default in function.args.defaults for node in ast.walk(default)}
            for node in ast.walk(function):
                number = isinstance(node, ast.Constant) and type(node.value) in (int, float)
                if number and node.value not in PLAIN and id(node) not in named | defaults:
                    found.append((node.lineno, node.value))
    return sorted(set(found))


def test_the_rule_sees_what_it_is_for():
    assert bare_numbers("def f(y_mm):\n    return y_mm + 6.6") == [(2, 6.6)]
    assert len(draws()) > 20
    assert bare_numbers("BASE_MM = 6.6\ndef f(y_mm):\n    return Text(y_mm + BASE_MM, size_pt=13) / 2") == []


@pytest.mark.parametrize("module", draws())
def test_no_number_of_a_layout_is_without_a_name(module):
    assert bare_numbers((PAPER_ROOM / f"{module}.py").read_text("utf-8")) == []
