"""The demo parts against their cards, without castplan.

The cards are derived by hand (closed forms, written out in each TOML). Here two
libraries read the files: trimesh (volume by the divergence theorem, Euler number,
Embree rays) and manifold3d (volume, genus, cuts). A card, a file and a library
that disagree are a defect of one of them.
"""

import importlib.util
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh
from manifold3d import Error, Manifold, Mesh
from scipy import ndimage

FOLDER = Path(__file__).parents[2] / "sample_parts"
NAMES = sorted(path.stem for path in FOLDER.glob("*.stl"))
SOLIDS = sorted(set(NAMES) - {"drawer_pull"})
KEYS = {
    "expected": {
        "extent_mm",
        "extent_tolerance_mm",
        "volume_mm3",
        "volume_tolerance_fraction",
        "is_watertight",
        "n_bodies",
        "draw",
    },
    "draw": {"axis", "axis_tolerance_deg", "locked_mm3", "tolerance_mm3", "split_mm"},
    "undercut": {"along", "locked_mm3", "tolerance_mm3", "kinds"},
    "air": {"up", "n_peaks", "rises_mm", "airs_mm3"},
}
OPTIONAL = {
    "expected": {"genus", "n_holes", "undercut", "air"},
    "draw": set(),
    "undercut": set(),
    "air": {"saddle_mm", "min_rise_mm"},
}


def card(name):
    return tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def load(name):
    return trimesh.load_mesh(FOLDER / f"{name}.stl")


def rings(mesh):
    """Open edges, directed as their faces run, by ring: list of (k, 2)."""
    edges = mesh.edges
    key = np.sort(edges, axis=1)
    _, inverse, count = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    is_open = count[inverse.ravel()] == 1
    found = trimesh.graph.connected_components(edges[is_open])
    return [edges[is_open & np.isin(edges[:, 0], ring)] for ring in found]


def closed(mesh):
    """The mesh with a fan from its middle over each ring of open edges."""
    points, faces = [mesh.vertices], [mesh.faces]
    for number, ring in enumerate(rings(mesh)):
        hub = np.full(len(ring), len(mesh.vertices) + number)
        points.append(mesh.vertices[ring[:, 0]].mean(axis=0)[None])
        faces.append(np.column_stack([ring[:, 1], ring[:, 0], hub]))
    return trimesh.Trimesh(np.vstack(points), np.vstack(faces), process=False)


def solid(mesh):
    return Manifold(Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32)))


def columns(mesh, axis, *, n_across):
    """Where parallel Embree rays enter and leave: height, ray number, area per ray."""
    axis = np.asarray(axis, dtype=float) / np.linalg.norm(axis)
    turn = trimesh.geometry.align_vectors(axis, [0, 0, 1])
    turned = mesh.copy().apply_transform(turn)
    low, high = turned.bounds
    pitch = max(high[:2] - low[:2]) / n_across
    # Odd offsets keep the rays off the parts' own edges, which lie on round millimetres.
    x, y = np.meshgrid(
        np.arange(low[0] + 0.37 * pitch, high[0], pitch),
        np.arange(low[1] + 0.43 * pitch, high[1], pitch),
    )
    start = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, low[2] - 1)])
    place, ray, _ = turned.ray.intersects_location(
        start, np.tile([0.0, 0.0, 1.0], (len(start), 1)), multiple_hits=True
    )
    order = np.lexsort((place[:, 2], ray))
    ray, height = ray[order], place[order, 2]
    # A ray that grazes an edge counts an odd number of walls; it says nothing.
    is_even = (np.bincount(ray) % 2 == 0)[ray]
    assert is_even.mean() > 0.995
    return height[is_even], ray[is_even], pitch**2


def locked_mm3(height, ray, area):
    """Void between surfaces: from every second hit of a ray to its next one."""
    number = np.arange(len(ray)) - np.searchsorted(ray, ray)
    entry = np.flatnonzero((number > 0) & (number % 2 == 0))
    return (height[entry] - height[entry - 1]).sum() * area


def overhang_mm3(height, ray, area, split):
    """Void beyond the ends of the columns that a level split at `split` shuts in."""
    first = height[np.searchsorted(ray, ray, side="left") == np.arange(len(ray))]
    last = height[np.searchsorted(ray, ray, side="right") - 1 == np.arange(len(ray))]
    return (np.clip(first - split, 0, None) + np.clip(split - last, 0, None)).sum() * area


