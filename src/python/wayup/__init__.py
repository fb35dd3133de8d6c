"""Which way up should this part be printed?

`advise` ranks the poses of a mesh, `measure` gives every figure of one pose. Both return the
objects that `wayup advise --json` and `wayup measure --json` print.
"""

import numpy as _numpy

from ._native import __version__
from ._native import advise as _advise
from ._native import measure as _measure

__all__ = ["__version__", "advise", "measure"]


def advise(vertices, faces=None, **settings):
    """Rank the poses of a part, the best first.

    `vertices` is n × 3 of floats, `faces` m × 3 of vertex numbers from 0; or `vertices` is an
    object with both, such as a trimesh mesh. Settings: see `wayup.toml`, and `units`, `top`,
    `seconds`, `threads`.
    """
    return _advise(*_arrays(vertices, faces), settings)


def measure(vertices, faces=None, *, down="-z", **settings):
    """Every figure of one pose; `down` is the direction of the part that goes to the bed."""
    return _measure(*_arrays(vertices, faces), down, settings)


def _arrays(vertices, faces):
    """Both arrays in a type that is read where it lies; only other types are converted."""
    if faces is None:
        mesh = vertices
        try:
            vertices, faces = mesh.vertices, mesh.faces
        except AttributeError:
            raise TypeError(
                f"{type(mesh).__name__} is no mesh: give vertices and faces, or an object that has both"
            ) from None
    return _array("vertices", vertices, "f", "numbers"), _array("faces", faces, "iu", "whole numbers")


def _array(name, given, kinds, wanted):
    array = _numpy.asarray(given)
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(f"{name}: shape {array.shape} where rows of three are wanted, (n, 3)")
    if array.dtype.kind not in "fiu" or (array.dtype.kind not in kinds and kinds == "iu"):
        raise TypeError(f"{name}: {array.dtype} where {wanted} are wanted")
    if array.dtype.kind not in kinds or (kinds == "f" and array.dtype.itemsize not in (4, 8)):
        return array.astype(_numpy.float64)
    # Bytes the other way round are no type of this machine.
    return array.astype(array.dtype.newbyteorder("="), copy=False)
