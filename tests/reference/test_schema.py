"""Everything that --json prints is what `wayup schema` says, by the jsonschema library."""

import copy
import json

import program
import pytest
import share
import solids

HOLDER = str(program.ROOT / "meshes" / "page-holder.stl")
BROKEN = str(program.ROOT / "meshes" / "broken-clip.stl")
MEASURED = [*solids.CLOSED, *solids.OPEN]
# Flags that change what is in a reply, one case a set.
FLAGS = {
    "plain": [],
    "load": ["--load", "0,1,0.5"],
    "show": ["--show", "+z", "--show", "0,-1,0"],
    "all-wishes": ["--load", "-x", "--show", "+y", "--aim", "strong", "--material", "PETG",
                   "--layer", "0.3", "--first-layer", "0.25", "--line", "0.6", "--limit", "50",
                   "--bridge-limit", "5", "--bed", "300,200,180"],
    "no-limits": ["--limit", "0", "--bridge-limit", "0"],
    **{f"aim-{aim}": ["--aim", aim] for aim in ("sound", "clean", "quick", "strong")},
}
CASES = [pytest.param(flags, id=name) for name, flags in FLAGS.items()]
KINDS = ("advise", "measure", "inspect", "turn", "library")


def objects(*words, codes=(program.DONE,)):
    """All the objects that one call prints, one a line."""
    outcome = program.run(*words, "--json")
    assert outcome.code in codes, outcome.err
    return [json.loads(line) for line in outcome.out.splitlines()]


def of_kind(kind, folder):
    """One reply of each kind; of `library` the record of a file that is not there."""
    if kind == "library":
        return json.loads(program.run("library", "-", input=b"nowhere.stl", stdin=None).out)
    words = {"advise": [], "measure": ["--down", "0.3,-0.2,-1"], "inspect": [],
             "turn": ["--down", "+y", "-o", folder / "turned.stl"]}[kind]
    reply, = objects(kind, HOLDER, *words)
    return reply


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind(schema, kind, tmp_path):
    """A reply of each command is valid."""
    schema.validate(of_kind(kind, tmp_path))


@pytest.mark.parametrize("kind", KINDS)
def test_the_schema_refuses_what_is_not_a_reply(schema, kind, tmp_path):
    """Without any one of its fields, or with a field of another type, no reply is valid."""
    whole = of_kind(kind, tmp_path)
    for field, value in whole.items():
        less, other = copy.deepcopy(whole), copy.deepcopy(whole)
        del less[field]
        # A library leaves the times out.
        if field != "seconds":
            assert not schema.is_valid(less), f"{field} may be missing"
        other[field] = {"a": 1} if not isinstance(value, dict) else "text"
        assert not schema.is_valid(other), f"{field} may be anything"
    if kind in ("advise", "measure"):
        pose = whole["poses"][0] if kind == "advise" else whole["pose"]
        for field in list(pose["figures"]):
            less = copy.deepcopy(whole)
            (less["poses"][0] if kind == "advise" else less["pose"])["figures"].pop(field)
            # Figures that only some parts have may be missing, the others may not.
            if field not in ("load_across_layers", "show_marked_mm2", "round_missed", "flat_missed"):
                assert not schema.is_valid(less), f"figures.{field} may be missing"


@pytest.mark.parametrize("flags", CASES)
def test_advise_and_measure_with_flags(schema, flags):
    """Every flag that adds to a reply; the wishes come back in the settings."""
    advice, = objects("advise", HOLDER, *flags, codes=(program.DONE, program.NO_FIT))
    measured, = objects("measure", HOLDER, "--down", "+x", *flags)
    for reply in (advice, measured):
        schema.validate(reply)
    figures = measured["pose"]["figures"]
    assert (figures.get("load_across_layers") is not None) == ("--load" in flags)
    assert (figures.get("show_marked_mm2") is not None) == ("--show" in flags)
    if "--aim" in flags:
        assert advice["settings"]["aim"] == flags[flags.index("--aim") + 1]


def test_several_parts_one_object_a_line(schema):
    """Three parts give three objects, a broken one is among them."""
    replies = objects("advise", HOLDER, BROKEN, solids.path("nut"))
    assert [r["part"]["path"] for r in replies] == [HOLDER, BROKEN, solids.path("nut")]
    for reply in replies:
        schema.validate(reply)


def test_a_part_that_fits_no_bed(schema):
    """The advice is still printed, and marked."""
    reply, = objects("advise", HOLDER, "--bed", "20,20,20", codes=(program.NO_FIT,))
    schema.validate(reply)
    assert all("does_not_fit" in pose["gates"] for pose in reply["poses"])


def test_settings_file(schema, tmp_path):
    """Settings from a file, and the file is named."""
    file = tmp_path / "mine.toml"
    file.write_text("layer = 0.3\nwalls = 4\ninfill = 0.4\nmaterial = \"ABS\"\nshow = [\"+z\"]\n")
    for kind in ("advise", "measure"):
        reply, = objects(kind, HOLDER, "--settings", file)
        schema.validate(reply)
        assert reply["settings"]["layer_mm"] == 0.3
        assert reply["settings"]["files"] == [str(file)]


@pytest.mark.parametrize("key", share.cases(MEASURED))
def test_measure_and_inspect_of_real_meshes(schema, key):
    """Closed and open ones, standing on a side or leaning."""
    path, units = solids.path(key), solids.units(key)
    schema.validate(program.reply("inspect", path, "--units", units))
    for pose in share.poses(key, ("-z", "r0")):
        schema.validate(program.measure(path, units, solids.POSES[pose]))
