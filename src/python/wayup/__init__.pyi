from collections.abc import Mapping, Sequence
from typing import Any, Literal, Protocol, TypedDict, Unpack

from numpy.typing import ArrayLike

__version__: str

_Direction = Literal["+x", "-x", "+y", "-y", "+z", "-z"] | str | Sequence[float]

class _Mesh(Protocol):
    """What has vertices and faces, such as a trimesh mesh."""

    @property
    def vertices(self) -> Any: ...
    @property
    def faces(self) -> Any: ...

class _Settings(TypedDict, total=False):
    """Values in place of the defaults: mm, degrees, mm³/s, s."""

    units: Literal["um", "mm", "cm", "m", "in", "ft"]
    layer: float
    first_layer: float
    line: float
    limit: float
    bridge_limit: float
    bed: Sequence[float]
    material: str
    load: _Direction
    show: _Direction | Sequence[_Direction]
    round: _Direction | Sequence[_Direction]
    flat: _Direction | Sequence[_Direction]
    aim: Literal["sound", "clean", "quick", "strong"]
    walls: int
    infill: float
    rate: float
    layer_change: float
    tolerance: float
    weights: Mapping[str, float]
    threads: int

class _AdviseSettings(_Settings, total=False):
    """The same with the length of the list, and the longest time in seconds."""

    top: int
    seconds: float

def advise(
    vertices: ArrayLike | _Mesh, faces: ArrayLike | None = None, **settings: Unpack[_AdviseSettings]
) -> dict[str, Any]: ...
def measure(
    vertices: ArrayLike | _Mesh,
    faces: ArrayLike | None = None,
    *,
    down: _Direction = "-z",
    **settings: Unpack[_Settings],
) -> dict[str, Any]: ...
