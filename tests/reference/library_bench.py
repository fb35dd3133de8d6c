"""Time and memory of `library` on a folder of parts; run by tests/bench-library.

    tests/bench-library                  2,000 parts on one thread and on two
    tests/bench-library --parts N        so many
    tests/bench-library --threads N[,N]  other numbers of threads
    tests/bench-library --seconds N      time limit of a part [default: none]
    tests/bench-library --most N         leave out meshes of more triangles [default: 1,000,000]
    tests/bench-library --size LO,HI     sizes of the parts in mm [default: 20,200]
    tests/bench-library --make FOLDER    only make the parts, in this folder

Parts are the meshes of the registry packages in tests/.env/meshes that can be read,
each turned at random (by its number), scaled to a random size and
written as STL, OBJ, PLY or OFF; what cannot be read is copied as it is. A file of each is
the same whoever makes it.

`asked` is the share of the time of all threads in which the program ran or waited for a
core that something else had (Linux, /proc/*/schedstat): on an idle machine the share of
the cores that were busy. `ran` is the part of it in which it ran. `overhead` is what is left of that
time after reading and scoring, as the database has it, again less the waiting.
"""

import argparse
import json
import os
import pathlib
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
MESHES = ROOT / "tests" / ".env" / "meshes"
BINARY = pathlib.Path(os.environ.get("WAYUP", ROOT / "target" / "release" / "wayup")).resolve()
ENDINGS = {".stl", ".obj", ".ply", ".off", ".3mf"}
FORMATS = ["stl", "stl", "stl", "obj", "ply", "off"]
# What is wanted: share of the cores, overhead, megabytes.
BUSY, OVERHEAD, PEAK_MB = 0.95, 0.03, 1500


def make(folder, count, most, sizes):
    """Write `count` parts into `folder`; the numbers of triangles of those that were read."""
    import numpy as np  # noqa: PLC0415 - only the maker needs them
    import trimesh  # noqa: PLC0415

    sources = sorted(p for p in MESHES.rglob("*") if p.suffix.lower() in ENDINGS)
    read, broken = [], []
    for path in sources:
        try:
            mesh = trimesh.load(path, force="mesh", process=False)
            if len(mesh.faces) > most:
                continue
            if len(mesh.faces) > 0 and np.isfinite(mesh.vertices).all() \
                    and mesh.extents.max() > 0:
                read.append((path, mesh))
            else:
                broken.append(path)
        except Exception:  # noqa: BLE001 - whatever a reader says of a bad file
            broken.append(path)
    folder.mkdir(parents=True, exist_ok=True)
    triangles = []
    for i in range(count):
        chance = random.Random(i)
        k = i % (len(read) + len(broken))
        below = folder / f"{i // 100:02d}"
        below.mkdir(exist_ok=True)
        if k >= len(read):
            source = broken[k - len(read)]
            shutil.copy(source, below / f"{i:05d}{source.suffix.lower()}")
            continue
        _, mesh = read[k]
        axis = [chance.gauss(0, 1) for _ in range(3)]
        turn = trimesh.transformations.rotation_matrix(chance.uniform(0, 6.28), axis)
        size = sizes[0] * (sizes[1] / sizes[0]) ** chance.uniform(0, 1)
        vertices = (mesh.vertices * (size / mesh.extents.max())) @ turn[:3, :3].T
        turned = trimesh.Trimesh(vertices, mesh.faces, process=False)
        turned.export(below / f"{i:05d}.{chance.choice(FORMATS)}")
        triangles.append(len(mesh.faces))
    return triangles


