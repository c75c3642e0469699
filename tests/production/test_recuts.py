"""Random re-cuts: what the table says is what was done, kept account of here and not by comparing.

200 as tests, as many as are asked for by `PYTHONPATH=tests python -m tests.production.test_recuts 1000`. Half are
given as a list, half as an edit decision list. Each changes a few lines and shots, each in one way.
"""

import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from production.films import Film, Said, a_film, lay, snapshot, timecode

from lipsync.app.take.taking import find_taking, write_taking

RECUTS = 200
AT_ONCE = 50

Row = tuple[str, str, str, str, int | None]


def recut(film: Film, dice: random.Random) -> tuple[Film, Counter[Row]]:
    """Return a film in which a few things are changed, and what was done."""
    lines, shots, done = list(film.lines), dict(film.shots), Counter[Row]()
    for at in sorted(dice.sample(range(len(lines)), dice.randint(0, 6)), reverse=True):
        line = lines[at]
        where = (line.scene, line.shot, line.line)
        what = dice.choice(
            ("moves", "trimmed", "reworded", "re-recorded", "another character", "gone", "swap", "shot")
        )
        if what == "moves":
            by = dice.choice([n for n in range(-6, 40) if n])
            lines[at] = Said(**{**vars_of(line), "begins": line.begins + by})
            done[*where, "moves", by] += 1
        elif what == "trimmed":
            lines[at] = Said(**{**vars_of(line), "in_frame": dice.randint(1, 20), "out_frame": dice.randint(30, 60)})
            done[*where, "trimmed", None] += 1
        elif what == "reworded":
            lines[at] = Said(**{**vars_of(line), "text": f"Now it is {dice.randint(1, 99)}."})
            done[*where, "reworded", None] += 1
        elif what == "re-recorded":
            lines[at] = Said(**{**vars_of(line), "recording": f"recordings/new-{100 + at}.wav"})
            done[*where, "re-recorded", None] += 1
        elif what == "another character":
            lines[at] = Said(**{**vars_of(line), "character": "crab" if line.character == "heron" else "heron"})
            done[*where, "another character", None] += 1
        elif what == "gone":
            del lines[at]
            done[*where, "gone", None] += 1
        elif what == "shot":
            others = [key for key in shots if key[0] == line.scene and key[1] != line.shot]
            shot = dice.choice(others)[1]
            lines[at] = Said(**{**vars_of(line), "shot": shot})
            done[line.scene, shot, line.line, "in another shot", None] += 1
    for _ in range(dice.randint(0, 2)):
        scene, shot = dice.choice(sorted(shots))
        new = Said(
            scene,
            shot,
            f"{shot}-new{len(lines)}",
            "crab",
            "A new one.",
            f"recordings/new-{len(lines)}.wav",
            dice.randint(1, 90),
        )
        lines.insert(dice.randint(0, len(lines)), new)
        done[scene, shot, new.line, "new", None] += 1
    for key in dice.sample(sorted(shots), dice.randint(0, 2)):
        if any((line.scene, line.shot) == key for line in lines):
            frames, start = shots[key]
            by = dice.choice((-30, -1, 1, 48))
            shots[key] = (frames + by, start)
            done[*key, "", "grows" if by > 0 else "shrinks", by] += 1
    dice.shuffle(lines)  # the order of a list is no change
    return Film(tuple(lines), shots), done


def vars_of(line: Said) -> dict[str, object]:
    return {name: getattr(line, name) for name in line.__dataclass_fields__}


def told(folder: Path, *files: Path) -> tuple[Counter[Row], dict[Path, bytes]]:
    taking = find_taking(folder, files)
    assert taking.report.problems == ()
    rows = Counter((one.scene, one.shot, one.line, one.what, one.frames) for one in taking.differences)
    return rows, dict(taking.files)


