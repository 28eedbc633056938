"""Lines of a picture: where what is seen changes, as smooth strokes."""

import numpy as np

from castplan.columns.raster import compiled, compiled_within

CREASE_COS = 0.88  # normals farther apart make an edge: 28 degrees
# A step in depth beyond what both slopes explain [pixels].
STEP_PX = 2.5
# Steps of pixels are smoothed so often, then left out where they lie so near to a straight.
_SMOOTHINGS, _STRAIGHT_PX = 6, 0.6
_LEAST_POINTS, _LEAST_CREASE = 7, 14  # an outline or crease with fewer corners is a speck
NONE, CREASE, OUTLINE, HEAVY = range(4)
# Steps from a corner to the next, across and by rows: right, up, left, down.
_STEP = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])


@compiled
def find_edges(seen, normals, is_new, n_x):
    """Lines between pixels, by kind.

    Parameters
    ----------
    seen : buffers of `sight.draw_thing`
    normals : (m, 3) float32
        Of all facets, in the view.
    is_new : (k + 1, materials + 1) bool
        Of materials of each thing, nothing and no thing first.
    n_x : int

    Returns
    -------
    level : (n_y + 1, n_x) uint8
        Between a pixel and the one below it.
    upright : (n_y, n_x + 1) uint8
        Between a pixel and the one left of it.
    """
    z, facet, made, thing = seen
    n_y = z.size // n_x
    level = np.zeros((n_y + 1, n_x), np.uint8)
    upright = np.zeros((n_y, n_x + 1), np.uint8)
    for j in range(n_y):
        for i in range(n_x):
            q = j * n_x + i
            for way in range(2):
                if (way == 0 and i == 0) or (way == 1 and j == 0):
                    continue
                p = q - 1 if way == 0 else q - n_x
                tp, tq = thing[p], thing[q]
                if tp < 0 and tq < 0:
                    continue
                kind = 0
                if tp != tq or made[p] != made[q]:
                    # The nearer one owns the line; side by side the new one does.
                    step = z[p] - z[q]
                    kind = 2
                    if (step > -STEP_PX and is_new[tp + 1, made[p]]) or (
                        step < STEP_PX and is_new[tq + 1, made[q]]
                    ):
                        kind = 3
                else:
                    fp, fq = facet[p], facet[q]
                    if fp != fq:
                        a, b = normals[fp], normals[fq]
                        cosine = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
                        ap = -a[way] / max(a[2], 0.05)
                        aq = -b[way] / max(b[2], 0.05)
                        dz = z[q] - z[p]
                        off = min(abs(dz - ap), abs(dz - aq), abs(dz - 0.5 * (ap + aq)))
                        if off > STEP_PX + 0.5 * min(abs(ap), abs(aq)):
                            kind = 2
                        elif cosine < CREASE_COS:
                            kind = 1
                if kind:
                    if way == 0:
                        upright[j, i] = kind
                    else:
                        level[j, i] = kind
    return level, upright


