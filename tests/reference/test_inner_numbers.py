"""Hull, inertia, layers and vertical lines against Qhull, trimesh, manifold and Embree."""

import functools

import geometry
import numpy as np
import program
import pytest
import scipy.spatial
import share
import solids
import trimesh
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

POSES = ["-z", "+z", "+x", "-y", "r0", "r1"]
LINES = 40
MESHES = share.cases(solids.CLOSED)
CASES = share.posed(solids.CLOSED, POSES)
CLEAN_CASES = [case for case in CASES if case.values[0] in solids.CLEAN]


@functools.lru_cache(maxsize=8)
def numbers(key, pose):
    """What the example prints for one pose."""
    return program.inner_numbers(solids.path(key), solids.units(key), solids.POSES[pose], LINES)


def posed(key, pose):
    """The reference mesh in that pose."""
    found = numbers(key, pose)
    return found, geometry.Posed(solids.solid(key), found["rotation"], found["offset_mm"])


@pytest.mark.parametrize("key", MESHES)
def test_hull(ledger, key):
    """Volume and area of the convex hull by Qhull."""
    ours = numbers(key, "-z")["hull"]
    qhull = scipy.spatial.ConvexHull(solids.solid(key).vertices)
    ledger.compare("hull volume", key, "", ours["volume_mm3"], qhull.volume, rel=1e-6)
    ledger.compare("hull area", key, "", ours["area_mm2"], qhull.area, rel=1e-6)


@pytest.mark.parametrize("key", MESHES)
def test_inertia(ledger, key):
    """Inertia about the centroid, at unit density, by trimesh."""
    solid = solids.solid(key)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    ours, inertia = numbers(key, "-z")["inertia_mm5"], mesh.moment_inertia
    for i in range(3):
        for k in range(i, 3):
            ledger.compare("inertia_mm5", key, "xyz"[i] + "xyz"[k], ours[i][k], inertia[i][k],
                           rel=1e-4, floor=float(np.trace(inertia)))


# A face at the very height of a plane is above or below it by rounding alone:
# both answers are right. Sections this far above and below show the other one.
ROUNDING_MM = 2e-5
# Layers that are compared in one pose, about.
MOST_LAYERS = 200


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_layers(ledger, key, pose):
    """Area and perimeter of the layers by manifold's sections."""
    found, part = posed(key, pose)
    # One record a pose: the layer that is furthest apart.
    worst = {"area": (-1.0, 0.0, 0.0), "perimeter": (-1.0, 0.0, 0.0)}
    layers = found["layers"]
    # A tall part has thousands of layers that are much alike.
    step = max(1, len(layers) // MOST_LAYERS)
    for layer in {id(x): x for x in [*layers[::step], layers[-1]]}.values():
        best = {}
        for shift in (0.0, -ROUNDING_MM, ROUNDING_MM):
            section = part.section(layer["z_mm"] + shift)
            for name, ours, reference, floor in (
                    ("area", layer["area_mm2"], section.area, 0.5),
                    ("perimeter", layer["perimeter_mm"], section.length, 3.0)):
                gap = abs(ours - reference) / max(reference, floor)
                best[name] = min(best.get(name, (np.inf,)), (gap, ours, reference))
            if max(gap for gap, *_ in best.values()) < 1e-3:
                break
        worst = {name: max(worst[name], best[name]) for name in worst}
    for name, floor in (("area", 0.5), ("perimeter", 3.0)):
        if name == "area" or key in solids.CLEAN:
            _, ours, reference = worst[name]
            ledger.compare(f"layer {name}", key, pose, ours, reference, floor=floor,
                           rel=1e-3 if key in solids.CLEAN else 0.01)


def embree_heights(part, points):
    """All heights where vertical lines cross, by Embree: hit, step past, hit again."""
    scene = rtcore_scene.EmbreeScene(robust=True)
    TriangleMesh(scene, part.vertices.astype(np.float32), part.solid.faces.astype(np.int32))
    heights = [[] for _ in points]
    alive = np.arange(len(points))
    low = np.full(len(points), -1.0)
    step = 2e-6 * max(float(np.ptp(part.vertices, axis=0).max()), 1.0)
    for _ in range(400):
        if len(alive) == 0:
            break
        origins = np.column_stack([points[alive], low[alive]]).astype(np.float32)
        up = np.tile(np.array([0, 0, 1], dtype=np.float32), (len(alive), 1))
        hits = scene.run(origins, up, output=True)
        hit = hits["geomID"] >= 0
        z = origins[:, 2].astype(float) + hits["tfar"].astype(float)
        for i, height in zip(alive[hit], z[hit]):
            heights[i].append(height)
        low[alive[hit]] = z[hit] + step
        alive = alive[hit]
    return heights


@pytest.mark.parametrize(("key", "pose"), CLEAN_CASES)
def test_vertical_lines(ledger, key, pose):
    """As many crossings of each line as Embree finds, and at the same heights."""
    found, part = posed(key, pose)
    points = np.array([[line["x"], line["y"]] for line in found["lines"]])
    theirs = embree_heights(part, points)
    extent = float(np.ptp(part.vertices, axis=0).max())
    same = matched = 0
    for line, heights in zip(found["lines"], theirs):
        ours = np.array(line["z"])
        if len(ours) == len(heights):
            same += 1
            matched += bool(np.all(np.abs(ours - heights) < 1e-4 * extent + 0.02))
    # Single-precision rays slip past an edge or count it twice now and then, and
    # surfaces closer than a step are one to them: a line in two hundred may differ.
    ledger.compare("lines: crossings", key, pose, same, len(points), rel=0.005, floor=1)
    ledger.compare("lines: heights", key, pose, matched, same, rel=0.005, floor=1)
