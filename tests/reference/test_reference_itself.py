"""The reference against closed forms and against itself, before it judges anything."""

import math

import geometry
import numpy as np
import pytest
import shapely
import solids
import trimesh


def posed(mesh):
    """A trimesh as a posed solid, standing on z = 0."""
    low = mesh.bounds[0]
    return geometry.Posed(solids.turned(solids.weld(mesh)), np.eye(3), [0, 0, -low[2]])


def test_table_is_large_enough():
    """Enough real meshes, closed ones, and exactly ten for the dense tests."""
    assert len(solids.ENTRIES) >= 40
    assert len(solids.CLOSED) >= 30
    assert len(solids.OPEN) >= 5
    assert len(solids.DENSE) == 10
    assert all(solids.ENTRIES[k]["triangles"] <= 30_000 for k in solids.DENSE)


@pytest.mark.parametrize("key", solids.ENTRIES)
def test_table_tells_the_truth(key):
    """Triangles, bodies and closedness are what the table says."""
    entry = solids.ENTRIES[key]
    mesh = solids.weld(trimesh.load(solids.path(key), force="mesh", process=False))
    assert len(mesh.faces) == entry["triangles"]
    assert mesh.body_count == entry["bodies"]
    assert bool(mesh.is_watertight) == entry["closed"]


def test_share_above():
    """A triangle cut at half its height keeps a quarter or three quarters."""
    heights = np.array([[0, 0, 1.0], [0, 1, 1], [0, 0.5, 1], [2, 2, 3], [-2, -1, 0]])
    assert geometry.share_above(heights, 0.5) == pytest.approx([0.25, 0.75, 0.5, 1, 0])


def test_box_by_closed_form():
    """A box 10 × 20 × 30: contact, tipping, rectangle, stair steps."""
    box = posed(trimesh.creation.box((10, 20, 30)))
    contact = box.section(0.1)
    assert contact.area == pytest.approx(200)
    assert geometry.tip_angle_deg(contact, (0, 0, 15)) == pytest.approx(math.degrees(math.atan2(5, 15)))
    assert geometry.rectangle(box.vertices[:, :2]) == pytest.approx([20, 10])
    assert geometry.longest_chord(contact) == pytest.approx(math.hypot(10, 20))
    assert geometry.stair_mean_um(box, 0.2) == 0
    assert geometry.overhang_area(box, 45, 0.1) == 0
    assert geometry.layer_count(2.7, 0.3, 0.3) == 9


def test_ball_by_closed_form():
    """The overhang of a ball is a zone of it: 2πR times its height."""
    ball = posed(trimesh.creation.icosphere(6, 10))
    zone = 10 * (1 - math.sin(math.radians(45.5))) - 0.1
    assert geometry.overhang_area(ball, 45, 0.1) == pytest.approx(2 * math.pi * 10 * zone, rel=4e-3)


def test_winding_of_overlaps_and_cavities():
    """Overlapping boxes count once; a box inside that faces inward is a hole."""
    a, b = trimesh.creation.box((2, 2, 2)), trimesh.creation.box((2, 2, 2))
    b.apply_translation([1, 0.25, 0.125])
    both = posed(trimesh.util.concatenate(a, b))
    assert not both.solid.single
    assert both.section(1.0).area == pytest.approx(4 + 4 - 1.75)
    assert geometry.union_volume(both.solid) == pytest.approx(8 + 8 - 1 * 1.75 * 1.875)
    hole = trimesh.creation.box((1, 1, 1))
    hole.invert()
    hollow = posed(trimesh.util.concatenate(a, hole))
    assert hollow.solid.single
    assert sum(hollow.solid.volumes) == pytest.approx(7)
    assert hollow.section(1.0).area == pytest.approx(3)
    loose = trimesh.creation.box((1, 1, 1))
    loose.invert()
    loose.apply_translation([5, 0, 0])
    assert sum(posed(trimesh.util.concatenate(a, loose)).solid.volumes) == pytest.approx(9)


@pytest.mark.parametrize("key", ["upper_arm", "wrist", "finger", "forearm", "drawer_box", "gear",
                                 "rear_case", "bwb", "nut", "mounting_plate", "thumb_middle"])
def test_sections_by_two_libraries(key):
    """manifold's sections and trimesh's are the same where a body does not cut itself."""
    solid = solids.solid(key)
    for down in ("r0", "r1"):
        rotation = trimesh.geometry.align_vectors(solids.POSES[down], [0, 0, -1])[:3, :3]
        low = (solid.vertices @ rotation.T)[:, 2].min()
        part = geometry.Posed(solid, rotation, [0, 0, -low])
        for share in (0.1, 0.37, 0.5, 0.81):
            z = share * part.height
            one, two = part.section(z), part.section_trimesh(z)
            assert one.area == pytest.approx(two.area, rel=1e-6)
            assert one.length == pytest.approx(shapely.MultiPolygon(
                [g for g in getattr(two, "geoms", [two])]).length, rel=1e-4)
