"""Slender features and sway against the slow reference, on the dense ten."""

import geometry
import program
import pytest
import slender_ref
import solids

POSES = ["-z", "+z", "+x", "+y", "r0", "r1"]
CASES = [pytest.param(key, pose, id=f"{key}{pose}", marks=pytest.mark.xdist_group(key))
         for key in solids.DENSE for pose in POSES]


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_slender(ledger, key, pose):
    """Height over width, its stretch, and the softest tip."""
    reply = program.measure(solids.path(key), solids.units(key), solids.POSES[pose])
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
