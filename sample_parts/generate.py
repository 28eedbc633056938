"""Make the parts of the demo: ``python sample_parts/generate.py [--out DIR] [--full-scan]``.

The scenario is invented: a yard refits the cabins of a 1960s river ferry and
has broken or missing trim copied in resin. No part is measured from a real
one; `drawer_pull` is a *simulated* hand scan. Nothing here uses castplan.

Every run writes the same bytes: binary STL in millimetres, coordinates on a
grid of 2**-16 mm (which single precision holds exactly up to 256 mm), points
and triangles sorted, noise from a seed. The committed files come from
manifold3d 3.5.4 and fast-simplification 0.2.0; manifold3d older than 3.4 cuts
the same solids into other triangles. ``--full-scan`` adds
``drawer_pull_full.stl``, the scan before thinning.

Each NAME.stl has a card NAME.toml. Every number on it is derived by hand from
the measures below; the derivation stands beside it. Axes are the file's own::

    name, description, units, origin    text; units is "mm"

    [expected]
    extent_mm                  sides of the bounding box, x y z
    extent_tolerance_mm
    volume_mm3                 of the faceted body
    volume_tolerance_fraction  of volume_mm3
    is_watertight, n_bodies
    n_holes                    rings of open edges
    genus                      handles; left out for an open mesh

    [expected.draw]            the best draw: no other level split traps less
    axis                       its sign is free
    axis_tolerance_deg         a tilt so small may do as well
    locked_mm3, tolerance_mm3  void between surfaces of the part along axis
    split_mm                   [low, high] along +axis: a level split at any
                               height between traps nothing beyond locked_mm3

    [expected.undercut]        another direction (or the same), if it teaches
    along, locked_mm3, tolerance_mm3
    kinds                      {pocket = n, bridge = n} along it

    [expected.air]             high points of the cavity with `up` upwards
    up
    n_peaks                    the highest one of the body included
    min_rise_mm                lower ones do not count; without it, all count
    saddle_mm                  where the others join a higher one, along +up
    rises_mm, airs_mm3         of all but the highest, largest rise first:
                               height, and part volume, above the saddle

Arcs are drawn as chords between points on the arc, m per quarter turn. A
quarter disc of radius r then has the area q r^2 with q = (m/2) sin(pi/(2m)),
a little under pi/4. The cards use q throughout.
"""

import argparse
import struct
from pathlib import Path

import fast_simplification
import numpy as np
from manifold3d import CrossSection, Manifold, Mesh, OpType

GRID_PER_MM = 65536
SCAN_SEED = 1962
SCAN_NOISE_MM = 0.05
SCAN_EDGE_MM = 0.2
SCAN_N_TRIANGLES = 24_000
# Where the simulated scanner saw nothing: a point on the skin, and how far around it.
SCAN_BLIND_SPOTS_MM = (
    ((0.0, 0.0, 21.61), 3.0),  # underside of the bow, in its own shade
    ((-27.0, -6.5, 24.0), 1.8),
    ((40.0, 0.0, 0.0), 4.0),  # foot, where it stood on the table
    ((36.5, 3.0, 8.0), 1.6),
)


def snap(points_mm):
    """Round to the grid of the files, so that equal places are equal bits."""
    return np.round(np.asarray(points_mm, dtype=np.float64) * GRID_PER_MM) / GRID_PER_MM + 0.0


def arc(centre_mm, radius_mm, from_deg, to_deg, *, n_chords):
    """Points on an arc, both ends included, (n_chords + 1, 2) [mm]."""
    angle = np.radians(np.linspace(from_deg, to_deg, n_chords + 1))
    return snap(centre_mm + radius_mm * np.column_stack([np.cos(angle), np.sin(angle)]))


