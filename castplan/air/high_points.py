"""Where air stays when the resin rises, and which high points get an opening."""

from functools import partial

import numpy as np
from scipy.spatial import cKDTree

from castplan.air.records import HARMS, AirResult, PortHarm
from castplan.air.tops import MOVE_MIN, N_ASKED, SAME_COLUMNS, Corners, Top, turn_of
from castplan.columns.cover import choose_points, cover_tree, left_with
from castplan.columns.field import ColumnField
from castplan.columns.peaks import LEVEL_MM, find_peaks, level_depth_mm, roof_of
from castplan.geometry.directions import farthest_along
from castplan.geometry.guard import Guard
from castplan.job import Job
from castplan.materials.gate import TIP_MM2, off_cup_mm, standing_cup_for
from castplan.record import Frame, record

# Silicone left standing between gate and nearest vent.
BETWEEN_PORTS_MM = 5.0
# The middle of usual gates, 6 to 10 mm (from memory), while its bore is not chosen yet.
USUAL_GATE_MM = 8.0
# Resin in gate and vents, before they are planned (assumed).
CHANNELS_ML = 2.0
# A vent goes so much lower to stand clear of the gate's pouring cup (assumed).
LOWER_MM = 3.0
# A vent that was asked for stands on the high point it is this close to (assumed).
NEAR_POINT_MM = 4.0
# High points that differ by less than this share of their roofs are as large: by sampling.
SAME_ROOF = 0.15


@record
class PourView:
    """What is known of the part beside its columns at the pour."""

    rest: Frame | None = None  # of the box as it rests: places are told in it, else in the field's
    vertices_mm: np.ndarray | None = None  # (n, 3) part frame, to find the exact points
    guard: Guard | None = None  # tells where an opening does harm


@record
class GateAt:
    """Where resin comes in: through a high point, or, without one, elsewhere."""

    peak: int | None = None
    places_mm: tuple = ()  # of gates on no high point, rest frame: vents keep clear of them


