"""The most memory that the program takes on each mesh; run by tests/bench-memory.

    tests/bench-memory               every fetched mesh of 20,000 triangles or more
    tests/bench-memory FILE...       these
    tests/bench-memory --seconds N   time limit of a search [default: 20]
    tests/bench-memory --from N      meshes of so many triangles or more [default: 20,000]

What the kernel says of the process at its end (`ru_maxrss`), less what a cube takes, for
each triangle. The program counts BYTES_A_TRIANGLE of src/session/memory.rs: the rows above that are
marked.
"""

import argparse
import json
import os
import pathlib
import re
import struct
import subprocess
import tempfile

from library_bench import BINARY, ENDINGS, MESHES, ROOT

COUNTED = int(re.search(r"BYTES_A_TRIANGLE: u64 = (\d+);",
                        (ROOT / "src/session/memory.rs").read_text()).group(1))


def peak(*words):
    """Most bytes that the program took, and what it wrote."""
    run = subprocess.Popen([BINARY, *words], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    said = run.stdout.read()
    _, status, usage = os.wait4(run.pid, 0)
    run.returncode = os.waitstatus_to_exitcode(status)
    return usage.ru_maxrss * 1024, said


def cube(path):
    """A cube of 20 mm as binary STL."""
    at = [[20.0 * (k >> i & 1) for i in range(3)] for k in range(8)]
    faces = [(0, 3, 1), (0, 2, 3), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4),
             (2, 7, 3), (2, 6, 7), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
    body = b"".join(struct.pack("<12fH", 0, 0, 0, *at[a], *at[b], *at[c], 0) for a, b, c in faces)
    path.write_bytes(b"\0" * 80 + struct.pack("<I", len(faces)) + body)


def main():
    words = argparse.ArgumentParser(description=__doc__,
                                    formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("files", nargs="*", type=pathlib.Path)
    words.add_argument("--seconds", default="20")
    words.add_argument("--from", dest="least", type=int, default=20_000)
    words = words.parse_args()
    files = words.files or sorted(p for p in MESHES.rglob("*") if p.suffix.lower() in ENDINGS)
    with tempfile.TemporaryDirectory() as scratch:
        small = pathlib.Path(scratch) / "cube.stl"
        cube(small)
        base = [peak("inspect", "--json", small)[0], peak("advise", "--json", small)[0]]
    print(f"a cube: inspect {base[0] / 1e6:.0f} MB, advise {base[1] / 1e6:.0f} MB\n"
          f"{'triangles':>9} {'file MB':>8} {'inspect MB':>10} {'advise MB':>9} "
          f"{'B/tri':>6} {'B/tri':>6}", flush=True)
    rows = []
    for path in files:
        most, said = peak("inspect", "--json", path)
        try:
            triangles = json.loads(said)["part"]["triangles"]
        except (ValueError, KeyError):
            continue
        if triangles < words.least:
            continue
        advised, _ = peak("advise", "--json", "--seconds", words.seconds, path)
        each = [(m - b) / triangles for m, b in zip([most, advised], base, strict=True)]
        rows.append(each)
        print(f"{triangles:9,d} {path.stat().st_size / 1e6:8.2f} {most / 1e6:10.0f} "
              f"{advised / 1e6:9.0f} {each[0]:6.0f} {each[1]:6.0f} "
              f"{'*' if max(each) > COUNTED else ' '} {path.name}", flush=True)
    for what, column in zip(("inspect", "advise"), zip(*rows, strict=True), strict=False):
        column = sorted(column)
        print(f"{what}: median {column[len(column) // 2]:.0f}, most {column[-1]:.0f} bytes a "
              f"triangle; {COUNTED} are counted")


if __name__ == "__main__":
    main()
