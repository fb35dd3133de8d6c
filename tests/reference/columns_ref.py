"""Support volume of a posed mesh by Embree rays: shares no code with the program.

A ray goes up every line of a grid along build X and Y. Where it passes a surface
is told by Embree in its watertight mode, in single precision; heights and
normals are then computed in double precision from the triangle that was hit.

    python columns_ref.py part.stl 0.5            as stored, lines 0.5 mm apart
    python columns_ref.py part.stl 0.5 pose.txt   with a 4 x 4 build_from_part
"""

import sys

import numpy as np
import trimesh
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

# The program's margin on the overhang limit, degrees.
MARGIN_DEG = 0.5


def crossings(vertices, faces, points):
    """Where the vertical lines at `points` (n x 2) cross the surface.

    Returns line, height and face of each crossing, sorted by line, then height;
    at one height faces that look down come first. A ray starts anew just above
    each hit, and the faces already hit by it there are not counted again; what
    lies within that step of a hit and is hit by no other ray is lost, so points
    must stay clear of edges by chance: shift the grid by odd shares of a cell.
    """
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    centre = vertices.mean(axis=0)
    extent = float(np.ptp(vertices, axis=0).max())
    step = 2e-6 * extent
    scene = rtcore_scene.EmbreeScene(robust=True)
    TriangleMesh(scene, (vertices - centre).astype(np.float32), faces.astype(np.int32))

    lines = np.arange(len(points))
    start = np.full(len(points), vertices[:, 2].min() - 0.1 * extent)
    last = np.full(len(points), -1)
    found = []
    while len(lines):
        origins = np.column_stack([points[lines], start]) - centre
        up = np.tile(np.float32([0, 0, 1]), (len(lines), 1))
        hit = scene.run(origins.astype(np.float32), up)
        on = hit >= 0
        lines, start, last, hit = lines[on], start[on], last[on], hit[on]
        # Plane of the triangle, in double precision, within its own height.
        a, n = corners[hit, 0], normals[hit]
        offset = ((points[lines] - a[:, :2]) * n[:, :2]).sum(axis=1)
        slope = np.where(n[:, 2] == 0, np.inf, n[:, 2])
        z = np.clip(a[:, 2] - offset / slope, corners[hit, :, 2].min(1), corners[hit, :, 2].max(1))
        new = (hit != last) & (n[:, 2] != 0)
        found.append(np.column_stack([lines[new], z[new], hit[new]]))
        start = np.maximum(z, start) + step
        last = hit
    if not found:
        return np.empty(0, int), np.empty(0), np.empty(0, int)
    line, z, face = np.concatenate(found).T
    face = face.astype(int)
    order = np.lexsort([normals[face, 2] > 0, z, line])
    return line[order].astype(int), z[order], face[order]


def grid(vertices, cell):
    """Lines over the footprint, `cell` apart, at odd shares of a cell from its corner."""
    low, high = vertices[:, :2].min(axis=0), vertices[:, :2].max(axis=0)
    x, y = (np.arange(lo + share * cell, hi, cell)
            for lo, hi, share in zip(low, high, (0.41421356, 0.73205081)))
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def support(vertices, faces, cell, limit_deg=45.0, touch=0.1):
    """Figures of a mesh in the build frame, lowest point at z = 0, from a grid of rays.

    Returns a dict of `support_volume_mm3`, `scar_below_mm2`, `scar_above_mm2`
    (no overhang being carried by bridges), `exposed_overhang_mm2`, `lines` and
    `odd_lines`, those that do not leave the solid as often as they enter it:
    these are left out.
    """
    vertices, faces = np.asarray(vertices, float), np.asarray(faces)
    corners = vertices[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(cross, axis=1)
    normal_z = np.divide(cross[:, 2], double, out=np.zeros_like(double), where=double > 0)
    sine = np.sin(np.radians(limit_deg + MARGIN_DEG))
    points = grid(vertices, cell)
    line, z, face = crossings(vertices, faces, points)

    turn = np.where(normal_z[face] < 0, 1, -1)
    first = np.flatnonzero(np.diff(line, prepend=-1))
    count = np.diff(first, append=len(line))
    total = np.cumsum(turn)
    after = total - np.repeat(total[first] - turn[first], count)
    before = after - turn
    odd = np.unique(line[first][after[first + count - 1] != 0]) if len(first) else []
    floor = np.concatenate([[0.0], z[:-1]])
    on_bed = np.zeros(len(z), bool)
    on_bed[first] = True
    floor[first] = 0.0
    ceiling = ((before == 0) & (after != 0) & (-normal_z[face] > sine) & (z > touch)
               & ~np.isin(line, odd) & (z - floor > 1e-6 * np.ptp(vertices, axis=0).max()))
    area = cell * cell
    exposed = float((area / -normal_z[face][ceiling]).sum())
    return {
        "support_volume_mm3": float(((z - floor)[ceiling]).sum() * area),
        "scar_below_mm2": float((ceiling & ~on_bed).sum() * area),
        "scar_above_mm2": exposed,
        "exposed_overhang_mm2": exposed,
        "lines": len(points),
        "odd_lines": len(odd),
    }


def support_of_file(path, cell, build_from_part=None, **settings):
    """The same for a file; without a map it is set down as it was stored."""
    mesh = trimesh.load_mesh(path)
    if build_from_part is not None:
        mesh.apply_transform(np.asarray(build_from_part, dtype=float))
    mesh.apply_translation([0, 0, -mesh.bounds[0][2]])
    return support(mesh.vertices, mesh.faces, cell, **settings)


def main(words):
    """Print the figures of the file named in `words`, a line each."""
    if len(words) not in (2, 3):
        sys.exit(__doc__)
    pose = np.loadtxt(words[2]) if len(words) == 3 else None
    for key, value in support_of_file(words[0], float(words[1]), pose).items():
        print(key, value)


if __name__ == "__main__":
    main(sys.argv[1:])
