"""The Spark job on two workers of one machine: the same table as without Spark, also when one dies."""

import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time

import pyarrow.parquet
import pyspark
import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(os.environ.get("WAYUP", ROOT / "target" / "release" / "wayup")).resolve()
JOB = ROOT / "examples" / "cluster" / "spark_job.py"
FLAGS = ["--threads", "1", "--limit", "50"]
# Quick ones, each in several copies.
MESHES = ["broken-clip.stl", "cable-saddle.3mf", "drum-rim-comb.obj", "mute-cradle.off", "page-holder.stl",
          "stand-clip.stl", "tuning-key-tag.stl", "wall-hanger.stl"]
COPIES = 4
# Two workers, each with one core and 512 MB; all of it on the loopback interface.
MASTER = "local-cluster[2,1,512]"


@pytest.fixture(scope="module")
def parts(tmp_path_factory):
    """A folder of parts with odd names, one torn file, and a list of them; a missing one too."""
    folder = tmp_path_factory.mktemp("parts")
    paths = []
    for name in MESHES:
        for copy in range(COPIES):
            path = folder / f"{copy} ü {name}"
            shutil.copy(ROOT / "meshes" / name, path)
            paths.append(path)
    torn = folder / "torn.stl"
    torn.write_bytes(paths[0].read_bytes()[:500])
    paths += [torn, folder / "nowhere.stl"]
    listed = folder / "list.txt"
    listed.write_text("".join(f"{p}\n" for p in paths))
    return listed


@pytest.fixture(scope="module")
def alone(parts):
    """Records by path, from one process without Spark."""
    with parts.open() as paths:
        done = subprocess.run([PROGRAM, "library", "-", *FLAGS], stdin=paths, capture_output=True, timeout=600, check=False)
    assert done.returncode == 1, done.stderr.decode()
    lines = done.stdout.decode().splitlines()
    return {json.loads(line)["part"]["path"]: line for line in lines}


def start(parts, out):
    """The job as spark-submit would start it."""
    home = pathlib.Path(pyspark.__file__).parent
    env = {**os.environ, "SPARK_HOME": str(home), "SPARK_LOCAL_IP": "127.0.0.1", "PYSPARK_PYTHON": sys.executable,
           "SPARK_LOCAL_DIRS": str(out.parent / "scratch")}
    conf = {"spark.ui.enabled": "false", "spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1",
            "spark.executor.memory": "512m", "spark.driver.memory": "512m",
            # Short runs on two cores: compiling hot code well costs more than it gives.
            "spark.driver.extraJavaOptions": "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC",
            "spark.executor.extraJavaOptions": "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"}
    words = [str(home / "bin" / "spark-submit"), "--master", MASTER]
    for key, value in conf.items():
        words += ["--conf", f"{key}={value}"]
    words += [str(JOB), str(parts), str(out), "--wayup", str(PROGRAM), "--batch", "3", "--", *FLAGS]
    log = (out.parent / "spark.log").open("w+")
    return subprocess.Popen(words, env=env, stdout=log, stderr=subprocess.STDOUT, cwd=out.parent), log


def children():
    """Parent and command line of every process that can be looked at."""
    found = {}
    for folder in pathlib.Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                stat = (folder / "stat").read_text()
                words = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            except OSError:
                continue
            found[int(folder.name)] = (int(stat.rsplit(")", 1)[1].split()[1]), words)
    return found


def family(root):
    """A process with all that descend from it, and their command lines."""
    found = children()
    out, grew = {root: found.get(root, (0, ""))[1]}, True
    while grew:
        more = {pid: words for pid, (parent, words) in found.items() if parent in out and pid not in out}
        out |= more
        grew = bool(more)
    return out


def executors(job):
    """Those of our own job's workers that have a program at work."""
    busy = []
    for pid, words in family(job.pid).items():
        if "CoarseGrainedExecutorBackend" in words:
            inside = family(pid)
            if any("library - " in w for w in inside.values()):
                busy.append((pid, inside))
    return busy


def finish(job, log):
    """Wait for the end; what it said."""
    try:
        code = job.wait(timeout=300)
    finally:
        if job.poll() is None:
            for pid in family(job.pid):
                os.kill(pid, signal.SIGKILL)
    log.seek(0)
    said = log.read()
    assert code == 0, said[-3000:]
    return said


def check(out, alone):
    """Each part once, and its record byte for byte."""
    table = pyarrow.parquet.read_table(out).to_pylist()
    assert sorted(r["path"] for r in table) == sorted(alone)
    for r in table:
        assert r["record"] == alone[r["path"]]
        record = json.loads(r["record"])
        if "error" in record:
            assert r["error"] == record["error"]["text"] and r["total"] is None
        else:
            assert r["error"] is None
            assert r["total"] == record["poses"][0]["total"]
            assert r["height_mm"] == record["poses"][0]["figures"]["height_mm"]
    assert sum(r["error"] is not None for r in table) == 2


def test_a_worker_killed_in_mid_run_loses_nothing(parts, alone, tmp_path):
    """After the first task has ended, a busy executor is killed with all its children, as a lost machine would be."""
    out = tmp_path / "table"
    job, log = start(parts, out)
    killed = None
    until = time.monotonic() + 200
    while killed is None and job.poll() is None and time.monotonic() < until:
        if list(out.glob("_temporary/0/task_*")):
            for pid, inside in executors(job)[:1]:
                killed = pid
                for each in inside:
                    try:
                        os.kill(each, signal.SIGKILL)
                    except ProcessLookupError:
                        pass
        time.sleep(0.05)
    said = finish(job, log)
    assert killed, "the job was over before a worker could be killed"
    assert "Lost executor" in said or "Lost task" in said, said[-3000:]
    check(out, alone)
    assert f"{len(alone)} parts, 2 of them unread" in said