def rounded_rectangle(length_mm, width_mm, radius_mm, *, n_chords=6):
    """Outline about the origin, counter-clockwise, (4 n_chords + 4, 2) [mm]."""
    x, y = length_mm / 2 - radius_mm, width_mm / 2 - radius_mm
    corners = [((x, y), 0), ((-x, y), 90), ((-x, -y), 180), ((x, -y), 270)]
    return np.vstack([arc(c, radius_mm, a, a + 90, n_chords=n_chords) for c, a in corners])


def block(length_mm, width_mm, radius_mm, bottom_mm, top_mm, *, chamfer_mm):
    """Upright rounded block about the z axis, its upper edge chamfered at 45 degrees."""
    levels = [
        (0.0, bottom_mm),
        (0.0, top_mm - chamfer_mm),
        (chamfer_mm, top_mm),
    ]
    rings = []
    for inset_mm, z_mm in levels:
        ring = rounded_rectangle(
            length_mm - 2 * inset_mm, width_mm - 2 * inset_mm, radius_mm - inset_mm
        )
        rings.append(np.column_stack([ring, np.full(len(ring), z_mm)]))
    return Manifold.hull_points(np.vstack(rings))


def prism(outline_mm, bottom_mm, top_mm):
    """Outline (n, 2) drawn up along z."""
    body = Manifold.extrude(CrossSection([snap(outline_mm)]), top_mm - bottom_mm)
    return body.translate((0, 0, bottom_mm))


def stadium(length_mm, width_mm, bottom_mm, top_mm):
    """Upright slot-shaped body about the z axis, `length_mm` over its round ends, along x."""
    return prism(rounded_rectangle(length_mm, width_mm, width_mm / 2), bottom_mm, top_mm)


def lamp_bezel():
    """Ring around a berth lamp: a stepped flange, a round shoulder, a coned inside."""
    profile = np.vstack(
        [
            [(30, 0), (46, 0), (46, 2.5), (45, 3.5)],
            arc((38, 3.5), 6, 0, 90, n_chords=8),
            [(36, 9.5), (30, 3.5)],
        ]
    )
    return Manifold.revolve(CrossSection([snap(profile)]), 96)


def hook_tongue(root_mm, tip_mm, front_mm, *, plate_mm):
    """J-shaped tongue 14 wide: arm at y = root_mm, 8 thick, lip out to y = tip_mm."""
    inner_y, inner_z, sunk_z = root_mm + 8, front_mm - 8, plate_mm - 2
    profile = np.vstack(
        [
            [(root_mm, sunk_z), (inner_y, sunk_z)],
            arc((inner_y + 5, inner_z - 5), 5, 180, 90, n_chords=6),
            arc((tip_mm - 4, inner_z + 4), 4, -90, 90, n_chords=12),
            arc((root_mm + 8, front_mm - 8), 8, 90, 180, n_chords=6),
        ]
    )
    # Drawn in (y, z) and extruded; the cyclic turn x -> y -> z -> x puts it in place.
    turn = [[0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]]
    return prism(profile, -7, 7).transform(np.array(turn, dtype=float))


def coat_hook():
    """Hat-and-coat hook: two tongues on a plate, lips pointing up along y."""
    plate = block(30, 96, 6, 0, 5, chamfer_mm=1).translate((0, 48, 0))
    return plate + hook_tongue(12, 38, 30, plate_mm=5) + hook_tongue(56, 86, 46, plate_mm=5)


def louvre_grille():
    """Vent plate with seven straight slots, each with a raised rim."""
    body = block(124, 64, 6, 0, 4, chamfer_mm=1)
    slots = []
    for place in range(-3, 4):
        # Along x here, turned upright below; 44 x 5 slot, rim 3 wide at its foot, 1.5 high.
        rim = block(50, 11, 5.5, 2, 5.5, chamfer_mm=1)
        body += rim.rotate((0, 0, 90)).translate((16 * place, 0, 0))
        slot = stadium(44, 5, -1, 7)
        slots.append(slot.rotate((0, 0, 90)).translate((16 * place, 0, 0)))
    return body - Manifold.batch_boolean(slots, OpType.Add)