def find_air(
    field: ColumnField, job: Job, view: PourView | None = None, *, fed_at: GateAt | None = None
) -> AirResult:
    """High points of the cavity at the pour, each with the air it would keep.

    A high point may need an opening when it rises more than
    `job.vent_min_height_mm` above its saddle and keeps more than
    `job.vent_min_air_ml` (every local maximum but the gate: Bose, van Kreveld
    and Toussaint, CAD 30(4) 1998, 245-254). Of these the fewest are opened
    that leave less than `job.air_left_ml`, at most `job.max_vents` and the
    gate. The highest opened point takes the gate unless another is named; as
    one opening cannot let resin in and air out, a gate that would stand alone
    gets one more vent beside it. Fed from below, every opened point is a vent.
    Level roofs get a vent for every `job.vent_pitch_mm`. Openings stand where
    on their roof, or so near to it that no air to speak of stays, the guard finds
    least harm, and not at all on a point that is
    all inside a mark of the shop. Where `job.vents_at` names the vents, these
    and no others are opened, marked or not: on the high point beside the place,
    or else where the cavity ends above it.

    Parameters
    ----------
    field : ColumnField
        Sampled along the upward direction of the pour.
    job : Job
    view : PourView, optional
    fed_at : GateAt, optional
        Once it is planned.

    Returns
    -------
    AirResult
    """
    view = view or PourView()
    rest, guard, gate_at, gates_mm = view.rest, view.guard, None, ()
    is_fed_below = fed_at is not None and fed_at.peak is None
    if fed_at is not None:
        gate_at, gates_mm = fed_at.peak, fed_at.places_mm
    # A hundredth of a millimetre is rounding of the mesh, not a high point.
    tree = find_peaks(field, min_rise_mm=0.01)
    min_air_mm3 = 1000 * job.vent_min_air_ml
    kept = choose_points(tree, min_rise_mm=job.vent_min_height_mm, min_air_mm3=min_air_mm3)
    is_kept = np.zeros(tree.top_mm.size, dtype=bool)
    is_kept[kept] = True
    cover = cover_tree(tree, kept, n_most=kept.size)
    n_wanted = max(cover.fewest(limit_mm3=1000 * job.air_left_ml), 1)
    n_open = min(n_wanted, job.max_vents + (0 if is_fed_below else 1))
    n_open = max(n_open, 1)
    opened = [int(k) for k in np.searchsorted(kept, cover.choice(n_open))]
    # Air of a small point that a listed one does not already count.
    is_small = ~is_kept & ((tree.parent < 0) | is_kept[np.maximum(tree.parent, 0)])
    pour = Frame(rotation=field.rotation)
    corners = None
    if view.vertices_mm is not None:
        corners = Corners(field, pour.to_frame(view.vertices_mm))
    seen = [Top(field, tree, int(row), corners, job, guard) for row in kept]
    is_marked = [False] * len(seen)
    if guard is not None:
        is_marked = guard.is_marked(pour.to_part([top.place_mm for top in seen])).tolist()
    asked, elsewhere = None, []
    if job.vents_at is not None:
        asked, elsewhere = _asked(field, seen, pour.to_frame(np.reshape(job.vents_at, (-1, 3))))
    peaks = tuple(
        top.record(number, _to_rest(pour, rest)) for number, top in enumerate(seen, start=1)
    )
    gate = gate_at
    if is_fed_below:
        gate = None
    elif gate is None:
        # A vent that was asked for stays one where another point can take the gate.
        free = [k for k in opened if k not in (asked or ())] or opened
        free = [k for k in free if not is_marked[k]] or free
        gate = _highest(field, free, seen, guard)
    kept_off = ()
    if asked is None:
        kept_off = tuple(k for k in opened if is_marked[k])
        # One way out there must be, and the gate stands where it is told to.
        stays = [k for k in opened if not is_marked[k]] or opened[:1]
        opened = stays if gate is None or gate in stays else [gate, *stays]
    if asked is not None:
        highest = opened[:1] if gate is None and not (asked or elsewhere) else []
        opened = asked + [k for k in (gate, *highest) if k is not None and k not in asked]
    vents = tuple(k for k in opened if k != gate)
    extra = list(elsewhere)
    for k in opened if asked is None or not (vents or extra) else ():
        n_more = int(seen[k].length_mm // job.vent_pitch_mm)
        if k == gate:
            n_more = max(n_more, 0 if vents else 1)
        if asked is not None:
            n_more = 1  # the gate is never the only opening
        extra += _along_roof(field, tree, seen[k], n_more, is_gate=k == gate, job=job, guard=guard)
    if asked is None:
        extra = extra[: max(job.max_vents - len(vents), 0 if vents else 1)]
    turn = _to_rest(pour, rest)
    if asked is None and len(gates_mm):
        extra = [place for place in extra if _is_clear_of(turn(place), gates_mm, job)]
    stand = [(seen[k].place_mm, seen[k].bore_mm, peaks[k].section_mm2) for k in vents]
    stand += [(place, job.vent_mm, np.inf) for place in extra]
    told = () if asked is not None else kept_off
    is_told = [k in told for k in vents] + [False] * len(extra)
    return AirResult(
        frame=rest or pour,
        up=tuple(float(v) for v in pour.up),
        peaks=peaks,
        gate=gate,
        vents=vents,
        extra_vents_mm=tuple(turn(place) for place in extra),
        left_mm3=left_with(tree, kept, kept[opened]),
        n_wanted=n_wanted,
        n_small=int((~is_kept).sum()),
        small_mm3=float(tree.air_mm3[is_small].sum()),
        min_height_mm=job.vent_min_height_mm,
        min_air_mm3=min_air_mm3,
        kept_off=kept_off,
        harms=tuple(_harms(stand, is_told, guard, pour, turn)),
    )


def _clear_mm(job):
    """From the middle of a gate to that of a vent, at least."""
    return 0.5 * ((job.gate_mm or USUAL_GATE_MM) + job.vent_mm) + BETWEEN_PORTS_MM


def _is_clear_of(place, gates_mm, job):
    return float(np.linalg.norm(np.subtract(gates_mm, place), axis=1).min()) >= _clear_mm(job)


def _harms(stand, is_told, guard, pour, turn):
    """What vents (place, bore, section) do harm to, in the order of their labels."""
    for n, ((place, bore_mm, section), is_marked_told) in enumerate(
        zip(stand, is_told, strict=True), start=1
    ):
        found = {"tip"} if section < TIP_MM2 else set()
        if guard is not None:
            found |= set(guard.harms_at(pour.to_part(np.asarray(place)), bore_mm=bore_mm))
        if is_marked_told:
            found.discard("marked")
        for code in HARMS:
            if code in found:
                yield PortHarm(label=str(n), code=code, place_mm=turn(place))


def _highest(field, free, seen, guard):
    """The highest of some points; of those level with it the largest, then by the own axes."""
    top_mm = max(seen[k].place_mm[2] for k in free)
    level = [k for k in free if seen[k].place_mm[2] >= top_mm - LEVEL_MM]
    largest = max(seen[k].roof.size for k in level)
    level = [k for k in level if seen[k].roof.size >= (1 - SAME_ROOF) * largest]
    places = np.array([seen[k].place_mm for k in level]) @ field.rotation
    return level[farthest_along(places, turn_of(guard))]


def _asked(field, seen, places_mm):
    """Points that the asked places stand for, and places on no point, pour frame."""
    points, elsewhere = [], []
    tops_mm = np.column_stack([field.centre_mm(field.column_of), field.top_mm])
    for place_mm in places_mm:
        away = [float(np.linalg.norm(np.subtract(top.place_mm, place_mm))) for top in seen]
        nearest = int(np.argmin(away))
        if away[nearest] <= NEAR_POINT_MM:
            points.append(nearest)
            continue
        top_mm = tops_mm[np.argmin(((tops_mm - place_mm) ** 2).sum(axis=1))]
        elsewhere.append(tuple(float(v) for v in top_mm))
    return sorted(set(points)), elsewhere


def _to_rest(pour, rest):
    """A function that tells a place of the pour frame in the rest frame."""

    def turn(place_mm):
        if rest is None:
            return tuple(float(v) for v in place_mm)
        return tuple(float(v) for v in rest.to_frame(pour.to_part(np.asarray(place_mm))))

    return turn


def _along_roof(field, tree, top, n_more, *, is_gate, job, guard):
    """Further openings on a roof, each as far as it can be from all before it.

    Beside a gate they stand clear of the cup on it, or at least of its mouth, where
    they are hardly lower there.
    """
    if not n_more:
        return []
    spread = partial(_spread, field, tree, top, n_more, guard=guard)
    if not is_gate:
        return spread(0.5 * job.vent_pitch_mm)
    found = spread(_clear_mm(job), is_off_roof=True)
    shot_ml = field.volume_mm3 / 1000 + CHANNELS_ML
    cups_mm = standing_cup_for(shot_ml, least_mm=job.cup_mm), job.cup_mm
    for cup_mm in cups_mm:
        off_mm = off_cup_mm(cup_mm, bore_mm=job.vent_mm)
        if not found or _away(np.array(found)[:, :2], [top.place_mm]).min() >= off_mm:
            break
        off = spread(off_mm, is_off_roof=True)
        if len(off) == len(found) and _low(off) >= _low(found) - LOWER_MM:
            return off
    return found


def _low(places_mm):
    return min(place[2] for place in places_mm)


def _spread(field, tree, top, n_more, clear_mm, *, guard, is_off_roof=False):
    """Openings beside that of a roof, `clear_mm` from it; where they may leave a roof
    that is too small, they go to the highest place of its body that is clear."""
    members, xy = top.ridge, top.ridge_xy
    if is_off_roof and not (_away(xy, [top.place_mm]) >= clear_mm).any():
        members = roof_of(field, tree, top.row, depth_mm=float(tree.rise_mm[top.row]))
        xy = field.centre_mm(field.column_of[members])
    found = [top.place_mm]
    is_free, is_good = _harmed(field, members, guard)
    away = _away(xy, found)
    for _ in range(n_more):
        clear = is_free & (away >= clear_mm)
        if not clear.any():
            break
        z = field.top_mm[members]
        level = clear & (z >= z[clear].max() - level_depth_mm(field))
        if (level & is_good).any():
            level &= is_good
        far_mm = away[level].max() - SAME_COLUMNS * field.pitch_mm
        level = np.flatnonzero(level & (away >= far_mm))
        places = np.column_stack([xy[level], z[level]]) @ field.rotation
        k = int(level[farthest_along(places, turn_of(guard))])
        found.append((float(xy[k, 0]), float(xy[k, 1]), float(z[k])))
        away = np.minimum(away, _away(xy, found[-1:]))
    return found[1:]


def _harmed(field, members, guard):
    """Which of some columns the shop leaves free, and which cost little more than the best."""
    if guard is None:
        return np.ones(members.size, dtype=bool), np.ones(members.size, dtype=bool)
    places = np.column_stack([field.centre_mm(field.column_of[members]), field.top_mm[members]])
    places = places @ field.rotation
    # Neighbours are alike: some of them answer for those around.
    asked = places[np.unique(np.linspace(0, len(places) - 1, N_ASKED).astype(int))]
    minutes = guard.minutes(asked, is_all_or_none=True)[cKDTree(asked).query(places)[1]]
    return ~guard.is_marked(places), minutes < minutes.min() + MOVE_MIN


def _away(xy, places_mm):
    """Distance of each point to the nearest of some places."""
    steps = xy[:, None, :] - np.array([place[:2] for place in places_mm])[None]
    return np.linalg.norm(steps, axis=2).min(axis=1)
