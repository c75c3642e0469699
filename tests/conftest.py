"""What several tests share."""

import csv
import importlib.util
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from lipsync import file_lock
from lipsync.app.hear.hearing import hear
from lipsync.app.work import processes
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample
from tests.running import copy_of

# The same examples at each run, and no test that fails because a machine is slow.
settings.register_profile("lipsync", deadline=None, derandomize=True)
settings.load_profile("lipsync")


# They need the extra `measure`, and hold no examples to be run.
collect_ignore = ["manners.py", "measure_voices.py"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the tests that wait for a browser: where tests run beside each other, others use the cores then."""
    items.sort(key=lambda item: not item.nodeid.startswith("tests/desk/"))


@pytest.fixture(scope="session", autouse=True)
def a_core_each() -> Iterator[None]:
    """Where tests run beside each other, commands start no workers of their own, unless a test wants some."""
    with pytest.MonkeyPatch.context() as patch:
        if "PYTEST_XDIST_WORKER" in os.environ:
            patch.setattr(processes, "usable_cores", lambda: 1)
        yield


@pytest.fixture(scope="session")
def sample_folder():
    """The sample production that ships: synthesised lines with the exact time of each phoneme."""
    return Path(__file__).parents[1] / "sample_audio"


@pytest.fixture(scope="session")
def sample_lines(sample_folder):
    """Its lines, as rows of labels.jsonl."""
    return [json.loads(row) for row in (sample_folder / "labels.jsonl").read_text("utf-8").splitlines()]


@pytest.fixture(scope="session")
def pairs():
    """How computed and labelled phonemes are paired: the measuring script's own way."""
    spec = importlib.util.spec_from_file_location("measure_timing", Path(__file__).parent / "measure_timing.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.pairs


@pytest.fixture(scope="session")
def ipa_features():
    """Return what panphon 0.22 says of an IPA text: for each of its segments the features, 1, 0 or -1."""
    rows = (Path(__file__).parent / "ipa_features.csv").read_text("utf-8").splitlines()
    table = {
        row.pop("ipa"): {name: {"+": 1, "0": 0, "-": -1}[value] for name, value in row.items()}
        for row in csv.DictReader(row for row in rows if not row.startswith("#"))
    }
    return lambda text: [table[segment] for segment in text if segment in table]


@pytest.fixture(scope="session")
def heard_sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample production with its breakdowns, listened to once for the whole run; not to be changed."""
    return made_once(tmp_path_factory, "heard", heard_at)


@pytest.fixture(scope="session")
def heard_lacking(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The heard sample after the recording of 020-c was lost, with the crab's voice found anew; not to be changed."""

    def lacking(folder: Path) -> None:
        copy_of(heard_sample, folder)
        (folder / "recordings/020-c.wav").unlink()
        (problem,) = hear(open_production(folder)).report.problems
        assert problem.line == "020-c"

    return made_once(tmp_path_factory, "lacking", lacking)


def heard_at(folder: Path) -> None:
    """Put the sample production into a folder, and listen to it."""
    put_sample(folder)
    assert hear(open_production(folder)).report.problems == ()


def made_once(tmp_path_factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """Return a production that `make` makes in the folder it is given, once for a whole run, since it takes long.

    Of workers beside each other the first that needs it makes it, in a folder that they share; each has its copy.
    """
    own = tmp_path_factory.mktemp(name) / "low-tide-post"
    if "PYTEST_XDIST_WORKER" not in os.environ:
        make(own)
        return own
    shared = tmp_path_factory.getbasetemp().parent / f"{name}-for-all" / own.name
    shared.parent.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(file_lock, "_WAIT_S", 600.0)  # on a crowded machine it may take longer than a minute
        with file_lock.alone(shared):
            if not shared.exists():
                making = shared.with_name("making")
                shutil.rmtree(making, ignore_errors=True)
                make(making)
                making.rename(shared)
    return shutil.copytree(shared, own)


@pytest.fixture
def sample(heard_sample: Path, tmp_path: Path) -> Path:
    """A copy of the heard sample production, to be changed at will; of earlier runs nothing is remembered."""
    return copy_of(heard_sample, tmp_path / "low-tide-post")


@pytest.fixture
def lacking(heard_lacking: Path, tmp_path: Path) -> Path:
    """A copy of the heard sample that has lost the recording of 020-c, to be changed at will."""
    return copy_of(heard_lacking, tmp_path / "low-tide-post")


@pytest.fixture
def with_short_shots(sample: Path) -> Path:
    """The same, with a third scene: two shots of 60 frames, in which 020-c is said again, as it was heard there."""
    shots = "".join(SHORT_SHOT.format(shot=shot) for shot in ("050", "060"))
    (sample / "scenes/03-harbour.toml").write_text(f'title = "The harbour"\n{shots}', "utf-8")
    kept = (sample / "breakdowns/01-lamp-room/020-c.toml").read_text("utf-8")
    (sample / "breakdowns/03-harbour").mkdir()
    for line in ("050-a", "060-a"):
        (sample / f"breakdowns/03-harbour/{line}.toml").write_text(kept.replace('"020-c"', f'"{line}"'), "utf-8")
    return sample


SHORT_SHOT = """
[[shot]]
id = "{shot}"
frames = 60

[[shot.line]]
id = "{shot}-a"
character = "crab"
recording = "recordings/020-c.wav"
text = "Oops. My foot is blue."
begins = 1
"""
