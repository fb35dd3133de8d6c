"""The program on a terminal, cut short, without permission, with a reader who leaves."""

import fcntl
import json
import os
import pathlib
import pty
import re
import shutil
import struct
import subprocess
import tempfile
import termios

import program
import pytest
import solids
import trimesh

HOLDER = program.ROOT / "meshes" / "page-holder.stl"
COLOUR = re.compile(r"\x1b\[[0-9;]*m")
CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
NOBODY = 65534


def on_terminal(words, stream, columns=60, cwd=None, **variables):
    """Run with one stream on a terminal of so many columns, the other one left out.

    What the terminal was sent, and the exit code.
    """
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "TERM")}
    child = subprocess.Popen(
        [str(program.BINARY), *map(str, words)], stdin=subprocess.DEVNULL, cwd=cwd,
        env=env | {"TERM": "xterm-256color"} | variables,
        **{s: theirs if s == stream else subprocess.DEVNULL for s in ("stdout", "stderr")})
    os.close(theirs)
    sent = b""
    while True:
        try:
            block = os.read(ours, 65536)
        except OSError:
            # Linux says so when the other side has closed.
            break
        if not block:
            break
        sent += block
    os.close(ours)
    return sent.decode(), child.wait()


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """A part that takes long enough for a bar to be drawn: a robot link, cut finer."""
    solid = solids.solid("upper_arm")
    vertices, faces = solid.vertices, solid.faces
    for _ in range(2):
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    path = tmp_path_factory.mktemp("large") / "link.stl"
    trimesh.Trimesh(vertices, faces, process=False).export(path)
    return path


def test_progress_is_drawn_and_taken_away(large):
    """The bar names part and step, keeps to one line, and leaves nothing behind."""
    sent, code = on_terminal(["advise", "--json", large.name], "stderr", cwd=large.parent)
    assert code == program.DONE
    frames = [CONTROL.sub("", f) for f in re.split(r"[\r\n]|\x1b\[2K|\x1b\[1?[AG]", sent)]
    drawn = [f for f in frames if "link.stl" in f]
    assert drawn, repr(sent[:400])
    assert all(len(f) <= 60 for f in drawn), max(drawn, key=len)
    # Which step is caught is a matter of time: the bar is drawn every so often.
    steps = r"(looking at directions|tilting the best|measuring the best) .*\b\d+/\d+"
    assert any(re.search(steps, f) for f in drawn), drawn[-3:]
    # The last thing that happens to the line is that it is cleared.
    assert sent.rstrip("\r\n").endswith("\x1b[2K") or frames[-1].strip() == ""


def test_no_bar_where_errors_go_elsewhere(large):
    """Without a terminal for errors nothing of the bar reaches anybody."""
    outcome = program.run("advise", "--json", large)
    assert (outcome.code, outcome.err) == (program.DONE, "")
    sent, code = on_terminal(["advise", "--json", large], "stdout")
    assert code == program.DONE
    assert json.loads(sent)["poses"]
    assert "\x1b" not in sent


@pytest.mark.parametrize("command", ["advise", "measure", "inspect"])
def test_sixty_columns_and_colour(command):
    """Text keeps to the terminal's width; NO_COLOR takes the colour and nothing else."""
    coloured, code = on_terminal([command, HOLDER], "stdout")
    assert code == program.DONE
    assert COLOUR.search(coloured)
    plain, code = on_terminal([command, HOLDER], "stdout", NO_COLOR="1")
    assert code == program.DONE
    assert "\x1b" not in plain
    assert COLOUR.sub("", coloured) == plain
    assert all(len(line) <= 60 for line in plain.splitlines())
    assert max(len(line) for line in on_terminal(
        [command, HOLDER], "stdout", columns=100)[0].splitlines()) > 60