def sliding_catch():
    """Bolt of a locker catch: bevelled nose, guide slot, thumb pad, ten teeth on one edge."""
    body = block(76, 20, 4, 0, 8, chamfer_mm=1).translate((38, 10, 0))
    body -= prism([(63, -1), (78, -1), (78, 14)], -1, 9)
    body += block(18, 12, 4, 6, 12, chamfer_mm=1.5).translate((52, 10, 0))
    teeth = []
    for foot_mm in 14 + 4.0 * np.arange(10):
        tooth = [(0, 18), (3.2, 18), (3.2, 20), (2.2, 22), (1.0, 22), (0, 20)]
        teeth.append(prism(tooth, 0, 6).translate((foot_mm, 0, 0)))
    body += Manifold.batch_boolean(teeth, OpType.Add)
    return body - stadium(24, 5, -1, 9).translate((20, 10, 0))


def posts():
    """Pen-and-dividers stand of the chart table: six square posts, a lanyard hole in one."""
    body = block(72, 46, 5, 0, 5, chamfer_mm=1).translate((36, 23, 0))
    heights_mm = ((12, 22, 15), (26, 18, 30))
    for row, row_heights_mm in enumerate(heights_mm):
        for column, height_mm in enumerate(row_heights_mm):
            low = [(x, y, 3.0) for x in (-5, 5) for y in (-5, 5)]
            edge = [(x, y, 4.0 + height_mm) for x in (-5, 5) for y in (-5, 5)]
            top = [(x, y, 5.0 + height_mm) for x in (-4, 4) for y in (-4, 4)]
            post = Manifold.hull_points(np.array(low + edge + top, dtype=float))
            body += post.translate((18 + 18 * column, 14 + 18 * row, 0))
    hole = prism(arc((0, 0), 2.5, 0, 360, n_chords=32)[:-1], -7, 7)
    return body - hole.rotate((90, 0, 0)).translate((54, 32, 27))


def pull_sweep():
    """Bow-shaped pull: an oval swept along leg, bend, bow, bend, leg; feet flared.

    Returns
    -------
    Manifold
        Faceted, 48 chords around; refined later to the density of a scan.
    """
    bend, turn = 14.0, np.radians(75)
    bow = (40 - bend * (1 - np.cos(turn))) / np.sin(np.radians(15))
    crest = 8 + bend * np.sin(turn) + bow * (1 - np.cos(np.radians(15)))
    leg = np.linspace(0, 8, 17)
    around_bend = np.linspace(0, turn, 31)[1:]
    along_bow = np.radians(np.linspace(-15, 0, 51))[1:]
    half = [(-40.0, z, 0.0) for z in leg]  # x, z, turn of the path from straight up
    half += [(-40 + bend * (1 - np.cos(t)), 8 + bend * np.sin(t), t) for t in around_bend]
    half += [(bow * np.sin(t), crest - bow * (1 - np.cos(t)), np.pi / 2 + t) for t in along_bow]
    other = [(-x, z, np.pi - t) for x, z, t in half[-2::-1]]
    x, z, t = np.array(half + other).T

    flare = 1 + 0.5 * np.clip(1 - z / 6, 0, None) ** 2
    angle = 2 * np.pi * np.arange(48) / 48
    out = 4 * flare[:, None] * np.cos(angle)  # across the path, in its plane
    side = 6.5 * flare[:, None] * np.sin(angle)
    rings = np.stack(
        [x[:, None] - out * np.cos(t)[:, None], side, z[:, None] + out * np.sin(t)[:, None]],
        axis=-1,
    )
    n_rings, n = len(rings), len(angle)
    row, column = np.divmod(np.arange((n_rings - 1) * n), n)
    a, b = row * n + column, row * n + (column + 1) % n
    sides = np.vstack([np.column_stack([a, a + n, b]), np.column_stack([b, a + n, b + n])])
    hub = n_rings * n  # middles of the two flat feet
    k = np.arange(n)
    first = np.column_stack([np.full(n, hub), k, (k + 1) % n])
    last = np.column_stack([np.full(n, hub + 1), hub - n + (k + 1) % n, hub - n + k])
    points = np.vstack([rings.reshape(-1, 3), [(-40, 0, 0), (40, 0, 0)]])
    faces = np.vstack([sides, first, last])
    return Manifold(Mesh(snap(points).astype(np.float32), faces.astype(np.uint32)))


