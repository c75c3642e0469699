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

GROUND = {"errors", "file_lock", "files", "message", "model", "phonemes", "report", "standing", "timing", "tomlfile"}
GROUND |= {"folders", "seen", "track", "version", "wording"}

# What hearing a line needs, and the use cases from recordings to sheets.
HEARING = {"text", "audio", "align", "breakdown", "fit", "production"}
TO_PAPER = {"app.index", "app.work", "app.hear", "app.plan", "app.print", "app.renew"}

# Each room, and the rooms above the ground floor that it may import beside itself. As DEVELOPERS.md says.
MAY: dict[str, set[str]] = {
    **{name: set() for name in GROUND},
    "text": set(),
    "audio": set(),
    "align": {"text", "audio"},
    "breakdown": set(),
    "fit": set(),
    "workshop": {"fit"},
    "paper": {"fit", "workshop"},
    "production": {"text", "audio", "fit", "workshop", "paper"},
    "floor": {"fit", "paper", "production"},
    # The use cases, from the ground up.
    "app.index": set(),
    "app.work": {"app.index"},
    "app.hear": {*HEARING, "app.index", "app.work"},
    "app.amend": {"audio", "breakdown", "production", "app.hear"},
    "app.plan": {"breakdown", "fit", "workshop", "paper", "production", "floor", "app.work", "app.hear"},
    "app.print": {"fit", "paper", "production", "floor", "app.index", "app.work", "app.plan"},
    "app.renew": {
        "fit",
        "workshop",
        "production",
        "floor",
        "app.index",
        "app.work",
        "app.hear",
        "app.plan",
        "app.print",
    },
    "app.order": {"workshop", "paper", "production", "floor", "app.index", "app.work", "app.plan", "app.print"},
    "app.decide": {"fit", "workshop", "paper", "production", "app.hear", "app.plan", "app.print", "app.order"},
    "app.take": {"text", "audio", "align", "paper", "production", "floor", "app.hear", "app.plan", "app.print"},
    "app": {"audio", "workshop", "breakdown", "fit", "paper", "production", "floor", "app.order", *TO_PAPER},
    "preview": {"audio", "fit", "paper", "production", "app.work", "app.plan", "app.print"},
    "desk": {*HEARING, "paper", "floor", "app", "app.amend", *TO_PAPER, "preview"},
    # The commands stand on the use cases, some of which live in their rooms (open a production, lock frames),
    # and on the desk and the preview, which stand on these.
    "app.commands": {
        "app",
        "app.amend",
        "app.decide",
        "app.order",
        "app.take",
        *(TO_PAPER - {"app.plan"}),
        "preview",
        "desk",
        "production",
        "floor",
    },
    "__main__": {"app.commands"},
    # For those who call it from Python, loaded when it is called.
    "lipsync": {"align", "text", "workshop", "production", "app.hear", "app.plan", "app.print", "app.order"},
}

# Of these rooms only these modules: what a production's files hold.
ONLY = {
    ("production", "text"): {"accents", "script"},
    ("production", "audio"): {"sound_file"},
    ("production", "workshop"): {"making", "shooting", "stock"},
    ("production", "paper"): {"label_sheets", "sheet_settings"},
}

MOST_ROOMS = 12

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
    """Return a module's room. A folder in a room is one of its own, and the command line is with the commands."""
    if module == "app.cli":
        return "app.commands"
    return next((room for room in sorted(MAY, key=len, reverse=True) if f"{module}.".startswith(f"{room}.")), module)


def against_the_table(found: Imports) -> list[str]:
    """Return what goes another way than the table says."""
    wrong = []
    for module, wanted in sorted(found.items()):
        room = room_of(module)
        for other in sorted(wanted):
            there = room_of(other)
            inside = other.removeprefix(there).removeprefix(".")
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
    rooms = [".".join(folder.relative_to(PACKAGE).parts) for folder in folders()]
    assert [room for room in rooms if room not in MAY] == []
    assert 8 < len([room for room in rooms if "." not in room]) <= MOST_ROOMS


