"""How the house is built: imports go one way, no two modules need each other, and the map names each module once."""

import ast
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "lipsync"
MAP = PACKAGE.parent / "DEVELOPERS.md"

GROUND = {"alone", "errors", "files", "model", "phonemes", "report", "standing", "timing", "tomlfile", "track"}

# Each room, and the rooms above the ground floor that it may import beside itself. As DEVELOPERS.md says.
MAY: dict[str, set[str]] = {
    **{name: set() for name in GROUND},
    "listen": set(),
    "keep": set(),
    "fit": set(),
    "sheets": {"fit"},
    "production": {"fit", "listen", "sheets"},
    "filming": {"fit", "sheets", "production"},
    "steps": {"listen", "keep", "fit", "sheets", "production", "filming"},
    "pipeline": {"production", "filming", "steps"},
    "preview": {"fit", "sheets", "production", "steps"},
    "desk": {"listen", "keep", "fit", "sheets", "production", "filming", "steps"},
    "commands": {"pipeline", "preview", "desk"},
    "cli": {"commands"},
    "__main__": {"cli"},
    "lipsync": {"listen"},  # for those who call it from Python, loaded when it is called
}

# Of these rooms only these modules: what a production's files hold.
ONLY = {
    ("production", "listen"): {"accents", "factors"},
    ("production", "sheets"): {"settings"},
}

Imports = Mapping[str, set[str]]


def modules() -> dict[str, Path]:
    """Return every module by its name without "lipsync.", a package by its folder's."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts) or "lipsync"] = path
    return found


def named_in(source: str, known: set[str]) -> Iterator[str]:
    """Yield the modules of ours that a source imports anywhere, also inside functions and for its types."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            if name.split(".")[0] == "lipsync":
                inside = name.removeprefix("lipsync").removeprefix(".")
                module = inside if inside in known else inside.rpartition(".")[0]
                yield module or "lipsync"


def imports() -> dict[str, set[str]]:
    known = modules()
    return {name: set(named_in(path.read_text("utf-8"), {*known})) - {name} for name, path in known.items()}


def room_of(module: str) -> str:
    return module.split(".")[0]


def against_the_table(found: Imports) -> list[str]:
    """Return what goes another way than the table says."""
    wrong = []
    for module, wanted in sorted(found.items()):
        room = room_of(module)
        for other in sorted(wanted):
            there, _, inside = other.partition(".")
            free = there == room or (there in GROUND | {"lipsync"}) or there in MAY[room]
            if not free or inside not in ONLY.get((room, there), {inside}):
                wrong.append(f"{module} imports {other}")
    return wrong


def circle(found: Imports) -> list[str]:
    """Return modules that need each other, in order; none if there are none."""
    try:
        TopologicalSorter(found).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_every_room_is_in_the_table() -> None:
    assert {room_of(module) for module in modules()} == {*MAY}


def test_imports_go_one_way() -> None:
    found = imports()
    assert sum(map(len, found.values())) > 500, "imports were not found: the test shows nothing"
    assert against_the_table(found) == []


def test_no_two_modules_need_each_other() -> None:
    assert circle(imports()) == []


@pytest.mark.parametrize(
    ("module", "source", "wrong"),
    [
        ("fit.costs", "from lipsync.listen.align import align", ["listen.align"]),
        ("track", "def f():\n    import lipsync.fit.job", ["fit.job"]),
        ("sheets.job", "from lipsync.production import values", ["production.values"]),
        ("production.values", "from lipsync.listen import script, accents", ["listen.script"]),
        ("commands.desk", "if TYPE_CHECKING:\n    from lipsync.steps.jobs import Jobs", ["steps.jobs"]),
        ("steps.jobs", "from lipsync import timing\nfrom lipsync.keep.pieces import PieceChoice", []),
    ],
)
def test_what_goes_another_way_is_found(module: str, source: str, wrong: list[str]) -> None:
    found = against_the_table({module: set(named_in(source, {*modules()}))})
    assert found == [f"{module} imports {other}" for other in wrong]


def test_a_circle_is_found() -> None:
    assert {*circle({"fit.why": {"fit.reason"}, "fit.reason": {"fit.why"}})} == {"fit.why", "fit.reason"}


def on_the_map(text: str) -> Iterator[str]:
    """Yield the files that a text names in order; a bare name lies in the folder named before it in its block."""
    for block in re.split(r"\n\n|\n(?=\|)", text):
        folder = ""
        for name in re.findall(r"`([\w/]+\.py)`", block):
            folder = name.rpartition("/")[0] or folder
            bare = "/" not in name
            ground = bare and not (folder and (PACKAGE / folder / name).is_file())
            yield name if not bare or ground else f"{folder}/{name}"


def test_the_map_names_each_module_once() -> None:
    text = MAP.read_text("utf-8")
    text = text[text.index("## The pipeline") : text.index("## Words")]
    named = Counter(name for name in on_the_map(text) if name not in {"desk/__init__.py", "tests/test_structure.py"})
    there = {str(path.relative_to(PACKAGE).as_posix()) for path in modules().values()}
    there = {name for name in there if not name.startswith("desk/") and not re.search(r"(^|/)__init__\.py$", name)}
    assert there - {*named} == set(), "DEVELOPERS.md does not name these; say in its table where they belong"
    assert {*named} - there == set(), "DEVELOPERS.md names these, and they are not there"
    assert [name for name, times in named.items() if times > 1] == []


def test_the_desk_names_each_of_its_modules() -> None:
    said = set(re.findall(r"\b(\w+\.py)\b", (PACKAGE / "desk" / "__init__.py").read_text("utf-8")))
    assert said == {path.name for path in (PACKAGE / "desk").glob("*.py")} - {"__init__.py"}


def test_a_word_has_one_meaning() -> None:
    text = MAP.read_text("utf-8")
    text = text[text.index("| word | means |") : text.index("## How to add")]
    _, *rows = re.findall(r"^\| ([^|]+) \|", text, flags=re.M)
    words = Counter(word for row in rows for word in row.split(", "))
    assert len(words) > 40, "the words were not found: the test shows nothing"
    assert [word for word, times in words.items() if times > 1] == []
