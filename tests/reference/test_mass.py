"""Volume, area and centroid against trimesh."""

import geometry
import numpy as np
import program
import pytest
import share
import solids
import trimesh

CASES = share.cases(solids.CLOSED)


@pytest.mark.parametrize("key", CASES)
def test_mass(ledger, key):
    """Mass properties of every closed mesh."""
    reply = program.reply("inspect", solids.path(key), "--units", solids.units(key))
    part = reply["part"] if "part" in reply else reply
    solid = solids.solid(key)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    extent = float(mesh.extents.max())
    assert part["closed"] is True
    ledger.compare("triangles", key, "", part["triangles"], solids.ENTRIES[key]["triangles"])
    ledger.compare("bodies", key, "", part["bodies"], solids.ENTRIES[key]["bodies"], rel=0)
    for axis, (ours, reference) in enumerate(zip(part["size_mm"], mesh.extents)):
        ledger.compare("size_mm", key, "xyz"[axis], ours, reference, rel=1e-5)
    ledger.compare("volume_mm3", key, "", part["volume_mm3"], mesh.volume, rel=1e-4)
    ledger.compare("area_mm2", key, "", part["area_mm2"], mesh.area, rel=1e-5)
    for axis, (ours, reference) in enumerate(zip(part["centroid_mm"], mesh.center_mass)):
        ledger.compare("centroid_mm", key, "xyz"[axis], ours, reference, rel=1e-4, floor=extent)


@pytest.mark.parametrize("key", CASES)
def test_closed_surface_has_no_net_area(key):
    """Σ area·n = 0: the table's closed meshes are closed, by the reference itself."""
    solid = solids.solid(key)
    part = geometry.Posed(solid, np.eye(3), [0, 0, 0])
    edges = part.triangles[:, 1:] - part.triangles[:, :1]
    net = np.cross(edges[:, 0], edges[:, 1]).sum(axis=0) / 2
    assert np.linalg.norm(net) < 1e-9 * part.areas.sum()
