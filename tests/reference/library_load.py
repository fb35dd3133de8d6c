"""`library` on very many small files; run by tests/bench-load.

    tests/bench-load                 100,000 files
    tests/bench-load --files N       so many
    tests/bench-load --kills N       killed so often on the way [default: 10]
    tests/bench-load --keep FOLDER   parts and records stay there, and what is done is not done again

Half the files are prisms, frustums and steps of their own, as binary STL; the other half are copies of
them under other names. The run is killed at random moments and started again; at the end every
file must have its record, once, and the database must be sound. A last run, in which nothing is
left to do, must change no export. What fails is said, and ends the script with 1.
"""

import argparse
import hashlib
import json
import math
import pathlib
import random
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time

from library_bench import BINARY, ROOT, Meter

BROWSER = ROOT / "tests" / "browser"
MODULES = ROOT / "tests" / ".env" / "browser" / "node_modules"
EXPORTS = ["library.sqlite", "parts.jsonl", "parts.csv", "parts.parquet", "summary.html"]
# Seconds after which a run is killed, at random between these.
KILLED_AFTER = (2, 60)


def frustum(chance):
    """Triangles of a prism or frustum on an ellipse: 8 to 44 of them."""
    corners = chance.randint(3, 12)
    wide, deep, high = (chance.uniform(5, 60) for _ in range(3))
    top = chance.choice([1.0, 1.0, chance.uniform(0.3, 1.6)])
    turns = [2 * math.pi * (k + chance.uniform(-0.3, 0.3)) / corners for k in range(corners)]
    low = [(wide * math.cos(t), deep * math.sin(t), 0.0) for t in turns]
    up = [(top * x, top * y, high) for x, y, _ in low]
    out = []
    for k in range(corners):
        n = (k + 1) % corners
        out += [(low[k], low[n], up[n]), (low[k], up[n], up[k])]
    for k in range(1, corners - 1):
        out += [(low[0], low[k + 1], low[k]), (up[0], up[k], up[k + 1])]
    return out


def steps(chance):
    """Triangles of a flight of steps, 3 to 6 of them."""
    count = chance.randint(3, 6)
    deep = chance.uniform(5, 40)
    xs = [0.0]
    for _ in range(count):
        xs.append(xs[-1] + chance.uniform(3, 20))
    heights = sorted(chance.uniform(2, 50) for _ in range(count))
    profile = [(0.0, 0.0), (xs[-1], 0.0)]
    for k in reversed(range(count)):
        profile += [(xs[k + 1], heights[k]), (xs[k], heights[k])]
    out = []
    for (ax, az), (bx, bz) in zip(profile, profile[1:] + profile[:1], strict=True):
        a, b, c, d = (ax, 0.0, az), (bx, 0.0, bz), (bx, deep, bz), (ax, deep, az)
        out += [(a, b, c), (a, c, d)]
    for y, way in ((0.0, 1), (deep, -1)):
        for tri in ears(profile):
            p = [(x, y, z) for x, z in tri]
            out.append(tuple(p[::-way]) if way == 1 else tuple(p))
    return out