def trace(level, upright):
    """Chains of lines from one meeting to the next, smoothed.

    Parameters
    ----------
    level, upright : from `find_edges`

    Returns
    -------
    points : (k, 2) float64 [pixels] right, up, from the middle of the first pixel
    first : (n + 1,) int64
        Chain c is points[first[c]:first[c + 1]].
    kinds : (n,) uint8
    """
    n_y, n_x = level.shape[0], upright.shape[1]
    # To the right and up from each corner, with a row before and a place behind without lines.
    leaving = np.zeros((n_y + 1, n_x, 2), np.uint8)
    leaving[1:, :-1, 0] = level
    leaving[1:-1, :, 1] = upright
    leaving = leaving.ravel()
    # Where the lines of a corner stand: to the right, up, left, down.
    ways = np.array([0, 1, -2, 1 - 2 * n_x])
    is_met = np.zeros(leaving.size // 2, np.bool_)
    at = np.flatnonzero(leaving > 0)
    is_met[at // 2] = True
    is_met[at // 2 + np.array([1, n_x])[at % 2]] = True
    corners = np.flatnonzero(is_met)
    kinds = leaving[2 * corners[:, None] + ways]
    n_lines = (kinds > 0).sum(axis=1)
    is_same = (kinds == kinds.max(axis=1)[:, None]).sum(axis=1) == n_lines
    is_node = np.zeros(is_met.size, np.bool_)
    is_node[corners] = (n_lines != 2) | ~is_same
    return _trace(leaving, corners, is_node, n_x, at.size, ways)


@compiled
def _trace(leaving, corners, is_node, n_x, n_edges, ways):
    points = np.empty((2 * n_edges + 2, 2))
    first = np.zeros(n_edges + 2, np.int64)
    kinds = np.empty(n_edges + 1, np.uint8)
    n_points, n_chains = 0, 0
    for round_ in range(2):  # from meetings first, then what runs round
        for corner in corners:
            if round_ == 0 and not is_node[corner]:
                continue
            for begin in range(4):
                kind = leaving[2 * corner + ways[begin]]
                if not kind:
                    continue
                start = n_points
                at, way = corner, begin
                _put(points, n_points, at, n_x)
                n_points += 1
                while way >= 0:
                    leaving[2 * at + ways[way]] = 0
                    at += _STEP[way, 0] + _STEP[way, 1] * n_x
                    _put(points, n_points, at, n_x)
                    n_points += 1
                    way = -1
                    if not is_node[at]:
                        tried = 0
                        while way < 0 and tried < 4:
                            if leaving[2 * at + ways[tried]]:
                                way = tried
                            tried += 1
                is_ring = at == corner
                least = _LEAST_CREASE if kind == CREASE else _LEAST_POINTS
                if n_points - start < least and (is_ring or kind == CREASE):
                    n_points = start
                    continue
                _smooth(points[start:n_points], is_ring)
                n_points = start + _straighten(points[start:n_points])
                kinds[n_chains] = kind
                n_chains += 1
                first[n_chains] = n_points
    return points[:n_points].copy(), first[: n_chains + 1].copy(), kinds[:n_chains].copy()


@compiled_within
def _put(points, k, corner, n_x):
    """Write where a corner lies, counted with the row before the first."""
    points[k, 0], points[k, 1] = corner % n_x - 0.5, corner // n_x - 1.5


@compiled_within
def _smooth(points, is_ring):
    n = points.shape[0]
    for _ in range(_SMOOTHINGS):
        before_x, before_y = points[0, 0], points[0, 1]
        end_x, end_y = points[n - 2, 0], points[n - 2, 1]
        first_x, first_y = points[0, 0], points[0, 1]
        for k in range(1, n - 1):
            x, y = points[k, 0], points[k, 1]
            points[k, 0] = 0.25 * before_x + 0.5 * x + 0.25 * points[k + 1, 0]
            points[k, 1] = 0.25 * before_y + 0.5 * y + 0.25 * points[k + 1, 1]
            before_x, before_y = x, y
        if is_ring and n > 3:
            second_x, second_y = points[1, 0], points[1, 1]
            points[0, 0] = 0.25 * end_x + 0.5 * first_x + 0.25 * second_x
            points[0, 1] = 0.25 * end_y + 0.5 * first_y + 0.25 * second_y
            points[n - 1, 0], points[n - 1, 1] = points[0, 0], points[0, 1]


@compiled_within
def _straighten(points):
    """Leave out what is nearly straight; the points that stay come first: how many.

    Ramer (1972), Computer Graphics and Image Processing 1(3) 244-256. What runs round is
    first parted at the point that is farthest from its begin.
    """
    n = points.shape[0]
    stays = np.zeros(n, np.bool_)
    stays[0] = stays[n - 1] = True
    # Ends of stretches that wait: every two have a point between them that stays.
    waiting = np.empty((n + 1, 2), np.int64)
    waiting[0, 0], waiting[0, 1] = 0, n - 1
    n_waiting = 1
    while n_waiting > 0:
        n_waiting -= 1
        a, b = waiting[n_waiting, 0], waiting[n_waiting, 1]
        dx, dy = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
        size2 = dx * dx + dy * dy
        most, at = _STRAIGHT_PX, -1
        for k in range(a + 1, b):
            x, y = points[k, 0] - points[a, 0], points[k, 1] - points[a, 1]
            t = min(max((x * dx + y * dy) / size2, 0.0), 1.0) if size2 > 0 else 0.0
            away = np.hypot(x - t * dx, y - t * dy)
            if away > most:
                most, at = away, k
        if at >= 0:
            stays[at] = True
            waiting[n_waiting, 0], waiting[n_waiting, 1] = a, at
            waiting[n_waiting + 1, 0], waiting[n_waiting + 1, 1] = at, b
            n_waiting += 2
    kept = 0
    for k in range(n):
        if stays[k]:
            # One by one: to copy a row takes two seconds to compile.
            points[kept, 0], points[kept, 1] = points[k, 0], points[k, 1]
            kept += 1
    return kept


@compiled
def stroke(ink, points, first, widths):
    """Lay chains into the ink, with soft edges.

    Parameters
    ----------
    ink : (n_y, n_x) float32
        0 to 1, the larger of what is there and what is laid.
    points, first : from `trace`
    widths : (n,) float64 [pixels]
        Of each chain.
    """
    n_y, n_x = ink.shape
    for c in range(first.size - 1):
        half = 0.5 * widths[c]
        reach = half + 0.5
        far2 = reach * reach + 1e-6
        for k in range(first[c], first[c + 1] - 1):
            ax, ay = points[k, 0], points[k, 1]
            dx, dy = points[k + 1, 0] - ax, points[k + 1, 1] - ay
            size2 = dx * dx + dy * dy
            j0 = max(int(np.ceil(min(ay, ay + dy) - reach)), 0)
            j1 = min(int(np.floor(max(ay, ay + dy) + reach)), n_y - 1)
            i0 = max(int(np.ceil(min(ax, ax + dx) - reach)), 0)
            i1 = min(int(np.floor(max(ax, ax + dx) + reach)), n_x - 1)
            for j in range(j0, j1 + 1):
                for i in range(i0, i1 + 1):
                    t = ((i - ax) * dx + (j - ay) * dy) / size2 if size2 > 0 else 0.0
                    t = min(max(t, 0.0), 1.0)
                    x, y = i - ax - t * dx, j - ay - t * dy
                    # Most pixels round a slanting line are far off: a root less for each.
                    if x * x + y * y > far2:
                        continue
                    laid = min(max(reach - np.hypot(x, y), 0.0), 1.0)
                    if laid > ink[j, i]:
                        ink[j, i] = laid
