"""What must not change an answer: turning, units, face order, subdivision, format, threads."""

import json
import math

import numpy as np
import program
import pytest
import share
import solids
import trimesh

# The demo parts that are solids; the broken clip is broken on purpose.
DEMO = sorted(p for p in (program.ROOT / "meshes").glob("*")
              if p.suffix in {".stl", ".obj", ".ply", ".off", ".3mf"} and "broken" not in p.stem)
INCHES = {"cable-saddle"}
REAL = ["finger", "gear", "moving_jaw", "nut", "mounting_plate", "drawer", "knuckle", "wrist", "bwb", "chair_leg"]
PARTS = {p.stem: (str(p), "in" if p.stem in INCHES else "mm") for p in DEMO} | {
    k: (solids.path(k), solids.units(k)) for k in REAL}
CASES = share.cases(PARTS)
DOWNS = ["-z", "+x", "r0"]
KINDS = ["turned", "units", "shuffled", "subdivided"]
# One thread against two and against seven: half of the parts a day, each with one of the two.
PAIRS = [pytest.param(key, threads, id=f"{key} {threads}") for key, threads in share.today(
    [(key, threads) for key in PARTS for threads in (2, 7)], 4)]
# Relative tolerance and floor of each figure. Single precision moves a
# coordinate by 1e-7 of the part, which can move a small feature across a
# layer; counts of such events are left to the tests of one fixed file.
FIGURES = {
    "height_mm": (1e-4, 0.1), "contact_area_mm2": (0.01, 1.0), "tip_angle_deg": (0.01, 5.0),
    "overhang_area_mm2": (0.01, 1.0), "layer_steps_mean_um": (0.01, 1.0), "weakest_section_mm2": (0.01, 1.0),
    "support_volume_mm3": (0.01, 1.0), "base_shrinkage_mm": (0.01, 0.01),
}


def read(key):
    """A part as an exact-welded mesh in mm."""
    path, units = PARTS[key]
    return solids.weld(trimesh.load(path, force="mesh", process=False), solids.MM[units])


def save(mesh, path):
    """Write a binary STL (single precision)."""
    mesh.export(path)
    return str(path)


def compare_figures(ledger, kind, key, down, ours, reference):
    """Every figure of FIGURES in two replies of `measure`."""
    ours, reference = ours["pose"]["figures"], reference["pose"]["figures"]
    for name, (rel, floor) in FIGURES.items():
        within = 0.0
        if name.startswith("support"):
            within = ours["support_error_mm3"] + reference["support_error_mm3"]
        ledger.compare(f"{kind}: {name}", key, down, ours[name], reference[name], rel=rel,
                       floor=floor, within=within)


def place(key):
    """Of a part among the others."""
    return list(PARTS).index(key)


def downs(key, variant, names=DOWNS):
    """One of the directions by name, another one each day and for each part and variant."""
    return {name: solids.POSES[name] for i, name in enumerate(names)
            if share.is_today(place(key) + variant + i, len(names))}


def same_advice(kind, key, variant, units, turn):
    """The winner of the variant, mapped back, is as good a pose of the original.

    A search takes longer than a pose: two kinds of each part a day, the others the next.
    """
    if not share.is_today(place(key) + KINDS.index(kind), 2):
        return
    path, own_units = PARTS[key]
    before = program.advise(path, own_units)
    after = program.advise(variant, units)
    first, again = before["poses"][0], after["poses"][0]
    assert again["total"] == pytest.approx(first["total"], rel=0.02, abs=0.05)
    back = turn.T @ np.array(again["down"])
    angle = math.degrees(math.acos(max(-1.0, min(1.0, float(back @ first["down"])))))
    if angle > 1.0:
        # Another pose of a symmetric part, or a tie: as good as the first one.
        mapped = program.measure(path, own_units, tuple(back))["pose"]
        assert mapped["total"] == pytest.approx(first["total"], rel=0.02, abs=0.05), (
            f"best pose moved by {angle:.2f}°")


@pytest.mark.parametrize("key", CASES)
def test_turned(ledger, key, tmp_path):
    """The file turned at random and written in single precision."""
    mesh = read(key)
    turn = trimesh.transformations.random_rotation_matrix(rand=np.array([0.31, 0.77, 0.12]))
    turned = mesh.copy()
    turned.apply_transform(turn)
    variant = save(turned, tmp_path / "turned.stl")
    turn = turn[:3, :3]
    for down, d in downs(key, 0).items():
        compare_figures(ledger, "turned", key, down, program.measure(variant, "mm", tuple(turn @ np.array(d))),
                        program.measure(*PARTS[key], d))
    same_advice("turned", key, variant, "mm", turn)


