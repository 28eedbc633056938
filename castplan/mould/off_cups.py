"""Vents that keep off the gates: silicone between a channel, a gate's cone and the cup on it."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np

from castplan._arrays import freeze
from castplan.air.records import GateResult, VentsResult
from castplan.geometry.block import cup_depth_mm, cup_mm3
from castplan.geometry.channels import ROUNDING_MM, Block
from castplan.materials.gate import BETWEEN_CUP_MM, off_cup_mm
from castplan.mould.records import MouldResult, Port
from castplan.record import record

STEP_MM = 0.5  # along a channel
HIGHEST_CUP_MM = 50.0  # a narrow cup higher than this falls over (assumed)
# So narrow a cup, or so high a one, is taken rather than a vent that leans (assumed).
NARROW_CUP_MM = 14.0
HIGH_CUP_MM = 40.0
BESIDE_BORE_MM = 4.0  # that a cup is wider than the gate's bore, at least (assumed)


@record
class GateEnd:
    """The last leg of a gate, its cone, and the cup that stands on it; rest frame."""

    label: str
    leg_mm: np.ndarray  # (2, 3) the exit last
    bore_mm: float
    cone_mm: float  # across its mouth
    deep_mm: float  # of the cone
    cup_mm: float  # inside of the cup on the box

    def __post_init__(self):
        freeze(self, "leg_mm", shape=(2, 3))

    def cone_gap_mm(self, path, *, bore_mm: float) -> float:
        """Silicone between a channel (k, 3) and the cone, mm; below 0 they meet."""
        start, end = self.leg_mm
        points = _points_along(path)
        way = (end - start) / np.linalg.norm(end - start)
        deep = (end - points) @ way
        aside = np.linalg.norm(end - deep[:, None] * way - points, axis=1)
        if self.deep_mm <= 0:
            return np.inf
        slope = 0.5 * (self.cone_mm - self.bore_mm) / self.deep_mm
        radius = 0.5 * self.cone_mm - slope * np.maximum(deep, 0.0)
        gaps_mm = (aside - radius - 0.5 * bore_mm)[deep <= self.deep_mm]
        return float(gaps_mm.min(initial=np.inf))

    def away_mm(self, path) -> float:
        """From the middle of its mouth to that of a channel's (k, 3)."""
        return float(np.linalg.norm(path[-1] - self.leg_mm[1]))

    def is_clear_of(self, path, *, bore_mm: float, is_cup: bool) -> bool:
        """Whether a channel (k, 3) keeps off the cone, with `is_cup` off the cup too."""
        wide_mm = max(self.cone_mm, self.cup_mm)
        is_off_cup = not is_cup or self.away_mm(path) >= off_cup_mm(wide_mm, bore_mm=bore_mm)
        return is_off_cup and self.cone_gap_mm(path, bore_mm=bore_mm) >= BETWEEN_CUP_MM - 1e-9


def gate_ends(block: Block, mould: MouldResult, ways, *, cup_mm: float) -> tuple[GateEnd, ...]:
    """Ends of all gates that a cup stands on.

    Parameters
    ----------
    block : Block
    mould : MouldResult
    ways : sequence of (k, 3)
        Of its ports, in their order, rest frame.
    cup_mm : float
        Inside of the cup.
    """
    return tuple(
        GateEnd(
            label=port.label,
            leg_mm=path[-2:],
            bore_mm=port.diameter_mm,
            cone_mm=min(port.cup_mm, cup_mm) if cup_mm > 0 else port.cup_mm,
            deep_mm=cup_depth_mm(port),
            cup_mm=cup_mm,
        )
        for port, path in zip(mould.ports, ways, strict=True)
        if port.kind == "gate" and port.cup_mm > 0
    )


def lead_off(block: Block, port: Port, way, gates) -> tuple[str, np.ndarray]:
    """The way of a vent, leaning aside where it would come out in a gate's cup or cone.

    Parameters
    ----------
    block : Block
    port : Port
    way : (str, (k, 3))
        Kind and legs of its way, rest frame.
    gates : sequence of GateEnd

    Returns
    -------
    str
    (k, 3) array
        Off cup and cone if it can be, else off the cone, else as it was.
    """
    bore_mm = port.diameter_mm

    def is_off(path, *, is_cup):
        return all(gate.is_clear_of(path, bore_mm=bore_mm, is_cup=is_cup) for gate in gates)

    if way[0] in ("none", "sideways") or is_off(way[1], is_cup=True):
        return way
    aside = [
        (name, _without_stops(path))
        for name, path in block.ways_aside(np.asarray(port.place_mm), bore_mm=bore_mm)
    ]
    for is_cup in (True, False):
        for name, path in (way, *aside):
            if is_off(path, is_cup=is_cup):
                return name, path
    return way


