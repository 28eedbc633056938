"""How long the split takes: search, refinement, pockets and the following line.

    python tests/bench/bench_split.py [--plot split.png] [--repeats 3] [--quick]

Not a test: machines differ and are noisy, so times are shown, not judged. Three
sizes of mesh at one pitch and three pitches of one mesh show how the time grows;
the exponent is the slope between the ends on logarithmic scales, 1 for linear.
Every row runs in a process of its own: its first run is cold (imports and kernels
from the cache on disk), the best of the others warm. Processor time, all threads
together, hardly feels what else the machine does: the growth is read from it.
"""

import argparse
import json
import math
import subprocess
import sys
import time

import numpy as np
from bench_plan import PARTS, SUBJECT

TRIANGLES = (10_000, 100_000, 1_000_000)
ACROSS = (256, 512, 1024)  # columns along the longest side
ROWS = [(n, 512) for n in TRIANGLES] + [(10_000, n) for n in ACROSS if n != 512]
STAGES = ("draw", "columns", "pockets", "flex", "seam", "line")


def refined(n_triangles):
    """The sample with its edges split evenly to about so many triangles, still closed."""
    import manifold3d

    from castplan.part.load import load_part, part_from_arrays

    part = load_part(PARTS / f"{SUBJECT}.stl", unit="mm")
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(
            vert_properties=np.array(part.vertices_mm),
            tri_verts=np.array(part.faces, dtype=np.uint64),
        )
    )
    # A facet of even sides l has the area l^2 sqrt(3) / 4; long thin ones take more.
    length_mm = math.sqrt(4 / math.sqrt(3) * part.check.area_mm2 / n_triangles)
    for _ in range(8):
        fine = solid.refine_to_length(length_mm)
        length_mm *= math.sqrt(fine.num_tri() / n_triangles)
    mesh = fine.to_mesh64()
    made = part_from_arrays(
        np.array(mesh.vert_properties[:, :3]),
        np.array(mesh.tri_verts, dtype=np.int32),
        name=f"{SUBJECT} x{fine.num_tri()}",
    )
    assert made.check.is_watertight
    return made


def time_split(part, *, n_across):
    """Seconds by stage of one split, 400 directions to the following line; and columns."""
    from castplan.columns import field as columns
    from castplan.columns.gaps import find_gaps
    from castplan.geometry.shutoff import parting_over
    from castplan.part.study import HeldPockets
    from castplan.records import Job
    from castplan.split.box import choose_box
    from castplan.split.draw import find_draw, tie_volume_mm3
    from castplan.split.flex import Skin, judge_pockets
    from castplan.split.line import Drawn, find_lines
    from castplan.split.parting import find_parting
    from castplan.split.seam import find_seam, seam_heights
    from castplan.split.undercuts import list_pockets, listed_pockets, pull_halves
    from castplan.split.wish import LineWish

    job, spans, last = Job(parting="following"), {}, [time.perf_counter()]

    def lap(stage):
        now = time.perf_counter()
        spans[stage] = now - last[0]
        last[0] = now

    draw = find_draw(part, job)
    lap("draw")
    pitch_mm = max(part.check.extent_mm) / n_across
    field = columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, draw.frame.rotation, pitch_mm=pitch_mm
    )
    lap("columns")
    gaps, tie_mm3 = find_gaps(field), tie_volume_mm3(part)
    parting = find_parting(field, gaps, tie_mm3=tie_mm3)
    lap("parting")
    box = choose_box(field, job, part_mm3=part.check.volume_mm3)
    ends_mm = (box.low_mm, box.high_mm)
    lap("box")
    seam = find_seam(part, draw.frame, field, job)
    lap("seam")
    heights = seam_heights(seam, within_mm=3 * pitch_mm)
    wish = LineWish(tie_mm3=tie_mm3, seam_heights=heights)
    drawn = Drawn(field=field, gaps=gaps, parting=parting)
    line = find_lines(drawn, job, wish, ends_mm=ends_mm)[0].line
    lap("line")
    held = pull_halves(field, gaps, parting_over(field, line, gaps))
    undercuts = list_pockets(field, held, part_mm3=part.check.volume_mm3)
    of_gap = listed_pockets(field, held.gaps, undercuts)
    lap("pockets")
    pockets = HeldPockets(field=field, gaps=held.gaps, of_gap=of_gap, undercuts=undercuts)
    judge_pockets(pockets, job, Skin(thin=()), ends_mm=ends_mm)
    lap("flex")
    # The box is no part of the split; the surface of the line only ends at it.
    del spans["box"]
    return spans, int(np.count_nonzero(np.diff(field.first)))


