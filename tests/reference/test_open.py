"""Surfaces that are not closed: measured all the same, and marked."""

import math

import program
import pytest
import share
import solids

CASES = share.cases(solids.OPEN)
# Some take a minute and longer to be searched: one of them a day.
SEARCHED = share.but(solids.OPEN, ("airplane", "bunny", "lower_leg"), 3)


def numbers(value):
    """All numbers in a reply."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float):
        yield value


@pytest.mark.parametrize("key", CASES)
def test_open_surface(key):
    """No crash, no figure that is not a number, and doubtful figures are named."""
    path, units = solids.path(key), solids.units(key)
    for down in share.poses(key, ("-z", "+x", "r0", "r1")):
        reply = program.measure(path, units, solids.POSES[down])
        assert all(map(math.isfinite, numbers(reply)))
        part, figures = reply["part"], reply["pose"]["figures"]
        if part["closed"]:
            # Open only before nearby vertices are welded; then it is a solid.
            assert part["volume_mm3"] > 0
            continue
        assert part["volume_mm3"] is None
        assert part["notes"], "an open surface deserves a remark"
        assert figures["doubtful"], f"{key} {down} is open and nothing is marked"
        assert set(figures["doubtful"]) <= set(figures)
    if key in SEARCHED:
        assert program.advise(path, units)["poses"]
