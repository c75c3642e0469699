"""What one table of a production says that another table, or another file, does not allow.

In: a `Production`, perhaps of broken files: a broken field is None, and is not checked again. Out: `Problem`s, each
with its file, its place and what to do.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

from lipsync import timing
from lipsync.errors import InputError, Problem
from lipsync.fit.fit_settings import settings_for
from lipsync.folders import files_in
from lipsync.production.production_tables import Line, OnCamera, Shot
from lipsync.production.values import Production, Scene, rest_piece
from lipsync.workshop.making import making_faults
from lipsync.workshop.shooting import Heads, faults_in, heads_faults, heads_of, piece_faults
from lipsync.workshop.stock import FILE as STOCK
from lipsync.workshop.stock import stock_faults

# A line may begin before its shot and be heard into it; but no recording is longer than this (chosen), so a line that
# begins earlier has a timecode with a wrong hour.
_LONGEST_LINE_S = 600

# Places, as parts of their table's, and what is wrong there.
Found = Iterator[tuple[str, str]]

# As many puppets as a character may have (production_tables.py).
_MOST_PUPPETS = 99


def settings_faults(production: Production, file: Path) -> Iterator[Problem]:
    """Yield where the settings of a file contradict those of a mouth set, which win over them."""
    found: dict[Problem, None] = {}
    for mouth_set in production.mouth_sets.values():
        try:
            settings_for(production.file.fitting, mouth_set.fitting)
        except InputError as error:
            for fault in error.problems:
                own = f"with the settings of its own that the mouth set {mouth_set.name} has: "
                what = f"{own if mouth_set.fitting else ''}{fault.what}"
                found[replace(fault, file=str(file), what=what)] = None
    yield from found


def faults_across(production: Production) -> Iterator[Problem]:
    """Yield what one table says that another table, or another file, does not allow."""
    if production.file.characters is not None and not production.file.characters:
        main = str(production.folder / "production.toml")
        yield Problem(main, "[characters]", "names nobody; add [characters.NAME] with name and mouth_set")
    for scene in production.scenes:
        for row, shot in enumerate(scene.shots, start=1):
            for where, text in _shot_faults(production, shot) if shot else ():
                yield Problem(str(scene.path), f"{_named('shot', row, shot.id)} {where}", text)
    if production.scenes:  # without scenes only that is told
        yield from _shooting_faults(production)
    yield from _sheet_faults(production)
    yield from _heads_faults(production)
    yield from _stock_faults(production)
    yield from _making_faults(production)


def _heads_faults(production: Production) -> Iterator[Problem]:
    """Yield faults of the groups of puppets whose heads take the same mouths."""
    for key, one in (production.file.characters or {}).items():
        if one is not None and one.puppets is not None:
            for place, text in heads_faults(key, one.puppets, one.interchangeable):
                yield Problem(str(production.folder / "production.toml"), f"[characters] [{key}] {place}", text)


def _making_faults(production: Production) -> Iterator[Problem]:
    """Yield figures of pieces and parts that no character has."""
    if production.file.making is not None and production.file.characters is not None:
        for place, text in making_faults(production.file.making, _codes(production)):
            yield Problem(str(production.folder / "production.toml"), f"[making] {place}", text)


def _stock_faults(production: Production) -> Iterator[Problem]:
    """Yield rows of the stock whose piece or puppet no character has."""
    if production.stock is None or production.file.characters is None:
        return
    heads: dict[str, tuple[Heads, ...]] = {
        key: heads_of(key, one.puppets, True if one.interchangeable is None else one.interchangeable)
        for key, one in production.file.characters.items()
        if one is not None
        and one.puppets is not None
        and not list(heads_faults(key, one.puppets, one.interchangeable))
    }
    codes = _codes(production)
    for place, text in stock_faults(production.stock, codes, heads):
        yield Problem(str(production.folder / STOCK), place, text)


def _sheet_faults(production: Production) -> Iterator[Problem]:
    """Yield characters named for columns of brows and eyes that the production does not have."""
    sheet, cast = production.file.sheet, production.file.characters
    for key in (sheet.faces or ()) if sheet is not None and cast is not None else ():
        if key not in cast:
            text = f"faces names {key!r}, and {_cast(production)}; take it out, or correct it"
            yield Problem(str(production.folder / "production.toml"), "[sheet]", text)


def _shooting_faults(production: Production) -> Iterator[Problem]:
    """Yield what the shooting plan says that characters and scenes do not allow."""
    plan, cast = production.file.shooting, production.file.characters
    if plan is None or cast is None:
        return
    # A faulty count of puppets was reported before: here the largest count is assumed for it.
    puppets = {
        key: character.puppets if character and character.puppets else _MOST_PUPPETS
        for key, character in cast.items()
    }
    read = {scene.id: [shot.id for shot in scene.shots if shot and shot.id] for scene in production.scenes}
    unread = {path.stem for path in files_in(production.folder / "scenes", ".toml")}.difference(read)
    named = {shoot.scene: shoot.shots or () for shoot in plan.shoot or () if shoot and shoot.scene in unread}
    for place, text in faults_in(plan, puppets, {**read, **named}):
        yield Problem(str(production.folder / "production.toml"), f"[shooting] {place}", text)
    codes = _codes(production)
    for place, text in piece_faults(plan.piece or (), codes):
        yield Problem(str(production.folder / "production.toml"), f"[shooting] {place}", text)
    for row, one in enumerate(plan.piece or (), start=1):
        mouth_set = production.mouth_sets.get(one.character or "") if one and one.material else None
        if mouth_set and one.code in mouth_set.by_code:
            what = f"{one.code} is a mouth of {mouth_set.name}, {mouth_set.material} like all of them"
            place = f"[shooting] [[piece]] {row} material"
            text = f"{what}; only replacement parts have a material of their own"
            yield Problem(str(production.folder / "production.toml"), place, text)


def _codes(production: Production) -> dict[str, list[str]]:
    """Return the codes of each character's pieces and parts; none if its mouth set cannot be read."""
    parts, sets = production.part_codes, production.mouth_sets
    cast = dict.fromkeys((*sets, *(production.file.characters or {})))
    return {key: [*sets[key].by_code, *parts.get(key, ())] if key in sets else [] for key in cast}


