"""A studio's own pictures: PNG, JPEG and SVG, and every way in which they can be wrong."""

import io
import struct
import zlib

import numpy as np
import pypdfium2
import pytest
from PIL import Image as PillowImage

from lipsync.errors import InputError
from lipsync.fit.mouthset import Lips, MouthSet
from lipsync.paper.marks import Document, Image, Page
from lipsync.paper.mouth_drawing import HEIGHT, drawing
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of, height_of, load, mark_of


@pytest.fixture
def mouth_set(make_job):
    """A mouth set whose first piece names a picture."""
    ours = make_job(1, characters=1).characters[0].mouth_set

    def naming(file):
        first = ours.piece[0].model_copy(update={"picture": file})
        return ours.model_copy(update={"piece": (first, *ours.piece[1:])})

    return naming


def printed(piece, art):
    """A piece's picture at 40 mm width as grey points, 10 to a millimetre."""
    page = Page(60, 50, (mark_of(piece, art, 10, 25, 40),))
    pdf = pypdfium2.PdfDocument(draw(Document("p", (page,))))
    return pdf[0].render(scale=10 * 25.4 / 72, grayscale=True).to_numpy().squeeze()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_is_read_made_small_and_drawn_in_its_proportions(tmp_path, mouth_set, kind):
    half = np.full((600, 2000, 3), 255, np.uint8)
    half[:, 1000:] = 0
    PillowImage.fromarray(half).save(tmp_path / f"open.{kind.lower()}")
    mouths = mouth_set(f"open.{kind.lower()}")
    art = art_of(mouths, tmp_path)
    image = art[mouths.piece[0].code]
    assert isinstance(image, Image)
    assert (image.width_px, image.height_px) == (240, 72)
    assert height_of(mouths.piece[0], art) == pytest.approx(0.3)
    points = printed(mouths.piece[0], art)
    assert points[250, 200] > 250  # left half white, right half black, 40 mm wide and 12 high about (30, 25)
    assert points[250, 450] < 5
    assert points[180, 450] > 250
    assert points[200, 450] < 5


def test_greys_of_sixteen_bits_are_those_of_eight(tmp_path):
    greys = np.arange(0, 65536, 257, dtype=np.uint16).reshape(16, 16)
    PillowImage.fromarray(greys).save(tmp_path / "deep.png")
    assert (tmp_path / "deep.png").read_bytes()[24] == 16  # bits of a sample (PNG, IHDR)
    rgb = np.frombuffer(load(tmp_path / "deep.png").rgb, np.uint8).reshape(-1, 3)
    assert rgb.tolist() == [[grey] * 3 for grey in range(256)]


