"""Mesh files of every fetched package, and damaged copies of some.

A run reads a sixth of the files, another one every day, so that all are read within six; WAYUP_SEED
says which (a number, or `all`), and the log of a run says it too.

Whatever the bytes, the program ends by itself with a documented code, does
not panic, and an error is a line or two that names the file.
"""

import hashlib
import json

import numpy as np
import program
import pytest
import share
import solids

SUFFIXES = {".stl", ".obj", ".ply", ".off", ".3mf"}


def different(paths):
    """The first of every set of files with the same bytes and the same ending."""
    kept = {}
    for path in paths:
        kept.setdefault((hashlib.sha256(path.read_bytes()).digest(), path.suffix.lower()), path)
    return list(kept.values())


FILES = different(sorted(p for p in solids.FETCHED.rglob("*") if p.suffix.lower() in SUFFIXES))
# The same scan in several sizes. All of it is 0.2 mm large where its numbers are read as mm, so
# that half of each pose lies on the bed, and slow: the smallest is searched to the end.
SCANS = sorted((p for p in FILES if p.is_relative_to(solids.FETCHED / "dragon")),
               key=lambda p: p.stat().st_size)


def chosen(paths):
    """The sixth of the files that the seed stands for."""
    return share.today(paths, 6)


def names(paths):
    """Short, unique test names."""
    return [str(p.relative_to(solids.FETCHED)) for p in paths]


def check(path, schema, *words):
    """One call on one file; returns the exit code."""
    outcome = program.run(words[0], path, *words[1:], "--json")
    known = {program.DONE, program.UNREADABLE, program.NO_FIT}
    late = outcome.code == program.TOO_LATE and "--seconds ended the work" in outcome.err
    assert outcome.code in known or (late and "--seconds" in words), outcome.err[-2000:]
    assert "panicked" not in outcome.err
    if late:
        # Nothing where it was not read in time; else a first answer, marked as one.
        if outcome.out:
            reply = json.loads(outcome.out)
            assert reply["first_answer"] is True
            if schema is not None:
                schema.validate(reply)
        return outcome.code
    if outcome.code == program.UNREADABLE:
        lines = outcome.err.strip().splitlines()
        assert 1 <= len(lines) <= 2, outcome.err[-2000:]
        assert path.name in outcome.err
        assert outcome.out == ""
    else:
        reply = json.loads(outcome.out)
        if schema is not None:
            schema.validate(reply)
    return outcome.code


def test_there_are_hundreds():
    """The packages were fetched."""
    assert len(FILES) >= 300


def test_sixths_are_the_whole(monkeypatch):
    """Six days in a row read every file once."""
    read = []
    for seed in range(20_000, 20_006):
        monkeypatch.setattr(program, "SEED", str(seed))
        read += chosen(FILES)
    assert sorted(read) == FILES


@pytest.mark.parametrize("path", chosen(FILES), ids=names(chosen(FILES)))
def test_file(path, schema):
    """`inspect` and `advise` agree on whether a file is a mesh and neither breaks."""
    looked = check(path, schema, "inspect")
    seconds = 1 if path in SCANS[1:] else 15
    advised = check(path, schema, "advise", "--top", "1", "--seconds", seconds)
    assert (looked == program.UNREADABLE) == (advised == program.UNREADABLE)


# Half of them a day.
SMALL = share.today([p for p in FILES if 200 < p.stat().st_size < 60_000][::12], 2)


def damaged(data, random):
    """A dozen copies of a file with something wrong in each."""
    size = len(data)
    yield b""
    for share in (0.2, 0.6, 0.97):
        yield data[:int(size * share)]
    yield data + b"\0"
    yield data + data[size // 2:]
    for count in (1, 8, 64):
        copy = bytearray(data)
        for at in random.integers(0, size, count):
            copy[at] = random.integers(0, 256)
        yield bytes(copy)
    copy = bytearray(data)
    at = int(random.integers(0, max(1, size - 64)))
    copy[at:at + 64] = b"\xff" * len(copy[at:at + 64])
    yield bytes(copy)
    yield data.replace(b"0.", b"nan ", 3)
    yield data.replace(b"1", b"1e39", 5)


@pytest.mark.parametrize("path", SMALL, ids=names(SMALL))
def test_damaged(path, schema, tmp_path):
    """Cut short, grown, with wrong bytes, not numbers and huge numbers."""
    random = np.random.default_rng(path.stat().st_size)
    for i, data in enumerate(damaged(path.read_bytes(), random)):
        copy = tmp_path / f"copy{i}{path.suffix}"
        copy.write_bytes(data)
        check(copy, None, "inspect")
        check(copy, schema, "advise", "--top", "1")


def test_words_of_the_command():
    """Words that are off give code 2, a file that is not there gives 3."""
    box = solids.path("box_3mf")
    for words in (["advise"], ["measure", box, "--down", "0,0,0"], ["measure", box, "--down", "a,b,c"],
                  ["measure", box, "--down", "nan,0,1"], ["nonsense"], ["advise", box, "--layer", "-1"],
                  ["advise", box, "--layer", "0"], ["advise", box, "--limit", "200"]):
        outcome = program.run(*words)
        assert outcome.code == program.WORDS, (words, outcome)
    outcome = program.run("advise", "there/is/no/such/file.stl")
    assert outcome.code == program.UNREADABLE
    assert "file.stl" in outcome.err