def test_imports_go_one_way() -> None:
    found = imports()
    assert sum(map(len, found.values())) > 500, "imports were not found: the test shows nothing"
    assert against_the_table(found) == []
    asked = {(room_of(module), room_of(other)) for module, wanted in found.items() for other in wanted}
    assert [
        (room, other) for room, others in MAY.items() for other in sorted(others) if (room, other) not in asked
    ] == []


def test_no_two_modules_need_each_other() -> None:
    assert circle(imports()) == []


@pytest.mark.parametrize(
    ("module", "source", "wrong"),
    [
        ("fit.costs", "from lipsync.align.aligning import align", ["align.aligning"]),
        ("track", "def f():\n    import lipsync.fit.fit_job", ["fit.fit_job"]),
        ("paper.sheet_job", "from lipsync.production import values", ["production.values"]),
        ("production.values", "from lipsync.text import dictionary, accents", ["text.dictionary"]),
        ("app.commands.desk_commands", "if TYPE_CHECKING:\n    from lipsync.fit.keys import Key", ["fit.keys"]),
        ("app.plan.jobs", "from lipsync.app.commands.command_line import say", ["app.commands.command_line"]),
        ("app.plan.jobs", "from lipsync import timing\nfrom lipsync.breakdown.corrections import PieceChoice", []),
    ],
)
def test_what_goes_another_way_is_found(module: str, source: str, wrong: list[str]) -> None:
    found = against_the_table({module: set(named_in(source, {*modules()}))})
    assert found == [f"{module} imports {other}" for other in wrong]


def test_a_circle_is_found() -> None:
    assert {*circle({"fit.why": {"fit.reason"}, "fit.reason": {"fit.why"}})} == {"fit.why", "fit.reason"}


def folders() -> list[Path]:
    return sorted(path.parent for path in PACKAGE.rglob("__init__.py") if path.parent != PACKAGE)


@pytest.mark.parametrize("folder", folders(), ids=lambda folder: folder.name)
def test_each_room_names_its_modules(folder: Path) -> None:
    """A line for each module at the top of the room's `__init__.py`, in order of what is read first."""
    said = re.findall(r"^(\w+\.py) ", (folder / "__init__.py").read_text("utf-8"), flags=re.M)
    there = sorted(path.name for path in folder.glob("*.py") if path.name != "__init__.py")
    assert sorted(said) == there


def test_a_file_name_has_one_place() -> None:
    names = Counter(path.name for path in PACKAGE.rglob("*.py") if path.name != "__init__.py")
    assert [name for name, times in names.items() if times > 1] == []


def class_names() -> Counter[str]:
    """Return how often each name is given to a class; private or not is the same name."""
    nodes = (node for path in modules().values() for node in ast.walk(ast.parse(path.read_text("utf-8"))))
    return Counter(node.name.lstrip("_") for node in nodes if isinstance(node, ast.ClassDef))


def test_a_class_name_has_one_meaning() -> None:
    names = class_names()
    assert len(names) > 100, "classes were not found: the test shows nothing"
    assert [name for name, times in names.items() if times > 1] == []


def test_developers_names_each_room() -> None:
    text = MAP.read_text("utf-8")
    missing = [folder.name for folder in folders() if folder.parent == PACKAGE and f"\n{folder.name}/ " not in text]
    assert missing == []
    assert [name for name in sorted(GROUND) if f"`{name}.py`" not in text] == []


def test_a_word_has_one_meaning() -> None:
    text = MAP.read_text("utf-8")
    text = text[text.index("| word | means |") : text.index("## How to add")]
    _, *rows = re.findall(r"^\| ([^|]+) \|", text, flags=re.M)
    words = Counter(word for row in rows for word in row.split(", "))
    assert len(words) > 40, "the words were not found: the test shows nothing"
    assert [word for word, times in words.items() if times > 1] == []