def test_a_clear_grey_of_sixteen_bits_lies_on_white(tmp_path):
    greys = np.zeros((8, 8), np.uint16)
    greys[:, 4:] = 40_000
    PillowImage.fromarray(greys).save(tmp_path / "clear.png", transparency=0)
    rgb = np.frombuffer(load(tmp_path / "clear.png").rgb, np.uint8).reshape(8, 8, 3)
    assert (rgb[:, :4] == 255).all()
    assert (rgb[:, 4:] == 40_000 // 257).all()


def test_a_folder_is_no_picture(tmp_path):
    with pytest.raises(InputError, match="is a folder; name the picture in it"):
        load(tmp_path)


def test_a_transparent_picture_lies_on_white_and_a_turned_one_is_set_upright(tmp_path):
    PillowImage.new("RGBA", (10, 10), (0, 0, 0, 0)).save(tmp_path / "clear.png")
    assert set(load(tmp_path / "clear.png").rgb) == {255}
    exif = PillowImage.Exif()
    exif[0x0112] = 6  # Exif 2.3, Orientation: the 0th row is the right side
    PillowImage.new("RGB", (40, 20)).save(tmp_path / "turned.jpg", exif=exif)
    turned = load(tmp_path / "turned.jpg")
    assert (turned.width_px, turned.height_px) == (20, 40)


_LETTERS = {"move": "M", "line": "L", "curve": "C", "close": "Z"}


def svg_of(lips: Lips) -> str:
    """Return the drawing as an SVG 1.1 file: the same outlines as on the page."""
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" viewBox="0 0 1 {HEIGHT}" fill-rule="evenodd">']
    for path in drawing(lips):
        outline = " ".join(" ".join([_LETTERS[str(step[0])], *(f"{n:g}" for n in step[1:])]) for step in path.steps)
        stroke = f' stroke-width="{path.line_mm:g}" stroke-linejoin="round" stroke-linecap="round"'
        stroke = f' stroke="{_colour(path.stroke)}"{stroke}' if path.stroke is not None else ""
        lines.append(f'  <path fill="{_colour(path.fill)}"{stroke} d="{outline}"/>')
    return "\n".join([*lines, "</svg>", ""])


def _colour(grey: float | None) -> str:
    return "none" if grey is None else f"#{round(255 * grey):02x}" + f"{round(255 * grey):02x}" * 2


def test_our_own_drawing_saved_as_svg_prints_as_it_would_have(tmp_path, mouth_set):
    lips = Lips(opening=0.6, width=0.5, rounding=0.2, teeth=0.9, tongue=0.5)
    (tmp_path / "own.svg").write_text(svg_of(lips), encoding="utf-8")
    mouths = mouth_set("own.svg")
    own = art_of(mouths, tmp_path)[mouths.piece[0].code]
    ours = drawing(lips)
    assert [(p.fill is None, p.stroke is None, p.nonzero) for p in own] == [
        (p.fill is None, p.stroke is None, False) for p in ours
    ]
    # It is drawn as large as fits: the same outlines up to one scale and one shift.
    numbers = [n for p in own for step in p.steps for n in step[1:]]
    expected = [n for p in ours for step in p.steps for n in step[1:]]
    xs, ys = np.polyfit(expected[::2], numbers[::2], 1), np.polyfit(expected[1::2], numbers[1::2], 1)
    assert xs[0] == pytest.approx(ys[0], rel=1e-3)
    assert np.polyval(xs, expected[::2]) == pytest.approx(numbers[::2], abs=1e-3)
    assert np.polyval(ys, expected[1::2]) == pytest.approx(numbers[1::2], abs=1e-3)


def test_circles_turns_styles_and_colours_of_an_svg(tmp_path, mouth_set):
    (tmp_path / "a.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50"><g transform="translate(10 0)">'
        '<circle cx="40" cy="25" r="20" style="fill:#ff0000"/>'
        '<path d="M10 25 Q 40 60 70 25" fill="none" stroke="black" stroke-width="4"/></g></svg>'
    )
    mouths = mouth_set("a.svg")
    art = art_of(mouths, tmp_path)
    points = printed(mouths.piece[0], art)
    circle, line = art[mouths.piece[0].code]
    assert circle.fill == pytest.approx(0.299)  # red in ITU-R BT.601
    assert line.fill is None
    assert line.stroke == 0
    assert abs(int(points[220, 300]) - 76) <= 1
    every = [n for path in (circle, line) for step in path.steps for n in step[1:]]
    assert min(every) >= 0
    assert max(every[::2]) <= 1
    assert max(every[1::2]) <= HEIGHT


def png(width, height):
    """A PNG that says it is so large, and is not."""
    header = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = b"IDAT" + zlib.compress(b"\0" * 100)
    chunks = b"".join(struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in (header, data))
    return b"\x89PNG\r\n\x1a\n" + chunks


def whole_png():
    out = io.BytesIO()
    PillowImage.new("RGB", (300, 200), "red").save(out, "PNG")
    return out.getvalue()


_GRADIENT = '<defs><linearGradient id="pale"><stop stop-color="#fcc"/></linearGradient></defs>'
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("gone.png", None, "there is no such picture"),
        ("text.png", b"this is no picture", "cannot be read as a picture"),
        ("empty.png", b"", "cannot be read as a picture"),
        ("half.png", whole_png()[:150], "cannot be read as a picture"),
        ("huge.png", png(8_000, 9_000), "is 8000 by 9000 points; make it smaller"),
        ("vast.png", png(2_000_000, 2_000_000), "make it smaller"),
        ("gif.png", b"GIF89a" + b"\0" * 40, "cannot be read as a picture"),
        ("broken.svg", b"<svg", "cannot be read as SVG"),
        ("other.svg", b"GIF89a", "cannot be read as SVG"),
        ("empty.svg", SVG.format("").encode(), "holds no outline"),
        ("line.svg", SVG.format('<path d="M0 0" fill="red"/>').encode(), "cannot be drawn|holds no outline"),
        ("hidden.svg", SVG.format('<circle r="3" display="none"/>').encode(), "holds no outline"),
        ("letters.svg", SVG.format("<text>ah</text>").encode(), "holds letters or a picture"),
        ("gradient.svg", SVG.format(_GRADIENT + '<circle r="3" fill="url(#pale)"/>').encode(), "holds a gradient"),
        (
            "styled.svg",
            SVG.format(_GRADIENT + '<circle r="3" style="fill:url(#pale)"/>').encode(),
            "holds a gradient",
        ),
        ("within.svg", SVG.format(_GRADIENT + '<g fill="url(#pale)"><circle r="3"/></g>').encode(), "a gradient"),
        ("loud.svg", SVG.format(_GRADIENT + '<circle r="3" fill="URL(#pale)"/>').encode(), "holds a gradient"),
        ("around.svg", SVG.format(_GRADIENT + '<circle r="3" stroke="url(#pale)"/>').encode(), "holds a gradient"),
        # Numbers below 2.2e-308 lose digits, and what is divided by them has none left (IEEE 754, subnormal).
        (
            "bow.svg",
            SVG.format('<path d="M0 0 A1e-320 1e-320 0 0 1 3 3Z" fill="red"/>').encode(),
            "cannot be read as",
        ),
        ("speck.svg", SVG.format('<path d="M0 0 L1e-320 0 L0 1e-320Z" fill="red"/>').encode(), "cannot be drawn"),
        ("heavy.svg", b" " * 4_000_001, "is 4000001 bytes"),
    ],
)
def test_a_picture_that_is_missing_huge_or_none_is_named_with_its_file(tmp_path, mouth_set, name, content, says):
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError, match=says) as caught:
        art_of(mouth_set(name), tmp_path)
    assert [problem.file for problem in caught.value.problems] == [str(tmp_path / name)]
    assert "\n" not in str(caught.value)


def test_all_wrong_pictures_of_a_set_are_named_in_one_go(tmp_path, make_job):
    ours = make_job(1, characters=1).characters[0].mouth_set
    pieces = tuple(piece.model_copy(update={"picture": f"{piece.code}.png"}) for piece in ours.piece)
    with pytest.raises(InputError, match="there is no such picture") as caught:
        art_of(ours.model_copy(update={"piece": pieces}), tmp_path)
    assert len(caught.value.problems) == len(pieces)


def test_a_set_without_pictures_needs_no_folder(tmp_path, make_job):
    for character in make_job(1, characters=2).characters:
        assert isinstance(character.mouth_set, MouthSet)
        assert art_of(character.mouth_set, tmp_path / "none") == {}
