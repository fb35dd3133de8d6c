"""The Embree reference for support against closed forms, before it judges anything."""

import math

import columns_ref
import pytest
import trimesh

YAW = trimesh.transformations.rotation_matrix(0.4, [0, 0, 1])


def box(low, high):
    """An axis-aligned box."""
    return trimesh.creation.box(bounds=[low, high])


def measure(mesh, **settings):
    """Figures of a mesh turned about Z and set down on the bed."""
    mesh.apply_transform(YAW)
    mesh.apply_translation([0, 0, -mesh.bounds[0][2]])
    return columns_ref.support(mesh.vertices, mesh.faces, 0.1, **settings)


def test_tee():
    """A bar of 30 x 10 on a stem of 10 x 10 x 20: 200 mm² hang 20 mm above the bed."""
    tee = trimesh.boolean.union([box([10, 0, 0], [20, 10, 20]), box([0, 0, 20], [30, 10, 25])],
                                engine="manifold")
    assert measure(tee)["support_volume_mm3"] == pytest.approx(4000, rel=2e-3)


def test_hollow_cube():
    """Side 20, wall 2: the cavity is support, and ends on the part."""
    hollow = trimesh.boolean.difference([box([0] * 3, [20] * 3), box([2] * 3, [18] * 3)],
                                        engine="manifold")
    figures = measure(hollow)
    assert figures["support_volume_mm3"] == pytest.approx(4096, rel=2e-3)
    assert figures["scar_below_mm2"] == pytest.approx(256, rel=2e-3)
    assert figures["odd_lines"] == 0


def test_overlapping_bodies():
    """A slab that runs through a leg: 15 x 10 of it hang 10 mm above the bed."""
    both = trimesh.util.concatenate([box([0, 0, 10], [20, 10, 14]), box([0, 0, 0], [5, 10, 12])])
    figures = measure(both)
    assert figures["support_volume_mm3"] == pytest.approx(1500, rel=2e-3)
    assert figures["exposed_overhang_mm2"] == pytest.approx(150, rel=2e-3)


def test_cone_on_its_tip():
    """Half-angle 60°, R 10: all the shadow but the cone, 2/3 · πR²H."""
    height = 10 / math.tan(math.radians(60))
    cone = trimesh.creation.cone(radius=10, height=height, sections=720)
    cone.apply_transform(trimesh.transformations.rotation_matrix(math.pi, [1, 0, 0]))
    expected = 2 / 3 * math.pi * 100 * height
    assert measure(cone, touch=0)["support_volume_mm3"] == pytest.approx(expected, rel=3e-3)
