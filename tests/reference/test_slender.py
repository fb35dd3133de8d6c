"""Slender features and sway against the slow reference: the dense ten in layers as they
are printed, the others in layers an eightieth of the part high, so that it is soon done."""

import geometry
import numpy as np
import program
import pytest
import share
import slender_ref
import solids

POSES = ["-z", "+z", "+x", "+y", "r0", "r1"]
# Where the outlines are long the reference takes minutes.
MESHES = solids.DENSE + [k for k in solids.CLEAN if k not in solids.DENSE
                         and solids.ENTRIES[k]["triangles"] <= 6000]
CASES = share.posed(MESHES, POSES)


def coarse(key):
    """Layers and lines in which the reference is done in seconds."""
    if key in solids.DENSE:
        return []
    extent = float(np.ptp(solids.solid(key).vertices, axis=0).max())
    layer = round(max(0.5, extent / 80), 2)
    return ["--layer", layer, "--first-layer", layer, "--line", round(2 * layer, 2)]


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_slender(ledger, key, pose):
    """Height over width, its stretch, and the softest tip."""
    reply = program.measure(solids.path(key), solids.units(key), solids.POSES[pose], *coarse(key))
    figures, settings = reply["pose"]["figures"], reply["settings"]
    part = geometry.Posed(solids.solid(key), reply["pose"]["rotation"], reply["pose"]["offset_mm"])
    first, layer, line = (settings[k] for k in ("first_layer_mm", "layer_mm", "line_mm"))
    planes = geometry.layer_planes(part.height, first, layer)
    layers = [[p for p in part.section(z).geoms if p.area > 0] for z in planes]
    levels = slender_ref.levels_of(part.height, layer, first)
    reference = slender_ref.measure_sections(layers, levels, line, settings["material"]["e_mpa"])
    ledger.compare("slender_ratio", key, pose, figures["slender_ratio"],
                   reference["slender_ratio"], floor=0.1)
    ledger.compare("sway_mm_per_n", key, pose, figures["sway_mm_per_n"],
                   reference["sway_mm_per_n"], floor=1e-6)
    if figures["slender"] and reference["stretches"]:
        tallest = max(reference["stretches"], key=lambda s: s["ratio"])
        for name in ("from_mm", "to_mm", "width_mm"):
            ledger.compare(f"slender.{name}", key, pose, figures["slender"][name], tallest[name],
                           floor=layer)
