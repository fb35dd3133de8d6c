"""Bridges, ledges and islands against the slow reference, in thick layers.

Layers an eightieth of the part high, and lines twice as wide, so that the
reference is done in seconds. That is coarse for a print, not for the rule.
"""

import bridges_ref
import geometry
import numpy as np
import program
import pytest
import share
import solids

POSES = ["-z", "+z", "+x", "-y", "r0", "r1"]
# Where the outlines are long or the layers many, the reference takes minutes.
SLOW = {"drawer_box", "drawer", "desk_leg", "panda_link5", "panda_link7", "panda_hand", "wrist",
        "metacarpal", "forearm"}
MESHES = [k for k in solids.CLEAN if solids.ENTRIES[k]["triangles"] <= 8000 and k not in SLOW]
CASES = share.posed(MESHES, POSES)


def starts(found, line):
    """Height and area of what starts in the air and is as large as a bead's square."""
    return sorted((z, area) for z, area in found if area >= line**2)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_bridges(ledger, key, pose):
    """Longest bridge and ledge, what starts in the air, and how much is bridged."""
    extent = float(np.ptp(solids.solid(key).vertices, axis=0).max())
    layer = round(max(0.5, extent / 80), 2)
    line = round(2 * layer, 2)
    reply = program.measure(solids.path(key), solids.units(key), solids.POSES[pose],
                            "--layer", layer, "--first-layer", layer, "--line", line)
    figures = reply["pose"]["figures"]
    part = geometry.Posed(solids.solid(key), reply["pose"]["rotation"], reply["pose"]["offset_mm"])
    planes = geometry.layer_planes(part.height, layer, layer)
    layers = [[p for p in part.section(z).geoms if p.area > 0] for z in planes]
    reference = bridges_ref.measure_sections(
        layers, planes, [k * layer for k in range(len(planes) + 1)], reply["settings"]["limit_deg"], line)
    for name in ("bridge_longest_mm", "cantilever_longest_mm"):
        ledger.compare(name, key, pose, figures[name], reference[name], floor=line)
    ours = starts([(s["z_mm"], s["area_mm2"]) for s in figures["islands"]], line)
    theirs = starts(reference["islands"], line)
    ledger.compare("islands", key, pose, len(ours), len(theirs), rel=0)
    ledger.compare("islands: area", key, pose, sum(a for _, a in ours),
                   sum(a for _, a in theirs), floor=line**2)
    if not pose.startswith("r"):
        # In a leaning pose fresh areas are slivers whose directions rate alike, and which
        # of them is taken moves the sum by some per cent.
        ledger.compare("bridges: area", key, pose, sum(b["area_mm2"] for b in figures["bridges"]),
                       sum(b[2] for b in reference["bridges"]), floor=line**2)
