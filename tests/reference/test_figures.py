"""Figures of a pose on every closed real mesh, each against its own computation."""

import functools
import math

import geometry
import numpy as np
import plan_grid
import program
import pytest
import share
import solids

# Small meshes in all ten poses, the others in the six that every figure is compared in.
SMALL = 3000
SIX = ["-z", "+z", "+x", "-y", "r0", "r1"]
CASES = [case for key in solids.CLOSED for case in share.posed(
    [key], solids.POSES if solids.ENTRIES[key]["triangles"] <= SMALL else SIX)]


# As many as one mesh has poses: its tests come one after the other.
@functools.lru_cache(maxsize=10)
def posed(key, pose, *flags):
    """The reply of the program, and the reference mesh turned by its rotation."""
    reply = program.measure(solids.path(key), solids.units(key), solids.POSES[pose], *flags)
    return reply, geometry.Posed(solids.solid(key), reply["pose"]["rotation"],
                                 reply["pose"]["offset_mm"])


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_rotation(key, pose):
    """The rotation is proper, turns `down` to −Z, and the part stands on z = 0."""
    reply, part = posed(key, pose)
    rotation, down = part.rotation, np.array(solids.POSES[pose])
    extent = np.ptp(part.vertices, axis=0).max()
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(rotation) == pytest.approx(1, abs=1e-9)
    assert rotation @ down == pytest.approx([0, 0, -1], abs=1e-9)
    assert reply["pose"]["down"] == pytest.approx(down, abs=1e-9)
    assert part.vertices[:, 2].min() == pytest.approx(0, abs=1e-5 * extent)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_extents(ledger, key, pose):
    """Height, layers, and the footprint against shapely's smallest rectangle."""
    reply, part = posed(key, pose)
    figures, settings = reply["pose"]["figures"], reply["settings"]
    ledger.compare("height_mm", key, pose, figures["height_mm"], part.height, rel=1e-5)
    ledger.compare("layers", key, pose, figures["layers"], geometry.layer_count(
        part.height, settings["first_layer_mm"], settings["layer_mm"]), rel=0)
    long, short = geometry.rectangle(part.vertices[:, :2])
    ledger.compare("footprint_long_mm", key, pose, figures["footprint_mm"][0], long, rel=1e-3)
    ledger.compare("footprint_short_mm", key, pose, figures["footprint_mm"][1], short, rel=1e-3)
    bed_x, bed_y, _ = settings["bed_mm"]
    if long > bed_x or short > bed_y:
        wide, deep = np.ptp(part.vertices[:, 0]), np.ptp(part.vertices[:, 1])
        if wide <= bed_x * (1 + 1e-6) and deep <= bed_y * (1 + 1e-6):
            return  # Turned to fit the bed, which the rectangle along X does not.
    # Else the yaw lays that rectangle along the axes.
    ledger.compare("footprint_turned_mm", key, pose, np.ptp(part.vertices[:, 0]), long, rel=1e-3)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_contact(ledger, key, pose):
    """Contact area and patches, tipping and shrinkage against the section at touch height."""
    reply, part = posed(key, pose)
    figures, settings = reply["pose"]["figures"], reply["settings"]
    contact = part.section(settings["first_layer_mm"] / 2)
    assert not contact.is_empty
    ledger.compare("contact_area_mm2", key, pose, figures["contact_area_mm2"], contact.area,
                   floor=0.1)
    # Slivers below a hundredth of a bead's square are no patch to either.
    sizes = [p.area for p in contact.geoms if p.area > 1e-3]
    if key not in solids.CLEAN:
        # Whether bodies that only touch are one patch is a matter of rounding.
        return
    ledger.compare("contact_patches", key, pose, figures["contact_patches"], len(sizes), rel=0)
    centroid = part.rotation @ np.array(reply["part"]["centroid_mm"]) + np.array(
        reply["pose"]["offset_mm"])
    ledger.compare("tip_angle_deg", key, pose, figures["tip_angle_deg"],
                   geometry.tip_angle_deg(contact, centroid), floor=5)
    material = settings["material"]
    shrink = (material["alpha_e6_per_k"] * 1e-6 * material["cooling_k"]
              * geometry.longest_chord(contact))
    ledger.compare("base_shrinkage_mm", key, pose, figures["base_shrinkage_mm"], shrink, floor=0.01)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_surface(ledger, key, pose):
    """Overhang area and mean stair step against sums over facets."""
    reply, part = posed(key, pose)
    figures, settings = reply["pose"]["figures"], reply["settings"]
    if key in solids.CLEAN and part.solid.single:
        # Where bodies overlap, what lies inside another hangs over nothing.
        ledger.compare("overhang_area_mm2", key, pose, figures["overhang_area_mm2"],
                       geometry.overhang_area(part, settings["limit_deg"],
                                              settings["first_layer_mm"] / 2), floor=0.1)
    ledger.compare("layer_steps_mean_um", key, pose, figures["layer_steps_mean_um"],
                   geometry.layer_steps_mean_um(part, settings["layer_mm"]), floor=0.1)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_sums(key, pose):
    """Figures that follow from one another, and bounds that hold for any part."""
    reply, _ = posed(key, pose)
    figures = reply["pose"]["figures"]
    assert figures["support_after_bridges_mm3"] <= figures["support_volume_mm3"] * (1 + 1e-9)
    assert figures["support_trapped_mm3"] <= figures["support_volume_mm3"] * (1 + 1e-9) + \
        figures["support_error_mm3"]
    assert figures["overhang_after_bridges_mm2"] <= figures["overhang_area_mm2"] * (1 + 1e-9)
    assert 0 <= figures["overhang_area_mm2"] <= reply["part"]["area_mm2"]
    assert figures["bridge_longest_mm"] == max([b["span_mm"] for b in figures["bridges"]], default=0)
    assert figures["filament_g"] == pytest.approx(
        figures["extrude_mm3"] * reply["settings"]["material"]["density_g_cm3"] / 1000)
    assert all(math.isfinite(v) for v in figures.values() if isinstance(v, int | float))