class Meter(threading.Thread):
    """Watches a process: time run and waited by its threads, most memory."""

    def __init__(self, pid):
        super().__init__(daemon=True)
        self.pid, self.tasks, self.peak_kb, self.ended = pid, {}, 0, False

    def run(self):
        while not self.ended:
            for task in pathlib.Path(f"/proc/{self.pid}/task").glob("*"):
                try:
                    ran, waited, _ = (task / "schedstat").read_text().split()
                    self.tasks[task.name] = (int(ran) / 1e9, int(waited) / 1e9)
                except (OSError, ValueError):
                    continue
            try:
                status = pathlib.Path(f"/proc/{self.pid}/status").read_text()
                rows = dict(line.split(":", 1) for line in status.splitlines())
                self.peak_kb = max(self.peak_kb, int(rows.get("VmHWM", "0 kB").split()[0]))
            except (OSError, ValueError):
                pass
            time.sleep(0.1)

    def totals(self):
        return [sum(t[i] for t in self.tasks.values()) for i in (0, 1)]


def score(folder, out, threads, more):
    """One run from nothing; what was measured."""
    began = time.perf_counter()
    run = subprocess.Popen([str(BINARY), "library", str(folder), "--out", str(out),
                            "--threads", str(threads), *more], stdout=subprocess.PIPE, text=True)
    meter = Meter(run.pid)
    meter.start()
    said, _ = run.communicate()
    wall = time.perf_counter() - began
    meter.ended = True
    if run.returncode not in (0, 1):
        sys.exit(f"exit {run.returncode}")
    ran, waited = meter.totals()
    with sqlite3.connect(out / "library.sqlite") as db:
        inside = db.execute("SELECT sum(seconds_total) FROM part").fetchone()[0]
        unread = db.execute("SELECT count(*) FROM part WHERE status = 'unread'").fetchone()[0]
    return {"threads": threads, "wall": wall, "ran": ran, "waited": waited, "inside": inside,
            "peak_mb": meter.peak_kb / 1024, "unread": unread, "said": said.strip()}


def main():
    words = argparse.ArgumentParser(description=__doc__,
                                    formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--parts", type=int, default=2000)
    words.add_argument("--most", type=int, default=1_000_000)
    words.add_argument("--size", default="20,200")
    words.add_argument("--threads", default="1,2")
    words.add_argument("--seconds")
    words.add_argument("--make", type=pathlib.Path)
    words.add_argument("--from", dest="made", type=pathlib.Path,
                       help="a folder that --make has made")
    words = words.parse_args()
    if words.make:
        sizes = [float(s) for s in words.size.split(",")]
        triangles = make(words.make, words.parts, words.most, sizes)
        print(f"{len(triangles)} parts of {sum(triangles):,} triangles in all, "
              f"the largest {max(triangles):,}")
        return
    more = ["--seconds", words.seconds] if words.seconds else []
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        folder = words.made or scratch / "parts"
        if not words.made:
            subprocess.run([sys.executable, __file__, "--parts", str(words.parts), "--most",
                            str(words.most), "--size", words.size, "--make", str(folder)],
                           check=True)
        print(f"{'threads':>7} {'wall s':>8} {'parts/s':>8} {'asked':>7} {'ran':>7} "
              f"{'overhead':>9} {'peak MB':>8}   wanted: asked {BUSY:.0%}, "
              f"overhead {OVERHEAD:.0%}, {PEAK_MB} MB")
        lines = set()
        for threads in map(int, words.threads.split(",")):
            out = scratch / f"out-{threads}"
            m = score(folder, out, threads, more)
            share = threads * m["wall"]
            text = (out / "parts.jsonl").read_text()
            count = text.count("\n")
            # Inside are wall times of parts, in which their threads may have waited for a core.
            overhead = 1 - m["inside"] / share
            print(f"{threads:7d} {m['wall']:8.1f} {count / m['wall']:8.2f} "
                  f"{(m['ran'] + m['waited']) / share:7.1%} {m['ran'] / share:7.1%} "
                  f"{overhead:9.1%} {m['peak_mb']:8.0f}   {m['unread']} unread", flush=True)
            lines.add(text)
        if not more and len(lines) > 1:
            sys.exit("the records depend on the number of threads")
        again = subprocess.run([str(BINARY), "library", str(folder), "--out", str(out), *more],
                               capture_output=True, text=True, check=False)
        print(again.stdout.strip())


if __name__ == "__main__":
    main()
