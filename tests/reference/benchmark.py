"""Time and memory of `advise` on large meshes; run by tests/bench.

    tests/bench            all inputs, best of three runs each
    tests/bench NAME...    only these inputs
"""

import os
import pathlib
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
BINARY = os.environ.get("WAYUP", HERE.parents[1] / "target" / "release" / "wayup")
REPEATS = 3
# What is wanted at most: times trimesh.load, seconds, megabytes.
RATIO, SMALL_S, PEAK_MB = 4.0, 0.3, 900
# Where an input is large enough for the ratio to count, and small enough for the seconds.
LARGE, SMALL = 500_000, 20_000

MAKE = {
    "link": "subdivided('upper_arm', 4)",
    "dragon": "dragon()",
    "torus": "trimesh.creation.torus(40, 12, major_sections=1000, minor_sections=500)",
    "drawer": "subdivided('drawer', 2)",
    "gear": "subdivided('gear', 1)",
}

# The inputs are made in a process of their own: a child's peak memory counts
# from its parent's size at the fork, so this process has to stay small.
MAKER = """
import sys
import solids, trimesh
def subdivided(key, times):
    solid = solids.solid(key)
    vertices, faces = solid.vertices, solid.faces
    for _ in range(times):
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    return trimesh.Trimesh(vertices, faces, process=False)
def dragon():
    mesh = trimesh.load(solids.ROOTS['dragon'] / 'dragon_vrip.ply', process=False)
    return mesh.apply_scale(1000)
mesh = {what}
mesh.export(sys.argv[1])
print(len(mesh.faces))
"""

LOAD = """
import sys, time, trimesh
began = time.perf_counter()
mesh = trimesh.load(sys.argv[1])
print(time.perf_counter() - began)
"""


def timed(command):
    """Wall seconds, peak resident bytes and the standard output of a command."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as errors:
        began = time.perf_counter()
        child = subprocess.Popen(command, stdout=out, stdin=subprocess.DEVNULL, stderr=errors,
                                 cwd=HERE)
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - began
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        errors.seek(0)
        # 4: fits no bed, and the advice is given all the same.
        if child.returncode not in (0, 4):
            raise SystemExit(f"{command[:2]}: exit {child.returncode}\n{errors.read().decode()}")
        return seconds, usage.ru_maxrss * 1024, out.read().decode()


def main():
    """Make each input, time both programs in turn, print a table."""
    names = sys.argv[1:] or list(MAKE)
    for name in names:
        if name not in MAKE:
            raise SystemExit(f"no input '{name}'; there are: {', '.join(MAKE)}")
    versions = "import numpy, trimesh; print(numpy.__version__, trimesh.__version__)"
    numpy, trimesh = timed([sys.executable, "-c", versions])[2].split()
    print(f"numpy {numpy}, trimesh {trimesh}, {os.cpu_count()} cores, best of {REPEATS}")
    print(f"{'input':8} {'triangles':>10} {'load s':>8} {'advise s':>9} {'ratio':>6} {'peak MB':>8}")
    with tempfile.TemporaryDirectory() as folder:
        path = str(pathlib.Path(folder) / "part.stl")
        for name in names:
            triangles = int(timed([sys.executable, "-c", MAKER.replace("{what}", MAKE[name]),
                                   path])[2])
            loads, advices, peaks = [], [], []
            for _ in range(REPEATS):
                loads.append(float(timed([sys.executable, "-c", LOAD, path])[2]))
                seconds, peak, _ = timed([str(BINARY), "advise", "--json", "--units", "mm", path])
                advices.append(seconds)
                peaks.append(peak)
            ratio, peak_mb = min(advices) / min(loads), max(peaks) / 1e6
            missed = [text for missed, text in (
                (triangles > LARGE and ratio >= RATIO, f"below {RATIO:g} wanted"),
                (peak_mb >= PEAK_MB, f"below {PEAK_MB} MB wanted"),
                (triangles < SMALL and min(advices) >= SMALL_S, f"below {SMALL_S} s wanted"),
            ) if missed]
            print(f"{name:8} {triangles:10} {min(loads):8.3f} {min(advices):9.3f} {ratio:6.2f} "
                  f"{peak_mb:8.0f}  {'; '.join(missed)}".rstrip(), flush=True)


if __name__ == "__main__":
    main()
