"""Rocking the mould: tilts that walk caught bubbles to a vent, so that fewer are needed.

Each attitude is a map from where a bubble lies to where it rises; a bubble
that ends under an opening is gone, and of one that ends under a closed roof
no more stays than that roof can hold. The maps make a graph of pockets: a group
that tilts only lead round in needs a vent of its own (its strongly connected
components without a way out: after Aloupis, Cardinal, Collette, Iacono and
Langerman, CGTA 47(2) 2014, 316-328). Short sequences are tried for ever fewer
vents; where none does, longer ones are walked along the graph.
"""

from dataclasses import dataclass
from itertools import combinations, islice, pairwise, permutations

import numpy as np

from castplan.air.records import AirResult, AttitudeResult, RockingResult, RockTilt
from castplan.columns import field as columns
from castplan.columns.field import ColumnField
from castplan.columns.flood import climb, escape_levels, label_joined
from castplan.columns.views import sample_view
from castplan.geometry import directions
from castplan.geometry.stands import Stand
from castplan.job import Job
from castplan.part.records import Part
from castplan.record import Frame

ACROSS = 128  # columns along the longest side
TILT_DEG = 30.0
N_AZIMUTHS = 8
N_STEPS = 3
MOST_STEPS = 8  # of a walk along the graph
OUT = -1  # node of the bubbles that are gone
N_SETS = 8  # sets of vents tried for each number
# Air under this, a bubble of 1.2 mm, is past what the columns tell.
NOTHING_MM3 = 1.0


@dataclass(frozen=True, eq=False)
class _Attitude:
    """The cavity at one tilt, with a set of openings: where bubbles go."""

    field: ColumnField
    frame: Frame
    pocket: np.ndarray  # (n,) label of the closed roof over each interval, -1 where open
    holds_mm3: np.ndarray  # per pocket
    ends: dict  # where a bubble from a place comes to rest, kept for the next sequence

    def rise(self, bubbles):
        """Bubbles [(place in the part frame, volume)] after resting at this tilt."""
        held = {}
        for place, volume in bubbles:
            pocket, top = self.end_of(place)
            if pocket >= 0:
                at, so_far = held.get(pocket, (top, 0.0))
                held[pocket] = (at, so_far + volume)
        return [
            (held[pocket][0], min(held[pocket][1], float(self.holds_mm3[pocket])))
            for pocket in sorted(held)
        ]

    def end_of(self, place):
        """Where a bubble from a place (part frame) comes to rest: its pocket, -1 if open; place."""
        if place not in self.ends:
            self.ends[place] = self._end(np.array(place))
        return self.ends[place]

    def top_of(self, interval):
        """The roof of an interval, in the part frame."""
        f = self.field
        x, y = f.centre_mm(f.column_of[[interval]])[0]
        top = self.frame.to_part(np.array([x, y, f.top_mm[interval]]))
        return tuple(float(v) for v in top)

    def _end(self, place):
        f = self.field
        start = columns.interval_at(f, self.frame.to_frame(place))
        end = climb(f.first, f.bottom_mm, f.top_mm, f.column_of, f.n_x, start, f.pitch_mm)
        return int(self.pocket[end]), self.top_of(end)


