"""Resting poses and the winner, against scipy's hull and trimesh's stable poses."""

import functools
import math

import numpy as np
import program
import pytest
import scipy.spatial
import solids
import trimesh

CASES = [pytest.param(key, id=key, marks=pytest.mark.xdist_group(key)) for key in solids.CLOSED]
# Poses as close as this are one entry to a reader.
SEPARATION_DEG = 10.0


@functools.lru_cache(maxsize=2)
def advice(key):
    """Everything that `advise` lists."""
    return program.advise(solids.path(key), solids.units(key), "--top", "100")


def angles_deg(one, many):
    """Angles between a direction and others."""
    cosines = np.clip(np.asarray(many) @ np.asarray(one), -1, 1)
    return np.degrees(np.arccos(cosines))


@functools.lru_cache(maxsize=2)
def hull(key):
    """Outward normals and offsets of Qhull's facets, centroid inside = 0."""
    solid = solids.solid(key)
    return scipy.spatial.ConvexHull(solid.vertices)


@pytest.mark.parametrize("key", CASES)
def test_resting_poses_rest(ledger, key):
    """Each pose that is said to rest lies on a facet of Qhull's hull, centroid above it."""
    reply = advice(key)
    qhull, centroid = hull(key), np.array(reply["part"]["centroid_mm"])
    extent = max(reply["part"]["size_mm"])
    resting = [p for p in reply["poses"] if p["origin"] == "resting"]
    true = 0
    for pose in resting:
        down = np.array(pose["down"])
        # A facet may be split in triangles: all of them within 0.1° belong to it.
        mine = angles_deg(down, qhull.equations[:, :3]) < 0.1
        if not mine.any():
            continue
        points = qhull.points[np.unique(qhull.simplices[mine])]
        frame = trimesh.geometry.align_vectors(down, [0, 0, -1])[:3, :3]
        flat = scipy.spatial.ConvexHull((points @ frame.T)[:, :2])
        over = (frame @ centroid)[:2]
        true += bool(np.all(flat.equations[:, :2] @ over + flat.equations[:, 2] <= 1e-4 * extent))
    ledger.compare("resting", key, "", true, len(resting), rel=0)


@pytest.mark.parametrize("key", CASES)
def test_stable_poses_are_known(ledger, key):
    """Poses that a dropped part often lands in are in the list, or a twin of theirs is."""
    reply, solid = advice(key), solids.solid(key)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    transforms, chances = trimesh.poses.compute_stable_poses(mesh, sigma=0, threshold=0.04)
    listed = np.array([p["down"] for p in reply["poses"]])
    known = 0
    for transform in transforms:
        down = -transform[2, :3]
        if angles_deg(down, listed).min() <= SEPARATION_DEG + 0.1:
            known += 1
            continue
        mine = program.measure(solids.path(key), solids.units(key), tuple(down))["pose"]["figures"]
        known += any(math.isclose(mine[f], p["figures"][f], rel_tol=0.01, abs_tol=0.05)
                     and math.isclose(mine["height_mm"], p["figures"]["height_mm"], rel_tol=0.01)
                     for f in ("contact_area_mm2",) for p in reply["poses"])
    ledger.compare("stable poses known", key, "", known, len(transforms), rel=0)


@pytest.mark.parametrize("key", CASES)
def test_nothing_beats_the_winner(key):
    """No facet of the hull, stable pose or random direction has fewer penalty points."""
    reply, qhull = advice(key), hull(key)
    best = reply["poses"][0]
    areas = np.linalg.norm(np.cross(
        qhull.points[qhull.simplices[:, 1]] - qhull.points[qhull.simplices[:, 0]],
        qhull.points[qhull.simplices[:, 2]] - qhull.points[qhull.simplices[:, 0]]), axis=1)
    downs = []
    for facet in np.argsort(-areas):
        normal = qhull.equations[facet, :3]
        if len(downs) < 8 and (not downs or angles_deg(normal, downs).min() > 5):
            downs.append(normal)
    downs += list(np.random.default_rng(5).normal(size=(4, 3)))
    for down in downs:
        down = tuple(np.array(down) / np.linalg.norm(down))
        pose = program.measure(solids.path(key), solids.units(key), down)["pose"]
        if pose["gates"] or pose["total"] is None:
            continue
        assert not best["gates"]
        assert pose["total"] >= best["total"] - max(0.02 * abs(best["total"]), 0.05), (
            f"{down} has {pose['total']}, the winner {best['down']} has {best['total']}")
