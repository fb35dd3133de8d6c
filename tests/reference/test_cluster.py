"""The array script of examples/cluster: shares that together are the whole library."""

import json
import os
import subprocess

import program

FOLDER = program.ROOT / "examples" / "cluster"
PARTS = ["broken-clip.stl", "cable-saddle.3mf", "page-holder.stl", "stand-clip.stl", "wall-hanger.stl"]


def task(k, tasks, listed, out, *flags):
    """One task of an array, with the variables that Slurm sets."""
    env = {**os.environ, "WAYUP": str(program.BINARY), "SLURM_ARRAY_TASK_ID": str(k + 1), "SLURM_ARRAY_TASK_MIN": "1",
           "SLURM_ARRAY_TASK_COUNT": str(tasks), "SLURM_CPUS_PER_TASK": "1"}
    return subprocess.run(["bash", FOLDER / "share.sh", listed, out, *flags], env=env, capture_output=True,
                          timeout=program.HANG_S, check=False)


def records(path):
    """Lines of a file by the part that they are on; each part once."""
    lines = path.read_text().splitlines()
    by_path = {json.loads(line)["part"]["path"]: line for line in lines}
    assert len(by_path) == len(lines)
    return by_path


def test_shares_are_the_whole_and_go_on_where_they_stopped(tmp_path):
    """Three tasks against one run of all; then one task again, which scores nothing anew."""
    listed = tmp_path / "list.txt"
    missing = tmp_path / "nowhere.stl"
    listed.write_text("".join(f"{p}\n" for p in [*(program.ROOT / "meshes" / p for p in PARTS), missing]))
    whole = program.run("library", listed, "--out", tmp_path / "whole", "--limit", "50")
    assert whole.code == program.PARTLY, whole.err
    out, merged = tmp_path / "shares", {}
    for k in range(3):
        done = task(k, 3, listed, out, "--limit", "50")
        # A part that cannot be read is no reason to send the task again.
        assert done.returncode == 0, done.stderr.decode()
        part = records(out / f"share-{k}" / "parts.jsonl")
        assert len(part) == 2 and not merged.keys() & part.keys()
        merged |= part
    assert merged == records(tmp_path / "whole" / "parts.jsonl")
    again = task(1, 3, listed, out, "--limit", "50")
    assert again.returncode == 0 and b" 0 scored now" in again.stdout, again.stdout.decode()
    assert task(0, 3, listed, out, "--limit", "500").returncode == program.WORDS


def test_the_pods_run_the_same_script():
    """Every variable that the script reads is set by the Job, and the number of tasks is the number of pods."""
    job = (FOLDER / "kubernetes_job.yaml").read_text()
    script = (FOLDER / "share.sh").read_text()
    assert "/share/share.sh" in job
    for name in ("SLURM_ARRAY_TASK_ID", "SLURM_ARRAY_TASK_COUNT", "SLURM_CPUS_PER_TASK"):
        assert name in script and f"name: {name}" in job
    tasks = job.split("name: SLURM_ARRAY_TASK_COUNT")[1].split('value: "')[1].split('"')[0]
    assert f"completions: {tasks}\n" in job
