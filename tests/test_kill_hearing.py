"""Some of kill_hearing.py: hearing killed at a few random moments, and gone on with."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from lipsync.align import line
from lipsync.app.hear import hearing
from tests.kill_hearing import main

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither SIGKILL nor fork")


def test_killed_at_random_and_gone_on_with(
    heard_sample: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for place, name in ((line, "listen_to"), (hearing, "find_voice")):
        monkeypatch.setattr(place, name, getattr(place, name))  # put back at the end
    assert main(heard_sample, 4, as_kept=True) == 0
    assert "0 faults" in capsys.readouterr().out
