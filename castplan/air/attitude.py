"""How the mould stands at the pour: a map of all directions, and the best way up.

Every upward direction is judged by what its merge tree leaves: air caught,
vents needed, air left with the vents the job allows. The mould stands on a
face of its box, level or tilted; anything else needs a cradle and pays for it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from castplan._arrays import freeze
from castplan.air.cut_stand import may_stand
from castplan.air.records import AttitudeOption, AttitudeResult
from castplan.air.stand_bill import LYING, USUAL_TILT_DEG, StandBill, burden_min
from castplan.air.stand_option import make_option
from castplan.air.ups import Grid, Score, score_ups, sphere_lattice
from castplan.geometry import directions, frames, margins
from castplan.geometry.guard import Guard
from castplan.geometry.standin import thin_out
from castplan.geometry.stands import Stand, box_rests, list_stands, stand_asked_for, stand_for
from castplan.job import Job
from castplan.materials.gate import PREFER_MIN, STANDARD_BORES_MM, TIP_MM2
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame, record

# Against 20,000 triangles at 128 columns across, caught air keeps a correlation of
# 0.9998 and 99.6 % of the vent counts differ by at most one, at half the time.
N_STANDIN_TRIANGLES = 5_000
MAP_ACROSS = 80  # columns along the longest side for the map
FINAL_ACROSS = 256  # and for the ways to stand it that are best there, on the real mesh
N_FINER = 6  # best directions of the map that are looked at more closely
FINER_DEG = (3.0, 1.0)
N_FINALISTS = 6
APART_DEG = 14.0  # ways nearer than this are listed once
N_TILTED = 12  # tilts per box judged at the map's pitch
N_EVEN = 3  # finalists as good as the best whose neighbours are judged
# A finer tilt must save more than this to be told in odd degrees.
WORTH_MIN = 0.5
_NO_FACES = np.empty((0, 3), dtype=np.int32)


@dataclass(frozen=True, eq=False)
class UpTable:
    """Upward directions and their scores on a stand-in of the part."""

    part: Part
    surface: tuple[np.ndarray, np.ndarray, np.ndarray]  # vertices, faces, no caps
    grid: Grid  # on the part's own axes, which the directions hang on too
    ups: np.ndarray  # (k, 3)
    scores: list[Score]
    # Of directions that stands were tried at, by their bytes: other kinds of mould try them too.
    _tried: dict = field(default_factory=dict, repr=False)

    @property
    def rows(self):
        """Pairs of direction and score."""
        return zip(self.ups, self.scores, strict=True)

    def scores_at(self, ups: np.ndarray, job: Job) -> list[Score]:
        """Scores of further directions (k, 3), each sampled once."""
        keys = [up.tobytes() for up in ups]
        fresh = {key: up for key, up in zip(keys, ups, strict=True) if key not in self._tried}
        found = score_ups(self.surface, np.array([*fresh.values()]), job, self.grid)
        self._tried.update(zip(fresh, found, strict=True))
        return [self._tried[key] for key in keys]


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
    turn = directions.own_turn(part)
    pitch_mm = frames.longest_mm(part, turn) / MAP_ACROSS
    ups = sphere_lattice(count=job.n_attitudes) @ turn
    surface = (*thin_out(part, n_triangles=N_STANDIN_TRIANGLES, cell_mm=0.5 * pitch_mm), _NO_FACES)
    grid = Grid(pitch_mm=pitch_mm, turn=turn)
    scores = score_ups(surface, ups, job, grid)
    report(0.9)
    for step_deg in FINER_DEG:
        order = sorted(range(len(scores)), key=lambda k: (round(burden_min(scores[k], job), 1), k))
        finer = np.concatenate(
            [directions.ring(ups[k], step_deg=step_deg, turn=turn) for k in order[:N_FINER]]
        )
        scores = scores + score_ups(surface, finer, job, grid)
        ups = np.concatenate([ups, finer])
    return UpTable(part, surface, grid, ups, scores)


@dataclass(frozen=True, eq=False)
class TriedStands:
    """Ways to stand one box that were judged at the map's pitch."""

    part: Part
    turn: np.ndarray  # (3, 3), of the map
    entries: list[tuple[Stand, Score]]


@record
class DrawnBox:
    """The box of a draw, to be stood up.

    `on_parting` tells of places (k, 3), part frame, which touch the parting, (k,)
    bool: with the parting upright a groove in it takes less than a bore.
    """

    frame: Frame  # square to the box
    box_mm: np.ndarray  # (3,) its size in that frame
    on_parting: Callable | None = None

    def __post_init__(self):
        freeze(self, "box_mm", shape=(3,))


