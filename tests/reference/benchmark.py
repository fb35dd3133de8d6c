"""Time and memory of `advise`, from a file to its ranked JSON, beside trimesh.load
of the same file; run by tests/bench.

    tests/bench                      all inputs, on one thread and on two, best of three
    tests/bench NAME...              only these inputs
    tests/bench --repeats N          best of N instead
    tests/bench --threads N[,N...]   other numbers of threads

The program is `target/release/wayup`, or the one that the variable WAYUP names.
Seconds are wall time of the whole process; `read`, `candidates` and `score` are the
program's own account of the best run. Peak memory is the largest of all runs.
"""

import argparse
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
BINARY = pathlib.Path(os.environ.get("WAYUP", ROOT / "target" / "release" / "wayup")).resolve()
# What is wanted at most: times trimesh.load, seconds, megabytes.
RATIO, SMALL_S, PEAK_MB = 4.0, 0.3, 900
# Where an input is large enough for the ratio to count, and small enough for the seconds.
LARGE, SMALL = 500_000, 20_000

# Name, how it is made, what it is. All of them binary STL, parts of a hand's width.
MAKE = {
    "link": ("subdivided('upper_arm', 4)", "robot link, every triangle cut into 256"),
    "dragon": ("dragon()", "scan of a figure, 100 mm long"),
    "torus": ("trimesh.creation.torus(40, 12, major_sections=1000, minor_sections=500)",
              "ring, all directions much alike"),
    "drawer": ("subdivided('drawer', 2)", "drawer, every triangle cut into 16"),
    "gear": ("subdivided('gear', 1)", "gear wheel, every triangle cut into 4"),
    "holder": ("trimesh.load(solids.HERE.parents[1] / 'meshes' / 'page-holder.stl', process=False)", "demo part"),
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
    return mesh.apply_scale(100 / mesh.extents.max())
mesh = {what}
mesh.export(sys.argv[1], file_type='stl')
print(len(mesh.faces), *mesh.extents.round(0).astype(int))
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


COLUMNS = (("input", -8), ("triangles", 10), ("MB", 6), ("load s", 7), ("threads", 8), ("advise s", 9),
           ("ratio", 7), ("read", 7), ("candidates", 11), ("score", 7), ("peak MB", 8), ("", -1))


def line(*cells):
    """One row of the table."""
    return " ".join(str(cell).ljust(-width) if width < 0 else str(cell).rjust(width)
                    for cell, (_, width) in zip(cells, COLUMNS)).rstrip()


def missed(triangles, ratio, seconds, peak_mb):
    """What is wanted and was not reached, in words."""
    return "; ".join(text for is_missed, text in (
        (triangles > LARGE and ratio > RATIO, f"ratio {RATIO:g} wanted"),
        (triangles < SMALL and seconds > SMALL_S, f"{SMALL_S} s wanted"),
        (peak_mb > PEAK_MB, f"{PEAK_MB} MB wanted"),
    ) if is_missed)


def bench(name, path, threads, repeats):
    """Make one input, time both programs in turn, print a row for each number of threads."""
    what, words = MAKE[name]
    made = timed([sys.executable, "-c", MAKER.replace("{what}", what), path])[2].split()
    triangles, size = int(made[0]), " × ".join(made[1:])
    loads, runs = [], {count: [] for count in threads}
    # In turn, so that a busy moment of the machine does not fall on one of them alone.
    for _ in range(repeats):
        loads.append(float(timed([sys.executable, "-c", LOAD, path])[2]))
        for count in threads:
            seconds, peak, out = timed([str(BINARY), "advise", "--json", "--units", "mm",
                                        "--threads", str(count), path])
            runs[count].append((seconds, peak, json.loads(out)["seconds"]))
    load = min(loads)
    for count in threads:
        seconds, _, parts = min(runs[count], key=lambda run: run[0])
        peak_mb = max(peak for _, peak, _ in runs[count]) / 1e6
        print(line(name, triangles, f"{os.path.getsize(path) / 1e6:.1f}", f"{load:.3f}", count,
                   f"{seconds:.3f}", f"{seconds / load:.2f}",
                   *(f"{parts[key]:.3f}" for key in ("read", "candidates", "score")),
                   f"{peak_mb:.0f}", missed(triangles, seconds / load, seconds, peak_mb)), flush=True)
    return f"{name}: {words}, {size} mm"


def main():
    """Print one table."""
    parser = argparse.ArgumentParser(description=__doc__, prog="tests/bench",
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(MAKE))
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--threads", default="1,2")
    words = parser.parse_args()
    for name in words.names:
        if name not in MAKE:
            parser.error(f"no input '{name}'; there are: {', '.join(MAKE)}")
    threads = [int(count) for count in words.threads.split(",")]
    versions = "import numpy, trimesh; print(numpy.__version__, trimesh.__version__)"
    numpy, trimesh = timed([sys.executable, "-c", versions])[2].split()
    print(f"{BINARY}\nnumpy {numpy}, trimesh {trimesh}, {os.cpu_count()} cores with a load of "
          f"{os.getloadavg()[0]:.1f}, best of {words.repeats}\n")
    print(line(*(title for title, _ in COLUMNS)))
    notes = []
    with tempfile.TemporaryDirectory() as folder:
        for name in words.names or MAKE:
            notes.append(bench(name, str(pathlib.Path(folder) / "part.stl"), threads, words.repeats))
    print("\n" + "\n".join(notes))


if __name__ == "__main__":
    main()