def find_rocking(part: Part, attitude: AttitudeResult, air: AirResult, job: Job) -> RockingResult:
    """Look for two or three tilts that save vents.

    Parameters
    ----------
    part : Part
    attitude : AttitudeResult
        The attitude at the pour; tilts are told in its view.
    air : AirResult
        The vents it needs without rocking.
    job : Job

    Returns
    -------
    RockingResult
        Without tilts where the vents cannot be fewer, or need not be.
    """
    # The gates stay; where the first is fed from below, the highest vent does.
    n_kept_open = max(len(air.opened) - len(air.vents), 1)
    vents = air.opened[n_kept_open:]
    n_vents = len(vents)
    nothing = RockingResult(
        tilts=(), n_saved=0, vents=vents, left_mm3=air.left_mm3, still_mm3=air.left_mm3
    )
    if n_vents < 2:
        return nothing
    ways, frames, fields = _views(part, attitude)
    limit_mm3 = max(1000 * job.air_left_ml, NOTHING_MM3)
    places = np.array([air.peaks[k].place_mm for k in air.opened])
    places = air.frame.to_part(places)
    # Vents by how much air they let out: the least useful is saved first.
    order = sorted(range(n_vents), key=lambda k: -air.peaks[vents[k]].air_mm3)
    gates, places = places[:n_kept_open], places[n_kept_open:]
    needed = _one_in_each(_states(fields, frames, gates), places, order, limit_mm3)
    for n_kept in range(max(len(needed), 1), n_vents):
        sets = [_filled_up(needed, order, n_kept), *islice(combinations(order, n_kept), N_SETS)]
        for k, kept in enumerate(dict.fromkeys(tuple(sorted(chosen)) for chosen in sets)):
            opened = np.concatenate([gates, places[list(kept)]])
            states = _states(fields, frames, opened)
            found = _search(states, limit_mm3)
            if found is None and k == 0:
                found = _walk(states, limit_mm3)
            if found is None:
                continue
            sequence, left_mm3, still_mm3 = found
            return RockingResult(
                tilts=tuple(RockTilt(tilt_deg=ways[k][0], toward_deg=ways[k][1]) for k in sequence),
                n_saved=n_vents - n_kept,
                vents=tuple(vents[k] for k in kept),
                left_mm3=left_mm3,
                still_mm3=still_mm3,
            )
    return nothing


def walk_out(part: Part, attitude: AttitudeResult, places_mm, *, limit_mm3: float):
    """Tilts that walk the air that stays to openings that are there already.

    Parameters
    ----------
    part : Part
    attitude : AttitudeResult
    places_mm : (k, 3) array_like
        Of the openings, part frame.
    limit_mm3 : float
        What may be left.

    Returns
    -------
    tuple of (tuple of RockTilt, float) or None
        The tilts in order, and the air that is left; None where no sequence
        tried leaves so little, or none is needed.
    """
    ways, frames, fields = _views(part, attitude)
    opened = np.asarray(places_mm, dtype=float)
    states = _states(fields, frames, opened)
    if float(states[0].holds_mm3.sum()) < limit_mm3:
        return None
    found = _search(states, limit_mm3) or _walk(states, limit_mm3)
    if found is None:
        return None
    sequence, left_mm3, _ = found
    return tuple(RockTilt(tilt_deg=ways[k][0], toward_deg=ways[k][1]) for k in sequence), left_mm3


def _views(part, attitude):
    """The tilts tried, level first: (tilt, toward), frame and field of each."""
    pitch_mm = directions.longest_mm(part) / ACROSS
    ways = [(0.0, 0.0)] + [(TILT_DEG, k * 360 / N_AZIMUTHS) for k in range(N_AZIMUTHS)]
    frames = [attitude.frame, *(Stand("", attitude.rest, *way).frame for way in ways[1:])]
    fields = [
        sample_view(part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm)
        for frame in frames
    ]
    return ways, frames, fields


def _states(fields, frames, opened):
    return [_attitude(field, frame, opened) for field, frame in zip(fields, frames, strict=True)]


def _attitude(field, frame, opened):
    arrays = (field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x)
    points = frame.to_frame(opened)
    openings = np.array([columns.interval_at(field, p) for p in points], dtype=np.int64)
    escape = escape_levels(*arrays, openings)
    low = np.clip(escape, field.bottom_mm, field.top_mm)
    # Within a column's height of the opening the bore itself lets the air out.
    is_shut = field.top_mm - low > field.pitch_mm
    label, n = label_joined(field.first, low, field.top_mm, field.column_of, field.n_x, is_shut)
    inside = label >= 0
    holds = np.bincount(label[inside], weights=(field.top_mm - low)[inside], minlength=n)
    return _Attitude(field, frame, label, holds * field.cell_mm2, {})


