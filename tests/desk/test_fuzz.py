"""Many questions made from the desk's own description: whatever is asked, it answers in a way that it says it may.

`tests/measure_desk.py` asks five thousand; here it is a few hundred, from another seed.
"""

from collections import Counter
from pathlib import Path

from lipsync.keep import breakdown
from tests.desk.asking import questions
from tests.desk.conftest import Served


def asked(desk: Served, count: int, seed: int) -> Counter[int]:
    """Ask, and return how often each status came; a fault of the desk's own fails at once."""
    described = desk.ask("GET", "/api/description").json()
    statuses: Counter[int] = Counter()
    versions: dict[str, str] = {}
    for number, (method, path, body) in enumerate(questions(described, count, seed)):
        id = path.split("/")[3] if path.count("/") >= 3 else ""
        if body and b'"VERSION"' in body:
            if id not in versions:
                versions[id] = desk.ask("GET", f"/api/lines/{id}").json().get("version", "")
            body = body.replace(b'"VERSION"', b'"' + versions[id].encode() + b'"')
        if path.endswith("/listen") and number % 10:
            continue  # listening takes a second
        answer = desk.ask(method, path, body)
        statuses[answer.status] += 1
        assert answer.status < 500 or answer.status == 507, (method, path, body, answer.body)
        if answer.status >= 400:
            assert answer.json()["error"], (method, path, body)
        if method == "POST" and answer.status == 200:
            versions[id] = answer.json()["version"]
    return statuses


def test_no_question_ends_in_a_fault(desk: Served) -> None:
    statuses = asked(desk, 600, seed=41)
    assert {200, 400, 404, 409, 422} <= set(statuses)
    for path in Path(desk.folder / "breakdowns").rglob("*.toml"):
        breakdown.read(path)  # whatever was changed meanwhile, every file is whole
