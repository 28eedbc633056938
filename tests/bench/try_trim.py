"""Plan every body of trim, pull its finished halves apart, and show where the two differ.

    python tests/bench/try_trim.py [NAME ...] [--draw x,y,z] [--parting KIND] [--pictures DIR]
                                   [--solids DIR] [--json FILE]

Not a test: it shows what plan and solids say of each body. All volumes in ml.

    locked   between two surfaces of the part along the draw: no split releases it
    plan     what the plan's line says it traps; of it in listed pockets
    solids   what the judge finds trapped in the finished halves; without slivers
    +-       difference of the judge's two looks
    U, L     silicone of the upper and the lower half, plan / solids
    open     box that part, halves and the plan's ports do not account for

A row ends with what is wrong: PLAN where plan and solids differ by more than
sampling, LOSS where the solids trap over 0.5 ml more than is locked, POUR where
a half differs by over 1 % of the silicone, and what the solids themselves lack.
"""

import argparse
import json
import os
import sys
import time
import traceback
from pathlib import Path

os.environ.setdefault("CASTPLAN_HOME", "/nonexistent")  # not the shop's own cards
sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import trim_bodies  # noqa: E402
import trim_trial  # noqa: E402

HEAD = (
    f"{'body':27} {'draw':>17} {'kind':9} {'locked':>7} {'plan':>7} {'pockets':>7} "
    f"{'solids':>7} {'wide':>7} {'+-':>5} {'U plan':>7} {'U':>7} {'L plan':>7} {'L':>7} "
    f"{'open':>5} {'n':>4} {'plan s':>6} {'cut s':>5}  wrong"
)
WORTH_ML = 0.5  # trapped silicone that the shop would feel (assumed)


def row_of(trial):
    """One row as numbers and words."""
    plan, judged = trial.plan, trial.pull
    row = {
        "body": trial.name,
        "draw": [round(float(v), 3) + 0.0 for v in plan.split.draw.direction],
        "kind": plan.split.line.kind,
        "locked_ml": judged.locked_mm3 / 1000,
        "plan_ml": plan.split.line.trapped_mm3 / 1000,
        "pockets_ml": sum(p.volume_mm3 for p in plan.split.undercuts.pockets) / 1000,
        "n_pockets": len(plan.split.undercuts.pockets),
        "solids_ml": judged.trapped_mm3 / 1000,
        "wide_ml": judged.wide_mm3 / 1000,
        "by_other_half_ml": judged.by_other_half_mm3 / 1000,
        "sampling_ml": judged.sampling_mm3 / 1000,
        "upper_plan_ml": plan.mould.block.upper_ml,
        "upper_ml": judged.upper_mm3 / 1000,
        "lower_plan_ml": plan.mould.block.lower_ml,
        "lower_ml": judged.lower_mm3 / 1000,
        "part_ml": judged.part_mm3 / 1000,
        "open_ml": trial.open_too_much_ml,
        "overlap_ml": judged.overlap_mm3 / 1000,
        "n_bodies": [int(n) for n in judged.n_bodies],
        "n_plugs": len(plan.split.line.plugs),
        "plan_s": trial.plan_s,
        "halves_s": trial.halves_s,
        "judge_s": trial.judge_s,
        "places": [str(place) for place in judged.places[:4]],
        "stops": sorted({f.code for f in plan.findings if f.severity == "stop"}),
        "warns": sorted({f.code for f in plan.findings if f.severity == "warn"}),
    }
    return row | {"wrong": wrong(row, judged)}


