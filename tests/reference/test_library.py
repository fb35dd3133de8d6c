"""A library run: stopped at any moment, on a full disk, beside another run; and its
files held against each other and against one-by-one advice."""

import csv
import json
import os
import pathlib
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import time

import jsonschema
import numpy as np
import program
import pyarrow.parquet
import pytest
import trimesh

DEMO = program.ROOT / "meshes"
FILES = ["parts.jsonl", "parts.csv", "parts.parquet", "summary.html"]
KILLS = 20
# In the folder; two of them cannot be read.
PARTS = 33


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Some parts that are quickly scored, turned at random, and files that are no part."""
    root = tmp_path_factory.mktemp("parts")
    chance = np.random.default_rng(12)
    shapes = [
        lambda: trimesh.creation.box(chance.uniform(5, 60, 3)),
        lambda: trimesh.creation.cylinder(chance.uniform(3, 9), chance.uniform(10, 80), sections=24),
        lambda: trimesh.creation.annulus(5, 12, chance.uniform(5, 40), sections=24),
        lambda: trimesh.creation.cone(chance.uniform(5, 20), chance.uniform(10, 50), sections=16),
    ]
    for i in range(24):
        mesh = shapes[i % len(shapes)]()
        mesh.apply_transform(trimesh.transformations.random_rotation_matrix(chance.uniform(size=3)))
        below = root / "made" / f"{i % 3}"
        below.mkdir(parents=True, exist_ok=True)
        mesh.export(below / f"part {i}.{['stl', 'obj', 'off'][i % 3]}")
    for name in ("page-holder.stl", "bell-spout.ply", "broken-clip.stl", "cable-saddle.3mf", "stand-clip.stl"):
        shutil.copy(DEMO / name, root)
    shutil.copy(DEMO / "stand-clip.stl", root / "a copy, ü.stl")
    (root / "cut.stl").write_bytes((DEMO / "wall-hanger.stl").read_bytes()[:-1000])
    (root / "empty.stl").write_bytes(b"")
    (root / "read me.txt").write_text("Parts.\n")
    # A unit for one folder: what lies there is in inches.
    (root / "inches").mkdir()
    trimesh.creation.box([1, 2, 0.5]).export(root / "inches" / "block.stl")
    (root / "inches" / "wayup.toml").write_text('units = "in"\n')
    return root


@pytest.fixture(scope="module")
def undisturbed(folder, tmp_path_factory):
    """The library of that folder, made in one go on one thread."""
    out = tmp_path_factory.mktemp("library")
    outcome = score(folder, out, "--threads", "1")
    assert outcome.code == program.PARTLY, outcome.err
    return out


def score(folder, out, *words, **more):
    return program.run("library", folder, "--out", out, *words, **more)


def same_files(out, other):
    """Every file made of the database is the same, byte for byte."""
    for name in FILES:
        assert (out / name).read_bytes() == (other / name).read_bytes(), name


def records(out):
    return [json.loads(line) for line in (out / "parts.jsonl").read_text().splitlines()]


def test_each_record_is_what_advise_prints(folder, undisturbed, schema):
    """Byte for byte less the times; one record a part, and the broken ones say why."""
    lines = (undisturbed / "parts.jsonl").read_text().splitlines()
    found = [json.loads(line)["part"]["path"] for line in lines]
    meshes = [str(p) for p in folder.rglob("*") if p.suffix not in {".txt", ".toml", ""}]
    assert found == sorted(meshes, key=os.fsencode) and len(found) == PARTS
    unread = 0
    for path, line in zip(found, lines, strict=True):
        schema.validate(json.loads(line))
        alone = program.run("advise", path, "--json")
        if "error" in json.loads(line):
            unread += 1
            error = json.loads(line)["error"]
            assert alone.code == error["exit"] == program.UNREADABLE and not alone.out
            assert f"error: {path}: {error['defect']}\nhint: {error['hint']}\n" == alone.err
        else:
            head, mark, _ = alone.out.rpartition(',"seconds":')
            assert mark and head + "}" == line
    assert unread == 2
    block = next(r for r in records(undisturbed) if r["part"]["path"].endswith("block.stl"))
    assert block["part"]["units"] == "in"
    assert sorted(block["part"]["size_mm"]) == pytest.approx([12.7, 25.4, 50.8])


def test_the_number_of_threads_changes_nothing(folder, undisturbed, tmp_path):
    for threads in ("2", "3"):
        out = tmp_path / threads
        score(folder, out, "--threads", threads)
        same_files(out, undisturbed)


def test_killed_at_any_moment_it_goes_on(folder, undisturbed, tmp_path):
    """SIGKILL at twenty random moments; then no part is missing, double, or other."""
    chance, killed = random.Random(7), 0
    for _ in range(KILLS):
        with subprocess.Popen([program.BINARY, "library", folder, "--out", tmp_path],
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as run:
            time.sleep(chance.uniform(0.0, 0.4))
            run.kill()
            killed += run.wait() == -signal.SIGKILL
        if (tmp_path / "library.sqlite").exists():
            with sqlite3.connect(tmp_path / "library.sqlite") as db:
                assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                halves = "SELECT count(*) FROM part LEFT JOIN advice ON part = id WHERE json IS NULL"
                if db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
                    assert db.execute(halves).fetchone() == (0,)
    assert killed > KILLS / 3
    assert score(folder, tmp_path).code == program.PARTLY
    same_files(tmp_path, undisturbed)
    assert not list(tmp_path.glob(".*.part"))
    again = score(folder, tmp_path)
    assert f"0 scored now, {PARTS} unchanged" in " ".join(again.out.split())
    same_files(tmp_path, undisturbed)


@pytest.mark.parametrize("room", [0, 30_000, 150_000, 600_000, 1_000_000])
def test_a_full_disk_loses_nothing(folder, undisturbed, tmp_path, room):
    """No file may grow past so many bytes: said so, nothing half-written, then it goes on."""

    def full():
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    # Ignored, the signal becomes an error of the write, as on a full disk.
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        outcome = score(folder, tmp_path, preexec_fn=full, restore_signals=False)
    finally:
        signal.signal(signal.SIGXFSZ, before)
    assert outcome.code == program.NO_OUTPUT, outcome.err
    assert "cannot be written" in outcome.err and "hint: make room" in outcome.err
    assert not [p for p in tmp_path.iterdir() if p.name in FILES or p.name.endswith(".part")]
    assert score(folder, tmp_path).code == program.PARTLY
    same_files(tmp_path, undisturbed)


def test_a_second_run_in_the_same_folder_stops(folder, tmp_path):
    with subprocess.Popen([program.BINARY, "library", folder, "--out", tmp_path],
                          stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as run:
        try:
            # It says this once it has the folder.
            assert b"found" in run.stderr.readline()
            run.send_signal(signal.SIGSTOP)
            second = score(folder, tmp_path)
            assert second.code == program.NO_OUTPUT
            assert "another run is at work in this folder" in second.err
        finally:
            run.kill()
    # The lock goes with the process, however that ends.
    assert score(folder, tmp_path).code == program.PARTLY


def test_the_files_say_the_same(undisturbed):
    """SQLite, CSV, Parquet and the JSON lines, value by value."""
    with sqlite3.connect(undisturbed / "library.sqlite") as db:
        db.row_factory = sqlite3.Row
        rows = [dict(r) for r in db.execute("SELECT * FROM present ORDER BY path")]
        kept = [r[0] for r in db.execute(
            "SELECT json FROM advice JOIN part ON id = part ORDER BY path")]
    assert kept == (undisturbed / "parts.jsonl").read_text().splitlines()
    table = pyarrow.parquet.read_table(undisturbed / "parts.parquet")
    truths = {f.name for f in table.schema if str(f.type) == "bool"}
    kinds = {str(f.type) for f in table.schema}
    assert kinds == {"string", "int64", "double", "bool"}
    with (undisturbed / "parts.csv").open(newline="", encoding="utf-8") as file:
        lines = list(csv.DictReader(file))
    assert list(lines[0]) == table.column_names == list(rows[0])
    assert len(lines) == len(rows) == table.num_rows == PARTS

    def from_csv(text, kind):
        if text == "":
            return None
        return {"string": str, "int64": int, "double": float, "bool": "true".__eq__}[kind](text)

    for line, row, typed in zip(lines, rows, table.to_pylist(), strict=True):
        for field in table.schema:
            name = field.name
            value = bool(row[name]) if name in truths and row[name] is not None else row[name]
            assert value == typed[name], name
            assert from_csv(line[name], str(field.type)) == typed[name], name
    for record, typed in zip(records(undisturbed), table.to_pylist(), strict=True):
        assert typed["path"] == record["part"]["path"]
        assert (typed["status"] == "unread") == ("error" in record)
        if "error" in record:
            assert typed["broken"] and typed["height_mm"] is None
            continue
        best, stored = record["poses"][0], record["as_stored"]
        assert typed["height_mm"] == best["figures"]["height_mm"]
        assert [typed[f"down_{a}"] for a in "xyz"] == best["down"]
        assert typed["stored_rank"] == stored["rank"]
        assert typed["stored_poor"] == bool(stored["faults"])
        assert typed["does_not_fit"] == all("does_not_fit" in p["gates"] for p in record["poses"])
        assert typed["broken"] == (not record["part"]["closed"])
        # Support that nobody would switch on counts as none.
        figures = [p["figures"]["support_needed_mm3"] if p["needs_support"] else 0.0 for p in (stored, best)]
        assert typed["support_saved_mm3"] == pytest.approx(figures[0] - figures[1], rel=1e-6, abs=1e-6)
    assert any(t["needs_support"] for t in table.to_pylist())
    assert any(t["stored_poor"] for t in table.to_pylist())


def test_the_views_answer(undisturbed):
    with sqlite3.connect(undisturbed / "library.sqlite") as db:
        def one(ask):
            return db.execute(ask).fetchone()[0]

        for mark in ("needs_support", "sways", "does_not_fit", "stored_poor", "broken"):
            assert one(f"SELECT count(*) FROM {mark}") == one(
                f"SELECT count(*) FROM present WHERE {mark}"), mark
        poses = sum(len(r.get("poses", [])) for r in records(undisturbed))
        assert one("SELECT count(*) FROM pose") == poses
        saves = [r[0] for r in db.execute("SELECT support_saved_mm3 FROM turning_saves")]
        assert saves and saves == sorted(saves, reverse=True) and saves[-1] > 0
        notes = [(r["part"]["path"], n) for r in records(undisturbed)
                 for n in r["part"].get("notes", [])]
        assert sorted(db.execute("SELECT path, says FROM remark")) == sorted(notes) and notes
        assert one("SELECT count(*) FROM run WHERE ended IS NOT NULL") == 1


def test_paths_on_standard_input_are_answered_one_by_one(folder, undisturbed):
    """Each line is out before the next path is in; a broken file is a line too."""
    lines = {json.loads(t)["part"]["path"]: t
             for t in (undisturbed / "parts.jsonl").read_text().splitlines()}
    names = ["inches/block.stl", "cut.stl", "stand-clip.stl", "nowhere.stl"]
    with subprocess.Popen([program.BINARY, "library", "-"], stdin=subprocess.PIPE,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        for name in names:
            path = str(folder / name)
            run.stdin.write(f"{path}\r\n\n".encode())
            run.stdin.flush()
            said = run.stdout.readline().decode().rstrip("\n")
            if name == "nowhere.stl":
                assert json.loads(said)["error"]["exit"] == program.UNREADABLE
                assert json.loads(said)["part"] == {"path": path, "sha256": None}
            else:
                assert said == lines[path]
        rest, err = run.communicate()
        assert run.returncode == program.PARTLY and not rest and not err
    fine = program.run("library", "-", input=str(folder / "stand-clip.stl").encode(), stdin=None)
    assert fine.code == program.DONE and fine.out.count("\n") == 1
    none = program.run("library", "-")
    assert none.code == program.DONE and not none.out


def test_a_list_is_as_good_as_a_folder(folder, undisturbed, tmp_path):
    paths = [r["part"]["path"] for r in records(undisturbed)]
    (tmp_path / "list.txt").write_text("\n".join(reversed(paths)) + "\n")
    score(tmp_path / "list.txt", tmp_path / "out")
    same_files(tmp_path / "out", undisturbed)
    printed = program.run("library", tmp_path / "list.txt")
    assert printed.code == program.PARTLY
    assert sorted(printed.out.splitlines()) == sorted(
        (undisturbed / "parts.jsonl").read_text().splitlines())


def test_a_part_that_takes_too_long_is_cut_off_and_the_rest_goes_on(tmp_path):
    """A ball 14 m tall has 70,000 layers: its record is a first answer. A kilometre is not even tried."""
    parts = tmp_path / "parts"
    parts.mkdir()
    trimesh.creation.icosphere(6, 7_000).export(parts / "large.stl")
    trimesh.creation.icosphere(3, 500_000).export(parts / "huge.stl")
    trimesh.creation.box([10, 20, 30]).export(parts / "small.stl")
    outcome = score(parts, tmp_path / "out", "--seconds", "3")
    assert outcome.code == program.PARTLY and outcome.seconds < 60
    huge, large, small = records(tmp_path / "out")
    assert "is too large: 1000000 mm long" in huge["error"]["text"]
    assert large["first_answer"] is True and "error" not in large
    assert small["cut_short"] is False


def test_words_that_are_off(folder, tmp_path):
    for words, says in [
        (["library", tmp_path / "nowhere"], "no such folder or file"),
        (["library", DEMO / "wall-hanger.stl"], "is a mesh, not a list"),
        (["library", folder, "--recheck"], "--out"),
        (["library", folder, "--settings", tmp_path / "none.toml"], "settings file"),
    ]:
        outcome = program.run(*words)
        assert outcome.code == program.WORDS and says in outcome.err, words
    (tmp_path / "file").write_text("")
    assert score(folder, tmp_path / "file").code == program.NO_OUTPUT
