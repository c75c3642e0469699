"""A layout's numbers have names: in what draws pages no number stands bare among sums.

A number is named where it is a field of a frozen table, a constant of its module, or an argument given by its name.
"""

import ast
from pathlib import Path

import pytest

PAPER_ROOM = Path(__file__).parents[2] / "lipsync" / "paper"

# Not held to it: what reads and writes files and texts, shapes of mouths (proportions, each with its reason beside
# it), and the workshop's order.
OTHERS = {"mouth_drawing", "order_page", "pdf", "raster", "piece_pictures", "svg", "spreadsheet", "csv_table"}
OTHERS |= {
    "plain_text",
    "timed_text",
    "track_data",
    "beats",
    "rows",
    "marks",
    "sheet_words",
    "sheet_settings",
    "__init__",
}

DRAWS = sorted(path.stem for path in PAPER_ROOM.glob("*.py") if path.stem not in OTHERS)

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
    assert bare_numbers("BASE_MM = 6.6\ndef f(y_mm):\n    return Text(y_mm + BASE_MM, size_pt=13) / 2") == []


@pytest.mark.parametrize("module", DRAWS)
def test_no_number_of_a_layout_is_without_a_name(module):
    assert bare_numbers((PAPER_ROOM / f"{module}.py").read_text("utf-8")) == []