def _search(states, limit_mm3):
    """The shortest sequence of tilts that leaves less than the limit; None without one."""
    home, first = states[0], _bubbles(states[0])
    still_mm3 = sum(volume for _, volume in first)
    for n_steps in range(1, N_STEPS + 1):
        best = None
        for sequence in permutations(range(1, len(states)), n_steps):
            bubbles = first
            for k in sequence:
                # From one tilt to the next the mould comes through level.
                bubbles = home.rise(states[k].rise(bubbles))
            left = sum(volume for _, volume in bubbles)
            if left < limit_mm3 and (best is None or left < best[1] - 1e-9):
                best = (sequence, float(left), still_mm3)
        if best is not None:
            return best
    return None


def _bubbles(home):
    """All that the closed roofs hold at the pour, one bubble each."""
    found = []
    for pocket in range(home.holds_mm3.size):
        members = np.flatnonzero(home.pocket == pocket)
        highest = members[np.argmax(home.field.top_mm[members])]
        found.append((home.top_of(highest), float(home.holds_mm3[pocket])))
    return found


def _graph(states):
    """Pockets at the pour; an edge leads to where a tilt and back takes a bubble."""
    import networkx as nx  # slow to load, and few parts need two vents

    home, graph = states[0], nx.DiGraph()
    graph.add_node(OUT)
    for pocket, (place, _) in enumerate(_bubbles(home)):
        graph.add_node(pocket)
        for k, state in enumerate(states[1:], start=1):
            over, top = state.end_of(place)
            # One that leaves at the tilt is gone; one that stays comes back level.
            end = OUT if over < 0 else home.end_of(top)[0]
            # Of tilts that do the same the first one is kept.
            if end != pocket and not graph.has_edge(pocket, end):
                graph.add_edge(pocket, end, tilt=k)
    return graph


def _one_in_each(states, places, order, limit_mm3):
    """Vents that no rocking saves: one in each group of pockets that nothing leads out of."""
    import networkx as nx

    home = states[0]
    group = nx.condensation(_graph(states))
    pocket_of = {k: home.end_of(tuple(float(v) for v in places[k]))[0] for k in order}
    needed = []
    for node in group.nodes:
        members = group.nodes[node]["members"]
        if group.out_degree(node) or OUT in members:
            continue
        if sum(home.holds_mm3[pocket] for pocket in members) < limit_mm3:
            continue
        # The one that lets out most.
        needed += [k for k in order if pocket_of[k] in members][:1]
    return needed


def _filled_up(needed, order, n_kept):
    """The vents that are needed, and the most useful others up to a number."""
    return [*needed, *(k for k in order if k not in needed)][:n_kept]


def _walk(states, limit_mm3):
    """Walk the largest bubble out along the graph, all others with it, and so on; or None."""
    import networkx as nx

    home, bubbles, sequence = states[0], _bubbles(states[0]), []
    graph = _graph(states)
    still_mm3 = left_mm3 = sum(volume for _, volume in bubbles)
    while left_mm3 >= limit_mm3:
        place, _ = max(bubbles, key=lambda bubble: bubble[1])
        try:
            way = nx.shortest_path(graph, home.end_of(place)[0], OUT)
        except nx.NetworkXNoPath:
            return None
        for pair in pairwise(way):
            k = graph.edges[pair]["tilt"]
            bubbles = home.rise(states[k].rise(bubbles))
            sequence.append(k)
            left_mm3 = float(sum(volume for _, volume in bubbles))
            if len(sequence) == MOST_STEPS or left_mm3 < limit_mm3:
                break
        if len(sequence) == MOST_STEPS:
            break
    return (tuple(sequence), left_mm3, still_mm3) if left_mm3 < limit_mm3 else None
