"""The wheel as it is installed elsewhere: it holds all that the demo needs, and nothing touches the network."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.running import run

ROOT = Path(__file__).parent.parent

# Placed where Python runs it at start-up: whatever asks for a socket or a host's address fails, loudly.
NO_NETWORK = """
import socket

def _forbidden(*_arguments, **_settings):
    raise AssertionError("the network was asked for")

socket.socket.__init__ = socket.create_connection = socket.getaddrinfo = socket.gethostbyname = _forbidden
"""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(ROOT)]
    done = subprocess.run(build, capture_output=True, text=True)
    if done.returncode:
        if "CI" in os.environ:
            pytest.fail(done.stderr)
        pytest.skip("the wheel cannot be built here: what builds it could not be fetched")
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Return the environment in which only the wheel's own files are found, and no network."""
    folder = tmp_path_factory.mktemp("installed")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder)
    (folder / "sitecustomize.py").write_text(NO_NETWORK, encoding="utf-8")
    return {**os.environ, "PYTHONPATH": str(folder), "HOME": str(folder / "home"), "COLUMNS": "120"}


def test_the_wheel_holds_mouth_sets_sample_and_licences(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for needed in (
        "lipsync/mouthsets/tideline.toml",
        "lipsync/mouthsets/driftwood.toml",
        "lipsync/sample_audio/production.toml",
        "lipsync/sample_audio/recordings/010-a.wav",
        "lipsync/starter/production.toml",
        "lipsync/desk/static/index.html",
        "lipsync/desk/static/main.js",
        "lipsync/text/data/LICENSE",
        "lipsync/paper/fonts/LICENSE",
    ):
        assert needed in names


def test_the_demo_runs_in_an_empty_folder_without_network(installed: dict[str, str], tmp_path: Path) -> None:
    where = run_python(installed, tmp_path, "import lipsync; print(lipsync.__file__)")
    assert where.startswith(installed["PYTHONPATH"])
    shown = run("demo", cwd=tmp_path, env=installed)
    assert (shown.code, shown.err) == (0, "")
    names = [Path(line).as_posix() for line in shown.out.splitlines() if line.startswith("low-tide-post")]
    assert names == [
        "low-tide-post/sheets/01-lamp-room/010.pdf",
        "low-tide-post/sheets/01-lamp-room/020.pdf",
        "low-tide-post/sheets/02-post-office/030.pdf",
        "low-tide-post/sheets/02-post-office/040.pdf",
        "low-tide-post/sheets/count.pdf",
        "low-tide-post/sheets/count.csv",
    ]
    assert all((tmp_path / name).stat().st_size > 0 for name in names)
    assert [path.name for path in tmp_path.iterdir()] == ["low-tide-post"]


def test_the_network_is_really_forbidden_there(installed: dict[str, str], tmp_path: Path) -> None:
    with pytest.raises(subprocess.CalledProcessError):
        run_python(installed, tmp_path, "import socket; socket.socket()")


def run_python(env: dict[str, str], cwd: Path, script: str) -> str:
    command = [sys.executable, "-c", script]
    return subprocess.run(command, env=env, cwd=cwd, capture_output=True, text=True, check=True).stdout
