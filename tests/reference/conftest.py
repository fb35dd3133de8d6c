"""Fixtures and the closing table of the reference checks."""

import json
import os
import re
import shutil

import jsonschema
import ledger as books
import program
import pytest
import solids
from xdist.scheduler import LoadScopeScheduling

# Figures that a whole run must have compared, on so many meshes at least. A
# suite that silently stopped comparing one of them would still be green.
REQUIRED = {
    "volume_mm3": 25, "area_mm2": 25, "centroid_mm": 25, "inertia_mm5": 25, "height_mm": 25, "layers": 25,
    "footprint_long_mm": 25, "footprint_short_mm": 25, "contact_area_mm2": 25,
    "contact_patches": 25, "tip_angle_deg": 25, "overhang_area_mm2": 25, "layer_steps_mean_um": 25,
    "base_shrinkage_mm": 25, "weakest_section_mm2": 25, "support_volume_mm3": 25, "support_marks_mm2.below": 25,
    "bridge_longest_mm": 25, "cantilever_longest_mm": 25, "islands": 25, "bridges: area": 25,
    "dense search: total": 10,
    "standing facets": 25, "stable poses known": 25, "hull volume": 25, "hull area": 25, "layer area": 25, "layer perimeter": 25,
    "lines: crossings": 25, "slender_ratio": 10, "sway_mm_per_n": 10,
    "turned: height_mm": 20, "units: height_mm": 20, "shuffled: height_mm": 20,
    "subdivided: height_mm": 20, "formats: height_mm": 140,
}

# As binary STL has it; other formats are near enough.
BYTES_OF_A_TRIANGLE = 50


def worker_id():
    """Name of the worker process, `main` without workers."""
    return os.environ.get("PYTEST_XDIST_WORKER", "main")


def pytest_configure(config):
    """Start with no records and make sure that there is a program to test."""
    if hasattr(config, "workerinput"):
        return
    shutil.rmtree(books.RECORDS, ignore_errors=True)
    books.RECORDS.mkdir(parents=True)
    if not program.BINARY.is_file():
        pytest.exit(f"{program.BINARY} is not built", returncode=3)


# Tests that take longer than what they read says, in the triangles of a mesh that takes as long.
LONG = {"test_the_chosen_side_comes_first": 1_500_000, "test_open_surface[airplane]": 1_000_000,
        "test_the_chosen_side_comes_first_on_parts_that_nothing_was_tuned_on": 500_000,
        "test_open_surface[bunny]": 400_000, "test_open_surface[lower_leg]": 200_000}
# Files whose tests share what a fixture has made, at some cost.
WHOLE_FILES = ("test_labels.py", "test_library.py", "test_terminal.py")
# What ends the name of a test of one pose.
POSE = re.compile(r"([+-][xyz]|r\d)$")


def group_of(nodeid):
    """What runs in one go on one worker: the tests of one mesh, so that its replies and
    references are worked out once; all tests of a few files; else the test alone."""
    file, _, test = nodeid.partition("::")
    if file.endswith(WHOLE_FILES):
        return file
    _, _, case = test.removesuffix("]").partition("[")
    return POSE.sub("", case) or nodeid


class ByMesh(LoadScopeScheduling):
    """Hands each worker a group at a time, in the order in which they were collected.

    The one of xdist that goes by marks (`--dist loadgroup`) splits every group with pytest
    9.2, which no longer reads the name that xdist writes it into.
    """

    def _split_scope(self, nodeid):
        return group_of(nodeid)


def pytest_xdist_make_scheduler(config, log):
    """The order is that of `cost`, not that of how many tests a group has."""
    config.option.loadscopereorder = False
    return ByMesh(config, log)


def cost(item):
    """About how long a test takes beside others: the triangles of what it reads."""
    if item.name in LONG:
        return LONG[item.name]
    if item.path.name in WHOLE_FILES:
        return 20_000
    values = item.callspec.params if hasattr(item, "callspec") else {}
    if values.get("key") in solids.ENTRIES:
        return solids.ENTRIES[values["key"]]["triangles"] + 2000
    if "path" in values:
        return 10 * values["path"].stat().st_size / BYTES_OF_A_TRIANGLE
    return 2000


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items):
    """Longest groups first, so that no worker is left with one of them at the end."""
    costs = {}
    for item in items:
        costs[group_of(item.nodeid)] = costs.get(group_of(item.nodeid), 0) + cost(item)
    items.sort(key=lambda item: -costs[group_of(item.nodeid)])


@pytest.fixture
def ledger():
    """Comparisons of one test; the test fails at its end if any is apart."""
    return books.Ledger(worker_id())


@pytest.fixture(scope="session")
def schema():
    """The program's own schema, ready to check replies."""
    outcome = program.run("schema")
    assert outcome.code == program.DONE
    document = json.loads(outcome.out)
    kind = jsonschema.validators.validator_for(document)
    kind.check_schema(document)
    return kind(document)


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem):
    """Settle the ledger as part of the test itself, so that it is the test that fails."""
    result = yield
    book = pyfuncitem.funcargs.get("ledger")
    if book is not None:
        book.settle()
    return result


def missing(records):
    """Required figures with too few comparisons, expectations nobody asked about, groups that do not hold."""
    lines = [f"{mesh}: not left to one worker" for mesh in books.split_meshes()]
    for figure, least in REQUIRED.items():
        meshes = {r.mesh for r in records if r.figure == figure}
        if len(meshes) < least:
            lines.append(f"{figure}: compared on {len(meshes)} meshes, {least} wanted")
    asked = {(r.figure, r.mesh, r.pose) for r in records}
    for entry in books.EXPECTED:
        for pose in entry["poses"]:
            if (entry["figure"], entry["mesh"], pose) not in asked:
                lines.append(f"expected.toml: {entry['figure']} of {entry['mesh']} {pose} "
                             "was not compared")
    return lines


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session, exitstatus):
    """Write the table; a whole run that left something out has failed."""
    if hasattr(session.config, "workerinput"):
        return
    records = books.load_records()
    (books.OUT / "reference.md").write_text(books.markdown(records))
    if os.environ.get("WAYUP_WHOLE_SUITE") and exitstatus == 0 and missing(records):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter):
    """Print how to repeat the run and the worst disagreement of each figure."""
    terminalreporter.write_line(f"seed {program.SEED}: WAYUP_SEED={program.SEED} reads the same files again, "
                                "WAYUP_SEED=all every one")
    records = books.load_records()
    if not records:
        return
    terminalreporter.section("figures against independent references")
    rows = [books.HEAD, *books.table(records)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(books.HEAD))]
    for row in rows:
        terminalreporter.write_line("  ".join(c.ljust(w) for c, w in zip(row, widths)).rstrip())
    if os.environ.get("WAYUP_WHOLE_SUITE"):
        for line in missing(records):
            terminalreporter.write_line(f"left out: {line}")
