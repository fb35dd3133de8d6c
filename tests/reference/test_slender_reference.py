"""The slender reference against closed forms, so that two wrongs do not agree."""

import math

import pytest
import shapely
import slender_ref

LINE, E_MPA = 0.45, 3500.0


def stack(*parts, layer=0.2):
    """Layers and levels of parts (top, polygons), from the bed up."""
    layers = []
    for top, polygons in parts:
        layers += [polygons] * (round(top / layer) - len(layers))
    return layers, [k * layer for k in range(len(layers) + 1)]


def square(x, y, side):
    """Square about a centre."""
    return shapely.box(x - side / 2, y - side / 2, x + side / 2, y + side / 2)


def test_comb():
    """T12: five tines of ratio 20; each T23, and the base below by the unit-load integral."""
    tines = [square(4 + 8 * k, 5, 2) for k in range(5)]
    found = slender_ref.measure_sections(*stack((4, [shapely.box(0, 0, 40, 10)]), (44, tines)))
    assert len(found["stretches"]) == 6
    assert found["slender_ratio"] == pytest.approx(20, rel=1e-9)
    base = (44**3 - 40**3) / (3 * E_MPA * 40 * 10**3 / 12)
    assert found["sway_mm_per_n"] == pytest.approx(4.571428571 + base, rel=1e-9)
    assert found["weakest_section_mm2"] == pytest.approx(20)
    assert [j[1] for j in found["jumps"]] == ["area", "pieces"]


def test_round_post():
    """T24: a post of 3 mm diameter and 30 mm height."""
    disc = shapely.Point(7, 3).buffer(1.5, quad_segs=500)
    found = slender_ref.measure_sections(*stack((30, [disc]), layer=1.0))
    assert found["sway_mm_per_n"] == pytest.approx(0.646725, rel=1e-5)
    assert found["slender_ratio"] == pytest.approx(30 / (3 * math.sqrt(0.75)), rel=1e-5)


def test_moments_of_a_triangle():
    """Right triangle with legs b and h: hb³/36, bh³/36, −b²h²/72 (from memory)."""
    b, h = 3.0, 5.0
    tensor = slender_ref.second_moments(shapely.Polygon([(7, 2), (7 + b, 2), (7, 2 + h)]))
    assert tensor[0, 0] == pytest.approx(h * b**3 / 36)
    assert tensor[1, 1] == pytest.approx(b * h**3 / 36)
    assert tensor[0, 1] == pytest.approx(-(b * h)**2 / 72)


def test_cone_is_one_stretch():
    """Half of the area goes from layer to layer only in the last three layers."""
    layers = [[shapely.Point(0, 0).buffer(20 - 0.2 * k - 0.13)] for k in range(99)]
    found = slender_ref.measure_sections(layers, [0.2 * k for k in range(100)])
    assert len(found["stretches"]) == 1


def test_legs_merge():
    """Two legs end at the slab, the post on it starts anew."""
    legs = [square(-10, 0, 3), square(10, 0, 3)]
    found = slender_ref.measure_sections(
        *stack((15, legs), (18, [shapely.box(-15, -3, 15, 3)]), (30, [square(0, 0, 2)])))
    ends = [(round(s["from_mm"], 6), round(s["to_mm"], 6)) for s in found["stretches"]]
    assert ends == [(0, 15), (0, 15), (15, 18), (18, 30)]
