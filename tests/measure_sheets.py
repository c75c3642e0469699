"""How long sheets take to print, how large they are, and how that compares with drawing alone.

    python tests/measure_sheets.py [SHOTS]

Prints a made-up film of 1,500 shots (seeded; 48 to 124 frames, 86 on average: 90 minutes at 24), one or two
characters to a shot, the way `lipsync sheet` does: once as it is, and once more after each shot was changed, with
what was printed before read from its file, rows compared, changed ones marked, a page that tells of them, and both
stamp and file written. Says of each: seconds of processor time, pages, bytes a page, the most memory used. Before, in
the same run, the time a page takes against the PDF library drawing the same marks from a ready list, with calls to
its canvas and nothing else (every number in points beforehand, each mouth held in the file once, the square code only
a box).
"""

import io
import random
import resource
import sys
import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path as FilePath
from tempfile import TemporaryDirectory
from types import SimpleNamespace

from reportlab.pdfgen.canvas import Canvas

from lipsync import timing
from lipsync.files import write_whole
from lipsync.fit.mouthset import load_mouth_set
from lipsync.floor.revising import revise
from lipsync.floor.shot_files import ShotFiles
from lipsync.paper.marks import MM_PER_POINT, Box, Code, Drawing, Path, Rule, Text
from lipsync.paper.pdf import draw, string_width_mm
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.phonemes import PHONEMES, VOWELS
from lipsync.track import FrameTrack, Sound

RATE = Fraction(24)
WORDS = ("the", "tide", "has", "gone", "out", "and", "every", "lamp", "of", "the", "harbour", "Skerrivane", "oysters")
MOUTH_SETS = [load_mouth_set(p) for p in sorted((FilePath(__file__).parents[1] / "mouthsets").glob("*.toml"))]
POINT = 1 / MM_PER_POINT


