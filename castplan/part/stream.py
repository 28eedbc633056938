"""Binary STL files, those too large for memory thinned while they are read.

Vertices are drawn together within cubes (Rossignac and Borrel 1993), which
sends closed surfaces to closed surfaces; of each cube the mean is kept.
"""

from pathlib import Path

import numpy as np

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("free", "<u2")])
_HEADER_BYTES = 84
_CHUNK = 500_000


def is_binary_stl(path: Path) -> bool:
    """Whether a file's length is exactly what a binary STL of its count has."""
    with open(path, "rb") as file:
        head = file.read(_HEADER_BYTES)
    n_triangles = int.from_bytes(head[80:84], "little")
    return path.stat().st_size == _HEADER_BYTES + _RECORD.itemsize * n_triangles > _HEADER_BYTES


def is_whole(data: bytes) -> bool:
    """Whether the length of the bytes is exactly what a binary STL of their count has."""
    n_triangles = int.from_bytes(data[80:_HEADER_BYTES], "little")
    return len(data) == _HEADER_BYTES + _RECORD.itemsize * n_triangles > _HEADER_BYTES


def read_whole(data: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (3 m, 3) float64 and faces (m, 3) int64 of a binary STL, nothing joined."""
    corners = np.frombuffer(data, dtype=_RECORD, offset=_HEADER_BYTES)["corners"]
    points = corners.reshape(-1, 3).astype(np.float64)
    return points, np.arange(len(points)).reshape(-1, 3)


def read_thinned(path: Path, *, n_triangles: int) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) and faces (m, 3) of about `n_triangles`, whatever the file holds.

    Parameters
    ----------
    path : pathlib.Path
        A binary STL.
    n_triangles : int
    """
    records = np.memmap(path, dtype=_RECORD, mode="r", offset=_HEADER_BYTES)
    low, high, area = np.full(3, np.inf), np.full(3, -np.inf), 0.0
    for corners in _chunks(records):
        finite = corners[np.isfinite(corners).all(axis=(1, 2))]
        low = np.minimum(low, finite.min(axis=(0, 1), initial=np.inf))
        high = np.maximum(high, finite.max(axis=(0, 1), initial=-np.inf))
        crossed = np.cross(finite[:, 1] - finite[:, 0], finite[:, 2] - finite[:, 0])
        area += 0.5 * float(np.linalg.norm(crossed, axis=1).sum())
    # A surface crosses about 1.5 times as many cubes as its area holds squares,
    # each with one vertex; a mesh has two triangles a vertex.
    cell = float(np.sqrt(3.0 * area / n_triangles))
    n_cells = np.floor((high - low) / cell).astype(np.int64) + 1
    keys, sums, counts, faces = [], [], [], []
    for corners in _chunks(records):
        corners = corners[np.isfinite(corners).all(axis=(1, 2))]
        place = np.floor((corners - low) / cell).astype(np.int64)
        key = (place[..., 0] * n_cells[1] + place[..., 1]) * n_cells[2] + place[..., 2]
        unique, where = np.unique(key, return_inverse=True)
        where = where.ravel()
        points = corners.reshape(-1, 3)
        keys.append(unique)
        counts.append(np.bincount(where, minlength=len(unique)))
        sums.append(
            np.stack(
                [np.bincount(where, weights=points[:, k], minlength=len(unique)) for k in range(3)],
                axis=1,
            )
        )
        a, b, c = key.T
        faces.append(key[(a != b) & (b != c) & (c != a)])
    key, where = np.unique(np.concatenate(keys), return_inverse=True)
    count = np.bincount(where, weights=np.concatenate(counts))
    total = np.concatenate(sums)
    vertices = np.stack([np.bincount(where, weights=total[:, k]) for k in range(3)], axis=1)
    return vertices / count[:, None], np.searchsorted(key, np.concatenate(faces))


def _chunks(records):
    for start in range(0, len(records), _CHUNK):
        yield records["corners"][start : start + _CHUNK].astype(np.float64)