# Plan grids take seconds each, so of the dense ten and half of the others, in the poses of the day.
SUPPORT_MESHES = [key for i, key in enumerate(solids.CLEAN) if key in solids.DENSE or i % 2 == 0]
SUPPORT_CASES = share.posed(SUPPORT_MESHES, SIX)


@pytest.mark.parametrize(("key", "pose"), SUPPORT_CASES)
def test_support_on_a_grid(ledger, key, pose):
    """Support volume and the plan area where it stands on the part, by a fine plan grid."""
    # No bridge carries anything at a limit of 0, so all of it leaves its mark.
    reply, part = posed(key, pose, "--bridge-limit", "0")
    figures, settings = reply["pose"]["figures"], reply["settings"]
    volume, error, on_part, on_part_error = plan_grid.estimate(
        part, settings["limit_deg"], settings["first_layer_mm"] / 2)
    ledger.compare("support_volume_mm3", key, pose, figures["support_volume_mm3"], volume,
                   floor=1.0, within=figures["support_error_mm3"] + error)
    ledger.compare("support_marks_mm2.below", key, pose, figures["support_marks_mm2"]["below"],
                   on_part, floor=1.0, within=figures["support_marks_error_mm2"] + on_part_error)


@pytest.mark.parametrize(("key", "pose"), CASES)
def test_weakest_section(ledger, key, pose):
    """The weakest section, and what lies at the height that is given for it."""
    reply, part = posed(key, pose)
    figures, settings = reply["pose"]["figures"], reply["settings"]
    planes = geometry.layer_planes(part.height, settings["first_layer_mm"], settings["layer_mm"])
    areas = geometry.carrying_areas([part.section(z) for z in planes], planes, settings["line_mm"])
    least = min(areas.values(), default=0.0)
    ledger.compare("weakest_section_mm2", key, pose, figures["weakest_section_mm2"] or 0.0, least,
                   floor=0.5)
    if areas:
        # Several sections may be as weak: what counts is the area at the height given.
        z = min(planes, key=lambda z: abs(z - (figures["weakest_section_z_mm"] or 0.0)))
        ledger.compare("weakest_section_z_mm", key, pose, areas.get(z, 0.0), least, floor=0.5)
