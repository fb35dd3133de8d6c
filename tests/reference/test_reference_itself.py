"""The reference against closed forms and against itself, before it judges anything."""

import math

import geometry
import numpy as np
import plan_grid
import program
import pytest
import shapely
import share
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


def test_turns_leave_nothing_out(monkeypatch):
    """Every pose and every slow mesh within three days, and on each of them enough."""
    poses, slow, days = [], [], range(20_000, 20_006)
    for seed in days:
        monkeypatch.setattr(program, "SEED", str(seed))
        poses.append({(key, pose) for key in solids.ENTRIES for pose in share.poses(key, solids.POSES)})
        slow.append(share.but(solids.CLOSED, solids.CLOSED[:3], 3))
        six = ("-z", "+z", "+x", "-y", "r0", "r1")
        assert all(share.poses(key, six) for key in solids.CLEAN)
    every = {(key, pose) for key in solids.ENTRIES for pose in solids.POSES}
    listed = {(key, pose) for key, pose in share.LISTED if pose in solids.POSES}
    for one, two, three in zip(poses, poses[1:], poses[2:]):
        assert one | two | three == every
        assert one & two == one & three == listed
        for pose in solids.POSES:
            assert sum(name == pose for _, name in one) >= len(solids.ENTRIES) // 3
    for k in range(len(days) - 2):
        assert set(solids.CLOSED[:3]) <= set(slow[k] + slow[k + 1] + slow[k + 2])
    assert all(len(meshes) == len(solids.CLOSED) - 2 for meshes in slow)
    monkeypatch.setattr(program, "SEED", "all")
    assert share.poses("nut", solids.POSES) == list(solids.POSES)
    assert share.but(solids.CLOSED, solids.CLOSED[:3], 3) == solids.CLOSED


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
    assert geometry.layer_steps_mean_um(box, 0.2) == 0
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


def test_support_by_closed_form():
    """A table, a ball and a hollow box, whose support is known."""
    slab = trimesh.creation.box((30, 10, 5))
    slab.apply_translation([0, 0, 17.5])
    legs = [trimesh.creation.box((5, 10, 15)) for _ in range(2)]
    legs[0].apply_translation([-12.5, 0, 7.5])
    legs[1].apply_translation([12.5, 0, 7.5])
    # Bodies that only touch, so the winding of each counts by itself.
    table = posed(trimesh.util.concatenate([slab, *legs]))
    volume, error, *_ = plan_grid.estimate(table, 45, 0.1)
    assert volume == pytest.approx(3000, abs=3 * error + 10)

    ball = posed(trimesh.creation.icosphere(6, 10))
    volume, error, on_part, _ = plan_grid.estimate(ball, 44.5, 0.0)
    # ∫ (R − √(R² − r²)) 2πr dr for r from 0 to R·cos 45°
    r = 10 * math.cos(math.radians(45))
    exact = 2 * math.pi * (10 * r**2 / 2 - (1000 - (100 - r**2) ** 1.5) / 3)
    assert exact == pytest.approx(216.8817, abs=1e-3)
    assert volume == pytest.approx(exact, rel=0.01)
    assert on_part == 0

    hollow, inner = trimesh.creation.box((20, 20, 20)), trimesh.creation.box((16, 16, 16))
    inner.invert()
    volume, error, on_part, _ = plan_grid.estimate(posed(trimesh.util.concatenate(hollow, inner)), 45, 0.1)
    assert volume == pytest.approx(4096, rel=5e-3)
    assert on_part == pytest.approx(256, rel=5e-3)
