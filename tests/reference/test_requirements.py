"""Requirements: judged a second time by Python's own eval, reports held to their schemas."""

import json
import random
import urllib.parse

import jsonschema
import program
import pytest
from lxml import etree

ROOT = program.ROOT
SCHEMAS = ROOT / "tests" / ".env" / "schemas"
HOLDER = "meshes/page-holder.stl"
PARTS = [HOLDER, "meshes/broken-clip.stl", "meshes/cable-saddle.3mf"]
# Conditions in words that are Python as well, once keys have become names.
FIXED = [
    "height_mm < 50",
    "support_after_bridges_mm3 <= 500 and contact_area_mm2 > 100",
    "10 <= height_mm < 28.5 <= footprint_mm_x",
    "not (tip_angle_deg < 20 or layers > 140) and bridge_longest_mm <= settings_bridge_limit_mm",
    "print_min / 60 > print_min * 0.1 - 2",
    "-height_mm + 2 * height_mm == height_mm",
    "support_marks_mm2_below + support_marks_mm2_above < overhang_area_mm2 / 2 or total < 3",
    "part_closed and not no_good_pose",
]
NUMBERS = ["height_mm", "footprint_mm.x", "footprint_mm.y", "bridge_longest_mm", "part.size_mm.z",
           "settings.bridge_limit_mm", "base_shrinkage_mm"]
TRUTHS = ["part.closed", "no_good_pose", "undominated"]


def walk(rng, depth):
    """A random condition over lengths, with every operator that there is."""
    if depth == 0 or rng.random() < 0.2:
        if rng.random() < 0.15:
            return rng.choice(TRUTHS)
        words = [length(rng, 2)]
        for _ in range(rng.choice([1, 1, 1, 2])):
            words += [rng.choice(["<", "<=", ">", ">=", "==", "!="]), length(rng, 2)]
        return " ".join(words)
    if rng.random() < 0.25:
        return f"not ({walk(rng, depth - 1)})" if rng.random() < 0.5 else f"not {walk(rng, 0)}"
    left, right = walk(rng, depth - 1), walk(rng, depth - 1)
    if rng.random() < 0.4:
        left = f"({left})"
    return f"{left} {rng.choice(['and', 'or'])} {right}"


def length(rng, depth):
    """A random sum of lengths."""
    if depth == 0 or rng.random() < 0.4:
        if rng.random() < 0.4:
            return f"{rng.uniform(0, 120):.{rng.choice([0, 1, 3])}f}"
        return rng.choice(NUMBERS)
    if rng.random() < 0.15:
        return f"-{length(rng, 0)}"
    if rng.random() < 0.3:
        return f"{rng.choice([2, 0.5, 3])} * ({length(rng, depth - 1)})"
    return f"{length(rng, depth - 1)} {rng.choice('+-')} {length(rng, depth - 1)}"


def names(advice):
    """The values of an advice under names that Python can read."""
    pose = advice["poses"][0]
    out = {**pose["figures"], "total": pose["total"], "undominated": pose["undominated"],
           "no_good_pose": advice["no_good_pose"]}
    for where, values in (("part", advice["part"]), ("settings", advice["settings"])):
        out |= {f"{where}_{key}": value for key, value in values.items()}
    for key, value in list(out.items()):
        if isinstance(value, dict):
            out |= {f"{key}_{inner}": one for inner, one in value.items()}
        if isinstance(value, list) and len(value) in (2, 3) and isinstance(value[0], float):
            out |= {f"{key}_{axis}": one for axis, one in zip("xyz", value)}
    return out


def require(requirements, *words):
    """`advise` with requirements."""
    flags = [word for text in requirements for word in ("--require", text)]
    return program.run("advise", *words, *flags, "--json", cwd=ROOT)


@pytest.mark.parametrize("part", PARTS)
def test_python_judges_the_same(part, tmp_path):
    """Sixty random conditions and the fixed ones: met where Python's eval says so."""
    rng = random.Random(part)
    advice = json.loads(program.run("advise", part, "--json", cwd=ROOT).out)
    values = names(advice)
    for truth in ("part.closed", "no_good_pose", "undominated"):
        assert isinstance(values[truth.replace(".", "_")], bool)
    texts = list(dict.fromkeys(walk(rng, 3) for _ in range(60)))
    wanted = {t: eval(t.replace("mm.", "mm_").replace("part.", "part_").replace("settings.", "settings_"),
                      {"__builtins__": {}}, values) for t in texts}
    for text in FIXED:
        ours = text.replace("mm_x", "mm.x").replace("settings_", "settings.").replace("part_", "part.")
        ours = ours.replace("mm2_", "mm2.")
        wanted[ours] = eval(text, {"__builtins__": {}}, values)
    assert 10 < sum(wanted.values()) < len(wanted) - 10, "conditions that all come out the same show nothing"
    report = tmp_path / "report.xml"
    outcome = require(wanted, part, "--junit", report)
    assert outcome.code == 6, outcome.err
    cases = etree.parse(report).getroot().findall(".//testcase")
    got = {case.get("name"): case.find("failure") is None for case in cases}
    # Two spellings of one condition are one case.
    assert len(got) >= len(wanted) - 3
    assert got == {text: wanted[text] for text in got}


