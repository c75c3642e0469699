"""Plots: axes that hold all values at round steps, and names that cover nothing."""

import random
from math import floor, isclose, log10

import pytest

from lipsync.paper.marks import MM_PER_POINT
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.plot import Axis, Named, Plot, circle, names

RANGES = [(0, 1), (3, 3), (-2.5, 7.1), (0, 1e-4), (99_999, 100_001), (1, 2_000_000), (0.1, 0.3), (4, 30), (4, 200)]


@pytest.mark.parametrize("span", RANGES)
@pytest.mark.parametrize("ticks", [2, 6, 15])
@pytest.mark.parametrize("from_zero", [True, False])
def test_an_axis_holds_its_values_at_round_steps(span, ticks, from_zero) -> None:
    axis = Axis.of(list(map(float, span)), from_zero=from_zero, ticks=ticks)
    slack = axis.step * 1e-6
    assert axis.low <= min(span) + slack
    assert axis.high >= max(span) - slack
    assert not from_zero or axis.low <= 0
    # Steps are 1, 2 or 5 times a power of ten, and every tick a multiple of the step.
    leading = axis.step / 10 ** floor(log10(axis.step) + 1e-9)
    assert any(isclose(leading, nice, rel_tol=1e-6) for nice in (1, 2, 5))
    assert 2 <= len(axis.ticks) <= ticks + 3
    for value in axis.ticks:
        assert isclose(value / axis.step, round(value / axis.step), abs_tol=1e-6)
        # What is printed beside a tick is where the tick lies.
        assert isclose(float(axis.text(value)), value, abs_tol=axis.step * 1e-6)


def test_whole_steps_stay_whole() -> None:
    axis = Axis.of([4.0, 5.0], from_zero=False, whole=True)
    assert (axis.step, axis.ticks) == (1.0, (4.0, 5.0))


def test_a_point_lies_where_its_values_say() -> None:
    plot = Plot(20, 30, 100, 50, Axis(0, 10, 2), Axis(0, 1, 0.2))
    assert plot.at(0, 0) == (20, 80)
    assert plot.at(10, 1) == (120, 30)
    assert plot.at(5, 0.5) == (70, 55)


def test_a_circle_is_one() -> None:
    """Points halfway along each of its curves lie at its radius, to 3 in 10,000 (the known error of this form)."""
    outline = circle(10, 20, 4)
    at = outline.steps[0][1:]
    for kind, *numbers in outline.steps[1:-1]:
        assert kind == "curve"
        first, second, end = numbers[:2], numbers[2:4], numbers[4:]
        middle = [(a + 3 * b + 3 * c + d) / 8 for a, b, c, d in zip(at, first, second, end, strict=True)]
        assert ((middle[0] - 10) ** 2 + (middle[1] - 20) ** 2) ** 0.5 == pytest.approx(4, rel=3e-4)
        at = end


@pytest.mark.parametrize("seed", range(8))
def test_names_cover_nothing(seed) -> None:
    rng = random.Random(seed)
    plot = Plot(20, 30, 150, 80, Axis(0, 10, 2), Axis(0, 10, 2))
    points = sorted((rng.uniform(0, 10), rng.uniform(0, 10)) for _ in range(rng.randint(1, 25)))
    wanted = [Named(*point, f"{n}.{n}" * rng.randint(1, 3)) for n, point in enumerate(points)]
    found = list(names(plot, wanted, points))
    boxes = []
    for text in found:
        high = 8.0 * MM_PER_POINT
        wide = string_width_mm(text.text, text.size_pt)
        boxes.append((text.x_mm, text.y_mm - 0.73 * high, text.x_mm + wide, text.y_mm))
    for at, (left, top, right, bottom) in enumerate(boxes):
        assert left >= 20
        assert right <= 170
        assert top >= 30
        assert bottom <= 110
        for x, y in (plot.at(*point) for point in points):
            assert not (left < x < right and top < y < bottom)
        for other in boxes[:at]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
    assert found