def character(rng, name, mouth_set, frames):
    """A character that speaks all the time: a phoneme takes 60 to 130 ms, a piece stays for 1 to 7 frames."""
    sounds, at, part = [], rng.randint(0, 400_000), 0
    while at < timing.frame_start_us(frames, RATE):
        for symbol in rng.choices(list(PHONEMES), k=rng.randint(1, 6)):
            lasts = rng.randint(60_000, 130_000)
            stress = rng.choice((0, 1)) if symbol in VOWELS else None
            sounds.append(
                Sound("a", part, symbol, WORDS[part % len(WORDS)], at, at + lasts, stress, -20.0, part % 9 == 0)
            )
            at += lasts
        part += 1
    pieces = []
    while len(pieces) < frames:
        pieces += [rng.choice(list(mouth_set.by_code))] * rng.randint(1, 7)
    track = FrameTrack(name, tuple(pieces[:frames]), (None,) * frames)
    level = tuple(rng.uniform(-40, -10) for _ in range(frames))
    return SheetCharacter(name, mouth_set, track, tuple(sounds), level, beats=(frames // 3,))


def shot(number):
    rng = random.Random(number)
    frames = rng.randint(48, 124)
    people = [("Zoë Wade", MOUTH_SETS[-1]), ("Mr Clamp", MOUTH_SETS[0])][: rng.choice((1, 1, 2))]
    characters = tuple(character(rng, name, mouth_set, frames) for name, mouth_set in people)
    return SheetJob("Low Tide Post", "The post office", f"{number:04}", RATE, frames, characters)


def edited(job):
    """The shot as it is after a correction: the words of its middle half second later, and other pieces there."""
    first, last = job.frames // 2, job.frames // 2 + 12

    def changed(character):
        at_us = timing.frame_start_us(first, job.rate)
        sounds = tuple(
            s if s.start_us < at_us else replace(s, start_us=s.start_us + 83_333, end_us=s.end_us + 83_333)
            for s in character.sounds
        )
        codes = list(character.mouth_set.by_code)
        pieces = list(character.track.pieces)
        pieces[first:last] = [codes[(codes.index(code) + 1) % len(codes)] for code in pieces[first:last]]
        track = FrameTrack(character.name, tuple(pieces), character.track.serves)
        return replace(character, sounds=sounds, track=track)

    return replace(job, characters=tuple(map(changed, job.characters)), filmed=frozenset(range(first)))


def printed(folder, places, job):
    """Print a shot as `lipsync sheet` does, and return its document and its bytes."""
    names = [character.name for character in job.characters]
    revised = revise(SimpleNamespace(folder=folder), "01", names, job, places)
    document = revised.document()
    content = draw(document)
    revised.keep()
    write_whole(folder / "sheets" / f"{job.shot}.pdf", content)
    return document, content


def ready(document):
    """A document's marks as a list of canvas calls with all numbers ready."""
    pages = []
    for page in document.pages:
        top, calls = page.height_mm * POINT, []
        for mark in page.marks:
            if isinstance(mark, Text):
                face = "DejaVuSansCondensed-Bold" if mark.bold else "DejaVuSansCondensed"
                part = {"left": 0, "centre": 0.5, "right": 1}[mark.align]
                x = mark.x_mm - part * string_width_mm(mark.text, mark.size_pt, mark.bold)
                calls.append(("text", face, mark.size_pt, mark.grey, x * POINT, top - mark.y_mm * POINT, mark.text))
            elif isinstance(mark, Rule):
                ends = (mark.x1_mm * POINT, top - mark.y1_mm * POINT, mark.x2_mm * POINT, top - mark.y2_mm * POINT)
                calls.append(("rule", mark.width_mm * POINT, mark.grey, ends))
            elif isinstance(mark, Box):
                corner = (mark.x_mm * POINT, top - (mark.y_mm + mark.height_mm) * POINT)
                calls.append(("box", mark.fill, (*corner, mark.width_mm * POINT, mark.height_mm * POINT)))
            elif isinstance(mark, Path):
                calls.append(("path", mark.fill or 0, scaled(mark.steps, top)))
            elif isinstance(mark, Drawing):
                paths = tuple((path.fill, scaled(path.steps, 0)) for path in mark.paths)
                calls.append(
                    ("drawing", id(mark.paths), paths, mark.x_mm * POINT, top - mark.y_mm * POINT, mark.width_mm)
                )
            elif isinstance(mark, Code):
                calls.append(("box", 0, (mark.x_mm * POINT, top - mark.y_mm * POINT, 9, 9)))
        pages.append((page.width_mm * POINT, page.height_mm * POINT, calls))
    return pages


def scaled(steps, top):
    return tuple((s[0], [top - n * POINT if i % 2 else n * POINT for i, n in enumerate(s[1:])]) for s in steps)


def outline(canvas, steps, fill):
    path = canvas.beginPath()
    for kind, numbers in steps:
        {"move": path.moveTo, "line": path.lineTo, "curve": path.curveTo, "close": path.close}[kind](*numbers)
    canvas.setFillGray(fill or 0)
    canvas.drawPath(path, stroke=1, fill=int(fill is not None))


def drawn_plainly(pages):
    """Draw a ready list with nothing but calls to the PDF library's canvas."""
    out = io.BytesIO()
    canvas, held = Canvas(out, invariant=1, pageCompression=1), {}
    for width, height, calls in pages:
        canvas.setPageSize((width, height))
        for kind, *a in calls:
            if kind == "text":
                canvas.setFont(a[0], a[1])
                canvas.setFillGray(a[2])
                canvas.drawString(*a[3:])
            elif kind == "rule":
                canvas.setLineWidth(a[0])
                canvas.setStrokeGray(a[1])
                canvas.line(*a[2])
            elif kind == "box":
                canvas.setFillGray(a[0] or 0)
                canvas.rect(*a[1], stroke=1, fill=int(a[0] is not None))
            elif kind == "path":
                outline(canvas, a[1], a[0])
            else:
                if a[0] not in held:
                    held[a[0]] = f"mouth{len(held)}"
                    canvas.beginForm(held[a[0]])
                    for fill, steps in a[1]:
                        outline(canvas, steps, fill)
                    canvas.endForm()
                canvas.saveState()
                canvas.transform(a[4], 0, 0, a[4], a[2], a[3])
                canvas.doForm(held[a[0]])
                canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def timed(work, items):
    begun = time.process_time()
    done = [work(item) for item in items]
    return time.process_time() - begun, done


def film(folder, shots, change, called):
    places = ShotFiles({}, {})
    size = pages = 0
    taken = 0.0
    for number in range(shots):
        job = change(shot(number))
        begun = time.process_time()
        document, content = printed(folder, places, job)
        taken += time.process_time() - begun
        pages += len(document.pages)
        size += len(content)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    each_ms = taken / pages * 1000
    print(f"{called}: {shots} shots, {pages} pages: {taken:.1f} s of processor time, {each_ms:.2f} ms a page")
    print(f"  {size / pages / 1024:.1f} KB a page on average, {memory_mb:.0f} MB of memory at most")


def against_drawing_alone(folder, change, called, shots=40):
    """Measure pages made and drawn against pages only drawn; each round prints from what was there before it."""
    jobs = [change(shot(number)) for number in range(shots)]
    places = ShotFiles({}, {})
    documents = [printed(folder, places, job)[0] for job in jobs]
    lists = [ready(document) for document in documents]
    pages = sum(len(document.pages) for document in documents)
    rounds = []
    for _ in range(3):
        for job in jobs if not places else ():
            (folder / "prints" / "01" / f"{job.shot}.json").unlink()
        whole, _ = timed(lambda job: printed(folder, places, job), jobs)
        ours, _ = timed(draw, documents)
        plainly, _ = timed(drawn_plainly, lists)
        rounds.append((whole / plainly, whole / ours, whole, ours, plainly))
    ratio, to_ours, whole, ours, plainly = sorted(rounds)[1]
    print(
        f"{called}: a page in {whole / pages * 1000:.2f} ms; drawn from a ready list, "
        f"{plainly / pages * 1000:.2f} ms by plain calls and {ours / pages * 1000:.2f} ms by lipsync/paper/pdf.py"
    )
    print(f"  ratio {ratio:.2f} to plain calls, {to_ours:.2f} to pdf.py (median of 3 rounds of {pages} pages)")


def as_it_is(job):
    return job


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1500
    with TemporaryDirectory() as made:
        against_drawing_alone(FilePath(made), as_it_is, "printed first")
        against_drawing_alone(FilePath(made), edited, "printed again, changed")
    with TemporaryDirectory() as made:
        film(FilePath(made), count, as_it_is, "printed first")
        film(FilePath(made), count, edited, "printed again, changed")