@pytest.mark.parametrize("seed", range(RECUTS // AT_ONCE // 2))
def test_the_table_says_what_a_list_changes(seed: int, tmp_path: Path) -> None:
    film, sheet = a_film(), tmp_path / "list.csv"
    folder = lay(tmp_path / "film", film)
    sheet.write_text(film.csv(), "utf-8")
    write_taking(find_taking(folder, [sheet]))
    dice = random.Random(seed)
    for _ in range(AT_ONCE):
        new, done = recut(film, dice)
        sheet.write_text(new.csv(), "utf-8")
        rows, files = told(folder, sheet)
        assert rows == done
        assert bool(files) == bool(done)
    # the last one is written: taken again it changes nothing, and the first list takes all of it back but the parts
    # of recordings, of which it says nothing
    write_taking(find_taking(folder, [sheet]))
    before = snapshot(folder)
    assert told(folder, sheet) == (Counter(), {})
    sheet.write_text(film.csv(), "utf-8")
    back = find_taking(folder, [sheet])
    stay = sum(times for row, times in done.items() if row[3] == "trimmed")
    assert len(back.differences) == sum(done.values()) - stay
    write_taking(back)
    assert told(folder, sheet) == (Counter(), {})
    assert before.keys() == snapshot(folder).keys()


def edit(film: Film, order: list[tuple[str, str]]) -> str:
    """Return a scene as an edit decision list: its shots in order, their sounds where they lie."""
    rows, at, number = ["TITLE: LAMP ROOM", "FCM: NON-DROP FRAME"], 24 * 3600, 0
    for key in order:
        frames, _ = film.shots[key]
        number += 1
        rows += [f"{number:03}  {key[1]} V C 00:00:00:00 {timecode(frames)} {timecode(at)} {timecode(at + frames)}"]
        rows += [f"* FROM CLIP NAME: {key[0]}_{key[1]}"]
        for line in film.lines:
            if (line.scene, line.shot) == key:
                number += 1
                first, end = line.in_frame or 0, line.out_frame or 72
                begins = at + line.begins - 1
                times = f"{timecode(first)} {timecode(end)} {timecode(begins)} {timecode(begins + end - first)}"
                rows += [f"{number:03}  AX A C {times}", f"* FROM CLIP NAME: {line.recording.rpartition('/')[2]}"]
        at += frames
    return "\n".join(rows) + "\n"


def recut_edit(film: Film, order: list[tuple[str, str]], dice: random.Random) -> tuple[str, Counter[Row]]:
    """Return an edit of the first scene in which things lie elsewhere, and what was done."""
    lines, shots, done = list(film.lines), dict(film.shots), Counter[Row]()
    gone_shot = dice.choice(order) if dice.random() < 0.2 else None
    for at in sorted(dice.sample(range(len(lines)), dice.randint(0, 4)), reverse=True):
        line = lines[at]
        if (line.scene, line.shot) == gone_shot:
            continue
        where = (line.scene, line.shot, line.line)
        what = dice.choice(("moves", "trimmed", "gone"))
        if what == "moves":
            by = dice.choice([n for n in range(-6, 40) if n and line.begins + n >= 1])
            lines[at] = Said(**{**vars_of(line), "begins": line.begins + by})
            done[*where, "moves", by] += 1
        elif what == "trimmed":
            lines[at] = Said(**{**vars_of(line), "in_frame": dice.randint(1, 20), "out_frame": dice.randint(30, 60)})
            done[*where, "trimmed", None] += 1
        else:
            del lines[at]
            done[*where, "gone", None] += 1
    order = list(order)
    if dice.random() < 0.3:
        dice.shuffle(order)
    for key in dice.sample(order, dice.randint(0, 2)):
        by = dice.choice((-30, -1, 1, 48))
        shots[key] = (shots[key][0] + by, "")
        if key != gone_shot:
            done[*key, "", "grows" if by > 0 else "shrinks", by] += 1
    if gone_shot:
        order.remove(gone_shot)
        for line in film.lines:
            if (line.scene, line.shot) == gone_shot:
                done[line.scene, line.shot, line.line, "gone", None] += 1
        lines = [line for line in lines if (line.scene, line.shot) != gone_shot]
        done[*gone_shot, "", "shot gone", -film.shots[gone_shot][0]] += 1
    at = was = 24 * 3600
    starts = {}
    for key in film.shots:
        starts[key] = was
        was += film.shots[key][0]
    for key in order:
        if at != starts[key]:
            done[*key, "", "starts elsewhere", at - starts[key]] += 1
        at += shots[key][0]
    return edit(Film(tuple(lines), shots), order), done


@pytest.mark.parametrize("seed", range(RECUTS // AT_ONCE // 2))
def test_the_table_says_what_an_edit_changes(seed: int, tmp_path: Path) -> None:
    film, sheet, cut = a_film(1), tmp_path / "list.csv", tmp_path / "cut.edl"
    folder = lay(tmp_path / "film", film)
    sheet.write_text(film.csv(), "utf-8")
    write_taking(find_taking(folder, [sheet]))
    order, dice = list(film.shots), random.Random(seed)
    cut.write_text(edit(film, order), "utf-8")
    assert told(folder, cut) == (Counter(), {})
    for _ in range(AT_ONCE):
        text, done = recut_edit(film, order, dice)
        cut.write_text(text, "utf-8")
        rows, files = told(folder, cut)
        assert rows == done
        assert bool(files) == bool(done)
    write_taking(find_taking(folder, [cut]))
    assert told(folder, cut) == (Counter(), {})


if __name__ == "__main__":
    for number in range(int(sys.argv[1]) // AT_ONCE // 2):
        for look in (test_the_table_says_what_a_list_changes, test_the_table_says_what_an_edit_changes):
            with tempfile.TemporaryDirectory() as temporary:
                look(number, Path(temporary))
        print(f"{(number + 1) * AT_ONCE * 2} re-cuts, each told as it was done")  # noqa: T201