def ears(profile):
    """Triangles of a simple polygon that goes round to the left, by cutting off ears."""
    left = list(profile)
    out = []

    def turn(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    while len(left) > 3:
        for i in range(len(left)):
            a, b, c = left[i - 1], left[i], left[(i + 1) % len(left)]
            inside = [p for p in left if p not in (a, b, c)
                      and min(turn(a, b, p), turn(b, c, p), turn(c, a, p)) >= 0]
            if turn(a, b, c) > 0 and not inside:
                out.append((a, b, c))
                del left[i]
                break
        else:
            raise ValueError("no ear")
    out.append(tuple(left))
    return out


def bytes_of(number):
    """The file of a part: the same for the same number."""
    chance = random.Random(number)
    triangles = chance.choice([frustum, frustum, steps])(chance)
    facets = b"".join(struct.pack("<12fH", 0, 0, 0, *(x for p in t for x in p), 0) for t in triangles)
    return b"part".ljust(80) + struct.pack("<I", len(triangles)) + facets


def make(folder, files):
    """Write the files, 1,000 to a folder; the second half are copies."""
    own = files - files // 2
    for i in range(files):
        below = folder / f"{i // 1000:03d}"
        below.mkdir(parents=True, exist_ok=True)
        (below / f"{i:06d}.stl").write_bytes(bytes_of(i if i < own else i - own))


def run(folder, out, after=None):
    """One run, killed after so many seconds if it has not ended: what it said, and megabytes."""
    child = subprocess.Popen([str(BINARY), "library", str(folder), "--out", str(out)],
                             stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    meter = Meter(child.pid)
    meter.start()
    try:
        said, _ = child.communicate(timeout=after)
    except subprocess.TimeoutExpired:
        child.kill()
        said, _ = child.communicate()
    meter.ended = True
    return said.strip(), child.returncode, meter.peak_kb / 1024


def main():
    words = argparse.ArgumentParser(description=__doc__,
                                    formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--files", type=int, default=100_000)
    words.add_argument("--kills", type=int, default=10)
    words.add_argument("--keep", type=pathlib.Path)
    words = words.parse_args()
    scratch = words.keep or pathlib.Path(tempfile.mkdtemp())
    folder, out = scratch / "parts", scratch / "out"
    faults = []
    try:
        began = time.perf_counter()
        if not folder.exists():
            make(folder, words.files)
            print(f"{words.files:,} files made in {time.perf_counter() - began:.0f} s", flush=True)
        chance, took, killed, peak = random.Random(11), 0.0, 0, 0.0
        while True:
            began = time.perf_counter()
            after = chance.uniform(*KILLED_AFTER) if killed < words.kills else None
            said, code, peak_mb = run(folder, out, after)
            took += time.perf_counter() - began
            peak = max(peak, peak_mb)
            if code >= 0:
                break
            killed += 1
            with sqlite3.connect(out / "library.sqlite") as db:
                kept = db.execute("SELECT count(*) FROM part").fetchone()[0]
            print(f"  killed after {after:.0f} s: {kept:,} records", flush=True)
        print(said)
        if code not in (0, 1):
            faults.append(f"exit {code}")
        if killed < words.kills:
            faults.append(f"it was done after {killed} kills")
        print(f"{took:.0f} s in all, {words.files / took:.1f} files a second, at most {peak:.0f} MB of memory")
        with sqlite3.connect(out / "library.sqlite") as db:
            rows, paths = db.execute("SELECT count(*), count(DISTINCT path) FROM part").fetchone()
            sound = db.execute("PRAGMA integrity_check").fetchone()[0]
            states = db.execute("SELECT status, count(*) FROM part GROUP BY status").fetchall()
        print("records:", ", ".join(f"{n:,} {state}" for state, n in states))
        if (rows, paths, sound) != (words.files, words.files, "ok"):
            faults.append(f"{rows:,} records of {paths:,} paths, database {sound}")
        with (out / "parts.jsonl").open() as lines:
            listed = {json.loads(line)["part"]["path"] for line in lines}
        if len(listed) != words.files:
            faults.append(f"{len(listed):,} paths in parts.jsonl")
        for name in EXPORTS:
            size = (out / name).stat().st_size
            print(f"  {name:<15} {size / 1e6:8.1f} MB, {size / words.files:6.0f} bytes a file; "
                  f"a million files: {size / words.files / 1e3:6.2f} GB")
        sums = {name: hashlib.sha256((out / name).read_bytes()).hexdigest() for name in EXPORTS[1:]}
        began = time.perf_counter()
        said, code, again_mb = run(folder, out)
        print(f"nothing left to do: {time.perf_counter() - began:.1f} s, at most {again_mb:.0f} MB")
        changed = [n for n, s in sums.items() if hashlib.sha256((out / n).read_bytes()).hexdigest() != s]
        if changed:
            faults.append(f"changed by a run with nothing to do: {', '.join(changed)}")
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        if chromium and MODULES.exists():
            page = subprocess.run(["node", str(BROWSER / "load.mjs"), chromium, str(MODULES),
                                   str(out / "summary.html")], check=False)
            if page.returncode:
                faults.append("the page")
        else:
            print("the page was not opened: run tests/browser/run once")
    finally:
        if not words.keep:
            shutil.rmtree(scratch, ignore_errors=True)
    for fault in faults:
        print(f"FAILED {fault}")
    sys.exit(bool(faults))


if __name__ == "__main__":
    main()
