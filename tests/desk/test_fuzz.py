"""Questions made from the desk's own OpenAPI description: whatever is asked, it answers in a way that it says it may.

Two makers of questions: `asking.py`, which knows what hurts (cut JSON, odd letters) and from time to time fits; and
schemathesis, which draws from the description what fits it and what does not. Together well
over a thousand; `python tests/measure_desk.py ask` asks five thousand.
"""

import copy
import json
import os
from collections import Counter
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode, urlsplit

import pytest

from lipsync.breakdown import breakdown_file
from tests.desk.asking import questions
from tests.desk.conftest import Answer, Served

LINES = ["010-a", "010-b", "020-a", "020-b", "020-c", "040-d"]
STANDS = "the version that stands"
OWN = 1000
EACH = 6  # questions of each way to ask, fitting, and as many that do not; fewer where there are fewer


class Asked:
    """Asks, with the version that stands where the question wants it, and counts what is answered."""

    def __init__(self, desk: Served) -> None:
        self.desk = desk
        self.described = desk.ask("GET", "/api/description").json()
        self.statuses: Counter[int] = Counter()
        self.versions: dict[str, str] = {}

    def ask(self, method: str, path: str, body: bytes | None, stands: str) -> Answer | None:
        """Return the answer; a fault of the desk's own fails at once.

        Listening and printing take long: one in ten is asked, and what is printed is stopped again.
        """
        if path.endswith("/print") and sum(self.statuses.values()) % 10:
            return None
        id = path.split("/")[3] if path.count("/") >= 3 else ""
        if body and f'"{stands}"'.encode() in body:
            if path.endswith("/listen") and sum(self.statuses.values()) % 10:
                return None
            if id not in self.versions:
                self.versions[id] = self.desk.ask("GET", f"/api/lines/{id}").json().get("version", "")
            body = body.replace(f'"{stands}"'.encode(), f'"{self.versions[id]}"'.encode())
        answer = self.desk.ask(method, path, body)
        self.statuses[answer.status] += 1
        assert answer.status < 500 or answer.status == 507, (method, path, body, answer.body)
        if answer.status >= 400:
            assert answer.json()["error"], (method, path, body)
        told = answer.json() if method == "POST" and answer.status == 200 else {}
        if "version" in told:
            self.versions[id] = told["version"]
        elif "run" in told and not path.endswith("/stop"):
            self.ask("POST", f"/api/runs/{told['run']}/stop", b"{}", stands)
        return answer

    def files_are_whole(self) -> None:
        """Whatever was changed meanwhile, every file can be read."""
        paths = list(Path(self.desk.folder / "breakdowns").rglob("*.toml"))
        assert paths
        for path in paths:
            breakdown_file.read(path)


def asked(desk: Served, count: int, seed: int) -> Counter[int]:
    """Ask questions of our own, and return how often each status came."""
    asking = Asked(desk)
    for method, path, body in questions(asking.described, count, seed):
        asking.ask(method, path, body, "VERSION")
    asking.files_are_whole()
    return asking.statuses


def test_no_question_ends_in_a_fault(desk: Served) -> None:
    statuses = asked(desk, OWN, seed=41)
    assert sum(statuses.values()) >= 900
    assert {200, 400, 404, 409, 422} <= set(statuses)


def aimed(described: dict[str, Any]) -> dict[str, Any]:
    """Return the description narrowed to lines that there are, versions that stand or stood, and small numbers."""
    aim = copy.deepcopy(described)
    few = {"enum": list(range(8))}
    for item in aim["paths"].values():
        for way in item.values():
            for parameter in way["parameters"]:
                parameter["schema"] = {"enum": LINES} if parameter["name"] == "line" else few
    for schema in aim["components"]["schemas"].values():
        for name in schema.get("properties", {}).keys() & {"version", "part", "boundary", "phoneme", "frame", "code"}:
            codes = {"enum": ["REST", "RING", "OPEN1", "SLOT"]}
            versions = {"enum": [STANDS, STANDS, "of another day"]}
            schema["properties"][name] = {"version": versions, "code": codes}.get(name, few)
    return aim


def ask_as_described(asking: Asked, way: Any, mode: Any) -> None:
    """Ask what schemathesis makes of one way to ask, fitting the description or not."""
    from hypothesis import HealthCheck, Phase, given, settings

    may = set(asking.described["paths"][way.path][way.method.lower()]["responses"])

    @settings(max_examples=EACH, database=None, suppress_health_check=list(HealthCheck), phases=[Phase.generate])
    @given(case=way.as_strategy(generation_mode=mode))
    def ask(case: Any) -> None:
        sent = case.as_transport_kwargs(base_url="http://desk")
        query = urlencode(sent.get("params") or {}, doseq=True)
        path = quote(urlsplit(sent["url"]).path, safe="/%") + (f"?{query}" if query else "")
        answer = asking.ask(case.method.upper(), path, body_of(sent), STANDS)
        assert answer is None or str(answer.status) in may, (path, sent, answer.status)

    ask()


def test_no_question_that_fits_the_description_or_does_not_ends_in_a_fault(desk: Served) -> None:
    if "CI" not in os.environ:
        pytest.importorskip("schemathesis", reason="schemathesis is not installed, which makes questions")
    import schemathesis
    from schemathesis import GenerationMode

    asking = Asked(desk)
    for described, mode in (
        (aimed(asking.described), GenerationMode.POSITIVE),
        (asking.described, GenerationMode.NEGATIVE),
    ):
        ways = [found.ok() for found in schemathesis.openapi.from_dict(described).get_all_operations()]
        assert len(ways) == sum(len(item) for item in asking.described["paths"].values())
        for way in ways:
            if mode is GenerationMode.POSITIVE or "{" in way.path:  # elsewhere nothing can be wrong
                ask_as_described(asking, way, mode)
    assert sum(asking.statuses.values()) >= 250
    assert {200, 400, 404, 409, 422} <= set(asking.statuses)
    asking.files_are_whole()


def body_of(sent: dict[str, Any]) -> bytes | None:
    """Return what is sent, as bytes of JSON."""
    if "json" in sent:
        return json.dumps(sent["json"]).encode()
    data = sent.get("data")
    return data.encode() if isinstance(data, str) else data
