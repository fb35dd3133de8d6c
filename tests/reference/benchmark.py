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

import numpy as np
import program
import solids
import trimesh

REPEATS = 3
# What is wanted: at most so many times trimesh.load, seconds, megabytes.
WANTED = {"ratio": 4.0, "small_s": 0.3, "peak_mb": 900}


def subdivided(key, times):
    """A real part with every triangle cut into four, some times over."""
    solid = solids.solid(key)
    vertices, faces = solid.vertices, solid.faces
    for _ in range(times):
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    return trimesh.Trimesh(vertices, faces, process=False)


def dragon():
    """A scan of 871,414 triangles, in millimetres."""
    mesh = trimesh.load(solids.ROOTS["dragon"] / "dragon_vrip.ply", process=False)
    mesh.apply_scale(1000)
    return mesh


INPUTS = {
    "link 1.1 M": lambda: subdivided("upper_arm", 4),
    "dragon 0.87 M": dragon,
    "torus 1 M": lambda: trimesh.creation.torus(40, 12, major_sections=1000, minor_sections=500),
    "drawer 118 k": lambda: subdivided("drawer", 2),
    "gear 10 k": lambda: subdivided("gear", 1),
}

LOAD = """
import sys, time, trimesh
began = time.perf_counter()
mesh = trimesh.load(sys.argv[1])
print(time.perf_counter() - began)
"""


def timed(command):
    """Wall seconds, peak resident bytes and the standard output of a command."""
    began = time.perf_counter()
    with tempfile.TemporaryFile() as out:
        child = subprocess.Popen(command, stdout=out, stdin=subprocess.DEVNULL,
                                 stderr=subprocess.PIPE)
        # Standard error is a few lines at most, so it fits the pipe.
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - began
        child.returncode = os.waitstatus_to_exitcode(status)
        errors = child.stderr.read().decode(errors="replace")
        child.stderr.close()
        if child.returncode not in (program.DONE, program.NO_FIT):
            raise RuntimeError(f"{command}: exit {child.returncode}\n{errors}")
        out.seek(0)
        return seconds, usage.ru_maxrss * 1024, out.read().decode()


def main():
    """Make each input, time both programs in turn, print a table."""
    names = sys.argv[1:] or list(INPUTS)
    print(f"numpy {np.__version__}, trimesh {trimesh.__version__}, {os.cpu_count()} cores, "
          f"best of {REPEATS}")
    print(f"{'input':15} {'triangles':>10} {'load s':>8} {'advise s':>9} {'ratio':>6} {'peak MB':>8}")
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            mesh = INPUTS[name]()
            path = pathlib.Path(folder) / "part.stl"
            mesh.export(path)
            loads, advices, peaks = [], [], []
            for _ in range(REPEATS):
                loads.append(float(timed([sys.executable, "-c", LOAD, str(path)])[2]))
                seconds, peak, _ = timed([str(program.BINARY), "advise", "--json", "--units", "mm",
                                          str(path)])
                advices.append(seconds)
                peaks.append(peak)
            ratio = min(advices) / min(loads)
            large = len(mesh.faces) > 500_000
            off = [text for bad, text in (
                (large and ratio >= WANTED["ratio"], f"ratio of {WANTED['ratio']:g} wanted"),
                (max(peaks) / 1e6 >= WANTED["peak_mb"], f"{WANTED['peak_mb']} MB wanted"),
                (len(mesh.faces) < 20_000 and min(advices) >= WANTED["small_s"],
                 f"{WANTED['small_s']} s wanted")) if bad]
            print(f"{name:15} {len(mesh.faces):10} {min(loads):8.3f} {min(advices):9.3f} "
                  f"{ratio:6.2f} {max(peaks) / 1e6:8.0f}  {'; '.join(off)}", flush=True)


if __name__ == "__main__":
    main()
