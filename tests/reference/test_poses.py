"""Resting poses and the winner, against scipy's hull and trimesh's stable poses."""

import functools

import numpy as np
import program
import pytest
import scipy.spatial
import share
import solids
import trimesh

POSES = ["-z", "+z", "+x", "-y", "r0", "r1"]
CASES = share.cases(solids.CLOSED)


@functools.lru_cache(maxsize=2)
def rests(key):
    """Facets of the program's hull: direction down, and whether the part stands on it."""
    numbers = program.inner_numbers(solids.path(key), solids.units(key), (0.0, 0.0, -1.0), 4)
    return numbers["rests"]


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
    """On each of the larger facets that is said to carry the part, the centroid stands
    over the facet of Qhull's hull; on each that is said not to, it does not."""
    qhull, solid = hull(key), solids.solid(key)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    centroid, extent = mesh.center_mass, np.ptp(solid.vertices, axis=0).max()
    agree = asked = 0
    for rest in rests(key)[:60]:
        down = np.array(rest["down"])
        # The facet is what Qhull's corners reach in that direction, to the last digits
        # of a single-precision file.
        corners = qhull.points[qhull.vertices]
        reach = corners @ down
        points = corners[reach > reach.max() - 2e-6 * np.abs(corners).max()]
        if len(points) < 3:
            continue
        frame = trimesh.geometry.align_vectors(down, [0, 0, -1])[:3, :3]
        flat = scipy.spatial.ConvexHull((points @ frame.T)[:, :2])
        over = (frame @ centroid)[:2]
        margin = -np.max(flat.equations[:, :2] @ over + flat.equations[:, 2])
        if abs(margin) > 1e-4 * extent:
            asked += 1
            # Two facets that differ in the last digits share their corners between them:
            # the verdict may be that of the other.
            agree += any(r["stands"] == (margin > 0) for r in rests(key)
                         if angles_deg(down, np.array([r["down"]]))[0] < 0.1)
    assert asked > 0
    ledger.compare("standing facets", key, "", agree, asked, rel=0)


@pytest.mark.parametrize("key", CASES)
def test_stable_poses_are_known(ledger, key):
    """Poses in which a dropped part often comes to rest are among the standing facets."""
    solid = solids.solid(key)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    transforms, _ = trimesh.poses.compute_stable_poses(mesh, sigma=0, threshold=0.02)
    downs = np.array([r["down"] for r in rests(key) if r["stands"]])
    known = sum(angles_deg(-t[2, :3], downs).min() < 0.5 for t in transforms)
    ledger.compare("stable poses known", key, "", known, len(transforms), rel=0)


# Searched for ten seconds and longer: one of them a day.
WINNERS = share.cases(share.but(solids.CLOSED, ("lamp_bulb", "table_leg", "desk_top"), 3))


@pytest.mark.parametrize("key", WINNERS)
def test_nothing_beats_the_winner(key):
    """No large facet of the hull, axis or random direction has fewer penalty points."""
    reply = program.advise(solids.path(key), solids.units(key))
    qhull = hull(key)
    best = reply["poses"][0]
    areas = np.linalg.norm(np.cross(
        qhull.points[qhull.simplices[:, 1]] - qhull.points[qhull.simplices[:, 0]],
        qhull.points[qhull.simplices[:, 2]] - qhull.points[qhull.simplices[:, 0]]), axis=1)
    downs = []
    for facet in np.argsort(-areas):
        normal = qhull.equations[facet, :3]
        if len(downs) < 5 and (not downs or angles_deg(normal, downs).min() > 5):
            downs.append(normal)
    # These were measured already, by the tests of the figures.
    downs = [tuple(d / np.linalg.norm(d)) for d in downs] + [solids.POSES[p] for p in share.poses(key, POSES)]
    for down in downs:
        pose = program.measure(solids.path(key), solids.units(key), down)["pose"]
        if pose["gates"] or pose["total"] is None:
            continue
        assert not best["gates"]
        assert pose["total"] >= best["total"] - max(0.02 * abs(best["total"]), 0.05), (
            f"{down} has {pose['total']}, the winner {best['down']} has {best['total']}")
