"""What an eye sees of bodies: along each pixel's ray, which of them it is in, and what that is.

Solids are not cut out of each other. Every body is drawn into lists, one a pixel, of
where the ray enters and leaves it; walked from the eye, the list says in which bodies
the ray is, and a table says of what the thing is made there: the silicone of a lower
half is inside the box, under the parting, and in neither part nor openings. So half
moulds, sections and cavities are true at every pixel, whatever the mesh is like.

Ties are broken as in `columns/raster.py`: on a closed mesh what enters also leaves.
"""

import math

import numpy as np

from castplan.columns.raster import compiled, compiled_within

# Surfaces nearer to each other along a ray are passed as one [pixels].
TOUCH_PX = 0.02
_MANY = 512  # surfaces on one ray that are looked at
_BAND = 8  # rows at a time, so that their lists stay at hand


@compiled_within
def _edge_at(points, a, b, row):
    """Where edge a-b meets the row: (x, z). The same bits from either side.

    The rule of `columns/raster.py`, written out: a kernel's cache does not notice when
    another file's kernel that it calls has changed.
    """
    if points[a, 1] > points[b, 1]:
        a, b = b, a
    t = (row - points[a, 1]) / (points[b, 1] - points[a, 1])
    t = min(max(t, 0.0), 1.0)
    x = points[a, 0] + t * (points[b, 0] - points[a, 0])
    z = points[a, 2] + t * (points[b, 2] - points[a, 2])
    return x, z


