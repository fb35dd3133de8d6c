"""Time and memory of `advise`, from a file to its ranked JSON, beside a plain copy of the
file and trimesh.load of it; run by tests/bench.

    tests/bench                      the inputs of `made`, on one thread and on two, best of three
    tests/bench NAME...              only these inputs; a name may be that of a group:
                                     `made`, `demo` (the demo parts), `parts` (forty parts of the
                                     registries, 5,000 to 70,000 triangles), `large` (1.3 and 10 million)
    tests/bench --repeats N          best of N instead
    tests/bench --threads N[,N...]   other numbers of threads
    tests/bench --reference          also the figures of the best pose by trimesh, shapely and Embree,
                                     beside `measure` of that pose; takes minutes a part

The program is `target/release/wayup`, or the one that the variable WAYUP names.
Seconds are wall time of the whole process; `read`, `candidates` and `score` are the
program's own account of the best run. `full` poses were measured in full, `open` ones are left
that might be better. Peak memory is the largest of all runs. The last lines have the median, the
95th percentile and the worst of each group of more than ten.
"""

import argparse
import dataclasses
import json
import os
import pathlib
import shutil
import statistics
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

FETCHED = HERE.parent / ".env" / "meshes"
# Triangles of the parts of the registries, how many of them, and the size below which the numbers
# of a file are metres, mm.
PARTS, MOST_PARTS, METRES_BELOW = range(5_000, 70_001), 40, 3.0

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
LARGE_MADE = {
    "sphere": ("trimesh.creation.icosphere(8, 40)", "ball, 1.3 million triangles"),
    "ring10": ("trimesh.creation.torus(40, 12, major_sections=3200, minor_sections=1563)",
               "ring, ten million triangles"),
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
"""

# One pose by the reference route: sections, bridges, slender features and support.
REFERENCE = """
import sys, time
import numpy as np, trimesh
import bridges_ref, columns_ref, slender_ref
path, scale, cell, *matrix = sys.argv[1:]
began = time.perf_counter()
mesh = trimesh.load(path, force='mesh')
mesh.apply_scale(float(scale))
mesh.apply_transform(np.array(matrix, dtype=float).reshape(4, 4))
levels = slender_ref.levels_of(float(mesh.bounds[1][2]), 0.2, 0.2)
planes = [(a + b) / 2 + slender_ref.NUDGE for a, b in zip(levels, levels[1:])]
sections = slender_ref.sections(mesh, levels)
slender_ref.measure_sections(sections, levels)
bridges_ref.measure_sections(sections, planes, levels)
columns_ref.support(mesh.vertices, mesh.faces, float(cell))
mesh.convex_hull, mesh.moment_inertia
print(time.perf_counter() - began)
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


COLUMNS = (("input", -26), ("triangles", 10), ("MB", 6), ("copy s", 7), ("load s", 7), ("threads", 8),
           ("advise s", 9), ("ratio", 7), ("read", 7), ("candidates", 11), ("score", 8), ("full", 5),
           ("open", 5), ("peak MB", 8), ("", -1))


@dataclasses.dataclass(frozen=True)
class Input:
    """A file to be timed: one that is there, or one that is made."""

    name: str
    group: str
    words: str
    path: pathlib.Path | None = None
    units: str = "mm"


def made(group, table):
    """Inputs that are made for the run."""
    return [Input(name, group, words) for name, (_, words) in table.items()]


def demo():
    """The demo parts."""
    files = sorted(p for p in (ROOT / "meshes").iterdir() if p.suffix != ".md")
    return [Input(p.stem, "demo", "demo part", p) for p in files]


def facts(path):
    """What `inspect` says of a file, or nothing where it cannot be read."""
    done = subprocess.run([str(BINARY), "inspect", "--json", str(path)], capture_output=True, check=False)
    return json.loads(done.stdout)["part"] if done.returncode == 0 else None


def parts():
    """Parts of the registries that are as large as those people have, evenly by triangles."""
    found = []
    for path in sorted(FETCHED.rglob("*")):
        if path.suffix.lower() not in (".stl", ".obj", ".ply", ".off", ".3mf") or path.stat().st_size < 200_000:
            continue
        part = facts(path)
        if part and part["triangles"] in PARTS:
            units = "m" if max(part["size_mm"]) < METRES_BELOW else "mm"
            bodies = part["bodies"]
            words = f"{bodies} {'body' if bodies == 1 else 'bodies'}, {path.relative_to(FETCHED).parts[0]}"
            found.append((part["triangles"], Input(path.stem[:26], "parts", words, path, units)))
    found.sort(key=lambda entry: (entry[0], str(entry[1].path)))
    step = max(len(found) / MOST_PARTS, 1.0)
    return [found[int(k * step)][1] for k in range(min(MOST_PARTS, len(found)))]


GROUPS = {"made": lambda: made("made", MAKE), "demo": demo, "parts": parts,
          "large": lambda: made("large", LARGE_MADE)}


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


def copied(path, to):
    """Seconds that a plain copy of a file takes."""
    began = time.perf_counter()
    shutil.copyfile(path, to)
    return time.perf_counter() - began


def reference(path, units, advice):
    """A line that sets the reference route beside `measure`, for the best pose."""
    pose = advice["poses"][0]
    rows = zip(pose["rotation"], pose["offset_mm"])
    matrix = [cell for row, shift in rows for cell in (*row, shift)] + [0.0, 0.0, 0.0, 1.0]
    down = ",".join(map(repr, pose["down"]))
    own = timed([str(BINARY), "measure", "--json", "--units", units, f"--down={down}", path])[0]
    scale = 1000.0 if units == "m" else 1.0
    cell = max(advice["part"]["size_mm"]) / 500
    theirs = float(timed([sys.executable, "-c", REFERENCE, path, str(scale), str(cell), *map(repr, matrix)])[2])
    return f"    one pose: measure {own:.3f} s, reference route {theirs:.1f} s, {theirs / own:.0f} times as long"


def bench(entry, folder, words):
    """Time copy, trimesh and the program in turn on one input and print a row for each number of
    threads. Returns the seconds at the largest number."""
    path = str(entry.path or folder / "part.stl")
    if entry.path is None:
        what = (MAKE | LARGE_MADE)[entry.name][0]
        timed([sys.executable, "-c", MAKER.replace("{what}", what), path])
    copies, loads, runs = [], [], {count: [] for count in words.threads}
    # In turn, so that a busy moment of the machine does not fall on one of them alone.
    for _ in range(words.repeats):
        copies.append(copied(path, folder / "copy"))
        loads.append(float(timed([sys.executable, "-c", LOAD, path])[2]))
        for count in words.threads:
            seconds, peak, out = timed([str(BINARY), "advise", "--json", "--units", entry.units,
                                        "--threads", str(count), path])
            runs[count].append((seconds, peak, json.loads(out)))
    load = min(loads)
    for count in words.threads:
        seconds, _, advice = min(runs[count], key=lambda run: run[0])
        peak_mb = max(peak for _, peak, _ in runs[count]) / 1e6
        triangles, counts = advice["part"]["triangles"], advice["candidates"]
        print(line(entry.name, triangles, f"{os.path.getsize(path) / 1e6:.1f}", f"{min(copies):.3f}", f"{load:.3f}",
                   count, f"{seconds:.3f}", f"{seconds / load:.2f}",
                   *(f"{advice['seconds'][key]:.3f}" for key in ("read", "candidates", "score")),
                   counts["fully_scored"], counts["unsettled"],
                   f"{peak_mb:.0f}", missed(triangles, seconds / load, seconds, peak_mb)), flush=True)
    if words.reference:
        print(reference(path, entry.units, advice), flush=True)
    return seconds


def summary(times):
    """Median, 95th percentile and worst of each group of more than ten."""
    for group, all_of_it in times.items():
        if len(all_of_it) > 10:
            high = statistics.quantiles(all_of_it, n=20, method="inclusive")[-1]
            yield (f"{group}: {len(all_of_it)} files, median {statistics.median(all_of_it):.2f} s, "
                   f"95th percentile {high:.2f} s, worst {max(all_of_it):.2f} s")


def main():
    """Print one table."""
    parser = argparse.ArgumentParser(description=__doc__, prog="tests/bench",
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", default=["made"],
                        help=", ".join([*GROUPS, *MAKE, *LARGE_MADE]))
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--threads", default=[1, 2], type=lambda text: [int(count) for count in text.split(",")])
    parser.add_argument("--reference", action="store_true")
    words = parser.parse_args()
    inputs = []
    for name in words.names:
        single = [entry for entry in made("made", MAKE) + made("large", LARGE_MADE) if entry.name == name]
        if not (name in GROUPS or single):
            parser.error(f"no input '{name}'; there are: {', '.join([*GROUPS, *MAKE, *LARGE_MADE])}")
        inputs += GROUPS[name]() if name in GROUPS else single
    versions = "import numpy, trimesh; print(numpy.__version__, trimesh.__version__)"
    numpy, trimesh = timed([sys.executable, "-c", versions])[2].split()
    print(f"{BINARY.name}, numpy {numpy}, trimesh {trimesh}, {os.cpu_count()} cores with a load of "
          f"{os.getloadavg()[0]:.1f}, best of {words.repeats}\n")
    print(line(*(title for title, _ in COLUMNS)))
    times, notes = {}, []
    with tempfile.TemporaryDirectory() as folder:
        for entry in inputs:
            times.setdefault(entry.group, []).append(bench(entry, pathlib.Path(folder), words))
            notes.append(f"{entry.name}: {entry.words}")
    print("\n" + "\n".join([*summary(times), "", *notes]))


if __name__ == "__main__":
    main()
