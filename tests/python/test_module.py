"""The Python module: the same answers as the command line, on arrays, without the lock."""

import ast
import concurrent.futures
import importlib.resources
import json
import os
import pathlib
import signal
import subprocess
import sys
import textwrap
import threading
import time
import tracemalloc

import numpy as np
import program
import pytest
import solids
import trimesh
import wayup

MESHES = program.ROOT / "meshes"
# Demo parts and real meshes, with their units.
PARTS = {
    "page-holder": (MESHES / "page-holder.stl", "mm"),
    "broken-clip": (MESHES / "broken-clip.stl", "mm"),
    "mute-cradle": (MESHES / "mute-cradle.off", "mm"),
    **{key: (pathlib.Path(solids.path(key)), solids.units(key)) for key in ("nut", "fixed_jaw")},
}
# What only a file has.
OF_A_FILE = ("path", "sha256", "format")
BOX_VERTICES = np.array([[x, y, z] for x in (0, 30) for y in (0, 20) for z in (0, 10)], dtype=np.float64)
BOX_FACES = np.array([[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
                      [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])


def loaded(path):
    """The mesh as trimesh reads it, corner by corner as it stands in the file."""
    return trimesh.load_mesh(path, process=False)


def without_file(reply):
    """An object of the command line less what is not there without a file."""
    reply.pop("seconds", None)
    for key in OF_A_FILE:
        del reply["part"][key]
    return reply


@pytest.fixture(scope="module")
def long_work():
    """A part that takes some seconds, and a call that works on it."""
    sphere = trimesh.creation.icosphere(subdivisions=5, radius=60)
    bumps = 1 + 0.1 * np.sin(5 * sphere.vertices[:, :1] / 10) * np.cos(sphere.vertices[:, 1:2] / 7)
    return sphere.vertices * bumps, np.asarray(sphere.faces)


@pytest.mark.parametrize("key", PARTS)
def test_advise_is_what_the_command_line_says(key):
    """Every key and number, on demo parts and real ones."""
    path, units = PARTS[key]
    mesh = loaded(path)
    ours = wayup.advise(mesh.vertices, mesh.faces, units=units)
    assert ours == without_file(program.reply("advise", path, "--units", units))
    # Types too: 28 and 28.0 are equal to Python.
    assert json.dumps(ours) == json.dumps(without_file(program.reply("advise", path, "--units", units)))
    assert ours == wayup.advise(mesh, units=units)


def test_measure_is_what_the_command_line_says():
    """With settings, in a pose that is named in both ways."""
    path, _ = PARTS["page-holder"]
    mesh = loaded(path)
    flags = ["--layer", "0.3", "--bed", "300,200,180", "--material", "petg", "--load", "0,1,0.5",
             "--show", "+z", "--show", "0,-1,0", "--aim", "strong", "--limit", "50", "--tolerance", "0.1"]
    wanted = without_file(program.reply("measure", path, "--down", "0,1,-2", *flags))
    settings = {"layer": 0.3, "bed": (300, 200, 180), "material": "petg", "load": [0, 1, 0.5],
                "show": ["+z", (0, -1, 0)], "aim": "strong", "limit": 50, "tolerance": 0.1}
    assert wayup.measure(mesh, down=[0, 1, -2], **settings) == wanted
    assert wayup.measure(mesh, down=np.array([0.0, 1.0, -2.0]), **settings) == wanted
    assert wayup.measure(mesh, down="0,1,-2", **settings) == wanted


def test_settings_of_a_file_have_the_same_names(tmp_path):
    """What a wayup.toml says and what keyword arguments say come to the same."""
    (tmp_path / "wayup.toml").write_text("layer = 0.25\nfirst_layer = 0.3\nline = 0.5\nbridge_limit = 8\nwalls = 4\n"
                                         "infill = 0.4\nrate = 8\nlayer_change = 1\nshow = \"-x\"\n[weights]\nheight = 0.5\n")
    mesh = tmp_path / "box.off"
    trimesh.Trimesh(BOX_VERTICES, BOX_FACES, process=False).export(mesh)
    wanted = without_file(program.reply("advise", mesh, "--top", "2"))
    assert wanted["settings"].pop("files") == [str(tmp_path / "wayup.toml")]
    ours = wayup.advise(BOX_VERTICES, BOX_FACES, top=2, layer=0.25, first_layer=0.3, line=0.5, bridge_limit=8,
                        walls=4, infill=0.4, rate=8, layer_change=1, show="-x", weights={"height": 0.5}, threads=1, seconds=None)
    assert ours["settings"].pop("files") == []
    assert ours == wanted


@pytest.mark.parametrize("floats", ["float64", "float32", ">f8", "float16", "int32"])
@pytest.mark.parametrize("whole", ["int64", "int32", "uint32", "uint64", "int16", "uint8", ">i4"])
def test_types_and_strides(floats, whole):
    """Every type of numbers, in rows, in columns, backwards, read-only: one answer."""
    plain = wayup.measure(BOX_VERTICES, BOX_FACES)
    vertices, faces = BOX_VERTICES.astype(floats), BOX_FACES.astype(whole)
    assert wayup.measure(vertices, faces) == plain
    wide = np.zeros((len(vertices), 6), dtype=floats)
    wide[:, ::2] = vertices
    assert wayup.measure(wide[:, ::2], np.asfortranarray(faces)) == plain
    backwards = vertices[::-1].copy()[::-1]
    backwards.flags.writeable = False
    assert wayup.measure(backwards, faces.tolist()) == plain


def test_a_closed_form():
    """A box of 30 × 20 × 10 lies on its largest side: no other library is asked."""
    best = wayup.advise(BOX_VERTICES.tolist(), BOX_FACES.tolist())["poses"][0]["figures"]
    assert (best["height_mm"], best["contact_area_mm2"], best["support_volume_mm3"]) == (10, 600, 0)


def test_arrays_are_not_copied():
    """No block of the arrays' size is made: numpy reports its own to tracemalloc (NEP 49 and numpy's docs)."""
    sphere = trimesh.creation.icosphere(subdivisions=6, radius=20)
    for floats, whole in ((np.float64, np.int64), (np.float32, np.int32)):
        vertices = np.asarray(sphere.vertices, dtype=floats)
        faces = np.asarray(sphere.faces, dtype=whole)
        kept = [a.copy() for a in (vertices, faces)]
        tracemalloc.start()
        with pytest.raises(ValueError, match="seconds"):
            wayup.advise(vertices, faces, seconds=1e-9)
        wide = tracemalloc.get_traced_memory()[1]
        tracemalloc.reset_peak()
        vertices.astype(np.float16).copy()
        copied = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert wide < faces.nbytes / 50, (wide, faces.nbytes)
        assert copied > vertices.nbytes / 5, "tracemalloc does not see numpy"
        assert all(np.array_equal(a, b) for a, b in zip((vertices, faces), kept))


def test_the_lock_is_free_meanwhile(long_work):
    """Another thread of Python goes on counting while one works."""
    counts, done = [], threading.Event()

    def count():
        while not done.is_set():
            counts.append(time.perf_counter())
            time.sleep(0.002)

    other = threading.Thread(target=count)
    other.start()
    began = time.perf_counter()
    wayup.advise(*long_work, threads=1, seconds=3)
    ended = time.perf_counter()
    done.set()
    other.join()
    inside = [t for t in counts if began < t < ended]
    gaps = np.diff(inside)
    assert ended - began > 0.3, "too short to show anything"
    assert len(inside) > 20 * (ended - began)
    assert gaps.max() < 0.5 * (ended - began)


def test_two_at_once_say_the_same():
    """Threads share the arrays and do not disturb each other."""
    path, _ = PARTS["page-holder"]
    mesh = loaded(path)
    vertices, faces = np.asarray(mesh.vertices), np.asarray(mesh.faces)
    alone = [wayup.advise(vertices, faces, limit=limit) for limit in (45, 60)]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        both = list(pool.map(lambda limit: wayup.advise(vertices, faces, limit=limit), (45, 60)))
    assert both == alone
    assert alone[0] != alone[1]
    assert wayup.advise(vertices, faces, threads=1) == wayup.advise(vertices, faces, threads=3)


def test_a_time_limit_is_told(long_work):
    """The answer is the best so far, and says so."""
    began = time.perf_counter()
    try:
        assert wayup.advise(*long_work, seconds=1.5, threads=1)["cut_short"]
    except ValueError as error:
        assert "seconds" in str(error)
    assert time.perf_counter() - began < 20


def test_ctrl_c_stops_it():
    """In a process of its own, as a person would press it."""
    script = textwrap.dedent("""
        import signal, numpy as np, trimesh, wayup
        # A server that runs the checks in the background may have it ignored.
        signal.signal(signal.SIGINT, signal.default_int_handler)
        s = trimesh.creation.icosphere(subdivisions=6, radius=100)
        v = s.vertices * (1 + 0.2 * np.sin(s.vertices[:, :1]) * np.cos(s.vertices[:, 1:2]))
        print("ready", flush=True)
        try:
            wayup.advise(v, s.faces, threads=1, layer=0.05)
        except KeyboardInterrupt:
            print("stopped", flush=True)
    """)
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True, env=os.environ) as child:
        assert child.stdout.readline() == "ready\n"
        time.sleep(1.0)
        child.send_signal(signal.SIGINT)
        try:
            said = child.communicate(timeout=60)[0]
        finally:
            child.kill()
        assert said == "stopped\n"


NAN, FAR, OUT = BOX_VERTICES.copy(), BOX_VERTICES.copy(), BOX_FACES.copy()
NAN[3, 1], FAR[2, 0], OUT[5, 2] = np.nan, np.inf, 8
NEGATIVE = BOX_FACES.copy()
NEGATIVE[0, 0] = -1
FLAT = BOX_VERTICES * [1, 1, 0]
BAD = {
    "two columns": (BOX_VERTICES[:, :2], BOX_FACES, {}, ValueError, r"vertices: shape \(8, 2\)"),
    "flat list": (BOX_VERTICES.ravel(), BOX_FACES, {}, ValueError, r"vertices: shape \(24,\)"),
    "quads": (BOX_VERTICES, np.zeros((6, 4), int), {}, ValueError, r"faces: shape \(6, 4\)"),
    "nan": (NAN, BOX_FACES, {}, ValueError, r"vertices: row 3 is not finite \(0, NaN, 10\)"),
    "infinite": (FAR, BOX_FACES, {}, ValueError, "vertices: row 2 is not finite"),
    "out of range": (BOX_VERTICES, OUT, {}, ValueError, "faces: row 5 names vertex 8, and there are 8"),
    "negative": (BOX_VERTICES, NEGATIVE, {}, ValueError, "faces: row 0 names vertex -1"),
    "huge": (BOX_VERTICES, BOX_FACES.astype(np.uint64) + np.uint64(2**63), {}, ValueError, "names vertex 9223372036854775808"),
    "float faces": (BOX_VERTICES, BOX_FACES.astype(float), {}, TypeError, "faces: float64 where whole numbers"),
    "text": (BOX_VERTICES.astype(str), BOX_FACES, {}, TypeError, "vertices: <U"),
    "complex": (BOX_VERTICES.astype(complex), BOX_FACES, {}, TypeError, "vertices: complex128"),
    "truths": (BOX_VERTICES, BOX_FACES.astype(bool), {}, TypeError, "faces: bool"),
    "no faces": (BOX_VERTICES, BOX_FACES[:0], {}, ValueError, "holds no usable triangle"),
    "flat": (FLAT, BOX_FACES, {}, ValueError, "flat sheet"),
    "no mesh": ("box.stl", None, {}, TypeError, "str is no mesh"),
    "unknown setting": (BOX_VERTICES, BOX_FACES, {"layr": 1}, TypeError, "no setting 'layr'; the nearest is 'layer'"),
    "out of its range": (BOX_VERTICES, BOX_FACES, {"layer": 99}, ValueError, "layer = 99 is outside 0.01 to 10 mm"),
    "nan setting": (BOX_VERTICES, BOX_FACES, {"line": float("nan")}, ValueError, "line = NaN is outside"),
    "wrong type": (BOX_VERTICES, BOX_FACES, {"limit": "steep"}, TypeError, "limit: str where a number"),
    "material": (BOX_VERTICES, BOX_FACES, {"material": "cheese"}, ValueError, "PLA, PETG"),
    "aim": (BOX_VERTICES, BOX_FACES, {"aim": "cheap"}, ValueError, "sound, clean, quick, strong"),
    "weights": (BOX_VERTICES, BOX_FACES, {"weights": {"hight": 1}}, ValueError, "'hight' is no row of the penalty table"),
    "weight": (BOX_VERTICES, BOX_FACES, {"weights": {"height": -1}}, ValueError, "outside"),
    "no weights": (BOX_VERTICES, BOX_FACES, {"weights": 3}, TypeError, "weights: int where a dict"),
    "direction": (BOX_VERTICES, BOX_FACES, {"load": (0, 0, 0)}, ValueError, "load: is no direction"),
    "units": (BOX_VERTICES, BOX_FACES, {"units": "furlong"}, ValueError, "units: "),
    "top": (BOX_VERTICES, BOX_FACES, {"top": 0}, ValueError, "top = 0 is outside 1 to 1000"),
    "threads": (BOX_VERTICES, BOX_FACES, {"threads": -1}, TypeError, "threads: int where a whole number of 0 or more"),
    "seconds": (BOX_VERTICES, BOX_FACES, {"seconds": 0}, ValueError, "seconds: is not a number of seconds above 0"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_named(name):
    """The exception says which array, row or setting, and what was wanted."""
    vertices, faces, settings, kind, says = BAD[name]
    with pytest.raises(kind, match=says):
        wayup.advise(vertices, faces, **settings)


def test_measure_takes_no_list_length():
    """`top` and `seconds` mean nothing for one pose."""
    with pytest.raises(TypeError, match="no setting 'top'"):
        wayup.measure(BOX_VERTICES, BOX_FACES, top=3)
    with pytest.raises(ValueError, match="down: "):
        wayup.measure(BOX_VERTICES, BOX_FACES, down="up")


def test_the_stub_names_what_is_taken():
    """py.typed is there, and the stub's settings are those that the module takes."""
    files = importlib.resources.files(wayup)
    assert (files / "py.typed").is_file()
    stub = ast.parse((files / "__init__.pyi").read_text())
    classes = {node.name: [a.target.id for a in node.body if isinstance(a, ast.AnnAssign)]
               for node in stub.body if isinstance(node, ast.ClassDef)}
    with pytest.raises(TypeError) as said:
        wayup.advise(BOX_VERTICES, BOX_FACES, nonsense=1)
    taken = str(said.value).split("all of them: ")[1].split(", ")
    assert sorted(taken) == sorted(classes["_Settings"] + classes["_AdviseSettings"])
    assert wayup.__version__ == program.run("--version").out.split()[1]