def _named(table: str, row: int, id: str | None) -> str:
    return f"[[{table}]] {row}" + (f' "{id}"' if id else "")


def shared_ids(scenes: tuple[Scene, ...]) -> Iterator[Problem]:
    """Yield shots and lines of a scene with the same id. Case does not count: files are named for ids."""
    for scene in scenes:
        places: defaultdict[str, list[str]] = defaultdict(list)
        for row, shot in enumerate(scene.shots, start=1):
            if shot is None:
                continue
            place = _named("shot", row, shot.id)
            places[(shot.id or "").casefold()].append(place)
            for number, line in enumerate(shot.line or (), start=1):
                if line is not None:
                    places[(line.id or "").casefold()].append(f"{place} {_named('line', number, line.id)}")
        for id, (place, *others) in places.items():
            if id and others:
                text = f"is also the id of {' and '.join(others)}; give each shot and line of a scene its own"
                yield Problem(str(scene.path), f"{place} id", text)


def _shot_faults(production: Production, shot: Shot) -> Found:
    if fault := _start_fault(production, shot):
        yield "start", fault
    for key, said in (shot.characters or {}).items():
        place = f"[characters] [{key}]"
        if production.file.characters is not None and key not in production.file.characters:
            yield place, f"is no character of the production; {_cast(production)}"
        if said is None:
            continue
        yield from ((f"{place} on_camera", text) for text in _span_faults(production, shot, said))
        mouth_set = production.mouth_sets.get(key)
        if mouth_set and said.rests_on is not None and not rest_piece(mouth_set, said.rests_on):
            known = ", ".join(dict.fromkeys([*mouth_set.sizes, *mouth_set.by_code]))
            yield f"{place} rests_on", f"{said.rests_on!r} is no shape or code of its mouth set; it has {known}"
    yield from _part_faults(production, shot)
    for row, line in enumerate(shot.line or (), start=1):
        for where, text in _line_faults(production, shot, line) if line else ():
            yield f"{_named('line', row, line.id)} {where}", text