def test_units_are_those_of_the_keys():
    """A bound just above and just below the value, in every unit of its kind."""
    advice = program.reply("advise", ROOT / HOLDER)
    figures = advice["poses"][0]["figures"]
    for key, factors in {"height_mm": {"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "um": 1e-3},
                         "contact_area_mm2": {"mm2": 1, "cm2": 100},
                         "extrude_mm3": {"mm3": 1, "cm3": 1000},
                         "print_min": {"min": 1, "h": 60, "s": 1 / 60},
                         "layer_steps_mean_um": {"um": 1, "mm": 1000},
                         "filament_g": {"g": 1, "kg": 1000}, "tip_angle_deg": {"deg": 1}}.items():
        value = figures[key]
        assert value > 0, key
        good = [f"{value / f * 0.999:.9f} {unit} < {key} < {value / f * 1.001:.9f}{unit}" for unit, f in factors.items()]
        assert require(good, ROOT / HOLDER).code == program.DONE, key
        for text in good:
            assert require([f"not ({text})"], ROOT / HOLDER).code == 6, text


def reports(tmp_path):
    """Both reports of a run with passes, misses, an undecided one and an unreadable part."""
    torn = tmp_path / "torn & <odd> \"name\" é.stl"
    torn.write_bytes((ROOT / HOLDER).read_bytes()[:1000])
    junit, sarif = tmp_path / "junit.xml", tmp_path / "log.sarif"
    outcome = require(["height_mm < 2 cm", "load_across_layers < 1", "layers > 1"], HOLDER, torn,
                       PARTS[1], "--junit", junit, "--sarif", sarif)
    assert outcome.code == program.UNREADABLE, outcome.err
    return torn, etree.parse(junit), json.loads(sarif.read_text())


def test_junit_is_valid_and_counts(tmp_path):
    """By the XSD of the Jenkins xUnit plugin (junit-10.xsd of pytest's source archive)."""
    torn, junit, _ = reports(tmp_path)
    schema = etree.XMLSchema(etree.parse(SCHEMAS / "junit-10.xsd"))
    schema.assertValid(junit)
    suite = junit.getroot()[0]
    for of in (suite, junit.getroot()):
        assert {k: int(of.get(k)) for k in ("tests", "failures", "errors")} == {
            "tests": len(suite), "failures": len(suite.findall("testcase/failure")),
            "errors": len(suite.findall("testcase/error"))}
    assert int(suite.get("errors")) == 1 and int(suite.get("failures")) >= 2
    assert [c.get("classname") for c in suite if c.find("error") is not None] == [str(torn)]
    broken = etree.fromstring(etree.tostring(junit).replace(b'name="layers &gt; 1"', b""))
    assert not schema.validate(broken), "the schema takes anything"


def test_sarif_is_valid_and_names_the_files(tmp_path):
    """By the JSON schema of SARIF 2.1.0 (OASIS)."""
    torn, junit, sarif = reports(tmp_path)
    schema = json.loads((SCHEMAS / "sarif-2.1.0.json").read_text())
    checker = jsonschema.validators.validator_for(schema)(schema)
    checker.validate(sarif)
    run, = sarif["runs"]
    results = run["results"]
    assert len(results) == len(junit.getroot().findall(".//failure")) + 1
    paths = [urllib.parse.unquote(r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]) for r in results]
    assert set(paths) == {HOLDER, PARTS[1], f"file://{torn}"}
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(set(rules)) == len(rules) == 4
    assert all(rules[r["ruleIndex"]] == r["ruleId"] for r in results)
    for breaking in (lambda s: s.pop("version"), lambda s: s["runs"][0]["tool"].pop("driver"),
                     lambda s: s["runs"][0]["results"][0].update(level="bad")):
        worse = json.loads(json.dumps(sarif))
        breaking(worse)
        assert not checker.is_valid(worse), "the schema takes anything"