def wrong(row, judged):
    """What is the matter with a mould, in a few words."""
    found = []
    # Plan and judge sample with about the same pitch: each may err as the judge's looks do.
    noise_ml = max(2 * row["sampling_ml"], 0.02 * row["solids_ml"], 0.1)
    if abs(row["plan_ml"] - row["solids_ml"]) > noise_ml:
        found.append(f"PLAN{row['plan_ml'] - row['solids_ml']:+.2f}")
    if row["solids_ml"] - row["locked_ml"] > WORTH_ML:
        found.append(f"LOSS {row['solids_ml'] - row['locked_ml']:.2f}")
    silicone_ml = row["upper_ml"] + row["lower_ml"]
    off_ml = max(abs(row[f"{half}_plan_ml"] - row[f"{half}_ml"]) for half in ("upper", "lower"))
    if off_ml > 0.01 * silicone_ml:
        found.append(f"POUR {off_ml:.1f}")
    if row["n_bodies"] != [1, 1]:
        found.append(f"BODIES {row['n_bodies']}")
    if not all(judged.is_watertight):
        found.append(f"LEAKS {list(judged.is_watertight)}")
    if abs(row["open_ml"]) > max(0.005 * silicone_ml, 1.0):
        found.append(f"OPEN {row['open_ml']:+.1f}")
    if row["overlap_ml"] > 0.05:
        found.append(f"OVERLAP {row['overlap_ml']:.2f}")
    return found


def line_of(row):
    """The row as it is printed."""
    way = ",".join(f"{v:.2f}".rstrip("0").rstrip(".") for v in row["draw"])
    numbers = " ".join(
        f"{row[key]:7.2f}" for key in ("locked_ml", "plan_ml", "pockets_ml", "solids_ml", "wide_ml")
    )
    pours = " ".join(
        f"{row[key]:7.1f}" for key in ("upper_plan_ml", "upper_ml", "lower_plan_ml", "lower_ml")
    )
    told = [*row["wrong"], *(f"stop:{code}" for code in row["stops"])]
    return (
        f"{row['body']:27} {way:>17} {row['kind']:9} {numbers} {row['sampling_ml']:5.2f} {pours} "
        f"{row['open_ml']:5.2f} {row['n_plugs']:4d} {row['plan_s']:6.1f} {row['halves_s']:5.1f}  "
        f"{' '.join(told)}"
    )


def draw_pictures(trial, folder):
    """Sections of part and halves along x and along y, through what matters most."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt
    import trimesh

    points, faces = trim_trial.in_draw_frame(trial.part, trial.plan)
    meshes = [
        ("part", trimesh.Trimesh(points, faces, process=False), "#333333"),
        ("upper half", _mesh(trial.upper), "#7fb3d5"),
        ("lower half", _mesh(trial.lower), "#f0b27a"),
    ]
    at = _look_at(trial, points)
    fig, axes = plt.subplots(2, 1, figsize=(14, 9))
    for axis, across in zip(axes, (1, 0), strict=True):
        along = 1 - across
        place = at[across]
        for label, mesh, colour in meshes:
            axis.fill([], [], colour, label=label)
            for ring in _rings(mesh, across, place, along):
                axis.add_patch(ring(colour))
        axis.set_aspect("equal")
        axis.autoscale_view()
        axis.set_xlabel(f"{'xy'[along]} mm, at {'xy'[across]} = {place:.1f}")
        axis.set_ylabel("z mm, along the draw")
    axes[0].legend(loc="upper right", fontsize=8)
    row = row_of(trial)
    fig.suptitle(
        f"{trial.name}: {row['kind']}, plan {row['plan_ml']:.2f} ml, solids "
        f"{row['solids_ml']:.2f} ml, locked {row['locked_ml']:.2f} ml  {' '.join(row['wrong'])}\n"
        + "; ".join(row["places"][:2]),
        fontsize=9,
    )
    fig.tight_layout()
    fig.savefig(Path(folder) / f"{trial.name}.png", dpi=80)
    plt.close(fig)


def _look_at(trial, points):
    """Where most is trapped, else in the largest hole, else the middle: (x, y)."""
    if trial.pull.places and trial.pull.places[0].volume_mm3 > 50:
        return trial.pull.places[0].centre_mm[:2]
    plugs = sorted(trial.plan.split.line.plugs, key=lambda plug: -plug.area_mm2)
    at = plugs[0].centre_mm if plugs else (points.min(axis=0) + points.max(axis=0))[:2] / 2
    # Off the very middle: bodies are made about it, and so are their edges.
    return at[0] + 0.37, at[1] + 0.37


def _mesh(solid):
    import trimesh

    return trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)


def _rings(mesh, across, place, along):
    """Patches of a mesh's section, holes left out; as makers that take a colour."""
    import numpy as np
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Curve

    normal = np.eye(3)[across]
    cut = mesh.section(plane_origin=normal * place, plane_normal=normal)
    if cut is None:
        return
    curves = [loop[:, [along, 2]] for loop in cut.discrete if len(loop) > 2]
    if not curves:
        return
    codes = [
        code
        for curve in curves
        for code in (Curve.MOVETO, *[Curve.LINETO] * (len(curve) - 2), Curve.CLOSEPOLY)
    ]
    # Holes need the other turn; the sections of closed meshes nest, and even-odd
    # filling is what the canvas does for loops that are turned by their depth.
    turned = _turned_by_depth(curves)
    path = Curve(np.concatenate(turned), codes)
    yield lambda colour: PathPatch(path, facecolor=colour, edgecolor="black", linewidth=0.4)


