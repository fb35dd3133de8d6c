"""Call the program as a person would and hand back what it printed."""

import dataclasses
import functools
import json
import os
import pathlib
import resource
import subprocess
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = pathlib.Path(os.environ.get("WAYUP", ROOT / "target" / "release" / "wayup"))
# Documented exit codes.
DONE, PARTLY, WORDS, UNREADABLE, NO_FIT, NO_OUTPUT = range(6)


@dataclasses.dataclass(frozen=True)
class Outcome:
    """What one call did."""

    code: int
    out: str
    err: str
    seconds: float


def run(*words, timeout=60):
    """Run the program; raises subprocess.TimeoutExpired if it hangs."""
    began = time.perf_counter()
    done = subprocess.run(
        [str(BINARY), *map(str, words)], stdin=subprocess.DEVNULL, capture_output=True,
        timeout=timeout, check=False, env={**os.environ, "NO_COLOR": "1"})
    return Outcome(done.returncode, done.stdout.decode(), done.stderr.decode(),
                   time.perf_counter() - began)


def reply(*words, codes=(DONE,), timeout=120):
    """Run with --json and parse the one object that comes back."""
    outcome = run(*words, "--json", timeout=timeout)
    assert outcome.code in codes, f"exit {outcome.code}: {outcome.err.strip()}"
    return json.loads(outcome.out)


def direction(vector):
    """A direction as the command line takes it, without loss."""
    return ",".join(repr(float(x)) for x in vector)


@functools.lru_cache(maxsize=256)
def measure(path, units, down, *flags):
    """`measure` of a file in one pose; `down` is a tuple."""
    return reply("measure", path, "--units", units, "--down", direction(down), *flags)


@functools.lru_cache(maxsize=8)
def inner_numbers(path, units, down, lines):
    """What the example of that name prints for one pose."""
    done = subprocess.run(
        [BINARY.parent / "examples" / "inner_numbers", path, units, *map(repr, down), str(lines)],
        capture_output=True, timeout=120, check=True)
    return json.loads(done.stdout)


def advise(path, units, *flags, codes=(DONE, NO_FIT), timeout=180):
    """`advise` of a file."""
    return reply("advise", path, "--units", units, *flags, codes=codes, timeout=timeout)


def peak_child_bytes():
    """Largest resident size of any child so far."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