@remembered
def try_stands(box: DrawnBox, job: Job, table: UpTable) -> TriedStands:
    """Look every way to stand a box up in the map, and judge the promising ones.

    Parameters
    ----------
    box, job, table
        As for `find_attitude`.
    """
    bill = bill_for(job, table.part, box)
    bill.learn(table.scores)
    stands = [stand for stand in list_stands(box_rests(box.frame)) if may_stand(stand, job)]
    stand_ups = np.array([stand.frame.up for stand in stands])
    near = directions.nearest_rows(stand_ups, table.ups[: job.n_attitudes])
    guess = [
        bill.minutes(table.scores[near[k]], stand_ups[k], stand) for k, stand in enumerate(stands)
    ]
    turn = table.grid.turn
    order = sorted(
        range(len(stands)), key=lambda k: (round(guess[k], 1), *_plain_first(stands[k], turn))
    )
    # Level rests are few and not looked up: a level roof shows only there.
    tried = [k for k, stand in enumerate(stands) if stand.tilt_deg == 0]
    tried += [k for k in order if stands[k].tilt_deg > 0][:N_TILTED]
    scores = table.scores_at(stand_ups[tried], job)
    entries = [(stands[k], score) for k, score in zip(tried, scores, strict=True)]
    return TriedStands(table.part, turn, entries)


def _min_of(bill, entry):
    stand, score = entry
    return bill.minutes(score, stand.frame.up, stand)


@remembered
def find_attitude(
    box: DrawnBox, job: Job, table: UpTable, tried: TriedStands | None = None
) -> AttitudeResult:
    """Recommend how to stand the mould.

    Parameters
    ----------
    box : DrawnBox
    job : Job
        `up` skips the choice, not the map.
    table : UpTable
        From `map_ups`.
    tried : TriedStands, optional
        From `try_stands`, where that was asked before.

    Returns
    -------
    AttitudeResult
        The best three, or the one asked for and the best two others.
    """
    part, rests = table.part, box_rests(box.frame)
    bill = bill_for(job, part, box)
    bill.learn(table.scores)
    costs, ranked = rank_stands(box, job, table, tried or try_stands(box, job, table))
    if job.up is not None:
        stand = stand_asked_for(rests, box.frame, frames.unit(job.up))
        frame = stand.frame
        ranked = [entry for entry in ranked if entry[0].frame.up @ frame.up < 1 - 1e-6]
        ranked.insert(0, (stand, _final_scores(part, job, [frame.up], table.grid.turn)[0]))
    ranked = _spread(ranked)[:3]
    return AttitudeResult(
        frame=ranked[0][0].frame,
        rest=ranked[0][0].rest_frame,
        options=tuple(make_option(*entry, bill) for entry in ranked),
        is_asked_for=job.up is not None,
        map_up=table.ups,
        map_caught_mm3=np.array([score.caught_mm3 for score in table.scores]),
        map_n_vents=np.array([score.n_vents for score in table.scores]),
        map_left_mm3=np.array([score.left_mm3 for score in table.scores]),
        map_cost_min=np.array(costs),
    )


@remembered
def rank_stands(box: DrawnBox, job: Job, table: UpTable, tried: TriedStands):
    """The best ways to stand a box, whichever is asked for.

    Parameters
    ----------
    box, job, table, tried
        As for `find_attitude`.

    Returns
    -------
    costs : list of float
        Of every row of the map, minutes.
    ranked : list of (Stand, Score)
        Cheapest first.
    """
    rests, bill = box_rests(box.frame), bill_for(job, table.part, box)
    bill.learn(table.scores)
    costs = [bill.minutes(score, up, stand_for(rests, up)) for up, score in table.rows]
    from_map = None if job.is_cut_open else _from_map(table, costs, rests)
    return costs, _rank_finalists(table.part, bill, tried, from_map, rests)


def list_options(tried: TriedStands, job: Job, box: DrawnBox) -> tuple[AttitudeOption, ...]:
    """The best three ways to stand a box, as far as the map's pitch tells.

    Parameters
    ----------
    tried : TriedStands
    job : Job
    box : DrawnBox
    """
    bill = bill_for(job, tried.part, box)
    entries = _by_cost(bill, tried.entries, tried.turn)
    kept = _pick_apart([stand for stand, _ in entries])[:3]
    return tuple(make_option(*entries[k], bill) for k in kept)


