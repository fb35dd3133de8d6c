"""The winner of `advise` against a dense search: 10,000 even directions, every facet
of the hull, and a refinement on the totals (examples/dense_search.rs)."""

import program
import pytest
import share
import solids

COUNT = 10_000
# A winner may cost so much more than the best direction that the dense search finds.
WORSE = 0.01
CASES = share.cases(solids.DENSE)


@pytest.mark.parametrize("key", CASES)
def test_dense_search_finds_nothing_better(ledger, key):
    """No direction of the dense search saves more than 1 % of the winner's total."""
    path, units = solids.path(key), solids.units(key)
    poses = program.advise(path, units)["poses"]
    winner = poses[0]
    dense = program.example("dense_search", path, units, COUNT, repr(winner["total"]))
    assert dense["directions"] >= COUNT + dense["facets"]
    assert dense["facets"] >= 4
    assert dense["scored"] >= min(dense["could_win"], 1)
    # What was not measured in full was left out by the bound alone.
    assert dense["bound_above_total"] <= 1e-6 * winner["total"]
    best = dense["best"]["total"]
    ledger.compare("dense search: total", key, "", winner["total"], min(best, winner["total"]),
                   rel=WORSE)
    # The same question about a pose that is known to be worse has to be answered by no.
    worse = next((p for p in poses if p["total"] > winner["total"] * (1 + 2 * WORSE)
                  and bool(p["gates"]) == bool(winner["gates"])), None)
    assert worse is None or min(best, winner["total"]) < worse["total"] * (1 - WORSE)
