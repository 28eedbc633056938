"""The mesh of a plan in its folder, sealed together with the plan's record.

A digit that turned over on a disk is still a number: what a folder holds is taken as
it is only where the seal says that it is what was written.
"""

import hashlib
import zipfile
from pathlib import Path

import numpy as np

from castplan.errors import InputError
from castplan.part.records import MeshCheck, Part

PART_FILE = "part.npz"
# Each with its kind of number and how many of them to a row.
_ARRAYS = {"vertices_mm": "<f8", "faces": "<i4", "cap_faces": "<i4"}
_SEAL = "seal"
# What a mesh file may tell, in metres.
_FARTHEST_MM = 1e12
# Of a facet with corners of its own: 84 bytes of them, as much again for its caps.
_BYTES_A_FACET = 200
_BYTES_BESIDE = 100_000


def seal_of(record: bytes, part: Part) -> np.ndarray:
    """What only this record and this mesh give together, (32,) uint8.

    Parameters
    ----------
    record : bytes
        The plan as JSON.
    part : Part
    """
    told = hashlib.sha256(record)
    for name, kind in _ARRAYS.items():
        told.update(getattr(part, name).astype(kind).tobytes())
    return np.frombuffer(told.digest(), dtype=np.uint8)


def write_part(part: Part, path, *, record: bytes) -> None:
    """Keep the mesh as planned, in millimetres; the same mesh gives the same bytes.

    Parameters
    ----------
    part : Part
    path : str or path-like
    record : bytes
        The plan as JSON, which is sealed with it.
    """
    arrays = {name: getattr(part, name) for name in _ARRAYS}
    np.savez_compressed(path, **arrays, **{_SEAL: seal_of(record, part)})


def read_part(path: Path, *, name: str, check: MeshCheck):
    """The mesh of a plan, held against what the record says of it.

    Parameters
    ----------
    path : pathlib.Path
    name : str
        Of the part.
    check : MeshCheck
        Of the record.

    Returns
    -------
    part : Part
    seal : (32,) uint8 ndarray

    Raises
    ------
    InputError
        The file is missing or damaged, or holds another mesh.
    """
    try:
        stored = _unpacked(path, check)
        arrays = {each: _checked(each, stored[each]) for each in _ARRAYS}
        for each in ("faces", "cap_faces"):
            _check_corners(each, arrays[each], len(arrays["vertices_mm"]))
        seal = stored[_SEAL]
        if seal.dtype != np.uint8:
            raise ValueError(f"{_SEAL}: {seal.dtype}")
    # What zip, zlib and numpy raise over foreign bytes is not to be listed.
    except Exception as error:
        raise InputError(
            str(path),
            found=f"no mesh of the plan ({type(error).__name__})",
            need="the file that castplan plan wrote beside plan.json",
            do="Plan the part again with --replace; the log is kept.",
        ) from error
    sides = np.ptp(arrays["vertices_mm"][np.unique(arrays["faces"])], axis=0)
    is_same = len(arrays["faces"]) == check.n_triangles and np.allclose(
        sides, check.extent_mm, rtol=1e-4
    )
    if not is_same:
        raise InputError(
            str(path),
            found="another mesh than the plan was made from",
            need=f"one of {check.n_triangles} triangles",
            do="Plan the part again with --replace; the log is kept.",
        )
    return Part(name=name, check=check, **arrays), seal


def _unpacked(path, check):
    """Every array of the file, which cannot be larger than the mesh that is told."""
    with zipfile.ZipFile(path) as archive:
        n_bytes = sum(member.file_size for member in archive.infolist())
    if n_bytes > _BYTES_A_FACET * max(check.n_triangles, 0) + _BYTES_BESIDE:
        raise ValueError(f"{n_bytes} bytes")
    with np.load(path, allow_pickle=False) as stored:
        return {name: stored[name] for name in stored.files}


def _checked(name, array):
    kind = np.dtype(_ARRAYS[name])
    if array.dtype != kind or array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(f"{name}: {array.dtype} {array.shape}")
    # Not the other way about: nothing compares with a number that is none.
    if kind.kind == "f" and not (np.abs(array) <= _FARTHEST_MM).all():
        raise ValueError(f"{name}: a corner out of reach")
    return array


def _check_corners(name, faces, n_vertices):
    if name == "faces" and not len(faces):
        raise ValueError(f"{name}: none")
    if len(faces) and not (faces.min() >= 0 and faces.max() < n_vertices):
        raise ValueError(f"{name}: a corner that is no vertex")
