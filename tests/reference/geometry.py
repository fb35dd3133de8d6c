"""Figures of a posed mesh, computed anew with numpy, shapely, scipy and manifold."""

import math

import manifold3d
import numpy as np
import shapely
import trimesh

# The program's margin on the overhang limit and on what counts as level.
MARGIN_DEG = 0.5
LEVEL_DEG = 0.5


class Posed:
    """A solid in the build frame."""

    def __init__(self, solid, rotation, offset):
        self.solid = solid
        self.rotation = np.asarray(rotation, dtype=float)
        self.vertices = solid.vertices @ self.rotation.T + np.asarray(offset, dtype=float)
        self.triangles = self.vertices[solid.faces]
        cross = np.cross(self.triangles[:, 1] - self.triangles[:, 0],
                         self.triangles[:, 2] - self.triangles[:, 0])
        double = np.linalg.norm(cross, axis=1)
        self.areas = double / 2
        self.normal_z = np.divide(cross[:, 2], double, out=np.zeros_like(double), where=double > 0)
        self.mesh = trimesh.Trimesh(self.vertices, solid.faces, process=False)
        self._manifold = None

    @property
    def height(self):
        """Extent along Z."""
        return float(np.ptp(self.vertices[:, 2]))

    @property
    def manifold(self):
        """The same as a manifold, for slicing."""
        if self._manifold is None:
            self._manifold = manifold3d.Manifold(manifold3d.Mesh64(
                vert_properties=np.ascontiguousarray(self.vertices),
                tri_verts=np.ascontiguousarray(self.solid.faces, dtype=np.uint64)))
            assert self._manifold.status() == manifold3d.Error.NoError, self._manifold.status()
        return self._manifold

    def section(self, z):
        """The section by a plane as shapely polygons, inside by non-zero winding."""
        loops = self.manifold.slice(z).to_polygons()
        if not loops:
            return shapely.MultiPolygon()
        flat = manifold3d.CrossSection(loops, manifold3d.FillRule.NonZero)
        return pieces(flat)

    def section_trimesh(self, z):
        """The same by trimesh's own section and polygon nesting."""
        path = self.mesh.section([0, 0, 1], [0, 0, z])
        if path is None:
            return shapely.MultiPolygon()
        flat, _ = path.to_2D(to_2D=np.eye(4))
        return shapely.union_all([p for p in flat.polygons_full if p is not None])


def pieces(cross_section):
    """A manifold cross section as a shapely multipolygon."""
    polygons = []
    for piece in cross_section.decompose():
        rings = [np.asarray(loop) for loop in piece.to_polygons()]
        rings.sort(key=lambda r: -abs(shapely.Polygon(r).area))
        polygon = shapely.Polygon(rings[0], rings[1:])
        # A hole that touches the outline in a point is no valid polygon to shapely.
        valid = polygon if polygon.is_valid else shapely.make_valid(polygon)
        polygons += [p for p in getattr(valid, "geoms", [valid]) if p.geom_type == "Polygon"]
    return shapely.MultiPolygon(polygons)


def rectangle(points):
    """Sides of the smallest enclosing rectangle, long one first."""
    hull = shapely.MultiPoint(points).convex_hull
    box = shapely.minimum_rotated_rectangle(hull)
    corners = np.asarray(box.exterior.coords)
    sides = np.linalg.norm(np.diff(corners[:3], axis=0), axis=1)
    return sorted(map(float, sides), reverse=True)


def overhang_area(posed, limit_deg, touch):
    """Area above z = touch whose lean is beyond the limit and its margin."""
    facing = posed.normal_z < -math.sin(math.radians(limit_deg + MARGIN_DEG))
    return float(np.sum(posed.areas[facing] * share_above(posed.triangles[facing, :, 2], touch)))


def share_above(heights, level):
    """Share of each triangle's area above a level, from its corner heights (n, 3)."""
    low, mid, high = np.sort(heights, axis=1).T
    with np.errstate(divide="ignore", invalid="ignore"):
        below_mid = (level - low) ** 2 / ((mid - low) * (high - low))
        above_mid = (high - level) ** 2 / ((high - mid) * (high - low))
    share = np.where(level < mid, 1 - below_mid, above_mid)
    share = np.where(level <= low, 1.0, share)
    return np.where(level >= high, 0.0, share)


def layer_steps_mean_um(posed, layer_mm):
    """Area-weighted mean of layer·|n_z|, without what is within half a degree of level."""
    steep = np.abs(posed.normal_z) <= math.cos(math.radians(LEVEL_DEG))
    total = posed.areas[steep].sum()
    if total == 0:
        return 0.0
    return float(1000 * layer_mm * np.sum(posed.areas[steep] * np.abs(posed.normal_z[steep])) / total)


def tip_angle_deg(contact, centroid):
    """Smallest tilt over an edge of the hull of the contact section; negative
    from outside it, by the distance to the hull."""
    hull = contact.convex_hull
    over = shapely.Point(centroid[:2])
    reach = hull.exterior.distance(over)
    if not hull.contains(over):
        reach = -reach
    return math.degrees(math.atan2(reach, centroid[2]))


def longest_chord(contact):
    """Largest distance between two points of the contact section's hull."""
    points = np.asarray(contact.convex_hull.exterior.coords)
    return float(np.max(np.linalg.norm(points[:, None] - points[None], axis=2)))


def layer_count(height, first, layer, tolerance=1e-4):
    """Layers of a part, by the rule that 2.7 mm at 0.3 mm is 9."""
    return 1 + max(0, math.ceil((height - first) / layer - tolerance))


def union_volume(solid):
    """Volume inside by non-zero winding of bodies that do not cut themselves."""
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    parts = [(p.volume, as_manifold(p)) for p in mesh.split(only_watertight=False)]
    outer = manifold3d.Manifold.batch_boolean([m for v, m in parts if v > 0],
                                              manifold3d.OpType.Add)
    # A cavity lies wholly inside one body, so it takes away just its own volume.
    return outer.volume() + sum(v for v, _ in parts if v < 0)


def as_manifold(mesh):
    """A trimesh as a manifold."""
    return manifold3d.Manifold(manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(mesh.vertices),
        tri_verts=np.ascontiguousarray(mesh.faces, dtype=np.uint64)))


def layer_planes(height, first, layer, nudge=1e-3):
    """Heights of the planes just above the middle of each layer."""
    bottoms = [0.0] + [first + k * layer for k in range(layer_count(height, first, layer))]
    return [(a + b) / 2 + nudge for a, b in zip(bottoms, bottoms[1:])]


def carrying_areas(sections, planes, line):
    """Total area, by height, of pieces that a piece of the layer above rests on.

    The first layer and the last one with material are left out, and so is
    what is too small to be a printed piece (a ten-thousandth of a bead's square).
    """
    rows = [[p for p in s.geoms if p.area > 1e-4 * line**2] for s in sections]
    while rows and not rows[-1]:
        rows.pop()
    areas = {}
    for k in range(1, len(rows) - 1):
        tree = shapely.STRtree(rows[k + 1])
        area = sum(p.area for p in rows[k] if any(
            p.intersection(rows[k + 1][i]).area > 1e-6 * line**2 for i in tree.query(p)))
        if area > 0:
            areas[planes[k]] = area
    return areas
