"""The meshes of meshes.toml as the reference sees them, read by trimesh.

Nothing here shares code with the program. A file is read by trimesh, vertices
with exactly equal coordinates become one, and bodies are turned as the rules
of the project say: a body that faces inward is a cavity if it lies wholly
inside another body, else it is turned.
"""

import dataclasses
import functools
import pathlib
import tomllib

import numpy as np
import trimesh

HERE = pathlib.Path(__file__).resolve().parent
TABLE = tomllib.loads((HERE / "meshes.toml").read_text())
FETCHED = HERE.parent / ".env" / "meshes"
MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
ROOTS = {p["key"]: FETCHED / p["key"] / p["root"] for p in TABLE["package"]}
ENTRIES = {m["key"]: m for m in TABLE["mesh"]}
CLOSED = [m["key"] for m in TABLE["mesh"] if m["closed"]]
# Without faces that lie on each other.
CLEAN = [k for k in CLOSED if not ENTRIES[k].get("coincident")]
OPEN = [m["key"] for m in TABLE["mesh"] if not m["closed"]]
DENSE = [m["key"] for m in TABLE["mesh"] if m.get("dense")]


def path(key):
    """Where the file lies."""
    entry = ENTRIES[key]
    return str(ROOTS[entry["package"]] / entry["path"])


def units(key):
    """The unit that the table takes the file to be in."""
    return ENTRIES[key]["units"]


@dataclasses.dataclass(frozen=True)
class Solid:
    """A welded, oriented mesh in mm. `volumes` has the sign of each body."""

    vertices: np.ndarray
    faces: np.ndarray
    volumes: tuple
    boxes_overlap: bool

    @property
    def single(self):
        """Whether volumes simply add up: no two boxes of bodies overlap."""
        return not self.boxes_overlap


def weld(mesh, scale=1.0):
    """Vertices with equal coordinates become one; faces that lose a corner go."""
    vertices, index = np.unique(np.asarray(mesh.vertices, dtype=float) + 0.0, axis=0,
                                return_inverse=True)
    faces = index.reshape(-1)[np.asarray(mesh.faces)]
    a, b, c = faces.T
    return trimesh.Trimesh(vertices * scale, faces[(a != b) & (b != c) & (c != a)], process=False)


def inside(box, other):
    """Whether a box lies within another."""
    return bool(np.all(box[0] >= other[0]) and np.all(box[1] <= other[1]))


def turned(mesh):
    """Turn bodies the right way and say what came of it."""
    groups = trimesh.graph.connected_components(
        mesh.face_adjacency, nodes=np.arange(len(mesh.faces)))
    faces = mesh.faces.copy()
    bodies = [trimesh.Trimesh(mesh.vertices, faces[g], process=False) for g in groups]
    boxes = [np.array([b.triangles.reshape(-1, 3).min(0), b.triangles.reshape(-1, 3).max(0)])
             for b in bodies]
    volumes = []
    for i, (group, body) in enumerate(zip(groups, bodies)):
        volume = body.volume
        if volume < 0:
            hosts = [j for j in range(len(bodies)) if j != i and bodies[j].volume != 0
                     and inside(boxes[i], boxes[j])]
            probe = body.triangles_center[:8]
            if not any(np.all(bodies[j].contains(probe)) for j in hosts):
                faces[group] = faces[group][:, ::-1]
                volume = -volume
        volumes.append(volume)
    overlap = any(np.all(boxes[i][0] < boxes[j][1]) and np.all(boxes[j][0] < boxes[i][1])
                  for i in range(len(boxes)) for j in range(i)
                  if volumes[i] > 0 and volumes[j] > 0)
    return Solid(np.asarray(mesh.vertices), np.asarray(faces), tuple(volumes), bool(overlap))


@functools.lru_cache(maxsize=4)
def solid(key):
    """A mesh of the table."""
    mesh = trimesh.load(path(key), force="mesh", process=False)
    return turned(weld(mesh, MM[units(key)]))


def poses():
    """Directions that go down, by name: the six axes and four random ones."""
    axes = {f"{sign}{axis}": tuple(float(s * (k == i)) for k in range(3))
            for i, axis in enumerate("xyz") for sign, s in (("+", 1), ("-", -1))}
    random = np.random.default_rng(20240229).normal(size=(4, 3))
    random /= np.linalg.norm(random, axis=1)[:, None]
    return axes | {f"r{i}": tuple(map(float, d)) for i, d in enumerate(random)}


POSES = poses()