def _cast(production: Production) -> str:
    names = ", ".join(production.file.characters)
    return f"the characters are {names}" if names else "it has none yet"


def _span_faults(production: Production, shot: Shot, said: OnCamera) -> Iterator[str]:
    number = production.file.first_frame
    if number is None or shot.frames is None:
        return
    last = number + shot.frames - 1
    for first, end in said.on_camera or ():
        if not number <= first <= end <= last:
            yield f"found [{first}, {end}]; frames of this shot are {number} to {last}, first before last"


def _part_faults(production: Production, shot: Shot) -> Found:
    """Parts of whom is not in the shot, on frames that it has not, over each other, or called as a mouth is."""
    cast, number = production.file.characters, production.file.first_frame
    whole = [(row, one) for row, one in enumerate(shot.part or (), start=1) if one]
    for row, one in whole:
        place = f"[[part]] {row}"
        if one.character is not None and cast is not None and one.character not in cast:
            yield f"{place} character", f"{one.character!r} is no character of the production; {_cast(production)}"
        elif one.character is not None and one.character not in shot.speakers:
            yield f"{place} character", f"{one.character!r} is not in this shot; name it under [shot.characters]"
        mouth_set = production.mouth_sets.get(one.character or "")
        if one.code is not None and mouth_set and one.code in mouth_set.by_code:
            yield f"{place} code", f"{one.code!r} is a piece of the mouth set too; give the part a code of its own"
        if one.frames is not None and number is not None and shot.frames is not None:
            last = number + shot.frames - 1
            if not number <= one.frames[0] <= one.frames[1] <= last:
                found = f"found [{one.frames[0]}, {one.frames[1]}]"
                yield f"{place} frames", f"{found}; frames of this shot are {number} to {last}, first before last"
    for (row, one), (below, other) in combinations(whole, 2):
        same = None not in (one.kind, one.character) and (one.kind, one.character) == (other.kind, other.character)
        if same and one.frames and other.frames:
            first, last = max(one.frames[0], other.frames[0]), min(one.frames[1], other.frames[1])
            if first <= last:
                on = f"frames {first} to {last}" if first < last else f"frame {first}"
                text = f"both are {one.kind} of {one.character} on {on}; let one end before the other begins"
                yield f"[[part]] {row} and {below} frames", text


def _line_faults(production: Production, shot: Shot, line: Line) -> Found:
    known = production.file.characters
    if line.character is not None and known is not None and line.character not in known:
        yield "character", f"{line.character!r} is no character of the production; {_cast(production)}"
    if line.out_us is not None and line.out_us <= (line.in_us or 0):
        yield "out", "is not after in; out must be later than in"
    if None not in (production.rate, production.file.first_frame, shot.start, shot.frames, line.begins):
        yield from (("begins", text) for text in _begin_faults(production, shot, line))


def _begin_faults(production: Production, shot: Shot, line: Line) -> Iterator[str]:
    try:
        begins_us = production.begins_us(line, shot)
    except ValueError as error:
        # A shot's start that is no timecode is a fault of the shot, not of the lines that are counted from it.
        if str(error) != _start_fault(production, shot):
            yield str(error)
        return
    if timing.frame_at(begins_us, production.rate) >= shot.frames:
        last = timing.number_of(shot.frames - 1, production.file.first_frame)
        remedy = "begin earlier or lengthen the shot"
        yield f"found {line.begins!r}, after the shot ends; its last frame is {last}: {remedy}"
    if begins_us < -_LONGEST_LINE_S * timing.US_PER_S:
        yield f"found {line.begins!r}, long before the shot begins at {shot.start}; is its hour right?"


def _start_fault(production: Production, shot: Shot) -> str | None:
    if production.rate is None or shot.start is None:
        return None
    try:
        production.start_frame(shot)
    except ValueError as error:
        return str(error)
    return None