def _turned_by_depth(curves):
    import shapely

    rings = [shapely.Polygon(curve) for curve in curves]
    made = []
    for k, curve in enumerate(curves):
        inside = shapely.Point(curve[0])
        depth = sum(other.contains(inside) for j, other in enumerate(rings) if j != k)
        is_left = shapely.LinearRing(curve).is_ccw
        made.append(curve if is_left == (depth % 2 == 0) else curve[::-1])
    return made


def main():
    """Run the bodies that are named, or all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="bodies; all if left out")
    parser.add_argument("--draw", help="x,y,z for all bodies")
    parser.add_argument("--parting", help="level, tilted, stepped or following")
    parser.add_argument("--pictures", help="folder for a section picture of each body")
    parser.add_argument("--solids", help="folder for the halves and the part as STL")
    parser.add_argument("--json", help="file for the rows")
    chosen = parser.parse_args()
    choices = {}
    if chosen.draw:
        choices["draw"] = tuple(float(v) for v in chosen.draw.split(","))
    if chosen.parting:
        choices["parting"] = chosen.parting
    for folder in (chosen.pictures, chosen.solids):
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
    print(HEAD, flush=True)
    rows, begun = [], time.perf_counter()
    for name in chosen.names or trim_bodies.MAKERS:
        try:
            trial = trim_trial.try_body(name, **choices)
        except Exception as error:  # a plan that fails is a row too
            print(f"{name:27} FAILED {type(error).__name__}: {error}", flush=True)
            traceback.print_exc(limit=-2, file=sys.stderr)
            rows.append({"body": name, "failed": str(error), "wrong": ["FAILED"]})
            continue
        rows.append(row_of(trial))
        print(line_of(rows[-1]), flush=True)
        if chosen.pictures:
            draw_pictures(trial, chosen.pictures)
        if chosen.solids:
            save(trial, Path(chosen.solids))
    n_wrong = sum(bool(row["wrong"]) for row in rows)
    print(
        f"{len(rows)} bodies, {n_wrong} with something wrong, {time.perf_counter() - begun:.0f} s"
    )
    if chosen.json:
        Path(chosen.json).write_text(json.dumps(rows, indent=1), encoding="utf-8")


def save(trial, folder):
    """Part and halves as STL, draw frame."""
    import trimesh

    points, faces = trim_trial.in_draw_frame(trial.part, trial.plan)
    trimesh.Trimesh(points, faces, process=False).export(folder / f"{trial.name}_part.stl")
    for side in ("upper", "lower"):
        _mesh(getattr(trial, side)).export(folder / f"{trial.name}_{side}.stl")


if __name__ == "__main__":
    main()
