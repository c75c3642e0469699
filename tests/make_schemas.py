"""Writes the JSON Schema of each answer that commands give with `--json`, into lipsync/formats/json/.

    python tests/make_schemas.py

tests/test_answers.py holds that they are of today.
"""

from __future__ import annotations

import json
from pathlib import Path

from lipsync.app.answers import FORMS, form_of, schema_of

FOLDER = Path(__file__).parent.parent / "lipsync" / "formats" / "json"


def schemas() -> dict[str, str]:
    """Return what each file holds, by its name."""
    return {
        f"{form_of(answer).removeprefix('lipsync ').replace(' ', '-')}.schema.json": json.dumps(
            schema_of(answer), indent=2, ensure_ascii=False
        )
        + "\n"
        for answer in FORMS
    }


if __name__ == "__main__":
    for old in FOLDER.glob("*.schema.json"):
        old.unlink()
    for name, text in schemas().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
