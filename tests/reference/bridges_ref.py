"""Bridges, ledges and islands of a posed mesh, computed anew.

Sections by trimesh, plan geometry by shapely; simple and slow. Shares no code
with the program, only the definitions (see the head of
`src/figures/bridges/mod.rs` for what they leave open). Lengths mm.

    python bridges_ref.py PART.stl [--matrix 16 NUMBERS] [--layer 0.2] [--first-layer 0.2]
"""

import argparse
import json
import math

import numpy as np
import shapely
import slender_ref
import trimesh

# The rule's numbers.
MARGIN_DEG = 0.5
STEEPEST_DEG = 89.0
ALONG_COS = 0.6
FREE_SHARE = 0.4
AWAY_SHARE = 0.1
# How far beyond a chord's end the layer below is felt for.
FEEL = 2e-3


def polygons(shape, least):
    """The polygons of any shape that are no smaller than `least`."""
    return [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and g.area >= least]


def segments(polygon):
    """Ends of every edge of a polygon, two arrays of points."""
    rings = [np.asarray(r.coords) for r in (polygon.exterior, *polygon.interiors)]
    return np.vstack([r[:-1] for r in rings]), np.vstack([r[1:] for r in rings])


def narrow_reach(fresh, below, carry, line):
    """Reach of a fresh area if it is a narrow ledge, else None."""
    start, end = segments(shapely.segmentize(fresh, line / 2))
    length = np.linalg.norm(end - start, axis=1)
    keep = length > 1e-9
    start, end, length = start[keep], end[keep], length[keep]
    reach = shapely.distance(shapely.points(start), below).max()
    if reach >= carry + line:
        return None
    middle = (start + end) / 2
    near = shapely.get_coordinates(
        shapely.get_point(shapely.shortest_line(shapely.points(middle), below), -1))
    way = near - middle
    # The grown outline is where the distance is just the carry.
    free = np.abs(np.linalg.norm(way, axis=1) - carry) > 0.01 * carry
    cos = np.abs(np.sum(way * (end - start), axis=1)) / (np.linalg.norm(way, axis=1) * length)
    hanging = length[free].sum()
    away = length[free & (cos > ALONG_COS)].sum()
    if hanging < FREE_SHARE * length.sum() or away > AWAY_SHARE * hanging:
        return None
    return reach


def runs(edges, y):
    """Stretches of the line at height y inside a polygon of these edges.

    By even and odd crossings: shapely gave the outside of a turned gap with
    edges along the edges of its section.
    """
    start, end = edges
    over = (start[:, 1] > y) != (end[:, 1] > y)
    start, end = start[over], end[over]
    at = start[:, 0] + (y - start[:, 1]) / (end[:, 1] - start[:, 1]) * (end[:, 0] - start[:, 0])
    return np.sort(at).reshape(-1, 2)