def voxels(mesh, *, pitch_mm):
    """Which middles of a grid's voxels lie in the part, two empty layers around it."""
    low, high = mesh.bounds
    sides = [
        # 0.371: off the round millimetres of the parts' own faces
        np.arange(a - 1.371 * pitch_mm, b + 2 * pitch_mm, pitch_mm)
        for a, b in zip(low, high, strict=True)
    ]
    grid = np.stack(np.meshgrid(*sides, indexing="ij"), axis=-1)
    return mesh.ray.contains_points(grid.reshape(-1, 3)).reshape(grid.shape[:-1])


@pytest.fixture(scope="module")
def generator():
    spec = importlib.util.spec_from_file_location("generate", FOLDER / "generate.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_part_has_a_card_and_a_maker(generator):
    assert sorted(path.stem for path in FOLDER.glob("*.toml")) == NAMES
    assert sorted(make.__name__ for make in generator.SOLIDS) == SOLIDS


@pytest.mark.parametrize("name", NAMES)
def test_card_keeps_the_scheme(name):
    found = card(name)
    assert set(found) == {"name", "description", "units", "origin", "expected"}
    assert found["name"] == name
    assert found["units"] == "mm"
    assert "invented" in found["origin"]
    for table, keys in KEYS.items():
        record = found["expected"] if table == "expected" else found["expected"].get(table)
        if record is not None:
            assert keys <= set(record) <= keys | OPTIONAL[table]


def test_the_scheme_is_documented(generator):
    for key in set().union(*KEYS.values(), *OPTIONAL.values()) | set(KEYS):
        assert key in generator.__doc__


def test_the_simulated_scan_says_so():
    found = card("drawer_pull")
    assert "SIMULATED" in found["description"]
    assert "simulated" in found["origin"]


@pytest.mark.parametrize("name", NAMES)
def test_size_and_state(name):
    mesh, expected = load(name), card(name)["expected"]
    assert mesh.extents == pytest.approx(expected["extent_mm"], abs=expected["extent_tolerance_mm"])
    assert mesh.is_watertight == expected["is_watertight"]
    assert mesh.is_winding_consistent
    assert mesh.body_count == expected["n_bodies"]
    assert len(rings(mesh)) == expected.get("n_holes", 0)
    assert mesh.area_faces.min() > 0


@pytest.mark.parametrize("name", NAMES)
def test_volume_by_two_libraries(name):
    mesh, expected = closed(load(name)), card(name)["expected"]
    body = solid(mesh)
    assert body.status() == Error.NoError
    fraction = expected["volume_tolerance_fraction"]
    assert mesh.volume == pytest.approx(expected["volume_mm3"], rel=fraction)
    assert body.volume() == pytest.approx(expected["volume_mm3"], rel=fraction)


@pytest.mark.parametrize("name", SOLIDS)
def test_genus_by_euler_number(name):
    """V - E + F = 2 - 2g for one closed surface (Euler-Poincare)."""
    mesh, genus = load(name), card(name)["expected"]["genus"]
    assert mesh.euler_number == 2 - 2 * genus
    assert solid(mesh).genus() == genus


@pytest.mark.parametrize("name", NAMES)
def test_draw_locks_what_the_card_says(name):
    draw = card(name)["expected"]["draw"]
    found = columns(closed(load(name)), draw["axis"], n_across=300)
    assert locked_mm3(*found) == pytest.approx(draw["locked_mm3"], abs=draw["tolerance_mm3"])
    for split in draw["split_mm"]:
        assert overhang_mm3(*found, split) <= draw["tolerance_mm3"]


@pytest.mark.parametrize("name", SOLIDS)
def test_split_range_is_no_wider(name):
    """Half a millimetre beyond either end, a level split shuts something in."""
    mesh, draw = load(name), card(name)["expected"]["draw"]
    found = columns(mesh, draw["axis"], n_across=300)
    low, high = draw["split_mm"]
    for split in (low - 0.5, high + 0.5):
        assert overhang_mm3(*found, split) > 3 * draw["tolerance_mm3"]


@pytest.mark.parametrize("name", SOLIDS)
def test_undercut_locks_what_the_card_says(name):
    undercut = card(name)["expected"]["undercut"]
    found = columns(load(name), undercut["along"], n_across=300)
    near = pytest.approx(undercut["locked_mm3"], abs=undercut["tolerance_mm3"])
    assert locked_mm3(*found) == near


@pytest.mark.long
@pytest.mark.parametrize("name", SOLIDS)
def test_undercut_kinds_by_voxels(name):
    """Label the shut-in voxels, then the free ones that touch each: one mouth or more.

    scipy.ndimage does the labelling; voxels come from trimesh's ray containment.
    """
    mesh, undercut = load(name), card(name)["expected"]["undercut"]
    # The file's axes serve: put the one along the undercut last.
    along = int(np.argmax(undercut["along"]))
    is_part = np.moveaxis(voxels(mesh, pitch_mm=0.5), along, -1)
    is_below = np.logical_or.accumulate(is_part, axis=-1)
    is_above = np.logical_or.accumulate(is_part[..., ::-1], axis=-1)[..., ::-1]
    is_shut = is_below & is_above & ~is_part
    is_free = ~is_part & ~is_shut
    label, n_labels = ndimage.label(is_shut)
    found = {"pocket": 0, "bridge": 0}
    for number in range(1, n_labels + 1):
        touching = ndimage.binary_dilation(label == number, np.ones((3, 3, 3))) & is_free
        _, n_mouths = ndimage.label(touching, np.ones((3, 3, 3)))
        found["pocket" if n_mouths == 1 else "bridge"] += 1
    assert found == undercut["kinds"]


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_no_other_direction_traps_less(name):
    """Over sixty directions spread on a half sphere (Fibonacci lattice) and the axes."""
    mesh, draw = closed(load(name)), card(name)["expected"]["draw"]
    k = np.arange(60) + 0.5
    polar, turn = np.arccos(1 - k / 60), np.pi * (1 + 5**0.5) * k
    spread = [np.cos(turn) * np.sin(polar), np.sin(turn) * np.sin(polar), np.cos(polar)]
    for axis in np.vstack([np.column_stack(spread), np.eye(3)]):
        if abs(axis @ draw["axis"]) > np.cos(np.radians(draw["axis_tolerance_deg"])):
            continue
        height, ray, area = columns(mesh, axis, n_across=80)
        beyond = min(
            overhang_mm3(height, ray, area, split)
            for split in np.linspace(height.min(), height.max(), 60)
        )
        trapped_mm3 = locked_mm3(height, ray, area) + beyond
        assert trapped_mm3 > draw["locked_mm3"] + draw["tolerance_mm3"], axis


@pytest.mark.parametrize("name", NAMES)
def test_peaks_are_pieces_above_a_cut(name):
    """Cut level just above the saddle: each peak is a piece, its air the piece's volume."""
    air = card(name)["expected"]["air"]
    body = solid(closed(load(name)))
    top = trimesh.bounds.corners(np.reshape(body.bounding_box(), (2, 3))) @ air["up"]
    assert len(air["rises_mm"]) == len(air["airs_mm3"]) == air["n_peaks"] - 1
    if air["n_peaks"] == 1:
        for level in np.linspace(top.min() + 0.1, top.max() - 0.6, 25):
            pieces = body.trim_by_plane(air["up"], level).decompose()
            tall = [p for p in pieces if p.bounding_box()[5] - level > air.get("min_rise_mm", 0)]
            assert len(tall) == 1
        return
    saddle, step = air["saddle_mm"], 1e-4
    assert len(body.trim_by_plane(air["up"], saddle - 0.1).decompose()) == 1
    pieces = body.trim_by_plane(air["up"], saddle + step).decompose()
    assert len(pieces) == air["n_peaks"]
    reach = [np.reshape(p.bounding_box(), (2, 3))[1] @ air["up"] - saddle for p in pieces]
    order = np.argsort(reach)[::-1][1:]
    # The grid of the files is 1.5e-5 mm; the step takes 1e-4 of the smallest piece at most.
    assert np.array(reach)[order] == pytest.approx(air["rises_mm"], abs=1e-4)
    airs = [pieces[i].volume() for i in order]
    assert airs == pytest.approx(air["airs_mm3"], rel=2e-4)


def test_regeneration_gives_the_same_bytes(generator, tmp_path):
    generator.main(["--out", str(tmp_path), "--full-scan"])
    full = trimesh.load_mesh(tmp_path / "drawer_pull_full.stl")
    assert len(full.faces) >= 300_000
    assert f"{len(full.faces):,}" in card("drawer_pull")["origin"]
    for name in NAMES:
        written, kept = (folder / f"{name}.stl" for folder in (tmp_path, FOLDER))
        assert written.read_bytes() == kept.read_bytes(), name


def test_files_are_small():
    assert sum(path.stat().st_size for path in FOLDER.glob("*.stl")) < 3_000_000