def test_a_search_cut_short_says_so(schema, large):
    """With little time the answer is whole, valid, marked, and told on standard error; with
    hardly any there is a first answer, and that is said."""
    seconds, too_short = 0.01, 0
    while (outcome := program.run("advise", large, "--json", "--seconds", seconds)).code:
        assert outcome.code == program.TOO_LATE
        assert "ended the work before one pose was measured" in outcome.err
        # None where even the reading was not done.
        if outcome.out:
            first = json.loads(outcome.out)
            schema.validate(first)
            assert first["first_answer"] is True
        seconds, too_short = seconds * 1.2, too_short + 1
    assert too_short
    reply = json.loads(outcome.out)
    schema.validate(reply)
    assert reply["cut_short"] is True
    assert "cut the search short" in outcome.err
    assert len(outcome.err.splitlines()) == 1
    for pose in reply["poses"]:
        assert pose["total"] == pytest.approx(sum(pose["penalties"].values()), rel=1e-5, abs=1e-6)
    best = reply["poses"][0]
    alone = program.reply("measure", large, "--down", program.direction(best["down"]))
    assert alone["pose"]["total"] == pytest.approx(best["total"], rel=1e-3)


def test_time_enough_cuts_nothing():
    """A limit that is not reached changes nothing and is not spoken of."""
    outcome = program.run("advise", HOLDER, "--json", "--seconds", "600")
    free, limited = program.reply("advise", HOLDER), json.loads(outcome.out)
    assert (outcome.err, limited["cut_short"]) == ("", False)
    assert {**free, "seconds": 0} == {**limited, "seconds": 0}


@pytest.fixture
def stranger():
    """Runs the program as a person who owns nothing; skips where that cannot be done."""
    with tempfile.TemporaryDirectory() as folder:
        home = pathlib.Path(folder)
        binary = home / "wayup"
        shutil.copy(program.BINARY, binary)
        home.chmod(0o755)
        binary.chmod(0o755)
        root = os.geteuid() == 0
        person = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if root else {}

        def run(*words):
            return subprocess.run([binary, *map(str, words)], cwd=home, capture_output=True,
                                  stdin=subprocess.DEVNULL, text=True, check=False,
                                  timeout=program.HANG_S, env={"HOME": "/", "PATH": "/"}, **person)
        try:
            run("--version")
        except PermissionError:
            pytest.skip("this account may not become another one, or files here cannot be run")
        yield home, run


def test_a_file_that_may_not_be_read(stranger):
    """Code 3, and the error says that it is the permission."""
    home, run = stranger
    shutil.copy(HOLDER, home / "secret.stl")
    (home / "secret.stl").chmod(0)
    for command in ("advise", "measure", "inspect"):
        done = run(command, "secret.stl")
        assert (done.returncode, done.stdout) == (program.UNREADABLE, "")
        assert re.match(r"error: secret\.stl: .*permission", done.stderr), done.stderr
        assert len(done.stderr.splitlines()) == 2


def test_a_folder_that_may_not_be_written(stranger):
    """Code 5, and nothing is left behind."""
    home, run = stranger
    shutil.copy(HOLDER, home / "part.stl")
    (home / "shut").mkdir()
    (home / "shut").chmod(0o555)
    for words in (["turn", "part.stl", "--down", "+x", "-o", "shut/out.stl"],
                  ["advise", "part.stl", "--turned", "shut/out.stl"]):
        done = run(*words)
        assert done.returncode == program.NO_OUTPUT, done.stderr
        assert "shut/out.stl" in done.stderr
    assert list((home / "shut").iterdir()) == []


def test_a_reader_who_leaves_in_the_middle():
    """`head` takes the first line of many and goes: no error, no words."""
    child = subprocess.Popen([str(program.BINARY), "advise", "--json", *[str(HOLDER)] * 3],
                             stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE)
    first = child.stdout.readline()
    child.stdout.close()
    errors = child.stderr.read()
    assert (child.wait(timeout=program.HANG_S), errors) == (program.DONE, b"")
    assert json.loads(first)["poses"]
