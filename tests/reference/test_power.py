"""A library whose power fails: what the program did to its folder is written down (power.c), and the
disk is put together as it may be found after a cut at any moment.

The model, from memory of what POSIX and journalling file systems promise: of a file, what was written before its
last sync is there; of what came later each piece of 512 bytes may be there or not, in any order.
Names (made, renamed, removed) come to the disk in their order, all those before the last sync of
anything, and as many of the later ones as chance will have.
"""

import os
import pathlib
import random
import shutil
import sqlite3
import subprocess

import program
import pytest

HERE = pathlib.Path(__file__).resolve().parent
DEMO = HERE.parents[1] / "meshes"
SECTOR = 512
# States of the disk that are looked at, and how many of them the program goes on from.
STATES, GONE_ON_FROM = 240, 6
EXPORTS = ("parts.jsonl", "parts.csv", "parts.parquet", "summary.html")


@pytest.fixture(scope="module")
def shim(tmp_path_factory):
    """The library that writes down."""
    made = tmp_path_factory.mktemp("shim") / "power.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", made, HERE / "power.c", "-ldl", "-lpthread"], check=True)
    return made


def library(parts, out, **environment):
    """Scores a folder."""
    run = subprocess.run([program.BINARY, "library", parts, "--out", out, "--threads", "1"], capture_output=True, text=True,
                         env={**os.environ, **environment}, check=False)
    assert run.returncode == 0, run.stderr
    return run


def operations(log):
    """What was written down: tuples of the word, the file's number or path, and what belongs to it."""
    data, at, out = log.read_bytes(), 0, []

    def words():
        nonlocal at
        end = data.index(b"\n", at)
        text, at = data[at:end].decode(), end + 1
        return text

    while at < len(data):
        what, _, rest = words().partition(" ")
        if what in ("open", "folder"):
            number, _, path = rest.partition(" ")
            out.append((what, int(number), path))
        elif what == "write":
            number, offset, count = map(int, rest.split())
            out.append(("write", number, offset, data[at:at + count]))
            at += count
        elif what == "cut":
            out.append(("cut", *map(int, rest.split())))
        elif what == "sync":
            out.append(("sync", int(rest)))
        elif what == "rename":
            out.append(("rename", rest, words()))
        else:
            assert what == "unlink", what
            out.append(("unlink", rest))
    return out


class Disk:
    """Files by a number of their own, which renaming does not change, and the names that lead to them."""

    def __init__(self):
        self.safe, self.loose, self.names, self.later, self.of = {}, {}, {}, [], {}

    def copy(self):
        """One to spoil."""
        other = Disk()
        other.safe = {k: bytearray(v) for k, v in self.safe.items()}
        other.loose = {k: list(v) for k, v in self.loose.items()}
        other.names, other.later = dict(self.names), list(self.later)
        return other

    def now(self):
        """Names as the program sees them."""
        names = dict(self.names)
        for change in self.later:
            apply(names, change)
        return names

    def take(self, operation):
        """The next thing that the program did."""
        what, first, *more = operation
        if what == "open":
            file = self.now().get(more[0])
            if file is None:
                file = len(self.safe)
                self.safe[file], self.loose[file] = bytearray(), []
                self.later.append(("made", more[0], file))
            self.of[first] = file
        elif what in ("write", "cut"):
            self.loose[self.of[first]].append((what, *more))
        elif what == "sync":
            file = self.of.get(first)
            for piece in self.loose.get(file, []):
                put(self.safe[file], piece)
            if file is not None:
                self.loose[file] = []
            for change in self.later:
                apply(self.names, change)
            self.later = []
        elif what in ("rename", "unlink"):
            self.later.append(operation)

    def found(self, chance, folder):
        """Puts down what may be found after a cut now."""
        names = dict(self.names)
        for change in self.later[:chance.randint(0, len(self.later))]:
            apply(names, change)
        for path, file in names.items():
            content = bytearray(self.safe[file])
            kept = chance.choice((0.0, 0.5, 0.9, 1.0))
            pieces = [piece for whole in self.loose[file] for piece in torn(whole) if chance.random() < kept]
            for piece in pieces:
                put(content, piece)
            (folder / pathlib.Path(path).name).write_bytes(content)


def apply(names, change):
    """A change of names."""
    what, first, *more = change
    if what == "made":
        names[first] = more[0]
    elif what == "unlink":
        names.pop(first, None)
    elif first in names:
        names[more[0]] = names.pop(first)


