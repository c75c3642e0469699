"""README and the manual keep their word: the two commands, the example, the tables, the picture."""

import re
import tomllib
from collections.abc import Iterable
from importlib.metadata import requires
from pathlib import Path

import pytest
from make_pictures import pictures
from packaging.requirements import Requirement

from lipsync.app.cli import GROUPS
from lipsync.errors import ExitCode
from tests.running import copy_of

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
MANUAL = {path.stem: path.read_text(encoding="utf-8") for path in (ROOT / "lipsync" / "manual").glob("*.md")}
FORMATS = {path.stem: path.read_text(encoding="utf-8") for path in (ROOT / "lipsync" / "formats").glob("*.md")}
ALL = "\n".join([README, *MANUAL.values(), *FORMATS.values()])


def test_it_is_short() -> None:
    assert len(README.splitlines()) < 150


def test_two_commands_do_all_their_own_set_up() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, flags=re.S)
    assert len(blocks) == 2
    for block, ends in zip(blocks, ("lipsync demo", "pytest -q -n auto"), strict=True):
        assert "install" in block
        assert "-m venv .venv" in block
        assert block.strip().endswith(ends)


def test_the_example_runs(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    example = re.findall(r"```python\n(.*?)```", MANUAL["python"], flags=re.S)[0]
    monkeypatch.chdir(ROOT)
    exec(compile(example, "python.md", "exec"), {})
    printed = capsys.readouterr()
    assert printed.err == ""
    rows = printed.out.splitlines()
    assert [row.split()[0] for row in rows[:5]] == ["Oops", "My", "foot", "is", "blue"]
    assert rows[5].split()[:3] == ["SIL", "None", "0.0"]


def test_the_example_of_a_production_runs(
    heard_sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the sample as it was heard already: that saves a minute, and changes nothing else."""
    example = re.findall(r"```python\n(.*?)```", MANUAL["python"], flags=re.S)[1]
    copy_of(heard_sample, tmp_path / "low-tide-post")
    monkeypatch.chdir(tmp_path)
    exec(compile(example, "python.md", "exec"), {})
    rows = [row.split() for row in capsys.readouterr().out.splitlines()]
    assert [row[1:3] for row in rows if row[0] == "01-lamp-room"] == [
        ["010", "heron"],
        ["020", "heron"],
        ["020", "crab"],
    ]
    written = {path.name for path in (tmp_path / "low-tide-post").rglob("*.*") if path.parent.name != "recordings"}
    assert written >= {"010.pdf", "040.pdf", "count.csv", "order.xlsx", "030.csv", "030.json"}


def test_every_command_is_shown() -> None:
    names = {re.sub("_", "-", command.__name__) for group in GROUPS for command in group.COMMANDS}
    assert names == set(re.findall(r"\blipsync ([a-z][a-z-]+) the-film", ALL)) | {"demo"}


def test_every_file_that_it_names_is_there() -> None:
    named = set(re.findall(r"`((?:lipsync|sample_audio|tests)/[\w./-]+)`", ALL))
    assert len(named) > 5
    assert sorted(name for name in named if not (ROOT / name).exists()) == []


def test_exit_codes_are_those_of_the_program() -> None:
    page = MANUAL["production"]
    table = page[page.index("## Exit codes") :]
    assert [int(code) for code in re.findall(r"^\| (\d+) \|", table, flags=re.M)] == [int(code) for code in ExitCode]


def test_the_picture_is_of_today(sample: Path) -> None:
    """`python tests/make_pictures.py` makes it again."""
    for name, content in pictures(sample).items():
        assert (ROOT / "lipsync" / "manual" / name).read_bytes() == content, f"{name} is of an older day"


def _needed(texts: Iterable[str], found: set[str]) -> set[str]:
    for requirement in map(Requirement, texts):
        if requirement.marker and not requirement.marker.evaluate({"extra": ""}):
            continue
        key = re.sub(r"[-_.]+", "-", requirement.name).lower()
        if key not in found:
            found.add(key)
            _needed(requires(requirement.name) or (), found)
    return found


def test_every_package_that_is_installed_has_its_licence_named() -> None:
    licences = MANUAL["licences"].lower()
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    missing = [
        name
        for name in sorted(_needed(project["dependencies"], set()))
        if not re.search(rf"(?<![\w-]){name}(?![\w-])", licences)
    ]
    assert missing == []
