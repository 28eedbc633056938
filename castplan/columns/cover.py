"""Fewest openings that let the air of a merge tree out, exactly.

Each meeting of two high points makes a node whose air is what the two held
before they met. Air escapes from a node as soon as one point under it is
open, so what stays is the air of every node without an opening whose
neighbour at the meeting has one. The least of it for each number of openings
follows by dynamic programming from the leaves down: a node with k openings
shares them out between its two branches in the best way.
"""

from dataclasses import dataclass

import numpy as np

from castplan.columns.peaks import Tree
from castplan.columns.raster import compiled
from castplan.columns.union import each_its_own

# Nobody drills more; the tables grow with the square of it.
MOST_OPENINGS = 256


@compiled
def _fill_tables(left, right, air, first_inner, n_most):
    """Least air left under each node for 0..n_most openings, and the share to the left."""
    n = air.size
    best = np.full((n, n_most + 1), np.inf)
    share = np.zeros((n, n_most + 1), np.int16)
    size = np.ones(n, np.int64)
    for node in range(n):
        best[node, 0] = air[node]
        if node < first_inner:
            if n_most > 0:
                best[node, 1] = 0.0
            continue
        a, b = left[node], right[node]
        size[node] = size[a] + size[b]
        for k in range(1, min(n_most, size[node]) + 1):
            for i in range(max(0, k - size[b]), min(k, size[a]) + 1):
                value = best[a, i] + best[b, k - i]
                if value < best[node, k]:
                    best[node, k] = value
                    share[node, k] = i
    return best, share


@compiled
def _collect(left, right, share, first_inner, node, k):
    """Leaves that take the k openings of a node, in no order."""
    out = np.empty(k, np.int64)
    n = 0
    stack = [(np.int64(node), np.int64(k))]
    while len(stack) > 0:
        node, k = stack.pop()
        if k == 0:
            continue
        if node < first_inner:
            out[n] = node
            n += 1
            continue
        i = np.int64(share[node, k])
        stack.append((left[node], i))
        stack.append((right[node], k - i))
    return out[:n]


@compiled
def _link(rows, by_order, winner, winner_air, loser_air):
    """Nodes of the binary tree: leaves first, then meetings, then bodies joined."""
    n = rows.size
    place = np.full(winner.size, -1, np.int64)
    for k in range(n):
        place[rows[k]] = k
    left = np.full(2 * n, -1, np.int64)
    right = np.full(2 * n, -1, np.int64)
    held = np.zeros(2 * n)
    current = each_its_own(n)
    m = n
    for row in by_order:
        if winner[row] < 0:
            held[current[place[row]]] = loser_air[row]
            continue
        k, p = place[row], place[winner[row]]
        held[current[p]] = winner_air[row]
        held[current[k]] = loser_air[row]
        left[m], right[m] = current[p], current[k]
        current[p] = m
        m += 1
    root = -1
    for row in by_order:
        if winner[row] < 0:
            if root < 0:
                root = current[place[row]]
                continue
            left[m], right[m] = root, current[place[row]]
            held[m] = held[left[m]] + held[right[m]]
            root = m
            m += 1
    return left[:m], right[:m], held[:m], root


@dataclass(frozen=True, kw_only=True, eq=False)
class Cover:
    """Least air that stays for 0, 1, ... openings, and which points they take."""

    left_mm3: np.ndarray  # (k + 1,), never rising
    rows: np.ndarray  # (r,) int64, of the tree, which may be opened
    branches: tuple[np.ndarray, np.ndarray]  # of the nodes that the points make, left and right
    share: np.ndarray  # (nodes, k + 1) int16, openings that go to the left
    root: int

    def choice(self, n_open: int) -> np.ndarray:
        """Rows of the tree that so many openings take, ascending."""
        leaves = _collect(*self.branches, self.share, self.rows.size, self.root, n_open)
        return self.rows[np.sort(leaves)]

    def fewest(self, *, limit_mm3: float) -> int:
        """Fewest openings that leave less than a limit; the most tried if none do."""
        enough = np.flatnonzero(self.left_mm3 < limit_mm3)
        return int(enough[0]) if enough.size else self.left_mm3.size - 1


def _nodes(tree, rows):
    """The binary tree of some points; sorted here, as a compiled sort takes long to make."""
    met = tree.meetings
    by_order = rows[np.argsort(met.order[rows])]
    return _link(rows, by_order, met.winner, met.winner_air_mm3, met.loser_air_mm3)


def left_with(tree: Tree, rows, opened) -> float:
    """Air that stays with openings on given points, mm3.

    Parameters
    ----------
    tree : Tree
    rows : (r,) int64
        As for `cover_tree`.
    opened : array_like of int
        Those of `rows` that have an opening.
    """
    rows = np.asarray(rows, dtype=np.int64)
    left, right, held, root = _nodes(tree, rows)
    is_open = np.zeros(held.size, dtype=bool)
    is_open[: rows.size] = np.isin(rows, opened)
    stays = np.where(is_open, 0.0, held)
    for node in range(rows.size, held.size):
        a, b = left[node], right[node]
        is_open[node] = is_open[a] or is_open[b]
        if is_open[node]:
            stays[node] = stays[a] + stays[b]
    return float(stays[root])


def cover_tree(tree: Tree, rows, *, n_most: int) -> Cover:
    """Best places of up to `n_most` openings on the high points of a tree.

    Parameters
    ----------
    tree : Tree
    rows : (r,) int64
        The points that may be opened; with each point also the one that took
        it over. Air of the others counts with the point that took them over.
    n_most : int
        At most `MOST_OPENINGS` are tried.

    Returns
    -------
    Cover
    """
    rows = np.asarray(rows, dtype=np.int64)
    n_most = min(n_most, rows.size, MOST_OPENINGS)
    met = tree.meetings
    # The last place stands for the -1 of a point that nothing took over.
    is_known = np.zeros(met.winner.size + 1, dtype=bool)
    is_known[rows] = is_known[-1] = True
    if not is_known[met.winner[rows]].all():
        raise ValueError("rows: a point without the one that took it over")
    left, right, held, root = _nodes(tree, rows)
    best, share = _fill_tables(left, right, held, rows.size, n_most)
    return Cover(
        left_mm3=best[root], rows=rows, branches=(left, right), share=share, root=int(root)
    )


def choose_points(tree: Tree, *, min_rise_mm: float, min_air_mm3: float) -> np.ndarray:
    """Rows of the high points that may need an opening, (r,) int64, by rise.

    Those that rise and hold at least as much as said; without any, the point
    that holds most.
    """
    rows = np.flatnonzero((tree.rise_mm >= min_rise_mm) & (tree.air_mm3 >= min_air_mm3))
    if not rows.size:
        rows = np.flatnonzero(tree.parent < 0)[:1]
    # A point whose taker is left out for its own small air cannot stand alone.
    is_chosen = np.zeros(tree.top_mm.size, dtype=bool)
    is_chosen[rows] = True
    while True:
        met = tree.meetings.winner[rows]
        missing = met[met >= 0]
        if is_chosen[missing].all():
            return rows
        is_chosen[missing] = True
        rows = np.flatnonzero(is_chosen)