def bill_for(job: Job, part: Part, box: DrawnBox) -> StandBill:
    """The bill of ways to stand a box of some size round a part."""
    return StandBill(
        job,
        np.asarray(box.box_mm, dtype=float),
        box.on_parting,
        Guard(part, job),
        gate_mm=STANDARD_BORES_MM[0],
        tip_mm2=TIP_MM2,
        prefer_min=PREFER_MIN,
        _harm=_harm_of(part, job.show_face, job.keep_off, job.air_weights, job.max_vents),
    )


@lru_cache(maxsize=2)
def _harm_of(part, show_face, keep_off, air_weights, max_vents):
    """What openings harm, by score: the same for every box round a part, and asked once."""
    return {}


def _plain_first(stand, turn):
    """Of ways as good: level, lying, about the usual tilt, then by the part's own axes."""
    at = tuple(0.0 - np.round(turn @ stand.frame.up, 3))
    is_upright = stand.rest not in LYING
    return (stand.tilt_deg > 0, is_upright, round(abs(stand.tilt_deg - USUAL_TILT_DEG)), *at)


def _by_cost(bill, entries, turn):
    """Pairs of stand and score, cheapest first; of those as good the plainest."""
    left = sorted(
        ((bill.minutes(score, stand.frame.up, stand), (stand, score)) for stand, score in entries),
        key=lambda pair: (round(pair[0], 6), *_plain_first(pair[1][0], turn)),
    )
    out = []
    while left:
        even = [k for k, (cost, _) in enumerate(left) if cost <= left[0][0] + margins.STAND_MIN]
        first = min(even, key=lambda k: _plain_first(left[k][1][0], turn))
        out.append(left.pop(first)[1])
    return out


def _rank_finalists(part, bill, tried, from_map, rests):
    """The best ways to stand the box, judged closely on the real mesh.

    Of a tilted winner the tilts round it are judged there too, in ever
    smaller steps: the map's own steps were taken on the stand-in.
    """
    turn = tried.turn
    entries = _by_cost(bill, tried.entries, turn)
    kept = _pick_apart([stand for stand, _ in entries])[: N_FINALISTS - 1]
    stands = [entries[k][0] for k in kept]
    if from_map is not None and all(
        from_map.frame.up @ stand.frame.up < _cos(FINER_DEG[0]) for stand in stands
    ):
        stands.append(from_map)
    ranked = _judged(part, bill, stands, turn)
    for step_deg in FINER_DEG:
        limit_min = min(_min_of(bill, entry) for entry in ranked) + margins.STAND_MIN
        even = [k for k, entry in enumerate(ranked) if _min_of(bill, entry) <= limit_min]
        for k in even[:N_EVEN]:
            best, _ = ranked[k]
            if not best.tilt_deg:
                continue
            ups = directions.ring(best.frame.up, step_deg=step_deg, turn=turn)
            near = [stand for up in ups if (stand := stand_for(rests, up)) is not None]
            closer = _judged(part, bill, near, turn)[0]
            if _min_of(bill, ranked[k]) - _min_of(bill, closer) > WORTH_MIN:
                ranked[k] = closer
        ranked = _by_cost(bill, ranked, turn)
    return ranked


def _judged(part, bill, stands, turn):
    scores = _final_scores(part, bill.job, np.array([stand.frame.up for stand in stands]), turn)
    return _by_cost(bill, list(zip(stands, scores, strict=True)), turn)


def _from_map(table, costs, rests):
    """The cheapest way up of the map's finer rounds that a tilt gives; None if none does."""
    n_lattice = len(costs) - 6 * N_FINER * len(FINER_DEG)
    for k in sorted(range(n_lattice, len(costs)), key=lambda k: (round(costs[k], 1), k)):
        stand = stand_for(rests, table.ups[k])
        if stand is not None:
            return stand
    return None


def _cos(angle_deg):
    return float(np.cos(np.radians(angle_deg)))


def _spread(ranked):
    """Ways that differ to the eye; of near ones the first."""
    kept = []
    for stand, score in ranked:
        if all(stand.frame.up @ other.frame.up < _cos(APART_DEG) for other, _ in kept):
            kept.append((stand, score))
    return kept


def _pick_apart(stands):
    """Rows, best first: at most one level and two tilted ways per rest, to show a choice."""
    kept, counts = [], {}
    for k, stand in enumerate(stands):
        key = (stand.rest, stand.tilt_deg > 0)
        if counts.get(key, 0) < (2 if key[1] else 1):
            counts[key] = counts.get(key, 0) + 1
            kept.append(k)
    return kept


@remembered
def _final_scores(part, job, ups, turn):
    pitch_mm = frames.longest_mm(part, turn) / FINAL_ACROSS
    closed = part.vertices_mm, part.faces, part.cap_faces
    return score_ups(closed, ups, job, Grid(pitch_mm=pitch_mm, turn=turn))
