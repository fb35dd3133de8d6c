"""Which part of the checks that repeat a run does: another one each day.

The day's number decides, or WAYUP_SEED (a number, or `all`); the log of a run names it. So
each run is the same for everybody that day, and within a few days nothing is left out.
"""

import ledger
import program
import pytest
import solids


def is_today(place, parts):
    """Whether the turn is on what stands at that place, where so many parts take turns."""
    return program.SEED == "all" or (place - int(program.SEED)) % parts == 0


def today(things, parts):
    """Every so-manieth of a list, another one each day."""
    return [thing for place, thing in enumerate(things) if is_today(place, parts)]


def but(things, slow, parts):
    """All of a list, but of those that are slow only a share, another one each day."""
    turns = today([thing for thing in things if thing in slow], parts)
    return [thing for thing in things if thing not in slow or thing in turns]


def cases(meshes):
    """A test case for each mesh."""
    return [pytest.param(key, id=key) for key in meshes]


LISTED = {(entry["mesh"], pose) for entry in ledger.EXPECTED for pose in entry["poses"]}


def poses(key, names, parts=3):
    """A third of the poses in which a mesh is compared, or another share; the next day others.

    Of the next mesh it is another share, so that every pose has meshes each day; all tests
    of a mesh have the same share. What expected.toml lists is asked about every day.
    """
    row = list(solids.ENTRIES).index(key)
    return [name for name in names
            if is_today(row + list(solids.POSES).index(name), parts) or (key, name) in LISTED]


def posed(meshes, names, parts=3):
    """A test case for each mesh in each of its poses of today."""
    return [pytest.param(key, pose, id=f"{key}{pose}")
            for key in meshes for pose in poses(key, names, parts)]
