"""Scan conversion of triangles into columns: crossings, sorted, wound.

Method: ray representation of a solid (Wang, Leung and Chen, CAD 42 (2010)
535-544), here by projecting the triangles instead of casting rays. Signed
crossings are counted (nonzero winding), so closed bodies that overlap unite.

Tie rule. With grid coordinates g = (x - x0) / pitch - 0.5 the column centres
are the integers. An edge crosses row j when exactly one of its ends has
ceil(g_y) <= j, and a triangle covers the columns from ceil(x_left) to
ceil(x_right) - 1 on that row. Row and x on an edge depend on the edge's two
vertices alone, so two triangles that share an edge agree to the bit; on a
closed mesh the signed crossings of every column sum to exactly zero.
"""

import math

import numpy as np
from numba import njit

# No kernel is called from C, and one that only kernels call not from Python either: each
# way in would be compiled on its own.
_OPTIONS = {"cache": True, "nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
compiled = njit(**_OPTIONS)
compiled_within = njit(**_OPTIONS, no_cpython_wrapper=True)

# Surfaces of the part this close touch: neither silicone nor resin enters.
# Above the rounding of 32-bit coordinates of a few metres, so that bodies
# which share a face in the file are one.
TOUCH_MM = 1e-3


def _sealed(array, dtype):
    """A read-only view in one layout, so that every kernel is compiled once."""
    view = np.ascontiguousarray(array, dtype=dtype).view()
    view.flags.writeable = False
    return view


def to_grid(vertices_mm, rotation, x0_mm, y0_mm, pitch_mm):
    """Turn (n, 3) points and express x, y in grid units; z stays in mm."""
    points, rows = _sealed(vertices_mm, np.float64), _sealed(rotation, np.float64)
    return _to_grid(points, rows, float(x0_mm), float(y0_mm), float(pitch_mm))


def turned_bounds(vertices_mm, rotation):
    """Bounds of the turned points: (2, 3), low and high."""
    return _turned_bounds(_sealed(vertices_mm, np.float64), _sealed(rotation, np.float64))


@compiled
def _to_grid(vertices_mm, rotation, x0_mm, y0_mm, pitch_mm):
    n = vertices_mm.shape[0]
    out = np.empty((n, 3))
    for k in range(n):
        vx, vy, vz = vertices_mm[k, 0], vertices_mm[k, 1], vertices_mm[k, 2]
        x = rotation[0, 0] * vx + rotation[0, 1] * vy + rotation[0, 2] * vz
        y = rotation[1, 0] * vx + rotation[1, 1] * vy + rotation[1, 2] * vz
        out[k, 0] = (x - x0_mm) / pitch_mm - 0.5
        out[k, 1] = (y - y0_mm) / pitch_mm - 0.5
        out[k, 2] = rotation[2, 0] * vx + rotation[2, 1] * vy + rotation[2, 2] * vz
    return out


@compiled
def _turned_bounds(vertices_mm, rotation):
    out = np.empty((2, 3))
    for axis in range(3):
        low, high = np.inf, -np.inf
        a, b, c = rotation[axis, 0], rotation[axis, 1], rotation[axis, 2]
        for k in range(vertices_mm.shape[0]):
            value = a * vertices_mm[k, 0] + b * vertices_mm[k, 1] + c * vertices_mm[k, 2]
            low = min(low, value)
            high = max(high, value)
        out[0, axis] = low
        out[1, axis] = high
    return out


@compiled_within
def _edge_at(grid, a, b, row):
    """Where edge a-b meets the row: (x, z). The same bits from either side."""
    if grid[a, 1] > grid[b, 1]:
        a, b = b, a
    t = (row - grid[a, 1]) / (grid[b, 1] - grid[a, 1])
    t = min(max(t, 0.0), 1.0)
    x = grid[a, 0] + t * (grid[b, 0] - grid[a, 0])
    z = grid[a, 2] + t * (grid[b, 2] - grid[a, 2])
    return x, z


@compiled_within
def _list_some(grid, faces, n_x, n_y, done, column_of, z_of, sign_of):
    """List crossings from a facet on, behind those listed, until no more have room.

    `done` holds the next facet and how many crossings are listed. Arrays that a loop makes
    longer are counted at every turn of it, so that is left to the caller.
    """
    f, n = done
    while f < faces.shape[0]:
        kept = n
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        ra = math.ceil(grid[ia, 1])
        rb = math.ceil(grid[ib, 1])
        rc = math.ceil(grid[ic, 1])
        first = max(min(ra, rb, rc), 0)
        last = min(max(ra, rb, rc), n_y)
        for row in range(first, last):
            # A directed edge that goes up bounds the facet on the right of a
            # facet seen from above; one that goes down bounds it on the left.
            up_x = up_z = down_x = down_z = 0.0
            for e in range(3):
                if e == 0:
                    p, q, rp, rq = ia, ib, ra, rb
                elif e == 1:
                    p, q, rp, rq = ib, ic, rb, rc
                else:
                    p, q, rp, rq = ic, ia, rc, ra
                if rp <= row and rq > row:
                    up_x, up_z = _edge_at(grid, p, q, row)
                elif rq <= row and rp > row:
                    down_x, down_z = _edge_at(grid, p, q, row)
            if down_x <= up_x:
                sign = 1  # outward normal points up: the column leaves the part
                left, right, left_z, right_z = down_x, up_x, down_z, up_z
            else:
                sign = -1
                left, right, left_z, right_z = up_x, down_x, up_z, down_z
            i0 = max(math.ceil(left), 0)
            i1 = min(math.ceil(right), n_x)
            if n + i1 - i0 > z_of.size:
                return f, kept
            slope = (right_z - left_z) / (right - left) if right > left else 0.0
            for i in range(i0, i1):
                column_of[n] = row * n_x + i
                z_of[n] = left_z + (i - left) * slope
                sign_of[n] = sign
                n += 1
        f += 1
    return f, n


@compiled_within
def _list_crossings(grid, faces, n_x, n_y):
    """How many crossings there are, and column, z and sign of each, facet by facet."""
    room = 2 * n_x * n_y + 64
    column_of, z_of, sign_of = np.empty(room, np.int64), np.empty(room), np.empty(room, np.int8)
    # Plain zeros are a type of their own, and the callee would be compiled for them too.
    done = np.int64(0), np.int64(0)
    while True:
        done = _list_some(grid, faces, n_x, n_y, done, column_of, z_of, sign_of)
        if done[0] == faces.shape[0]:
            return done[1], column_of, z_of, sign_of
        room *= 2
        listed = column_of, z_of, sign_of
        column_of, z_of, sign_of = np.empty(room, np.int64), np.empty(room), np.empty(room, np.int8)
        for k in range(done[1]):
            column_of[k] = listed[0][k]
            z_of[k] = listed[1][k]
            sign_of[k] = listed[2][k]


@compiled_within
def _sort_columns(start, z, sign):
    """Sort each column by z, entering before leaving; Shell's gaps, in place."""
    for column in range(start.size - 1):
        low, high = start[column], start[column + 1]
        gap = 1
        while gap < (high - low) // 3:
            gap = 3 * gap + 1
        while gap > 0:
            for k in range(low + gap, high):
                zk, sk = z[k], sign[k]
                m = k
                while m - gap >= low and (
                    z[m - gap] > zk or (z[m - gap] == zk and sign[m - gap] > sk)
                ):
                    z[m] = z[m - gap]
                    sign[m] = sign[m - gap]
                    m -= gap
                z[m] = zk
                sign[m] = sk
            gap //= 3


def find_crossings(grid, faces, n_x, n_y):
    """All crossings of the columns with the facets.

    Parameters
    ----------
    grid : (n, 3) float64 from `to_grid`
    faces : (m, 3) int32
    n_x, n_y : int

    Returns
    -------
    start : (n_x * n_y + 1,) int64; crossings of column c are start[c]:start[c + 1]
    z : (k,) float64 [mm] ascending within a column
    sign : (k,) int8; -1 enters the part on the way up, +1 leaves it
    """
    return _find_crossings(grid, _sealed(faces, np.int32), n_x, n_y)


@compiled
def _find_crossings(grid, faces, n_x, n_y):
    n_columns = n_x * n_y
    n, column_of, z_of, sign_of = _list_crossings(grid, faces, n_x, n_y)
    start = np.zeros(n_columns + 1, np.int64)
    for k in range(n):
        start[column_of[k] + 1] += 1
    for column in range(n_columns):
        start[column + 1] += start[column]
    z = np.empty(n)
    sign = np.empty(n, np.int8)
    # Each column is filled in the order of the facets; its start moves on meanwhile.
    for k in range(n):
        at = start[column_of[k]]
        start[column_of[k]] += 1
        z[at] = z_of[k]
        sign[at] = sign_of[k]
    for column in range(n_columns, 0, -1):
        start[column] = start[column - 1]
    start[0] = 0
    _sort_columns(start, z, sign)
    return start, z, sign


@compiled
def wind(start, z, sign, is_doubtful, is_inside):
    """Solid intervals of each column from its crossings.

    Parameters
    ----------
    start, z, sign : from `find_crossings`
    is_doubtful : (n_columns,) bool; such columns follow `is_inside` instead
    is_inside : (k,) bool; the segment above crossing k lies inside. May be
        empty when no column is doubtful.

    Returns
    -------
    first : (n_columns + 1,) int64; intervals of column c are first[c]:first[c + 1]
    bottom, top : (n,) float64 [mm] ascending within a column, more than
        TOUCH_MM apart
    """
    n_columns = start.size - 1
    first = np.zeros(n_columns + 1, np.int64)
    bottom = np.empty(z.size)
    top = np.empty(z.size)
    n = 0
    for column in range(n_columns):
        low, high = start[column], start[column + 1]
        winding = 0
        begun = n
        for k in range(low, high - 1):
            winding -= sign[k]
            solid = is_inside[k] if is_doubtful[column] else winding > 0
            if solid and z[k + 1] > z[k]:
                if n > begun and z[k] - top[n - 1] <= TOUCH_MM:
                    top[n - 1] = z[k + 1]
                else:
                    bottom[n] = z[k]
                    top[n] = z[k + 1]
                    n += 1
        first[column + 1] = n
    return first, bottom[:n].copy(), top[:n].copy()


@compiled
def _sample_closed(vertices_mm, faces, rotation, lattice, pitch_mm):
    """Bounds, grid, crossings and intervals in one go; says how many do not close.

    Thousands of small fields are sampled while searching: one call each keeps
    the interpreter, and the lock that threads share, out of it.
    """
    bounds = _turned_bounds(vertices_mm, rotation)
    across = _turned_bounds(vertices_mm, lattice)
    n_x = math.ceil((across[1, 0] - across[0, 0]) / pitch_mm) + 2
    n_y = math.ceil((across[1, 1] - across[0, 1]) / pitch_mm) + 2
    u0_mm = 0.5 * (across[0, 0] + across[1, 0] - n_x * pitch_mm)
    v0_mm = 0.5 * (across[0, 1] + across[1, 1] - n_y * pitch_mm)
    grid = _to_grid(vertices_mm, lattice, u0_mm, v0_mm, pitch_mm)
    start, z, sign = _find_crossings(grid, faces, n_x, n_y)
    n_unclosed = 0
    for column in range(n_x * n_y):
        total = 0
        for k in range(start[column], start[column + 1]):
            total += sign[k]
        if total != 0:
            n_unclosed += 1
    is_doubtful = np.zeros(n_x * n_y, np.bool_)
    first, bottom, top = wind(start, z, sign, is_doubtful, np.zeros(0, np.bool_))
    return bounds, u0_mm, v0_mm, n_x, n_y, first, bottom, top, is_doubtful, n_unclosed


def sample_closed(vertices_mm, faces, rotation, lattice, pitch_mm):
    """Sample a surface without holes along the third row of `rotation`.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
    rotation, lattice : (3, 3) float64
        The frame, and the frame turned to the lattice of columns.
    pitch_mm : float

    Returns
    -------
    bounds : (2, 3) float64 [mm] in the frame
    u0_mm, v0_mm : float; n_x, n_y : int; the grid, one empty column around
    first, bottom, top : as from `wind`
    is_doubtful : (n_x * n_y,) bool, all false
    n_unclosed : int
        Columns whose signed crossings do not cancel; then the intervals are
        not to be used.
    """
    return _sample_closed(
        _sealed(vertices_mm, np.float64),
        _sealed(faces, np.int32),
        _sealed(rotation, np.float64),
        _sealed(lattice, np.float64),
        float(pitch_mm),
    )
