"""Layer profile, weakest section, slender features and sway of a posed mesh, computed anew.

Sections by trimesh, plan geometry by shapely, sums by numpy; simple and slow.
Shares no code with the program, only the definitions (see the head of
`src/figures/slender.rs` for the rule of what a stretch is). Lengths mm.

Bodies may overlap side by side; a body that lies wholly inside the material of
another counts as a hole here, so keep such meshes out.

    python slender_ref.py PART.stl [--matrix 16 NUMBERS] [--layer 0.2] [--first-layer 0.2]
"""

import argparse
import dataclasses
import json
import math

import numpy as np
import shapely
import trimesh

# The rule's numbers.
NUDGE = 1e-3
TRUST = 2.0**-22
LEAVING_SHARE = 0.5
SLIVER_LINES = 0.5  # narrower than this share of a line: not drawn (house value)
MIN_LAYERS = 4
PRINTABLE_SHARE = 1e-4
JUMP_FACTOR = 1.3
JUMP_LEAST = 5.0


@dataclasses.dataclass
class Piece:
    """A polygon of one layer with its moments, and its neighbours in the tree."""

    layer: int
    polygon: shapely.Polygon
    tensor: np.ndarray
    below: list = dataclasses.field(default_factory=list)
    above: list = dataclasses.field(default_factory=list)
    reach: int = 1
    carried: bool = False

    @property
    def width(self):
        """Square root of 12 times the smaller principal moment over the area."""
        return math.sqrt(12 * max(np.linalg.eigvalsh(self.tensor)[0], 0.0) / self.polygon.area)

    @property
    def parents(self):
        """What it stands on; hanging pieces hold nothing that is carried."""
        return [p for p in self.below if p.carried == self.carried]

    def __hash__(self):
        return id(self)

    def __eq__(self, other):
        return self is other