def put(content, piece):
    """A piece of a file in its place; a gap before it is filled with zeros."""
    what, at, *more = piece
    if what == "cut":
        del content[at:]
        content.extend(bytes(max(0, at - len(content))))
    else:
        content.extend(bytes(max(0, at - len(content))))
        content[at:at + len(more[0])] = more[0]


def torn(piece):
    """A write by the sectors that it touches."""
    if piece[0] == "cut":
        yield piece
        return
    _, at, data = piece
    while data:
        count = SECTOR - at % SECTOR
        yield ("write", at, data[:count])
        at, data = at + count, data[count:]


def rows(folder):
    """Records of a database by part; it is whole, or this fails."""
    with sqlite3.connect(folder / "library.sqlite") as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        if not db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
            return {}
        return dict(db.execute("SELECT key, json FROM part JOIN advice ON advice.part = part.id"))


def test_a_power_cut_loses_nothing_that_was_kept(shim, tmp_path):
    """At any moment of a second run, in which one part is new and one has changed."""
    parts, out = tmp_path / "parts", tmp_path / "out"
    parts.mkdir()
    for name in ("stand-clip.stl", "tuning-key-tag.stl"):
        shutil.copy(DEMO / name, parts)
    log = tmp_path / "log"
    noting = {"LD_PRELOAD": str(shim), "POWER_FOLDER": str(out), "POWER_LOG": str(log)}
    library(parts, out, **noting)
    first, old = len(operations(log)), {name: (out / name).read_bytes() for name in EXPORTS}
    before = rows(out)
    shutil.copy(DEMO / "page-holder.stl", parts)
    shutil.copy(DEMO / "cable-saddle.3mf", parts / "tuning-key-tag.stl")
    library(parts, out, **noting)
    after, new = rows(out), {name: (out / name).read_bytes() for name in EXPORTS}
    assert len(before) == 2 and len(after) == 3 and new["parts.csv"] != old["parts.csv"]

    done = operations(log)
    assert sum(op[0] == "sync" for op in done) > 10 and sum(op[0] == "write" for op in done) > 100
    chance, disk, seen, cuts = random.Random(7), Disk(), [], {}
    for moment in sorted(chance.choices(range(len(done)), k=STATES)) + [len(done)]:
        cuts[moment] = cuts.get(moment, 0) + 1
    for moment, operation in enumerate([*done, None]):
        for again in range(cuts.get(moment, 0)):
            seen.append((moment, again, disk.copy()))
        if operation:
            disk.take(operation)
    kept, changed = 0, 0
    for place, (moment, again, at) in enumerate(seen):
        folder = tmp_path / f"cut-{moment}-{again}"
        folder.mkdir()
        at.found(chance, folder)
        told = f"cut before operation {moment} of {len(done)}"
        if (folder / "library.sqlite").exists():
            records = rows(folder)
            assert all(line in (before.get(key), after.get(key)) for key, line in records.items()), told
            # What an earlier run left is never lost: the second run begins when it has ended.
            assert moment <= first or set(before) <= set(records), told
            kept += len(records)
        for name in EXPORTS:
            if (folder / name).exists():
                assert (folder / name).read_bytes() in (old[name], new[name]), f"{name}: {told}"
                changed += (folder / name).read_bytes() == new[name]
            else:
                assert moment <= first, f"{name} is gone: {told}"
        if place % (len(seen) // GONE_ON_FROM) == 0:
            library(parts, folder)
            assert rows(folder) == after, told
            assert (folder / "parts.csv").read_bytes() == new["parts.csv"], told
        shutil.rmtree(folder)
    assert kept > STATES and changed > 0


def test_the_model_finds_what_was_not_synced(tmp_path):
    """By hand: a file that is renamed without a sync may be found empty, one with a sync may not."""
    for synced in (False, True):
        disk, chance, found = Disk(), random.Random(1), set()
        sync = [("sync", 2)] if synced else []
        for operation in [("open", 1, "/d/a"), ("write", 1, 0, b"old"), ("sync", 1), ("open", 2, "/d/.a"),
                          ("write", 2, 0, b"new"), *sync, ("rename", "/d/.a", "/d/a")]:
            disk.take(operation)
        for k in range(60):
            folder = tmp_path / f"{synced}-{k}"
            folder.mkdir()
            disk.copy().found(chance, folder)
            found.add((folder / "a").read_bytes())
        assert found == ({b"old", b"new"} if synced else {b"old", b"new", b""})
