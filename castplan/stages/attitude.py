"""How the mould stands at the pour: a map of all directions, and the best way up.

Every upward direction is judged by what its merge tree leaves: air caught,
vents needed, air left with the vents the job allows. The mould stands on a
face of its box, level or tilted; anything else needs a cradle and pays for it.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from castplan.columns import field as columns
from castplan.columns.cover import choose_points, cover_tree
from castplan.columns.peaks import find_peaks, level_depth_mm, roof_of
from castplan.columns.threads import n_threads
from castplan.mesh import directions, frames
from castplan.mesh.standin import thin_out
from castplan.mesh.stands import box_rests, list_stands, stand_asked_for, stand_for
from castplan.model import AttitudeOption, AttitudeResult, Frame, Job, Part
from castplan.model.memory import remembered

# Against 20,000 triangles at 128 columns across, caught air keeps a correlation of
# 0.9998 and 99.6 % of the vent counts differ by at most one, at half the time.
N_STANDIN_TRIANGLES = 5_000
MAP_ACROSS = 80  # columns along the longest side for the map
FINAL_ACROSS = 256  # and for the ways to stand it that are best there, on the real mesh
N_FINER = 6  # best directions of the map that are looked at more closely
FINER_DEG = (3.0, 1.0)
N_FINALISTS = 6
# A hundredth of a millimetre is rounding of the mesh, not a high point.
ROUNDING_MM = 0.01
# A box this many times as high as its base is wide wants a brace (assumed).
STEADY = 2.5
# 15 to 30 degrees are usual (from memory): of tilts that do about as well the
# least of these is recommended; on a smaller one bubbles creep.
USUAL_TILT_DEG = 15.0
# Air under this, a bubble of 1.2 mm, is past what the columns tell.
NOTHING_MM3 = 1.0
CHUNK = 6  # directions handed to a thread at a time
_NO_FACES = np.empty((0, 3), dtype=np.int32)


@dataclass(frozen=True, eq=False)
class Score:
    """What one direction does with the air."""

    caught_mm3: float
    n_vents: int
    left_mm3: float
    small_mm3: float  # in points too small for a vent
    roof_mm: float
    places_mm: np.ndarray  # (k, 3) of the openings, part frame


def judge_field(field, job: Job) -> Score:
    """Score a field sampled along the upward direction.

    The gate takes one of the openings; it is never the only one. A level roof
    takes one more vent for every `job.vent_pitch_mm` of its length.
    """
    tree = find_peaks(field, min_rise_mm=ROUNDING_MM)
    rows = choose_points(
        tree, min_rise_mm=job.vent_min_height_mm, min_air_mm3=1000 * job.vent_min_air_ml
    )
    cover = cover_tree(tree, rows, n_most=rows.size)
    n_open = max(cover.fewest(limit_mm3=1000 * job.air_left_ml), 1)
    roofs = [_roof(field, tree, row) for row in cover.choice[n_open]]
    roofs_mm = [float(np.ptp(points[:, :2], axis=0).max()) for points in roofs]
    extra = sum(int(length // job.vent_pitch_mm) for length in roofs_mm)
    n_allowed = min(job.max_vents + 1, cover.left_mm3.size - 1)
    is_kept = np.zeros(tree.top_mm.size, dtype=bool)
    is_kept[rows] = True
    # Air of a small point that a larger one does not already count.
    is_small = ~is_kept & ((tree.parent < 0) | is_kept[np.maximum(tree.parent, 0)])
    return Score(
        caught_mm3=float(cover.left_mm3[1]),
        n_vents=max(n_open - 1 + extra, 1),
        left_mm3=float(cover.left_mm3[n_allowed]),
        small_mm3=float(tree.air_mm3[is_small].sum()),
        roof_mm=max(roofs_mm),
        places_mm=np.array([points.mean(axis=0) for points in roofs]) @ field.rotation,
    )


def _roof(field, tree, row):
    """Points of a roof that are level with its highest, (k, 3)."""
    roof = roof_of(field, tree, row, depth_mm=level_depth_mm(field))
    return np.column_stack([field.centre_mm(field.column_of[roof]), field.top_mm[roof]])


def score_ups(vertices_mm, faces, cap_faces, ups, job: Job, *, pitch_mm: float) -> list[Score]:
    """Score upward directions (k, 3) of a closed surface, on as many threads as cores."""

    def some(begin):
        return [
            judge_field(
                columns.sample(
                    vertices_mm, faces, cap_faces, frames.turn_to(up), pitch_mm=pitch_mm
                ),
                job,
            )
            for up in ups[begin : begin + CHUNK]
        ]

    with ThreadPoolExecutor(max_workers=n_threads()) as pool:
        return [score for part in pool.map(some, range(0, len(ups), CHUNK)) for score in part]


def sphere_lattice(*, count: int) -> np.ndarray:
    """Nearly even directions over the sphere, (count, 3).

    The golden-angle spiral (Gonzalez, Mathematical Geosciences 42 (2010) 49-64).
    """
    k = np.arange(count)
    z = 1 - (2 * k + 1) / count
    angle = k * np.pi * (3 - np.sqrt(5))
    radius = np.sqrt(1 - z**2)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=1)


@dataclass(frozen=True, eq=False)
class UpTable:
    """Upward directions and their scores on a stand-in of the part."""

    surface: tuple[np.ndarray, np.ndarray]
    pitch_mm: float
    ups: np.ndarray  # (k, 3)
    scores: list[Score]

    @property
    def rows(self):
        """Pairs of direction and score."""
        return zip(self.ups, self.scores, strict=True)


@remembered
def map_ups(part: Part, job: Job, *, progress=None) -> UpTable:
    """Score the even lattice of directions, then closer ones round the best.

    Parameters
    ----------
    part : Part
    job : Job
        `n_attitudes` sets the lattice, the limits of its vents the scores.
    progress : callable, optional
        Called with a fraction from 0 to 1.

    Returns
    -------
    UpTable
    """
    report = progress or (lambda fraction: None)
    pitch_mm = max(part.check.extent_mm) / MAP_ACROSS
    surface = thin_out(part, n_triangles=N_STANDIN_TRIANGLES, cell_mm=0.5 * pitch_mm)
    ups = sphere_lattice(count=job.n_attitudes)
    scores = score_ups(*surface, _NO_FACES, ups, job, pitch_mm=pitch_mm)
    report(0.9)
    for step_deg in FINER_DEG:
        order = sorted(range(len(scores)), key=lambda k: (_burden(scores[k], job), k))
        finer = np.concatenate(
            [directions.ring(ups[k], step_deg=step_deg) for k in order[:N_FINER]]
        )
        scores = scores + score_ups(*surface, _NO_FACES, finer, job, pitch_mm=pitch_mm)
        ups = np.concatenate([ups, finer])
    return UpTable(surface, pitch_mm, ups, scores)


@remembered
def find_attitude(
    part: Part, draw_frame: Frame, job: Job, table: UpTable, *, box_mm, on_parting=None
) -> AttitudeResult:
    """Recommend how to stand the mould.

    Parameters
    ----------
    part : Part
    draw_frame : Frame
        Square to the box.
    job : Job
        `up` skips the choice, not the map.
    table : UpTable
        From `map_ups`.
    box_mm : (3,) array_like
        Size of the box in the draw frame.
    on_parting : callable, optional
        Tells of places (k, 3), part frame, which touch the parting, (k,) bool:
        with the parting upright a groove in it takes less than a bore.

    Returns
    -------
    AttitudeResult
        The best three, or the one asked for and the best two others.
    """
    rests = box_rests(draw_frame)
    bill = _Bill(job, np.asarray(box_mm, dtype=float), on_parting)
    ranked = _rank_stands(part, bill, table, rests)
    if job.up is not None:
        stand = stand_asked_for(rests, draw_frame, frames.unit(job.up))
        frame = stand.frame
        ranked = [entry for entry in ranked if entry[0].frame.up @ frame.up < 1 - 1e-6]
        ranked.insert(0, (stand, _final_scores(part, job, [frame.up])[0]))
    ranked = ranked[:3]
    costs = [bill.minutes(score, up, stand_for(rests, up)) for up, score in table.rows]
    return AttitudeResult(
        frame=ranked[0][0].frame,
        rest=ranked[0][0].rest_frame,
        options=tuple(_option(*entry, bill) for entry in ranked),
        is_asked_for=job.up is not None,
        map_up=table.ups,
        map_caught_mm3=np.array([score.caught_mm3 for score in table.scores]),
        map_n_vents=np.array([score.n_vents for score in table.scores]),
        map_left_mm3=np.array([score.left_mm3 for score in table.scores]),
        map_cost_min=np.array(costs),
        map_pitch_mm=table.pitch_mm,
    )


@remembered
def list_options(
    part: Part, draw_frame: Frame, job: Job, table: UpTable, *, box_mm
) -> tuple[AttitudeOption, ...]:
    """The best three ways to stand a box square to a draw."""
    bill = _Bill(job, np.asarray(box_mm, dtype=float), None)
    # A draw that is only compared needs no closer look than its best few ways.
    ranked = _rank_stands(part, bill, table, box_rests(draw_frame), n_finalists=3)
    return tuple(_option(*entry, bill) for entry in ranked)


def _burden(score, job):
    """Minutes for vents and for the air they leave."""
    weights = job.air_weights
    n_vents = min(score.n_vents, job.max_vents)
    left_mm3 = score.small_mm3 + (score.left_mm3 if score.n_vents > job.max_vents else 0.0)
    return n_vents * weights.vent_min + left_mm3 / 1000 * weights.left_min_per_ml


@dataclass(frozen=True, eq=False)
class _Bill:
    """What ways to stand a box cost."""

    job: Job
    box_mm: np.ndarray
    on_parting: object

    def n_grooves(self, score, stand):
        """Vents that lie in the parting, which stands upright; the gate takes one of them."""
        if self.on_parting is None or stand is None or stand.rest in ("", "+z", "-z"):
            return 0
        n_touching = int(np.count_nonzero(self.on_parting(score.places_mm)))
        return min(n_touching, score.n_vents, self.job.max_vents)

    def minutes(self, score, up, stand):
        """Minutes of one direction, on a stand or in a cradle."""
        weights, box_mm = self.job.air_weights, self.box_mm
        cost = _burden(score, self.job) + weights.show_up_min * _show_up(up, self.job)
        cost -= self.n_grooves(score, stand) * (weights.vent_min - weights.groove_min)
        if stand is None or not stand.rest:
            return float(cost + weights.cradle_min)
        if stand.tilt_deg > 0:
            short_deg = USUAL_TILT_DEG - stand.tilt_deg
            cost += weights.tilt_min + (0.1 * short_deg if short_deg > 0 else -0.02 * short_deg)
        axis = "xyz".index(stand.rest[1])
        if box_mm[axis] > STEADY * min(np.delete(box_mm, axis)):
            cost += weights.brace_min
        return float(cost)


def _show_up(up, job):
    return 0.0 if job.show_face is None else max(0.0, float(up @ frames.unit(job.show_face)))


def _rank_stands(part, bill, table, rests, *, n_finalists=N_FINALISTS):
    """Ways to stand the box by cost: looked up in the map, the best judged closely.

    Fewer finalists are for comparison only and stay at the map's pitch.
    """
    job, stands = bill.job, list_stands(rests)
    stand_ups = np.array([stand.frame.up for stand in stands])
    near = np.argmax(np.round(stand_ups @ table.ups[: job.n_attitudes].T, 9), axis=1)
    guess = [
        bill.minutes(table.scores[near[k]], stand_ups[k], stand) for k, stand in enumerate(stands)
    ]
    order = sorted(range(len(stands)), key=lambda k: (round(guess[k], 6), k))
    # Level rests are few and not looked up: a level roof shows only there.
    tried = [k for k, stand in enumerate(stands) if stand.tilt_deg == 0]
    tried += [k for k in order if stands[k].tilt_deg > 0][: 4 * n_finalists]
    scores = score_ups(*table.surface, _NO_FACES, stand_ups[tried], job, pitch_mm=table.pitch_mm)

    def by_cost(pair):
        k, score = pair
        return round(bill.minutes(score, stand_ups[k], stands[k]), 6), k

    closer = sorted(zip(tried, scores, strict=True), key=by_cost)
    finalists = _pick_apart([k for k, _ in closer], stands)[:n_finalists]
    if n_finalists < N_FINALISTS:
        return [(stands[k], dict(closer)[k]) for k in finalists]
    final = _final_scores(part, job, stand_ups[finalists])
    ranked = sorted(zip(finalists, final, strict=True), key=by_cost)
    return [(stands[k], score) for k, score in ranked]


def _pick_apart(order, stands):
    """At most one level and two tilted ways per rest, so that the list shows a choice."""
    kept, counts = [], {}
    for k in order:
        key = (stands[k].rest, stands[k].tilt_deg > 0)
        if counts.get(key, 0) < (2 if key[1] else 1):
            counts[key] = counts.get(key, 0) + 1
            kept.append(k)
    return kept


@remembered
def _final_scores(part, job, ups):
    pitch_mm = max(part.check.extent_mm) / FINAL_ACROSS
    return score_ups(part.vertices_mm, part.faces, part.cap_faces, ups, job, pitch_mm=pitch_mm)


def _option(stand, score, bill):
    frame, job = stand.frame, bill.job
    return AttitudeOption(
        up=tuple(float(v) for v in frame.up),
        rest=stand.rest,
        tilt_deg=stand.tilt_deg,
        toward_deg=stand.toward_deg,
        caught_mm3=score.caught_mm3,
        n_vents=score.n_vents,
        n_grooves=bill.n_grooves(score, stand),
        left_mm3=score.left_mm3,
        small_mm3=score.small_mm3,
        roof_mm=score.roof_mm,
        show_up_fraction=_show_up(frame.up, job),
        cost_min=bill.minutes(score, frame.up, stand),
        why=_why(score, stand, bill),
    )


def _why(score, stand, bill):
    n, job = score.n_vents, bill.job
    text = f"{n} vent{'s' if n != 1 else ''}"
    n_grooves = bill.n_grooves(score, stand)
    if n_grooves:
        text += f", {n_grooves if n_grooves < n else 'all' if n > 1 else 'it lies'} in the parting"
    if n > job.max_vents and score.left_mm3 >= NOTHING_MM3:
        text += f", more than the {job.max_vents} allowed: {_ml(score.left_mm3)} ml of air stays"
    else:
        kept = f"{_ml(score.caught_mm3)} ml of" if score.caught_mm3 >= NOTHING_MM3 else "no"
        text += f"; {kept} air would stay without"
    if score.small_mm3 >= 1000 * job.air_left_ml:
        text += f"; {_ml(score.small_mm3)} ml stays in points too small for a vent"
    if score.roof_mm > job.vent_pitch_mm:
        text += f"; a level roof {score.roof_mm:.0f} mm long"
    if not stand.rest:
        text += "; no face of the box gives it, so it needs a cradle"
    return text


def _ml(volume_mm3):
    return f"{volume_mm3 / 1000:.2g}"
