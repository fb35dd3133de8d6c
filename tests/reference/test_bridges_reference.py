"""The bridge reference against closed forms, so that two wrongs do not agree."""

import math

import bridges_ref
import pytest
import shapely
from shapely import affinity


def measure(*parts, turn=0.0, layer=0.2):
    """Figures of parts (count of layers, polygons), from the bed up."""
    layers = []
    for count, polygons in parts:
        layers += [[affinity.rotate(p, turn, origin=(0, 0)) for p in polygons]] * count
    planes = [(k + 0.5) * layer for k in range(len(layers))]
    return bridges_ref.measure_sections(layers, planes, [k * layer for k in range(len(layers))])


@pytest.mark.parametrize("turn", [0, 17, 47.5])
def test_slot(turn):
    """Two walls under a slab, as in T11: the clear width, straight across."""
    legs = [shapely.box(0, 0, 5, 10), shapely.box(25, 0, 30, 10)]
    found = measure((3, legs), (2, [shapely.box(0, 0, 30, 10)]), turn=turn)
    (z, span, area, degrees), = found["bridges"]
    assert (z, span, area) == pytest.approx((0.6, 20, 200), rel=1e-4)
    assert abs((degrees - turn + 90) % 180 - 90) < 0.1
    assert found["cantilever_longest_mm"] == 0


def test_hollow_cube():
    """T13: the ceiling is held all around."""
    full = shapely.box(0, 0, 20, 20)
    found = measure((2, [full.difference(shapely.box(2, 2, 18, 18))]), (2, [full]))
    assert found["bridge_longest_mm"] == pytest.approx(16)
    assert found["bridges"][0][2] == pytest.approx(256)


@pytest.mark.parametrize("turn", [0, 33])
def test_shelf(turn):
    """A shelf reaches its depth, whether it is one line wide or many."""
    for depth in (0.5, 6.5):
        found = measure((2, [shapely.box(0, 0, 4, 30)]), (2, [shapely.box(0, 0, 4 + depth, 30)]), turn=turn)
        assert not found["bridges"]
        assert found["cantilever_longest_mm"] == pytest.approx(depth, rel=1e-4)


def test_round_pocket():
    """A round pocket spans its diameter."""
    full = shapely.box(-10, -10, 10, 10)
    found = measure((2, [full.difference(shapely.Point(0, 0).buffer(4, quad_segs=32))]), (2, [full]))
    assert found["bridge_longest_mm"] == pytest.approx(8, rel=5e-3)
    assert found["bridges"][0][2] == pytest.approx(16 * math.pi, rel=0.01)


def test_cone_and_chamfer():
    """A cone reaches out by its step; at the limit nothing does."""
    for lean, reach in ((45, 0.0), (60, 0.2 * math.tan(math.radians(60)))):
        step = 0.2 * math.tan(math.radians(lean))
        discs = [(1, [shapely.Point(0, 0).buffer(5 + k * step, quad_segs=45)]) for k in range(4)]
        squares = [(1, [shapely.box(-5 - k * step, -5 - k * step, 5 + k * step, 5 + k * step)]) for k in range(4)]
        assert measure(*discs)["cantilever_longest_mm"] == pytest.approx(reach, rel=5e-3)
        if lean == 45:
            assert measure(*squares)["cantilever_longest_mm"] == 0


def test_hook():
    """A tip that begins in the air, then an arm that bridges to it."""
    post, tip = shapely.box(0, 0, 5, 5), shapely.box(15, 0, 20, 5)
    found = measure((3, [post]), (2, [post, tip]), (2, [shapely.box(0, 0, 20, 5)]))
    assert found["islands"] == [(pytest.approx(0.6), pytest.approx(25))]
    assert found["bridge_longest_mm"] == pytest.approx(10)
