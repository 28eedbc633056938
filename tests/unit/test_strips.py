"""PLY files whose facets come in strips."""

import struct

import numpy as np
import pytest
import trimesh

from castplan.errors import InputError
from castplan.part.load import read_part

N_RING, N_TUBE, RING_MM, TUBE_MM = 36, 20, 30.0, 8.0


def torus_strips():
    """A torus as strips, one round the tube for each step round the ring, -1 after each."""
    turn = 2 * np.pi * np.arange(N_RING) / N_RING
    tube = 2 * np.pi * np.arange(N_TUBE) / N_TUBE
    radius = RING_MM + TUBE_MM * np.cos(tube)
    vertices = np.stack(
        (
            radius * np.cos(turn)[:, None],
            radius * np.sin(turn)[:, None],
            np.broadcast_to(TUBE_MM * np.sin(tube), (N_RING, N_TUBE)),
        ),
        axis=-1,
    ).reshape(-1, 3)
    corners = []
    for k in range(N_RING):
        after = (k + 1) % N_RING
        for m in [*range(N_TUBE), 0]:
            corners += [k * N_TUBE + m, after * N_TUBE + m]
        corners.append(-1)
    return vertices, corners


def head(style, n_vertices, *, colours=True):
    return (
        f"ply\nformat {style} 1.0\ncomment strips\nelement vertex {n_vertices}\n"
        "property float x\nproperty float y\nproperty float z\n"
        + ("property uchar intensity\n" if colours else "")
        + "element tristrips 1\nproperty list int int vertex_indices\nend_header\n"
    ).encode()


def written(style):
    vertices, corners = torus_strips()
    data = head(style, len(vertices))
    if style == "ascii":
        rows = [" ".join(map(repr, map(float, row))) + " 7" for row in vertices]
        return data + "\n".join([*rows, " ".join(map(str, [len(corners), *corners]))]).encode()
    order = ">" if "big" in style else "<"
    data += b"".join(struct.pack(order + "fffB", *row, 7) for row in vertices)
    return data + struct.pack(f"{order}{len(corners) + 1}i", len(corners), *corners)


@pytest.mark.parametrize("style", ["ascii", "binary_little_endian", "binary_big_endian"])
def test_strips_are_read(tmp_path, style):
    path = tmp_path / "ring.ply"
    path.write_bytes(written(style))
    check = read_part(path, unit="mm").check
    assert check.is_watertight and check.n_triangles == 2 * N_RING * N_TUBE
    assert check.changes == ()  # all facets the same way round, outward
    # Judge: the same torus made of facets, by trimesh.
    vertices, _ = torus_strips()
    facets = [
        face
        for k in range(N_RING)
        for m in range(N_TUBE)
        for a, b, c, d in [
            (
                k * N_TUBE + m,
                (k + 1) % N_RING * N_TUBE + m,
                k * N_TUBE + (m + 1) % N_TUBE,
                (k + 1) % N_RING * N_TUBE + (m + 1) % N_TUBE,
            )
        ]
        for face in ((a, b, c), (c, b, d))
    ]
    volume_mm3 = trimesh.Trimesh(vertices, facets, process=False).volume
    # The file holds 32-bit numbers: 6e-8, three times in a volume, over a thin tube.
    assert check.volume_mm3 == pytest.approx(volume_mm3, rel=1e-6)


@pytest.mark.parametrize("style", ["ascii", "binary_little_endian"])
def test_strips_that_are_cut_off_are_told(tmp_path, style):
    path = tmp_path / "ring.ply"
    whole = written(style)
    for length in (len(whole) - 300, len(whole) // 2, len(whole) // 5):
        path.write_bytes(whole[:length])
        with pytest.raises(InputError, match="need a whole mesh file"):
            read_part(path, unit="mm")
