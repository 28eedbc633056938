"""A part's mesh as a file in millimetres."""

from pathlib import Path

from castplan.files.solids import stl_bytes, threemf_bytes
from castplan.mould.records import Solid
from castplan.part.records import Part

SUFFIXES = (".stl", ".3mf")


def write_mesh(part: Part, path) -> None:
    """Write the mesh of a part in the file's own axes.

    Parameters
    ----------
    part : Part
        Caps over holes are not written.
    path : str or path-like
        Ends in one of `SUFFIXES`.
    """
    path = Path(path)
    solid = Solid(
        name=part.name, vertices_mm=part.vertices_mm[: part.check.n_vertices], faces=part.faces
    )
    if path.suffix.lower() == ".3mf":
        path.write_bytes(threemf_bytes((solid,), title=part.name))
    else:
        path.write_bytes(stl_bytes(solid))
