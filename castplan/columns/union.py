"""Disjoint sets by union and find, for compiled code."""

import numpy as np

from castplan.columns.raster import compiled_within


@compiled_within
def each_its_own(n):
    """A forest in which every element is a set, (n,) int64."""
    parent = np.empty(n, np.int64)
    for k in range(n):
        parent[k] = k
    return parent


@compiled_within
def find_root(parent, k):
    """Root of element `k` of a forest (n,) int64; shortens the way it went."""
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@compiled_within
def unite(parent, a, b):
    """Join the sets of two elements; the lower root stays, so order changes nothing."""
    a = find_root(parent, a)
    b = find_root(parent, b)
    if a < b:
        parent[b] = a
    elif b < a:
        parent[a] = b


@compiled_within
def number_roots(parent):
    """Set of each element counted from 0 in order of first element: (n,) int64, count."""
    label = np.full(parent.size, -1, np.int64)
    n = 0
    for k in range(parent.size):
        root = find_root(parent, k)
        if label[root] < 0:
            label[root] = n
            n += 1
        label[k] = label[root]
    return label, n
