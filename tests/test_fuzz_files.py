"""A short run of fuzz_files.py; `python tests/fuzz_files.py FOLDER 10000` is the whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import fuzz_files
from tests.fuzz_files import KINDS, broken, fill, fuzz
from tests.running import copy_of


@pytest.fixture(scope="module")
def everything(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A production that has a file of every kind."""
    folder = copy_of(heard_sample, tmp_path_factory.mktemp("fuzz") / "low-tide-post")
    fill(folder)
    return folder


def test_there_is_a_file_of_every_kind(everything) -> None:
    assert [name for name, kind in KINDS.items() if not any(everything.glob(kind.pattern))] == []


def test_no_broken_file_ends_in_a_traceback_or_passes_for_true(everything) -> None:
    found = fuzz(everything, 300, seed=1, executable=80, whole=40)
    assert found.wrong == []
    # The slips do something: of each kind some were refused, but of those in which nearly any text has a sense.
    refused = {what.split(":")[0] for what in found.ended if what.endswith("refused")}
    assert refused >= {*KINDS} - {"recording", "script", "subtitles"}, found.ended


def test_a_fault_of_ours_is_noticed(everything, monkeypatch) -> None:
    def careless(_folder, file):
        return float(file.read_text("utf-8").split("frame_rate = ")[1].split("\n")[0])

    kind = fuzz_files.FileKind("production.toml", careless)
    monkeypatch.setattr(fuzz_files, "KINDS", {"production": kind})
    assert "Traceback" in "".join(fuzz(everything, 60, executable=0, whole=0).wrong)


def test_a_slip_changes_what_it_is_done_to() -> None:
    import random

    dice = random.Random(3)
    assert sum(broken(b'a = 1\nb = "x"\n', dice) != b'a = 1\nb = "x"\n' for _ in range(100)) > 80