def full_scan():
    """Simulate the hand scan: dense, noisy, blind in a few spots.

    Returns
    -------
    points_mm : (n, 3) ndarray
    faces : (m, 3) ndarray
        More than 300,000 triangles, with one open ring per blind spot.
    """
    points_mm, faces = triangles(pull_sweep().refine_to_length(SCAN_EDGE_MM))
    corner = points_mm[faces]
    weighted = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal = np.zeros_like(points_mm)
    for k in range(3):
        np.add.at(normal, faces[:, k], weighted)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    # The legacy generator: numpy promises that its stream never changes.
    noise_mm = np.random.RandomState(SCAN_SEED).normal(0, SCAN_NOISE_MM, len(points_mm))
    points_mm = points_mm + noise_mm[:, None] * normal
    is_seen = np.ones(len(faces), dtype=bool)
    for spot_mm, radius_mm in SCAN_BLIND_SPOTS_MM:
        is_near = np.linalg.norm(points_mm - spot_mm, axis=1) < radius_mm
        is_seen &= ~is_near[faces].any(axis=1)
    return points_mm, faces[is_seen]


def drawer_pull():
    """Thin the scan to what a repository can carry."""
    points_mm, faces = full_scan()
    return fast_simplification.simplify(
        points_mm.astype(np.float32),
        faces.astype(np.int32),
        target_count=SCAN_N_TRIANGLES,
        agg=5.0,
    )


def ordered(points_mm, faces):
    """Snap and sort, so that the order in which a library built them leaves no trace."""
    points_mm, place = np.unique(snap(points_mm), axis=0, return_inverse=True)
    faces = place.ravel()[faces]
    # Start each triangle at its first point, then sort the triangles.
    turn = (faces.argmin(axis=1)[:, None] + np.arange(3)) % 3
    faces = np.take_along_axis(faces, turn, axis=1)
    return points_mm, faces[np.lexsort(faces.T[::-1])]


def triangles(body):
    """Points (n, 3) [mm] and faces (m, 3) of a manifold, in double precision, ordered."""
    mesh = body.to_mesh64()
    return ordered(np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts))


def write_stl(path, points_mm, faces):
    """Write binary STL."""
    points_mm, faces = ordered(points_mm, faces)
    corner = points_mm[faces]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal = normal / np.linalg.norm(normal, axis=1)[:, None] + 0.0
    record = np.zeros(len(corner), dtype=[("numbers", "<f4", 12), ("spare", "<u2")])
    record["numbers"] = np.column_stack([normal, corner.reshape(-1, 9)])
    header = f"castplan demo part {path.stem}, mm, invented".encode().ljust(80)
    path.write_bytes(header + struct.pack("<I", len(record)) + record.tobytes())


SOLIDS = (lamp_bezel, coat_hook, louvre_grille, sliding_catch, posts)


def main(arguments=None):
    """Write all parts; the folder of this file is the default."""
    parser = argparse.ArgumentParser(description="Write the demo parts as STL.")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    parser.add_argument("--full-scan", action="store_true", help="also drawer_pull_full.stl")
    chosen = parser.parse_args(arguments)
    chosen.out.mkdir(parents=True, exist_ok=True)
    for make in SOLIDS:
        write_stl(chosen.out / f"{make.__name__}.stl", *triangles(make()))
    write_stl(chosen.out / "drawer_pull.stl", *drawer_pull())
    if chosen.full_scan:
        write_stl(chosen.out / "drawer_pull_full.stl", *full_scan())


if __name__ == "__main__":
    main()