def run_row(n_triangles, n_across, repeats):
    """One row of the table: cold, then the best of the repeats."""
    begun = time.perf_counter()
    part = refined(n_triangles)
    made = time.perf_counter() - begun
    begun = time.perf_counter()
    time_split(part, n_across=n_across)
    cold = time.perf_counter() - begun
    runs, cpu = [], []
    for _ in range(repeats):
        begun = time.process_time()
        runs.append(time_split(part, n_across=n_across))
        cpu.append(time.process_time() - begun)
    spans, n_columns = min(runs, key=lambda run: sum(run[0].values()))
    return {
        "triangles": len(part.faces),
        "columns": n_columns,
        "mesh_s": made,
        "cold_s": cold,
        "warm_s": sum(spans.values()),
        "cpu_s": min(cpu),
        "stages_s": spans,
    }


def exponent(rows, key):
    """Slope of work (processor time) against size on logarithmic scales, end to end."""
    low, high = min(rows, key=lambda r: r[key]), max(rows, key=lambda r: r[key])
    return math.log(high["cpu_s"] / low["cpu_s"]) / math.log(high[key] / low[key])


def plot(by_size, by_pitch, path):
    """Both series with the line of linear growth through their first point."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(1, 2, figsize=(9, 4), sharey=True)
    for axis, rows, key in zip(axes, (by_size, by_pitch), ("triangles", "columns"), strict=True):
        size = np.array([row[key] for row in rows])
        axis.loglog(size, [row["cpu_s"] for row in rows], "o-", color="#0072B2", label="measured")
        linear = rows[0]["cpu_s"] * size / size[0]
        axis.loglog(size, linear, "--", color="#D55E00", label="linear")
        axis.set_xlabel(key)
        axis.legend()
    axes[0].set_ylabel("split, processor time, warm [s]")
    figure.tight_layout()
    figure.savefig(path, dpi=120)


def main():
    """Run every row in its own process, print the table and the growth."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--plot", help="write a picture of the growth here")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--quick", action="store_true", help="leave out the million triangles")
    parser.add_argument("--row", type=int, help="one row, in this process")
    chosen = parser.parse_args()
    if chosen.row is not None:
        print(json.dumps(run_row(*ROWS[chosen.row], chosen.repeats)))
        return
    rows = {}
    print(
        f"{'triangles':>10} {'columns':>9} {'cold s':>7} {'warm s':>7} {'cpu s':>7}  stages, warm"
    )
    for k, (n_triangles, n_across) in enumerate(ROWS):
        if chosen.quick and n_triangles == TRIANGLES[-1]:
            continue
        command = [sys.executable, __file__, "--row", str(k), "--repeats", str(chosen.repeats)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        row = rows[n_triangles, n_across] = json.loads(done.stdout)
        stages = ", ".join(f"{name} {row['stages_s'][name]:.2f}" for name in STAGES)
        print(
            f"{row['triangles']:>10} {row['columns']:>9} {row['cold_s']:7.2f} "
            f"{row['warm_s']:7.2f} {row['cpu_s']:7.2f}  {stages}",
            flush=True,
        )
    by_size = [row for (_, across), row in sorted(rows.items()) if across == 512]
    by_pitch = [rows[10_000, across] for across in ACROSS]
    print(f"work grows as triangles ^ {exponent(by_size, 'triangles'):.2f}")
    print(f"work grows as columns ^ {exponent(by_pitch, 'columns'):.2f}")
    if chosen.plot:
        plot(by_size, by_pitch, chosen.plot)


if __name__ == "__main__":
    main()