def widest_mm(mould: MouldResult, vents: VentsResult, gate: Port) -> float:
    """The widest cup on a gate that its vents leave room for, mm; inf without vents."""
    exits = {route.label: np.array(route.exit_mm) for route in vents.routes if route.is_open}
    if gate.label not in exits:
        return np.inf
    return min(
        (
            2 * (float(np.linalg.norm(exits[port.label] - exits[gate.label])) - off_mm)
            for port in mould.ports
            if port.kind == "vent" and port.label in exits
            for off_mm in [off_cup_mm(0.0, bore_mm=port.diameter_mm)]
        ),
        default=np.inf,
    )


def narrowest_mm(mould: MouldResult, gate: GateResult) -> float:
    """Inside of the narrowest cup that may stand on the gates before a vent has to lean, mm.

    Parameters
    ----------
    mould : MouldResult
    gate : GateResult
        With the cup as wide as it is best.
    """
    bores_mm = [port.diameter_mm for port in mould.ports if port.kind == "gate"]
    holds_mm = math.sqrt(4000 * gate.reservoir_ml / (math.pi * HIGH_CUP_MM))
    least_mm = max(NARROW_CUP_MM, holds_mm, max(bores_mm, default=0.0) + BESIDE_BORE_MM)
    return min(gate.cup_mm, math.ceil(least_mm))


def fit_cups(
    mould: MouldResult, gate: GateResult, vents: VentsResult
) -> tuple[MouldResult, GateResult]:
    """Narrow a cone or a cup that a vent could not be led off; the cup is higher then.

    It holds as much as before. Where it would be higher than `HIGHEST_CUP_MM` it stays
    as it is, which is told.

    Parameters
    ----------
    mould : MouldResult
    gate : GateResult
    vents : VentsResult
        The ways out.
    """
    ports, cup_mm = [], gate.cup_mm
    for port in mould.ports:
        if port.kind == "gate" and port.cup_mm > 0:
            most_mm = widest_mm(mould, vents, port)
            cup_mm = min(cup_mm, most_mm)
            # The cup stands round its mouth: the cone is no wider.
            cone_mm = min(port.cup_mm, float(np.floor(most_mm)))
            port = replace(port, cup_mm=max(cone_mm, port.diameter_mm))
        ports.append(port)
    less_ml = sum(map(cup_mm3, mould.ports)) / 1000 - sum(map(cup_mm3, ports)) / 1000
    if less_ml > 0:
        upper_ml = mould.upper_ml + (less_ml if mould.is_cut else 0.0)
        mould = replace(
            mould, ports=tuple(ports), ports_ml=mould.ports_ml - less_ml, upper_ml=upper_ml
        )
    if cup_mm >= gate.cup_mm:
        return mould, gate
    cup_mm = math.floor(cup_mm)
    high_mm = gate.cup_high_mm
    if cup_mm > 0:
        needed_mm = 4000 * gate.reservoir_ml / (math.pi * cup_mm**2)
        high_mm = max(high_mm, 5.0 * math.ceil(needed_mm / 5.0))
    bores_mm = [port.diameter_mm for port in ports if port.kind == "gate"]
    if cup_mm < max(bores_mm) or high_mm > HIGHEST_CUP_MM:
        return mould, gate
    sizes_mm = {"gate_number.head": high_mm, "gate_number.cup": float(cup_mm)}
    return mould, replace(
        gate,
        cup_mm=float(cup_mm),
        cup_high_mm=high_mm,
        assumptions=tuple(
            replace(each, value=sizes_mm[each.source.key], basis="computed")
            if each.source.key in sizes_mm
            else each
            for each in gate.assumptions
        ),
    )


def _without_stops(path):
    """A way (k, 3) without legs of no length, such as over to a parting that it starts on."""
    is_leg = np.linalg.norm(np.diff(path, axis=0), axis=1) > ROUNDING_MM
    return path[np.append(True, is_leg)]


def _points_along(path):
    """Points on a channel (k, 3), close together, its exit among them, (n, 3)."""
    points = [np.asarray(path)[-1:]]
    for start, end in pairwise(path):
        n = int(np.linalg.norm(end - start) // STEP_MM) + 1
        points.append(start + np.linspace(0.0, 1.0, n + 1)[:, None] * (end - start))
    return np.concatenate(points)