@compiled_within
def _bin_rows(points, faces, n_y):
    """Facets by the bands of rows that they reach: first of each band, and facets."""
    n_bands = (n_y + _BAND - 1) // _BAND
    first = np.zeros(n_bands + 1, np.int64)
    for fill in range(2):
        if fill:
            for band in range(n_bands):
                first[band + 1] += first[band]
            facets = np.empty(first[n_bands], np.int32)
            filled = np.empty(n_bands, np.int64)
            for band in range(n_bands):
                filled[band] = first[band]
        for f in range(faces.shape[0]):
            a = points[faces[f, 0], 1]
            b = points[faces[f, 1], 1]
            c = points[faces[f, 2], 1]
            low = max(math.ceil(min(a, b, c)), 0)
            high = min(math.ceil(max(a, b, c)), n_y)
            if low >= high:
                continue
            for band in range(low // _BAND, (high - 1) // _BAND + 1):
                if fill:
                    facets[filled[band]] = f
                    filled[band] += 1
                else:
                    first[band + 1] += 1
    return first, facets


@compiled_within
def _list_surfaces(points, faces, facets, n_x, rows, head, listed, done):
    """For each pixel of a band a linked list of the surfaces on its ray, as so far listed.

    `done` holds the next facet and how many surfaces are listed; both are handed back once
    another facet might have no room.
    """
    depth, facet, after = listed
    begun, n = done
    for place in range(begun, facets.size):
        if n + head.size > depth.size:
            return place, n
        f = facets[place]
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        ra = math.ceil(points[ia, 1])
        rb = math.ceil(points[ib, 1])
        rc = math.ceil(points[ic, 1])
        for row in range(max(min(ra, rb, rc), rows[0]), min(max(ra, rb, rc), rows[1])):
            up_x = up_z = down_x = down_z = 0.0
            for e in range(3):
                if e == 0:
                    p, q, rp, rq = ia, ib, ra, rb
                elif e == 1:
                    p, q, rp, rq = ib, ic, rb, rc
                else:
                    p, q, rp, rq = ic, ia, rc, ra
                if rp <= row and rq > row:
                    up_x, up_z = _edge_at(points, p, q, row)
                elif rq <= row and rp > row:
                    down_x, down_z = _edge_at(points, p, q, row)
            code = 2 * f  # and 1 more where it faces the eye
            left, right, left_z, right_z = up_x, down_x, up_z, down_z
            if down_x <= up_x:
                code += 1
                left, right, left_z, right_z = down_x, up_x, down_z, up_z
            slope = (right_z - left_z) / (right - left) if right > left else 0.0
            i0 = max(math.ceil(left), 0)
            i1 = min(math.ceil(right), n_x)
            for i in range(i0, i1):
                pixel = (row - rows[0]) * n_x + i
                depth[n] = left_z + (i - left) * slope
                facet[n] = code
                after[n] = head[pixel]
                head[pixel] = n
                n += 1
    return facets.size, n


@compiled_within
def _walk(head, listed, body_of, table, first_facet, thing, seen, first_pixel):
    """Of each pixel the first place where the thing is made of something, if it is nearest."""
    depth, facet, after = listed
    z_seen, facet_seen, made_seen, thing_seen = seen
    z = np.empty(_MANY, np.float32)
    code = np.empty(_MANY, np.int32)
    n_bodies = 0
    while (1 << n_bodies) < table.size:
        n_bodies += 1
    wound = np.zeros(n_bodies, np.int32)
    for place in range(head.size):
        k = head[place]
        if k < 0:
            continue
        pixel = first_pixel + place
        nearest = z_seen[pixel]
        n = 0
        while k >= 0 and n < _MANY:
            # From the eye inward, and of surfaces as deep those that face it first.
            m = n
            while m > 0 and (
                z[m - 1] < depth[k] or (z[m - 1] == depth[k] and code[m - 1] & 1 < facet[k] & 1)
            ):
                z[m] = z[m - 1]
                code[m] = code[m - 1]
                m -= 1
            z[m] = depth[k]
            code[m] = facet[k]
            n += 1
            k = after[k]
        for body in range(n_bodies):
            wound[body] = 0
        state = 0
        begun = -1
        for i in range(n):
            if begun < 0 and z[i] <= nearest:
                break
            body = body_of[code[i] >> 1]
            wound[body] += 1 if code[i] & 1 else -1
            if wound[body] > 0:
                state |= 1 << body
            else:
                state &= ~(1 << body)
            made = table[state]
            if made == 0:
                begun = -1
                continue
            if begun < 0:
                begun = i
            if i + 1 < n and z[i] - z[i + 1] < TOUCH_PX:
                continue
            z_seen[pixel] = z[begun]
            facet_seen[pixel] = first_facet + (code[begun] >> 1)
            made_seen[pixel] = made
            thing_seen[pixel] = thing
            break


@compiled
def draw_thing(points, faces, body_of, table, first_facet, thing, n_x, seen):
    """Draw one thing into the buffers `seen`, where it is nearer than what they hold.

    Parameters
    ----------
    points : (n, 3) float64
        Corners in pixels: right, up, towards the eye; a pixel's middle is a whole number.
    faces : (m, 3) int32
        Of all its bodies.
    body_of : (m,) uint8
        Body of each facet.
    table : (2 ** bodies,) uint8
        What the thing is made of where the ray is in the bodies of these bits; 0 for nothing.
    first_facet, thing : int
        Number of its first facet and its own, to be written.
    n_x : int
        Pixels in a row.
    seen : tuple of (n_x * n_y,) arrays
        Depth float32, facet int32, made of uint8, thing int16.
    """
    n_y = seen[0].size // n_x
    first, facets = _bin_rows(points, faces, n_y)
    room = 8 * _BAND * n_x
    listed = np.empty(room, np.float32), np.empty(room, np.int32), np.empty(room, np.int32)
    for band in range(first.size - 1):
        if first[band] == first[band + 1]:
            continue
        rows = band * _BAND, min((band + 1) * _BAND, n_y)
        head = np.empty((rows[1] - rows[0]) * n_x, np.int32)
        some = facets[first[band] : first[band + 1]]
        for place in range(head.size):
            head[place] = -1
        done = np.int64(0), np.int64(0)
        while True:
            done = _list_surfaces(points, faces, some, n_x, rows, head, listed, done)
            if done[0] == some.size:
                break
            before, room = listed, 2 * room
            listed = np.empty(room, np.float32), np.empty(room, np.int32), np.empty(room, np.int32)
            for k in range(done[1]):
                listed[0][k] = before[0][k]
                listed[1][k] = before[1][k]
                listed[2][k] = before[2][k]
        _walk(head, listed, body_of, table, first_facet, thing, seen, rows[0] * n_x)
