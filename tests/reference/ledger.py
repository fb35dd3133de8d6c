"""What was compared, how far apart it was, and which disagreements are expected.

Every comparison goes through a Ledger. It keeps the worst disagreement of
each figure over everything for the closing table, turns a mismatch into a
failure of its test, and turns an expected mismatch that no longer happens
into a failure too.
"""

import dataclasses
import json
import math
import pathlib
import tomllib

import pytest

HERE = pathlib.Path(__file__).resolve().parent
EXPECTED = tomllib.loads((HERE / "expected.toml").read_text()).get("expected", [])
OUT = HERE.parent / "out"
RECORDS = OUT / "records"


@dataclasses.dataclass
class Record:
    """One comparison. `error` is relative to the reference or, below it, to `floor`."""

    figure: str
    mesh: str
    pose: str
    ours: float
    reference: float
    error: float
    allowed: float
    expected: bool

    @property
    def agrees(self):
        """Whether the two values are as close as they must be."""
        return self.error <= self.allowed


def expectation(figure, mesh, pose):
    """The entry of expected.toml that names this comparison, if there is one."""
    for entry in EXPECTED:
        if (entry["figure"], entry["mesh"]) == (figure, mesh) and pose in entry["poses"]:
            return entry
    return None


class Ledger:
    """Comparisons of one test."""

    def __init__(self, worker):
        self.file = RECORDS / f"{worker}.jsonl"
        self.records = []
        self.problems = []

    def compare(self, figure, mesh, pose, ours, reference, *, rel=0.01, floor=0.0, within=0.0):
        """Hold two values against each other.

        `rel` is the share of the reference they may differ by; `floor` is the
        value below which the share is taken of it instead, so that nothing
        compared with next to nothing does not count as a large error; `within` is
        a difference that is always allowed (an error that the program states).
        """
        ours, reference = float(ours), float(reference)
        gap = abs(ours - reference)
        scale = max(abs(reference), floor)
        error = 0.0 if gap == 0 else gap / scale if scale > 0 else math.inf
        allowed = max(rel, within / scale if scale > 0 else 0.0)
        if not math.isfinite(gap):
            error = math.inf
        entry = expectation(figure, mesh, pose)
        record = Record(figure, mesh, pose, ours, reference, error, allowed, entry is not None)
        self.records.append(record)
        if entry is None and not record.agrees:
            self.problems.append(
                f"{figure} of {mesh} {pose}: program {ours:.8g}, reference {reference:.8g}, "
                f"apart by {error:.3%}, allowed {allowed:.3%}")
        if entry is not None and record.agrees:
            self.problems.append(
                f"{figure} of {mesh} {pose} agrees now (program {ours:.8g}, reference "
                f"{reference:.8g}): take it out of expected.toml")

    def settle(self):
        """Write the records down and fail the test if anything is wrong."""
        with self.file.open("a") as out:
            for record in self.records:
                out.write(json.dumps(dataclasses.asdict(record)) + "\n")
        if self.problems:
            pytest.fail("\n".join(self.problems), pytrace=False)


def load_records():
    """All records of this run."""
    lines = [line for f in sorted(RECORDS.glob("*.jsonl")) for line in f.read_text().splitlines()]
    return [Record(**json.loads(line)) for line in lines]


def split_meshes():
    """Meshes that more than one worker compared: what one of them had worked out, another did again."""
    workers = {}
    for file in RECORDS.glob("*.jsonl"):
        for line in file.read_text().splitlines():
            workers.setdefault(json.loads(line)["mesh"], set()).add(file.stem)
    return sorted(mesh for mesh, by in workers.items() if len(by) > 1)


HEAD = ["figure", "meshes", "poses", "comparisons", "worst error", "where", "program", "reference",
        "allowed there", "most of an allowance used", "listed apart", "failed"]


def percent(share):
    """A share as text, short for what is next to nothing."""
    if share == 0:
        return "0"
    return "below 0.0001 %" if share < 1e-6 else f"{100 * share:.2g} %"


def table(records):
    """The worst disagreement of each figure, as rows of text. What expected.toml lists
    is left out of the worst and counted by itself."""
    rows = []
    for figure in sorted({r.figure for r in records}):
        mine = [r for r in records if r.figure == figure]
        counted = [r for r in mine if not r.expected] or mine
        worst = max(counted, key=lambda r: r.error)
        used = max(r.error / r.allowed if r.allowed else r.error for r in counted)
        rows.append([figure, str(len({r.mesh for r in mine})), str(len({r.pose for r in mine})),
                     str(len(mine)), percent(worst.error),
                     f"{worst.mesh} {worst.pose}".strip(), f"{worst.ours:.6g}",
                     f"{worst.reference:.6g}", percent(worst.allowed), f"{100 * used:.0f} %",
                     str(sum(r.expected for r in mine)),
                     str(sum(not r.agrees and not r.expected for r in mine))])
    return rows


def markdown(records):
    """The table as a Markdown document, and what is known to be apart."""
    lines = ["# Figures against independent references", "",
             "One row a figure, its largest error over all meshes and poses. Error: difference over the",
             "reference value, or over a floor where that is next to nothing. The allowance is larger",
             "than 1 % only where the program states an error of its own or the reference has one.", "",
             "| " + " | ".join(HEAD) + " |", "|" + "---|" * len(HEAD)]
    lines += ["| " + " | ".join(row) + " |" for row in table(records)]
    if EXPECTED:
        lines += ["", "Listed apart:", ""]
        lines += [f"- {e['figure']} of {e['mesh']} {' '.join(e['poses'])}: {e['reason']}".replace(" :", ":")
                  for e in EXPECTED]
    return "\n".join(lines) + "\n"
