"""The cavity as it stands at the pour, and the air it keeps with some openings shut."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from castplan.columns import field as columns
from castplan.columns.field import ColumnField
from castplan.columns.flood import Filling, fill_field, label_joined
from castplan.columns.peaks import LEVEL_MM
from castplan.geometry.boxes import ON_BOARD_MM
from castplan.mould.fill import intervals_under
from castplan.part.records import Part
from castplan.plan_record import Plan
from castplan.record import Frame

ACROSS = 192  # columns along the longest side


@dataclass(frozen=True, kw_only=True, eq=False)
class Pocket:
    """Air that is cut off from every opening at the end of the pour."""

    volume_mm3: float
    top_mm: tuple[float, float, float]  # part frame, its highest point
    base_mm: np.ndarray  # (k, 3) part frame, lower ends of its columns
    tops_mm: np.ndarray  # (k, 3) and their upper ends

    def away_mm(self, place_mm) -> float:
        """Distance of a place of the part frame; 0 inside, within the pitch."""
        step = self.tops_mm - self.base_mm
        length2 = np.maximum((step**2).sum(axis=1), 1e-12)
        along = np.clip(((place_mm - self.base_mm) * step).sum(axis=1) / length2, 0, 1)
        points = self.base_mm + along[:, None] * step
        return float(np.linalg.norm(points - place_mm, axis=1).min())


@dataclass(frozen=True, kw_only=True, eq=False)
class Cavity:
    """The part along up, with the openings of the mould in the order of its ports."""

    field: ColumnField
    frame: Frame
    labels: tuple[str, ...]
    source: int  # interval under the gate
    openings: np.ndarray  # (k,) intervals under the ports
    lets_air: np.ndarray  # (k,) bool; a gate that feeds from below lets none out
    others: tuple[int, ...] = ()  # intervals under the gates of further cavities

    @cached_property
    def planned(self) -> tuple[Pocket, ...]:
        """Air that stays with every opening doing its work, largest first."""
        return self.pockets(self.openings[self.lets_air])

    def without(self, label: str) -> tuple[Pocket, ...]:
        """Air that stays besides with one opening shut, largest first."""
        is_open = self.lets_air & (np.array(self.labels) != label)
        kept = [pocket.top_mm for pocket in self.planned]
        return tuple(
            pocket for pocket in self.pockets(self.openings[is_open]) if pocket.top_mm not in kept
        )

    def filling(self, openings) -> Filling:
        """The pour with these intervals open."""
        return fill_field(self.field, source=self.source, openings=openings, others=self.others)

    def pockets(self, openings) -> tuple[Pocket, ...]:
        """Air that stays with these intervals open, largest first."""
        f, filling = self.field, self.filling(openings)
        air = filling.caught_mm(level_mm=np.nextafter(filling.high_mm, np.inf))
        floor = f.top_mm - air
        label, n = label_joined(f.first, floor, f.top_mm, f.column_of, f.n_x, air > 0)
        found = []
        for k in range(n):
            members = np.flatnonzero(label == k)
            volume_mm3 = float(air[members].sum() * f.cell_mm2)
            # Lower than a column is wide it is noise of scan and sampling.
            if air[members].max() <= f.pitch_mm:
                continue
            xy = f.centre_mm(f.column_of[members])
            base, tops = (
                self.frame.to_part(np.column_stack([xy, z[members]])) for z in (floor, f.top_mm)
            )
            highest = _middle_top(f, members, xy)
            found.append(
                Pocket(
                    volume_mm3=volume_mm3,
                    top_mm=tuple(float(v) for v in tops[highest]),
                    base_mm=base,
                    tops_mm=tops,
                )
            )
        return tuple(sorted(found, key=lambda pocket: -pocket.volume_mm3))

    def caught_mm3(self, openings) -> float:
        """All air that stays with these intervals open."""
        return sum(pocket.volume_mm3 for pocket in self.pockets(openings))

    def under(self, places_mm) -> np.ndarray:
        """Intervals that an opening at places (k, 3) of the part frame would open, (k,)."""
        return intervals_under(self.field, self.frame.to_frame(np.asarray(places_mm)))


def cavity_of(plan: Plan, *, frame: Frame | None = None, across: int = ACROSS) -> Cavity:
    """The cavity of a plan at its pour, or as it stands in another frame.

    Parameters
    ----------
    plan : Plan
    frame : Frame, optional
        With +z up; the plan's own where left out.
    across : int
        Columns along the longest side.
    """
    frame = frame or plan.air.attitude.frame
    field = sample(plan.part, frame, across=across)
    ports = plan.mould.block.ports
    if not ports:
        return _open_cavity(plan, field, frame)
    places = plan.air.openings.frame.to_part(np.array([port.place_mm for port in ports]))
    points = frame.to_frame(places)
    if np.array_equal(frame.rotation, plan.air.attitude.frame.rotation):
        openings = intervals_under(field, points)
    else:
        # Turned out of its level an opening stays where it is: carried on
        # upward, a low start would end under another roof.
        openings = np.array([_holds(field, point) for point in points], dtype=np.int64)
    leads_out = {route.label: route.route != "none" for route in plan.mould.vents.routes}
    gates = {}  # the first of each cavity
    for k, port in enumerate(ports):
        if port.kind == "gate":
            gates.setdefault(port.cavity, k)
    first, *others = (
        _holds(field, points[k]) if ports[k].is_riser else int(openings[k]) for k in gates.values()
    )
    return Cavity(
        field=field,
        frame=frame,
        labels=tuple(port.label for port in ports),
        source=first,
        openings=openings,
        lets_air=np.array(
            [leads_out.get(port.label, True) and not port.is_riser for port in ports]
        ),
        others=tuple(others),
    )


def _open_cavity(plan, field, frame):
    """Of an open mould: resin comes in and air leaves all over the open back of each part.

    A back in several places, as the feet of an arch, is open at each of them.
    """
    draw = plan.split.draw.frame
    tops = frame.to_part(np.column_stack([field.centre_mm(field.column_of), field.top_mm]))
    over_board_mm = tops @ draw.up - float((plan.part.vertices_mm @ draw.up).min())
    # Out of level a back rises by less than a column is wide across one.
    backs = _joined(field, over_board_mm <= ON_BOARD_MM + field.pitch_mm)
    parts = _joined(field, np.ones(len(field.top_mm), dtype=bool))
    order = np.lexsort((-np.round(field.top_mm, 9), backs))
    order = order[backs[order] >= 0]
    openings = order[np.unique(backs[order], return_index=True)[1]]  # the highest of each
    sources = openings[np.unique(parts[openings], return_index=True)[1]]
    return Cavity(
        field=field,
        frame=frame,
        labels=("",) * len(openings),
        source=int(sources[0]),
        openings=openings,
        lets_air=np.ones(len(openings), dtype=bool),
        others=tuple(int(k) for k in sources[1:]),
    )


def _joined(field, is_member):
    """Groups of intervals that touch each other, (n,) from 0; -1 for those that are none."""
    return label_joined(
        field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x, is_member
    )[0]


def _middle_top(field, members, xy):
    """Which of some intervals is highest; of a level roof the one in its middle."""
    top = field.top_mm[members]
    level = np.flatnonzero(top >= top.max() - LEVEL_MM)
    away = np.linalg.norm(xy[level] - xy[level].mean(axis=0), axis=1)
    return int(level[np.argmin(np.round(away, 6))])


def _holds(field, point):
    """The interval that holds a point, or the nearest to it."""
    across = np.linalg.norm(field.centre_mm(field.column_of) - point[:2], axis=1)
    off = np.maximum(np.maximum(field.bottom_mm - point[2], point[2] - field.top_mm), 0.0)
    return int(np.argmin(np.round(across + off, 9)))


def sample(part: Part, frame: Frame, *, across: int = ACROSS) -> ColumnField:
    """The part along a frame's +z, so many columns along its longest side."""
    pitch_mm = max(part.check.extent_mm) / across
    return columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )
