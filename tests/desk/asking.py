"""Questions made from the desk's own OpenAPI description: mostly fitting, often not, always from a seed."""

import json
import random
from typing import Any
from urllib.parse import quote

ODD: list[Any] = [None, True, -1, 0, 1.5, 10**12, "", "x" * 300, "\u0000", "<b>", "../..", [], {}, "AH1", "🦀", "‮"]
LINES = ["010-a", "020-a", "020-c", "040-d", "nothing", "..", "%", "<i>", "a" * 50, "é"]


def questions(description: dict[str, Any], count: int, seed: int) -> Any:
    """Yield method, path and body, `count` times; of each way to ask about as many."""
    chance = random.Random(seed)
    ways = [(method, path, way) for path, item in description["paths"].items() for method, way in item.items()]
    for number in range(count):
        method, path, way = ways[number % len(ways)]
        for parameter in way["parameters"]:
            value = chance.choice(LINES) if parameter["name"] == "line" else _number(parameter["schema"], chance)
            if parameter["in"] == "path":
                path = path.replace("{" + parameter["name"] + "}", quote(str(value), safe="") or "-")
            elif chance.random() < 0.9:
                path += f"{'&' if '?' in path else '?'}{parameter['name']}={quote(str(value), safe='')}"
        yield method.upper(), path, _body(way, description, chance) if method == "post" else None


def _number(schema: dict[str, Any], chance: random.Random) -> Any:
    if chance.random() < 0.2:
        return chance.choice(ODD)
    return chance.randint(schema.get("minimum", 0), min(schema.get("maximum", 40), 4000))


def _body(way: dict[str, Any], description: dict[str, Any], chance: random.Random) -> bytes:
    if chance.random() < 0.05:
        return chance.randbytes(chance.randint(0, 60))
    schema = way["requestBody"]["content"]["application/json"]["schema"]
    made = json.dumps(made_from(schema, description["components"]["schemas"], chance)).encode()
    return made[: chance.randint(0, len(made))] if chance.random() < 0.03 else made


def made_from(schema: dict[str, Any], known: dict[str, Any], chance: random.Random) -> Any:
    """Return a value that fits a schema, or, one time in fifteen, does not."""
    if "$ref" in schema:
        return made_from(known[schema["$ref"].rpartition("/")[2]], known, chance)
    if chance.random() < 1 / 15:
        return chance.choice(ODD)
    if "const" in schema:
        return schema["const"]
    if "enum" in schema:
        return chance.choice(schema["enum"])
    if ways := schema.get("oneOf") or schema.get("anyOf"):
        return made_from(chance.choice(ways), known, chance)
    kind = schema["type"]
    if kind == "object":
        names = [n for n in schema["properties"] if n in schema.get("required", ()) or chance.random() < 0.5]
        return {
            name: made_from(schema["properties"][name], known, chance) for name in names if chance.random() < 0.98
        }
    if kind == "array":
        return [made_from(schema["items"], known, chance) for _ in range(chance.randint(0, 6))]
    if kind == "boolean":
        return chance.random() < 0.5
    if kind == "integer":
        highest = min(schema.get("maximum", schema.get("exclusiveMaximum", 100) - 1), 5_000_000)
        return chance.choice([chance.randint(0, 9), chance.randint(0, highest), highest])
    return chance.choice(["", "AA1", "B", "REST", "RING", "breath", "lamp", "two words", "VERSION"])
