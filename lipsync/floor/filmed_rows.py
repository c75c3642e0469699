"""What is in the can, as rows of a table on the screen and as JSON values for programs.

In: a production, and which shots are meant. Out: dicts. Their frames are the production's numbers.
"""

from __future__ import annotations

from typing import Any

from lipsync.floor import record_file
from lipsync.floor.record import Event, Filmed, runs_of
from lipsync.floor.spans import frames_in, said, spans_of
from lipsync.production.values import Production


def filmed_rows(production: Production, scene: str | None = None, shot: str | None = None) -> list[dict[str, Any]]:
    """Return a row for each shot: how much of it is in the can.

    Raises:
        InputError: if there is no such scene or shot, or a record is broken.
    """
    return [
        {
            "scene": where,
            "shot": record.shot,
            "frames": frames,
            "filmed": len(record.frames),
            "to_film": len(set(range(frames)) - record.frames),
            "in_the_can": said(record.frames, production.file.first_frame) if record.frames else "",
            "refilmed": sum(event.what == "refilm" for event in record.events),
        }
        for where, frames, record in _records(production, scene, shot)
    ]


def filmed_records(production: Production, scene: str | None = None, shot: str | None = None) -> list[dict[str, Any]]:
    """Return all that is recorded of each shot, as JSON values; frames are the production's numbers.

    Raises:
        InputError: if there is no such scene or shot, or a record is broken.
    """
    base = production.file.first_frame
    return [
        {
            "scene": where,
            "shot": record.shot,
            "frames": frames,
            "filmed": [[first + base, last + base] for first, last in spans_of(record.frames)],
            "worn": {
                who: [
                    {"first": run.first + base, "last": run.last + base, "code": run.code, "planned": run.planned}
                    for run in runs_of(worn)
                ]
                for who, worn in record.worn.items()
            },
            "events": [_event(event, base) for event in record.events],
        }
        for where, frames, record in _records(production, scene, shot)
    ]


def event_rows(production: Production, shot: str) -> list[dict[str, Any]]:
    """Return a row for each event of a shot's record.

    Raises:
        InputError: if there is no such shot, or its record is broken.
    """
    base = production.file.first_frame
    return [
        {
            "number": event.number,
            "what": event.what,
            "frames": said(frames_in(event.frames), base),
            "revision": event.revision,
            "reason": event.reason,
            "dated": event.dated or "",
        }
        for _, _, record in _records(production, None, shot)
        for event in record.events
    ]


def _records(production: Production, scene: str | None, shot: str | None) -> list[tuple[str, int, Filmed]]:
    places = record_file.records_in(production).of_shots
    return [
        (
            where.id,
            one.frames,
            record_file.read(places[where.id, one.id]) if (where.id, one.id) in places else Filmed(one.id),
        )
        for where, one in production.shots(scene, shot)
    ]


def _event(event: Event, base: int) -> dict[str, Any]:
    return {
        "number": event.number,
        "what": event.what,
        "frames": [[first + base, last + base] for first, last in event.frames],
        "revision": event.revision,
        "stamp": event.stamp,
        "modelled": None
        if event.modelled is None
        else {
            who: [
                {"first": one.first + base, "last": one.last + base, "what": one.kind, "code": one.code or None}
                for one in done
            ]
            for who, done in event.modelled.items()
        },
        "reason": event.reason,
        "dated": None if event.dated is None else event.dated.isoformat(),
    }