def second_moments(polygon):
    """Tensor of second moments about the centroid, from a triangulation."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    # Four points a ring, the last one the first again.
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    corners = corners - np.array(polygon.centroid.coords[0])
    whole = corners.sum(axis=1)
    return (np.einsum("t,tci,tcj->ij", shapely.area(triangles) / 12, corners, corners)
            + np.einsum("t,ti,tj->ij", shapely.area(triangles) / 12, whole, whole))


def levels_of(height, layer, first):
    """Bottom of each layer and the top of the last."""
    count = 1 + max(0, math.ceil((height - first) / layer - 1e-4))
    return [0.0] + [first + k * layer for k in range(count)]


def sections(mesh, levels):
    """Polygons of every layer, cut just above its middle."""
    layers = []
    for bottom, top in zip(levels, levels[1:]):
        path = mesh.section([0, 0, 1], [0, 0, (bottom + top) / 2 + NUDGE])
        if path is None:
            layers.append([])
            continue
        flat, _ = path.to_2D(to_2D=np.eye(4))
        whole = shapely.union_all([p for p in flat.polygons_full if p is not None])
        layers.append([p for p in getattr(whole, "geoms", [whole]) if p.area > 0])
    return layers


def tree(layers, line):
    """Pieces, layer by layer, joined where neighbours share area."""
    boxes = np.array([p.bounds for polygons in layers for p in polygons])
    trust = TRUST * float(np.max(boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)))
    rows = [[Piece(k, p, second_moments(p)) for p in polygons if p.area > PRINTABLE_SHARE * line**2]
            for k, polygons in enumerate(layers)]
    for lower, upper in zip(rows, rows[1:]):
        index = shapely.STRtree([p.polygon for p in upper])
        for piece in lower:
            for hit in sorted(index.query(piece.polygon)):
                other = upper[hit]
                a, b = piece.polygon.bounds, other.polygon.bounds
                sides = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
                common = piece.polygon.intersection(other.polygon).area
                if min(sides) > trust and common > trust * sum(sides):
                    piece.above.append(other)
                    other.below.append(piece)
    for row in rows:
        for piece in row:
            piece.carried = piece.layer == 0 or any(p.carried for p in piece.below)
    for row in reversed(rows):
        for piece in row:
            piece.reach = 1 + max((p.reach for p in piece.above), default=0)
    return rows


def goes_on_with(piece):
    """The piece above that belongs to the same stretch, or None."""
    branches = [p for p in piece.above if p.reach >= MIN_LAYERS]
    if len(branches) > 1:
        return None
    if branches:
        heir = branches[0]
        if heir.polygon.area < LEAVING_SHARE * piece.polygon.area:
            return None
    elif piece.above:
        heir = max(piece.above, key=lambda p: (p.reach, p.polygon.area))
    else:
        return None
    return heir if heir.parents == [piece] else None


def is_start(piece):
    """Whether a stretch starts here."""
    parents = piece.parents
    if len(parents) != 1:
        return True
    return goes_on_with(parents[0]) is not piece and piece.reach >= MIN_LAYERS


def moments_below(tip, line):
    """Layer and summed tensor of all that carries `tip`, from its layer down."""
    now = [tip]
    while now:
        total = np.zeros((2, 2))
        for piece in now:
            values, axes = np.linalg.eigh(piece.tensor)
            least = max(piece.polygon.area, line**2) * line**2 / 12
            total += axes @ np.diag(np.maximum(values, least)) @ axes.T
        yield now[0].layer, total
        now = list({id(p): p for piece in now for p in piece.parents}.values())


def sway(tip, levels, line, e_mpa):
    """Deflection of the top of `tip` under 1 N in its softest direction."""
    top = levels[tip.layer + 1]
    total = np.zeros((2, 2))
    for layer, tensor in moments_below(tip, line):
        near, far = top - levels[layer + 1], top - levels[layer]
        total += (far**3 - near**3) / 3 * np.linalg.inv(tensor) / e_mpa
    return float(np.linalg.eigvalsh(total)[-1])


def median_by_height(widths, heights):
    """Half of the height is narrower, half wider."""
    order = np.argsort(widths)
    widths, passed = np.asarray(widths)[order], np.cumsum(np.asarray(heights)[order])
    half = passed[-1] / 2
    lower = int(np.searchsorted(passed, half * (1 - 1e-9)))
    upper = int(np.searchsorted(passed, half * (1 + 1e-9)))
    return float(widths[lower] + widths[upper]) / 2


def stretches(rows, levels, line, e_mpa):
    """All stretches in the order of their starts."""
    found = []
    for piece in (p for row in rows for p in row if is_start(p)):
        run = [piece]
        while (heir := goes_on_with(run[-1])) is not None:
            run.append(heir)
        if len(run) < MIN_LAYERS:
            continue
        heights = [levels[p.layer + 1] - levels[p.layer] for p in run]
        width = median_by_height([p.width for p in run], heights)
        if width < SLIVER_LINES * line:
            continue
        start, end = levels[piece.layer], levels[run[-1].layer + 1]
        found.append({"from_mm": start, "to_mm": end, "width_mm": width,
                      "ratio": (end - start) / width,
                      "sway_mm_per_n": sway(run[-1], levels, line, e_mpa)})
    return found


def weakest(rows, levels):
    """Least total area that carries something, between first and last layer."""
    last = max((k for k, row in enumerate(rows) if row), default=0)
    best = None
    for k in range(1, last):
        area = sum(p.polygon.area for p in rows[k] if p.above)
        if area > 0 and (best is None or area < best[0] * (1 - 1e-9)):
            best = area, (levels[k] + levels[k + 1]) / 2
    return best


def jumps(areas, counts, levels):
    """Levels where area or number of pieces changes at once."""
    found = []
    for k in range(len(areas) - 1):
        if counts[k] == 0 or counts[k + 1] == 0:
            continue
        small, large = sorted(areas[k:k + 2])
        if large > JUMP_FACTOR * small and large - small > JUMP_LEAST:
            found.append((levels[k + 1], "area", areas[k + 1] / areas[k]))
        if counts[k] != counts[k + 1]:
            found.append((levels[k + 1], "pieces", counts[k + 1] / counts[k]))
    return found


def measure_sections(layers, levels, line=0.45, e_mpa=3500.0):
    """Everything, from the polygons of each layer."""
    rows = tree(layers, line)
    runs = stretches(rows, levels, line, e_mpa)
    thin = weakest(rows, levels)
    areas = [sum(p.area for p in polygons) for polygons in layers]
    counts = [len(polygons) for polygons in layers]
    return {
        "area_mm2": areas,
        "perimeter_mm": [sum(p.length for p in polygons) for polygons in layers],
        "pieces": counts,
        "jumps": jumps(areas, counts, levels),
        "stretches": runs,
        "slender_ratio": max((r["ratio"] for r in runs), default=0.0),
        "sway_mm_per_n": max((r["sway_mm_per_n"] for r in runs), default=0.0),
        "weakest_section_mm2": thin[0] if thin else 0.0,
        "weakest_section_z_mm": thin[1] if thin else 0.0,
    }


def posed(mesh, matrix):
    """A copy in the build frame, its lowest point at z = 0."""
    mesh = mesh.copy()
    mesh.apply_transform(matrix)
    mesh.apply_translation([0, 0, -mesh.bounds[0][2]])
    return mesh


def measure(path, matrix=None, layer=0.2, first=0.2, line=0.45, e_mpa=3500.0):
    """The same from a mesh file (in mm) and a 4 × 4 map from part to build frame."""
    mesh = trimesh.load_mesh(path)
    mesh = posed(mesh, np.eye(4) if matrix is None else np.asarray(matrix, float).reshape(4, 4))
    levels = levels_of(float(mesh.bounds[1][2]), layer, first)
    return measure_sections(sections(mesh, levels), levels, line, e_mpa)


def main():
    """Print the figures of one mesh as JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("part")
    parser.add_argument("--matrix", type=float, nargs=16)
    parser.add_argument("--layer", type=float, default=0.2)
    parser.add_argument("--first-layer", type=float, default=0.2)
    parser.add_argument("--line", type=float, default=0.45)
    parser.add_argument("--modulus", type=float, default=3500.0)
    words = parser.parse_args()
    figures = measure(words.part, words.matrix, words.layer, words.first_layer, words.line,
                      words.modulus)
    print(json.dumps(figures))


if __name__ == "__main__":
    main()
