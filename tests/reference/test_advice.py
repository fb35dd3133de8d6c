"""What a reader can redo by hand from one reply of `advise`, and parts written turned."""

import math

import geometry
import numpy as np
import program
import pytest
import share
import solids
import trimesh

MESHES = ["finger", "gear", "drawer", "upper_arm", "knuckle", "nut", "rear_case", "mounting_plate", "moon",
          "basket_beam", "shoulder", "lamp_hood"]
CASES = share.cases(MESHES)
# Twenty poses of these are a long search: one of them a day.
TWENTY = share.cases(share.but(MESHES, ("rear_case", "drawer", "lamp_hood"), 3))


@pytest.mark.parametrize("key", TWENTY)
def test_sums_and_order(key):
    """Totals are sums of penalties, ranks follow totals, shown poses differ."""
    reply = program.advise(solids.path(key), solids.units(key), "--top", "20")
    poses = reply["poses"]
    assert [p["rank"] for p in poses] == list(range(1, len(poses) + 1))
    for pose in poses:
        assert pose["total"] == pytest.approx(sum(pose["penalties"].values()), rel=1e-5, abs=1e-6)
    free = [p["total"] for p in poses if not p["gates"]]
    assert free == sorted(free)
    # A pose that is barred comes after every one that is not.
    barred = [bool(p["gates"]) for p in poses]
    assert barred == sorted(barred)
    downs = np.array([p["down"] for p in poses])
    between = np.degrees(np.arccos(np.clip(downs @ downs.T, -1, 1)))
    assert np.all(between[np.triu_indices(len(downs), 1)] >= 10 - 0.01)


@pytest.mark.parametrize("key", TWENTY)
def test_undominated(key):
    """A pose is marked as beaten on every penalty only if another one does so, and vice versa."""
    reply = program.advise(solids.path(key), solids.units(key), "--top", "20")
    rows = [(p, np.array(list(p["penalties"].values()))) for p in reply["poses"] if not p["gates"]]
    for pose, own in rows:
        # What is not shown may beat a pose too, so only this direction is certain.
        if any(np.all(other <= own - 1e-4) for p, other in rows if p is not pose):
            assert not pose["undominated"], f"pose {pose['rank']} is beaten on every penalty"
    assert rows[0][0]["undominated"]


@pytest.mark.parametrize("key", CASES)
def test_figures_of_the_winner_are_those_of_measure(key):
    """`advise` and `measure` tell the same figures of the same pose."""
    path, units = solids.path(key), solids.units(key)
    best = program.advise(path, units)["poses"][0]
    alone = program.measure(path, units, tuple(best["down"]))["pose"]
    for name, value in best["figures"].items():
        if isinstance(value, int | float):
            assert alone["figures"][name] == pytest.approx(value, rel=1e-3, abs=1e-3), name


@pytest.mark.parametrize("key", CASES)
def test_turned_file(key, tmp_path):
    """`turn` writes the part standing on z = 0 in the pose that was asked for."""
    solid = solids.solid(key)
    for name, down in (("t.stl", "+x"), ("t.obj", "r0"), ("t.ply", "-z"), ("t.3mf", "r1")):
        out = tmp_path / name
        outcome = program.run("turn", solids.path(key), "--units", solids.units(key), "--down",
                              program.direction(solids.POSES[down]), "-o", out)
        assert outcome.code == program.DONE, outcome.err
        # The file is written in the units that were given for it.
        written = solids.weld(trimesh.load(out, force="mesh", process=False),
                              solids.MM[solids.units(key)])
        extent = float(written.extents.max())
        assert written.bounds[0][2] == pytest.approx(0, abs=1e-5 * extent)
        assert written.volume == pytest.approx(
            trimesh.Trimesh(solid.vertices, solid.faces, process=False).volume, rel=1e-4)
        height = np.ptp(solid.vertices @ np.array(solids.POSES[down]))
        assert written.extents[2] == pytest.approx(height, rel=1e-5)
        long, short = geometry.rectangle(written.vertices[:, :2])
        assert written.extents[0] == pytest.approx(long, rel=1e-3)
        assert written.extents[1] == pytest.approx(short, rel=1e-3)


def test_load_direction():
    """The share of a pull across the layers is cos² of its angle to the vertical."""
    path, units = solids.path("finger"), solids.units("finger")
    load = np.array([1.0, 2.0, 0.5])
    for down in solids.POSES.values():
        reply = program.measure(path, units, down, "--load", program.direction(load))
        cosine = float(np.dot(down, load) / np.linalg.norm(load))
        assert reply["pose"]["figures"]["load_across_layers"] == pytest.approx(cosine**2, abs=1e-6)
        assert math.isfinite(reply["pose"]["figures"]["load_across_layers"])