def chords(gap, fresh, below, angle, carry, line):
    """Chords through fresh material as rows (from, to, place, ends held, width of the strip).

    Also the matrix that turns the direction to X. `gap` and `fresh` are edges of polygons.
    """
    sin, cos = math.sin(angle), math.cos(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    gap, fresh = ([ends @ turn.T for ends in edges] for edges in (gap, fresh))
    (gap_low, gap_high), (fresh_low, fresh_high) = (
        (start[:, 1].min(), start[:, 1].max()) for start, _ in (gap, fresh))
    low = max(fresh_low - carry, gap_low)
    high = min(fresh_high + carry, gap_high)
    count = max(1, math.ceil((high - low) / line - 1e-9))
    pitch = (high - low) / count
    middles = low + pitch * (np.arange(count) + 0.5)
    edges = [low + pitch * np.arange(count), low + pitch * (np.arange(count) + 1)]
    hit = (middles >= fresh_low) & (middles <= fresh_high)
    if hit.any():
        middles, tops, bottoms = middles[hit], edges[1][hit], edges[0][hit]
        bottoms[0], tops[-1] = low, high
    else:
        middles = np.array([(fresh_low + fresh_high) / 2])
        bottoms, tops = np.array([low]), np.array([high])
    found = []
    for y, width in zip(middles, tops - bottoms):
        inner = [(a + b) / 2 for a, b in runs(fresh, y)]
        for a, b in runs(gap, y):
            if any(a < x < b for x in inner):
                felt = np.array([(a - FEEL, y), (b + FEEL, y)]) @ turn
                held = tuple(shapely.contains_xy(below, felt))
                found.append((a, b, y, held, width))
    return found, turn


def score(rows):
    """Sorts before what is worse: complete and short, else much bridged."""
    length = [b - a for a, b, *_ in rows]
    ends = [sum(held) for *_, held, _ in rows]
    bridged = sum(n * r[4] for n, e, r in zip(length, ends, rows) if e == 2)
    floating = sum(n * r[4] for n, e, r in zip(length, ends, rows) if e == 0)
    longest = max((n for n, e in zip(length, ends) if e == 2), default=0.0)
    ledge = max((n for n, e in zip(length, ends) if e == 1), default=0.0)
    if longest and not ledge and not floating:
        return (0, round(longest, 7), 0, 0), bridged, longest
    return (1, -round(bridged, 6), round(floating, 6), round(ledge, 7)), bridged, longest


def outline_angles(gap, fresh, below, reach, line):
    """Directions square to held and along free outline near the fresh area, the longest first."""
    start, end = segments(gap)
    run = end - start
    length = np.linalg.norm(run, axis=1)
    box = shapely.box(*fresh.bounds).buffer(reach, join_style="mitre")
    near = shapely.intersects(shapely.linestrings(np.stack([start, end], axis=1)), box) & (length > 0)
    held = shapely.distance(shapely.points((start + end) / 2), below) < FEEL
    angle = np.arctan2(run[:, 1], run[:, 0]) + np.where(held, math.pi / 2, 0.0)
    sums = {}
    for a, n in zip(angle[near] % math.pi, length[near]):
        at = sums.setdefault(int(math.degrees(a)), np.zeros(3))
        at += n * np.array([1.0, math.cos(a), math.sin(a)])
    best = sorted(sums.values(), key=lambda s: -s[0])[:6]
    return [math.atan2(s[2], s[1]) for s in best if s[0] > line]


def best_direction(gap, fresh, below, carry, line):
    """The angle of the bridge direction."""
    edges = segments(gap), segments(fresh)

    def rate(angle):
        return score(chords(*edges, below, angle, carry, line)[0])

    suggested = outline_angles(gap, fresh, below, carry + line, line)
    first = suggested[0] if suggested else 0.0
    angles = suggested + [first + math.radians(5 * i) for i in range(36)]
    rated = [(rate(a), i, a) for i, a in enumerate(angles)]
    if suggested and all(r[0][1] == 0 for r in rated):
        rated = rated[:len(suggested)]
    (top, bridged, _), _, angle = min(rated, key=lambda r: (r[0][0], r[1]))
    step = math.radians(2.5)
    while bridged > 0 and step > math.radians(0.1):
        for a in (angle - step, angle + step):
            other = rate(a)
            if other[0] < top:
                (top, bridged, _), angle = other, a
        step /= 2
    return angle


def measure_sections(layers, planes, bottoms, limit=45.0, line=0.45):
    """Figures from polygons of every layer, heights of their planes and layer bottoms.

    A dictionary: `bridges` as (z, span, area, degrees), `bridge_longest_mm`,
    `cantilever_longest_mm`, `islands` as (z, area).
    """
    speck = (line / 10) ** 2
    lean = math.radians(min(limit + MARGIN_DEG, STEEPEST_DEG))
    bridges, ledge, floating = [], 0.0, []
    for k in range(1, len(layers)):
        carry = math.tan(lean) * (planes[k] - planes[k - 1])
        below = shapely.union_all([p for p in layers[k - 1] if k == 1 or p.area >= speck])
        # Asked about many points: an index over its edges pays.
        shapely.prepare(below)
        grown = below.buffer(carry, quad_segs=16)
        for piece in (p for p in layers[k] if p.area >= speck):
            rests = piece.intersection(below).area
            if rests < speck and (k > 1 or rests == 0):
                floating.append((bottoms[k], piece.area))
                continue
            for gap in polygons(piece.difference(below), speck):
                for fresh in polygons(gap.difference(grown), max(speck, carry**2 / 3)):
                    reach = narrow_reach(fresh, below, carry, line)
                    if reach is not None:
                        ledge = max(ledge, reach)
                        continue
                    angle = best_direction(gap, fresh, below, carry, line)
                    rows, turn = chords(segments(gap), segments(fresh), below, angle, carry, line)
                    _, bridged, span = score(rows)
                    if span:
                        bridges.append((bottoms[k], span, bridged, math.degrees(angle) % 180))
                    for a, b, y, held, _ in rows:
                        if sum(held) == 1:
                            root, tip = (a, b) if held[0] else (b, a)
                            at = [(root + q / 4 * (tip - root), y) for q in (1, 2, 3, 4)]
                            away = shapely.distance(shapely.points(np.array(at) @ turn), below)
                            ledge = max(ledge, away.max())
    return {
        "bridges": bridges,
        "bridge_longest_mm": max((b[1] for b in bridges), default=0.0),
        "cantilever_longest_mm": float(ledge),
        "islands": floating,
    }


def measure(mesh, matrix=None, layer=0.2, first_layer=0.2, limit=45.0, line=0.45):
    """The same from a mesh and the 4 × 4 matrix that poses it on z = 0."""
    posed = mesh.copy()
    if matrix is not None:
        posed.apply_transform(np.asarray(matrix, dtype=float).reshape(4, 4))
    levels = slender_ref.levels_of(float(posed.bounds[1][2]), layer, first_layer)
    planes = [(a + b) / 2 + slender_ref.NUDGE for a, b in zip(levels, levels[1:])]
    return measure_sections(slender_ref.sections(posed, levels), planes, levels, limit, line)


def main():
    """Print the figures of a file as JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("part")
    parser.add_argument("--matrix", nargs=16, type=float)
    parser.add_argument("--layer", type=float, default=0.2)
    parser.add_argument("--first-layer", type=float, default=0.2)
    parser.add_argument("--limit", type=float, default=45.0)
    parser.add_argument("--line", type=float, default=0.45)
    words = parser.parse_args()
    print(json.dumps(measure(trimesh.load_mesh(words.part), words.matrix, words.layer,
                             words.first_layer, words.limit, words.line), indent=1))


if __name__ == "__main__":
    main()
