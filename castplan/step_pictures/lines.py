"""Lines of a picture: where what is seen changes, as smooth strokes."""

import numpy as np

from castplan.columns.raster import compiled

CREASE_COS = 0.88  # normals farther apart make an edge: 28 degrees
# A step in depth beyond what both slopes explain [pixels].
STEP_PX = 2.5
# Steps of pixels are smoothed so often, then left out where they lie so near to a straight.
_SMOOTHINGS, _STRAIGHT_PX = 6, 0.6
_LEAST_POINTS, _LEAST_CREASE = 7, 14  # an outline or crease with fewer corners is a speck
NONE, CREASE, OUTLINE, HEAVY = range(4)
# Steps from a corner to the next: right, up, left, down.
_ACROSS, _DOWN = np.array([1, 0, -1, 0]), np.array([0, 1, 0, -1])


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


@compiled
def _kind_at(level, upright, j, i, way):
    """Kind of the line that leaves a corner to the right, up, left or down."""
    if way == 0:
        return level[j, i] if i < level.shape[1] else 0
    if way == 1:
        return upright[j, i] if j < upright.shape[0] else 0
    if way == 2:
        return level[j, i - 1] if i > 0 else 0
    return upright[j - 1, i] if j > 0 else 0


@compiled
def _clear(level, upright, j, i, way):
    if way == 0:
        level[j, i] = 0
    elif way == 1:
        upright[j, i] = 0
    elif way == 2:
        level[j, i - 1] = 0
    else:
        upright[j - 1, i] = 0


@compiled
def _is_node(level, upright, j, i):
    """Whether lines meet, end or change at a corner."""
    n, first, is_same = 0, 0, True
    for way in range(4):
        kind = _kind_at(level, upright, j, i, way)
        if kind:
            n += 1
            if first and kind != first:
                is_same = False
            first = kind
    return n > 0 and (n != 2 or not is_same)


@compiled
def _corners(level, upright):
    """Corners that lines run through, in the order of rows, and how many edges there are."""
    n_y, n_x = level.shape[0], upright.shape[1]
    is_met = np.zeros(n_y * n_x, np.bool_)
    n_edges = 0
    for j in range(n_y):
        for i in range(n_x - 1):
            if level[j, i]:
                is_met[j * n_x + i] = True
                is_met[j * n_x + i + 1] = True
                n_edges += 1
    for j in range(n_y - 1):
        for i in range(n_x):
            if upright[j, i]:
                is_met[j * n_x + i] = True
                is_met[(j + 1) * n_x + i] = True
                n_edges += 1
    return np.flatnonzero(is_met), n_edges


@compiled
def trace(level, upright):
    """Chains of lines from one meeting to the next, smoothed.

    Parameters
    ----------
    level, upright : from `find_edges`; used up

    Returns
    -------
    points : (k, 2) float64 [pixels] right, up, from the middle of the first pixel
    first : (n + 1,) int64
        Chain c is points[first[c]:first[c + 1]].
    kinds : (n,) uint8
    """
    n_y, n_x = level.shape[0], upright.shape[1]
    is_node = np.zeros((n_y, n_x), np.bool_)
    corners, n_edges = _corners(level, upright)
    for corner in corners:
        j, i = corner // n_x, corner % n_x
        is_node[j, i] = _is_node(level, upright, j, i)
    points = np.empty((2 * n_edges + 2, 2))
    first = np.zeros(n_edges + 2, np.int64)
    kinds = np.empty(n_edges + 1, np.uint8)
    n_points, n_chains = 0, 0
    for round_ in range(2):  # from meetings first, then what runs round
        for corner in corners:
            j, i = corner // n_x, corner % n_x
            if round_ == 0 and not is_node[j, i]:
                continue
            for begin in range(4):
                kind = _kind_at(level, upright, j, i, begin)
                if not kind:
                    continue
                start = n_points
                y, x, way = j, i, begin
                points[n_points, 0], points[n_points, 1] = x - 0.5, y - 0.5
                n_points += 1
                while way >= 0:
                    _clear(level, upright, y, x, way)
                    y += _DOWN[way]
                    x += _ACROSS[way]
                    points[n_points, 0], points[n_points, 1] = x - 0.5, y - 0.5
                    n_points += 1
                    way = -1
                    if is_node[y, x]:
                        break
                    for tried in range(4):
                        if _kind_at(level, upright, y, x, tried):
                            way = tried
                            break
                is_ring = y == j and x == i
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


@compiled
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


@compiled
def _straighten(points):
    """Leave out what is nearly straight; the points that stay come first: how many.

    Ramer (1972), Computer Graphics and Image Processing 1(3) 244-256. What runs round is
    first parted at the point that is farthest from its begin.
    """
    n = points.shape[0]
    stays = np.zeros(n, np.bool_)
    stays[0] = stays[n - 1] = True
    waiting = [(0, n - 1)]
    while len(waiting):
        a, b = waiting.pop()
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
            waiting.append((a, at))
            waiting.append((at, b))
    kept = 0
    for k in range(n):
        if stays[k]:
            points[kept] = points[k]
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