@pytest.mark.parametrize("key", CASES)
def test_units(ledger, key, tmp_path):
    """The same part in metres, centimetres and inches."""
    for i, units in enumerate(("m", "cm", "in")):
        mesh = read(key)
        mesh.apply_scale(1 / solids.MM[units])
        variant = save(mesh, tmp_path / f"{units}.stl")
        for down, d in downs(key, i).items():
            compare_figures(ledger, "units", key, down, program.measure(variant, units, d),
                            program.measure(*PARTS[key], d))
    same_advice("units", key, variant, units, np.eye(3))


@pytest.mark.parametrize("key", CASES)
def test_shuffled(ledger, key, tmp_path):
    """Faces in another order, each beginning at another corner."""
    mesh, random = read(key), np.random.default_rng(7)
    faces = mesh.faces[random.permutation(len(mesh.faces))]
    faces = np.array([np.roll(f, random.integers(3)) for f in faces])
    variant = save(trimesh.Trimesh(mesh.vertices, faces, process=False), tmp_path / "shuffled.stl")
    for down, d in downs(key, 1).items():
        compare_figures(ledger, "shuffled", key, down, program.measure(variant, "mm", d),
                        program.measure(*PARTS[key], d))
    same_advice("shuffled", key, variant, "mm", np.eye(3))


@pytest.mark.parametrize("key", CASES)
def test_subdivided(ledger, key, tmp_path):
    """Every triangle cut into four."""
    mesh = read(key)
    vertices, faces = trimesh.remesh.subdivide(mesh.vertices, mesh.faces)
    variant = save(trimesh.Trimesh(vertices, faces, process=False), tmp_path / "subdivided.stl")
    for down, d in downs(key, 2).items():
        compare_figures(ledger, "subdivided", key, down, program.measure(variant, "mm", d),
                        program.measure(*PARTS[key], d))
    same_advice("subdivided", key, variant, "mm", np.eye(3))


@pytest.mark.parametrize(("key", "threads"), PAIRS)
def test_threads(key, threads):
    """Same bytes on one thread and on more."""
    path, units = PARTS[key]
    replies = []
    for count in (1, threads):
        outcome = program.run("advise", path, "--units", units, "--json", "--threads", count)
        assert outcome.code in {program.DONE, program.NO_FIT}, outcome.err
        # Text, not parsed values: the order of keys and the digits count.
        text = outcome.out
        seconds = json.dumps(json.loads(text)["seconds"], separators=(",", ":"))
        at = text.index('"seconds"')
        assert json.loads(text[at + len('"seconds":'):text.index("}", at) + 1]) == json.loads(seconds)
        replies.append(text[:at] + text[text.index("}", at) + 1:])
    assert len(set(replies)) == 1


def write_forms(mesh, folder):
    """The same triangles in every format that the program reads."""
    forms = {}
    for name, suffix, options in (
            ("stl-binary", "stl", {"file_type": "stl"}), ("stl-text", "stl", {"file_type": "stl_ascii"}),
            ("obj", "obj", {"file_type": "obj", "digits": 12}),
            ("ply-binary", "ply", {"file_type": "ply", "encoding": "binary"}),
            ("ply-text", "ply", {"file_type": "ply", "encoding": "ascii"}),
            ("off", "off", {"file_type": "off", "digits": 12}), ("3mf", "3mf", {"file_type": "3mf"})):
        path = folder / f"{name}.{suffix}"
        mesh.export(path, **options)
        forms[name] = str(path)
    return forms


@pytest.mark.parametrize("key", CASES)
def test_formats(ledger, key, tmp_path):
    """STL text and binary, OBJ, PLY text and binary, OFF and 3MF give the same figures."""
    mesh = read(key)
    mesh = trimesh.Trimesh(mesh.vertices.astype(np.float32).astype(float), mesh.faces, process=False)
    forms = write_forms(mesh, tmp_path)
    assert len(forms) == 7
    for down, d in downs(key, 0, ["-z", "r0"]).items():
        base = program.measure(forms["stl-binary"], "mm", d)
        for name, path in forms.items():
            other = program.measure(path, "mm", d)
            assert other["part"]["format"] == name.split("-")[0]
            compare_figures(ledger, "formats", f"{key}.{name}", down, other, base)
