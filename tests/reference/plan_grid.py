"""Support volume by vertical lines through a fine grid, in numpy alone.

The grid is turned about the vertical, so that no straight wall runs along it:
that alone takes an order off the error of parts with parallel walls. Every facet is spread over the grid points under it, crossings of a line
are sorted by height, and the winding number is summed from below; void under
an overhang is added up. Nothing is shared with the program but the definition.
"""

import dataclasses
import math

import geometry
import numpy as np

# Facet-and-grid-point pairs that are looked at in one go.
CHUNK = 4_000_000
# By 0.6 radians, whose tangent is no ratio of small numbers.
TURN = np.array([[math.cos(0.6), -math.sin(0.6)], [math.sin(0.6), math.cos(0.6)]])


@dataclasses.dataclass(frozen=True)
class Support:
    """Volume under overhang, and the plan area where it stands on the part."""

    volume: float
    on_part: float
    # Lines whose winding does not return to zero hit an edge; their share.
    leaks: float


def crossings(posed, cell, shift):
    """Line, height and facet of every crossing, by line and height."""
    plan = posed.triangles[:, :, :2] @ TURN
    # One origin for all facets: they round alike, so none of them overlap or gape.
    grid = (plan - plan.min(axis=(0, 1))) / cell + np.asarray(shift)
    first = np.ceil(grid.min(axis=1)).astype(np.int64)
    last = np.floor(grid.max(axis=1)).astype(np.int64)
    span = np.maximum(last - first + 1, 0)
    span[posed.normal_z == 0] = 0
    width = int(last[:, 1].max()) + 2
    count = span[:, 0] * span[:, 1]
    order = np.flatnonzero(count)
    lines, heights, facets = [], [], []
    ends = np.cumsum(count[order])
    begin = 0
    while begin < len(order):
        base = ends[begin - 1] if begin else 0
        end = max(begin + 1, int(np.searchsorted(ends, base + CHUNK, side="right")))
        mine = order[begin:end]
        begin = end
        facet = np.repeat(mine, count[mine])
        starts = np.cumsum(count[mine]) - count[mine]
        within = np.arange(len(facet)) - np.repeat(starts, count[mine])
        i = first[facet, 0] + within // span[facet, 1]
        j = first[facet, 1] + within % span[facet, 1]
        a, b, c = (grid[facet, k] - np.column_stack([i, j]) for k in range(3))
        u, v, w = cross(b, c), cross(c, a), cross(a, b)
        hit = ((u > 0) & (v > 0) & (w > 0)) | ((u < 0) & (v < 0) & (w < 0))
        facet, u, v, w = facet[hit], u[hit], v[hit], w[hit]
        z = posed.triangles[facet, :, 2]
        lines.append(i[hit] * width + j[hit])
        heights.append((u * z[:, 0] + v * z[:, 1] + w * z[:, 2]) / (u + v + w))
        facets.append(facet)
    line, height, facet = (np.concatenate(x) for x in (lines, heights, facets))
    by = np.lexsort((height, line))
    return line[by], height[by], facet[by]


def cross(a, b):
    """Third component of the cross product, row by row."""
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def support(posed, limit_deg, touch, cell, shift=(0.437, 0.291)):
    """Support of one pose on a grid of the given spacing."""
    line, height, facet = crossings(posed, cell, shift)
    step = np.where(posed.normal_z[facet] < 0, 1, -1)
    starts = np.flatnonzero(np.r_[True, line[1:] != line[:-1]])
    total = np.cumsum(step)
    winding = total - np.repeat(np.r_[0, total[starts[1:] - 1]],
                                np.diff(np.r_[starts, len(line)]))
    last = np.r_[starts[1:] - 1, len(line) - 1]
    open_ended = np.repeat(winding[last] != 0, np.diff(np.r_[starts, len(line)]))
    enters = (winding - step == 0) & (winding != 0) & ~open_ended
    overhang = ((-posed.normal_z[facet] > math.sin(math.radians(limit_deg + geometry.MARGIN_DEG)))
                & (height > touch))
    tops = np.flatnonzero(enters & overhang)
    is_first = np.zeros(len(line), dtype=bool)
    is_first[starts] = True
    below = np.where(is_first[tops], 0.0, height[np.maximum(tops - 1, 0)])
    on_part = ~is_first[tops]
    return Support(float(np.sum(height[tops] - below) * cell**2),
                   float(np.sum(on_part) * cell**2), float(np.mean(winding[last] != 0)))


def estimate(posed, limit_deg, touch, lines_along=500):
    """Volume, a bound for its error, the plan area on the part and a bound for its error.

    From two grids that share no line. Two counts of one area can agree by chance, so its
    bound is not below what the lines along a square outline of that area come to.
    """
    cell = np.ptp(posed.vertices[:, :2], axis=0).max() / lines_along
    one = support(posed, limit_deg, touch, cell)
    two = support(posed, limit_deg, touch, cell, (0.871, 0.663))
    assert max(one.leaks, two.leaks) < 1e-3
    mean = (one.volume + two.volume) / 2
    on_part = (one.on_part + two.on_part) / 2
    chance = cell * np.sqrt(cell * 4 * np.sqrt(on_part))
    return (mean, max(abs(one.volume - two.volume), 1e-4 * mean), on_part,
            max(abs(one.on_part - two.on_part), chance))
