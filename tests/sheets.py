"""One-sided sheets made by rule: their front alone, facets facing out."""

import numpy as np


def grid(x, y, is_kept=None):
    """Squares of a grid over x (n,), y (m,) as two facets each: x, y of corners, facets."""
    n_x, n_y = len(x), len(y)
    across, along = np.meshgrid(x, y, indexing="ij")
    corner = np.arange(n_x * n_y).reshape(n_x, n_y)
    a, b, c, d = corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]
    cells = np.stack((a, b, c, a, c, d), axis=-1).reshape(-1, 6)
    if is_kept is not None:
        middle_x = 0.5 * (across[:-1, :-1] + across[1:, 1:])
        middle_y = 0.5 * (along[:-1, :-1] + along[1:, 1:])
        cells = cells[is_kept(middle_x, middle_y).ravel()]
    used, faces = np.unique(cells.reshape(-1, 3), return_inverse=True)
    return across.ravel()[used], along.ravel()[used], faces.reshape(-1, 3)


def extruded(profile, length_mm, step_mm):
    """Sheet over a line of points (n, 2) in x, z, drawn along y; its front is on the left."""
    profile = np.asarray(profile, dtype=float)
    n_along = round(length_mm / step_mm) + 1
    k, y, faces = grid(np.arange(float(len(profile))), np.linspace(0, length_mm, n_along))
    k = k.astype(int)
    return np.column_stack((profile[k, 0], y, profile[k, 1])), faces


def angle(leg_mm, radius_mm, length_mm, step_mm):
    """A flat leg, a quarter bend of an outer radius, and a leg straight down."""
    flat = np.linspace(0, leg_mm, int(leg_mm / step_mm) + 1)
    turn = np.linspace(0, np.pi / 2, 7)[1:]
    profile = np.concatenate(
        (
            np.column_stack((flat, 0 * flat)),
            np.column_stack((leg_mm + radius_mm * np.sin(turn), radius_mm * (np.cos(turn) - 1))),
            np.column_stack((0 * flat + leg_mm + radius_mm, -radius_mm - flat))[1:],
        )
    )
    return extruded(profile, length_mm, step_mm)


def cover(long_mm, wide_mm, *, radius_mm=1.5, flange_mm=10.0, crown_mm=2.0, step_mm=1.0):
    """A crowned top with four flanges folded down, its corners open."""

    def axis(half):
        bend = np.linspace(0, radius_mm * np.pi / 2, 5)[1:]
        down = np.linspace(0, flange_mm, int(flange_mm / step_mm) + 1)[1:]
        flat = np.linspace(0, half, int(half / step_mm) + 1)
        one = np.concatenate((flat, half + bend, half + bend[-1] + down))
        return np.concatenate((-one[:0:-1], one))

    def folded(s, half):
        over = np.clip(np.abs(s) - half, 0, radius_mm * np.pi / 2)
        rest = np.maximum(np.abs(s) - half - radius_mm * np.pi / 2, 0)
        out = np.minimum(np.abs(s), half) + radius_mm * np.sin(over / radius_mm)
        return np.sign(s) * out, radius_mm * (1 - np.cos(over / radius_mm)) + rest

    half_x, half_y = 0.5 * long_mm, 0.5 * wide_mm
    s, t, faces = grid(
        axis(half_x), axis(half_y), lambda x, y: (np.abs(x) < half_x) | (np.abs(y) < half_y)
    )
    x, fall_x = folded(s, half_x)
    y, fall_y = folded(t, half_y)
    hump = np.clip(1 - (s / half_x) ** 2, 0, 1) * np.clip(1 - (t / half_y) ** 2, 0, 1)
    return np.column_stack((x, y, crown_mm * hump - fall_x - fall_y)), faces


def scan(long_mm, wide_mm, *, step_mm=0.6, noise_mm=0.05, seed=3):
    """A gently curved scan: ragged rim, noise, ten small holes and two large openings."""
    rng = np.random.default_rng(seed)
    # In a lattice, so that none touches another or the openings.
    places = [(0.12 + 0.19 * k, 0.15 + 0.7 * (m == 1)) for k in range(5) for m in range(2)]

    def is_kept(x, y):
        edge = np.minimum.reduce([x, y, long_mm - x, wide_mm - y])
        kept = edge > 0.8 + 0.7 * np.sin(2.1 * x) * np.cos(1.7 * y)
        for u, v in places:
            kept &= np.hypot(x - u * long_mm, y - v * wide_mm) > 0.8
        kept &= np.hypot(x - 0.7 * long_mm, y - 0.5 * wide_mm) > 6
        return kept & ~((np.abs(x - 0.3 * long_mm) < 5) & (np.abs(y - 0.5 * wide_mm) < 4))

    x, y, faces = grid(
        np.arange(0, long_mm + 1e-9, step_mm), np.arange(0, wide_mm + 1e-9, step_mm), is_kept
    )
    points = np.column_stack((x, y, 5 * np.cos((x - 0.5 * long_mm) / 50)))
    return points + rng.normal(0, noise_mm, points.shape), faces
