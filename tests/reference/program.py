"""Call the program as a person would and hand back what it printed."""

import dataclasses
import functools
import json
import os
import pathlib
import subprocess
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = pathlib.Path(os.environ.get("WAYUP", ROOT / "target" / "release" / "wayup")).resolve()
# Which share of repeated checks a run does (share.py): the day, else what WAYUP_SEED says.
SEED = os.environ.get("WAYUP_SEED") or str(int(time.time()) // 86400)
# No test fails on time: a call that takes so long does not end by itself.
HANG_S = 3600
# Documented exit codes.
DONE, PARTLY, WORDS, UNREADABLE, NO_FIT, NO_OUTPUT, NOT_MET, TOO_LATE = range(8)


@dataclasses.dataclass(frozen=True)
class Outcome:
    """What one call did."""

    code: int
    out: str
    err: str
    seconds: float


def run(*words, **more):
    """Run the program; raises subprocess.TimeoutExpired if it hangs.

    `more` goes to `subprocess.run`, which by itself has no input and plain output.
    """
    began = time.perf_counter()
    done = subprocess.run([str(BINARY), *map(str, words)], **{
        "stdin": subprocess.DEVNULL, "capture_output": True, "timeout": HANG_S, "check": False,
        "env": {**os.environ, "NO_COLOR": "1"}, **more})
    return Outcome(done.returncode, done.stdout.decode(), done.stderr.decode(),
                   time.perf_counter() - began)


def reply(*words, codes=(DONE,)):
    """Run with --json and parse the one object that comes back."""
    outcome = run(*words, "--json")
    assert outcome.code in codes, f"exit {outcome.code}: {outcome.err.strip()}"
    return json.loads(outcome.out)


def direction(vector):
    """A direction as the command line takes it, without loss."""
    return ",".join(repr(float(x)) for x in vector)


@functools.lru_cache(maxsize=256)
def measure(path, units, down, *flags):
    """`measure` of a file in one pose; `down` is a tuple."""
    return reply("measure", path, "--units", units, "--down", direction(down), *flags)


def example(name, *words):
    """What an example program prints, which is JSON."""
    done = subprocess.run([BINARY.parent / "examples" / name, *map(str, words)],
                          stdin=subprocess.DEVNULL, capture_output=True, timeout=HANG_S, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


@functools.lru_cache(maxsize=8)
def inner_numbers(path, units, down, lines):
    """What the example of that name prints for one pose."""
    return example("inner_numbers", path, units, *map(repr, down), lines)


@functools.lru_cache(maxsize=32)
def advise(path, units, *flags, codes=(DONE, NO_FIT)):
    """`advise` of a file, once for each set of flags: it says the same every time."""
    return reply("advise", path, "--units", units, *flags, codes=codes)
