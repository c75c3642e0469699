"""What the tests of the listening room share."""

import importlib.util
import json
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def sample_folder():
    """The sample production that ships: synthesised lines with the exact time of each phoneme."""
    return Path(__file__).parents[2] / "sample_audio"


@pytest.fixture(scope="session")
def sample_lines(sample_folder):
    """Its lines, as rows of labels.jsonl."""
    return [json.loads(row) for row in (sample_folder / "labels.jsonl").read_text("utf-8").splitlines()]


@pytest.fixture(scope="session")
def pairs():
    """How computed and labelled phonemes are paired: the measuring script's own way."""
    spec = importlib.util.spec_from_file_location("measure_timing", Path(__file__).parents[1] / "measure_timing.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.pairs
