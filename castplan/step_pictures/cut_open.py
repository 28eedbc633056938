"""A block that is poured in one round the original, and cut open along its parting."""

import numpy as np

from castplan.step_pictures import bodies, marks
from castplan.step_pictures.bench import Act, Bench, about_x, arrow_down, beside
from castplan.step_pictures.body import Body
from castplan.step_pictures.camera import eye_from
from castplan.step_pictures.kit import LEDGE_MM, RIM_MM
from castplan.step_pictures.thing import INNER, SAW, Pose, Thing, plain

_OPEN_DEG = 55.0
_BLADE_MM, _HANDLE_MM, _ALONG_MM = 30.0, 40.0, 40.0


class _Stand:
    """How box and original stand for the silicone: upside down, on the sticks."""

    def __init__(self, bench: Bench) -> None:
        kit, plan = bench.kit, bench.kit.plan
        rest = plan.air.openings.frame.rotation @ plan.split.draw.frame.rotation.T
        self.bench, self.kit = bench, kit
        self.pose = kit.on_bench(about_x(180.0) @ rest)
        corners = self.pose.put(
            kit.block_between(low_mm=kit.low_mm[2], high_mm=kit.high_mm[2]).corners_mm
        )
        self.low_mm, self.high_mm = corners.min(axis=0), corners.max(axis=0)

    def own(self, body: Body) -> Body:
        """A body of the bench in the frame of the mould, where all of a thing lies."""
        return Body(self.pose.take(body.corners_mm), body.facets)

    def slab(self) -> Thing:
        """The base board."""
        beside_mm, t = self.kit.board_mm + LEDGE_MM, self.kit.board_mm
        low, high = self.low_mm[:2] - beside_mm, self.high_mm[:2] + beside_mm
        return plain(bodies.box((*low, -t), (*high, 0.0)), "board")

    def box(self, *, is_poured: bool, saw=None, new=()) -> Thing:
        """Original and sticks between walls, in silicone once that is poured."""
        t, (low, high) = self.kit.board_mm, (self.low_mm, self.high_mm)
        rim = high[2] + RIM_MM
        all_round = np.array([t, t, 0.0])
        things = {
            "part": self.kit.part,
            "sticks": self.kit.rods(("first", "second")),
            "box": self.kit.block_between(low_mm=self.kit.low_mm[2], high_mm=self.kit.high_mm[2]),
            INNER: self.own(bodies.box((*low[:2], -1.0), (*high[:2], rim + 1.0))),
            "outer": self.own(bodies.box(low - all_round, (*(high + all_round)[:2], rim))),
        }
        if saw is not None:
            things[SAW] = self.own(saw)

        def made(inside):
            if "part" in inside:
                return "part"
            if "sticks" in inside:
                return "stick" if "box" in inside else ""
            if SAW in inside:
                return ""
            if "outer" in inside and INNER not in inside:
                return "board"
            return "upper" if is_poured and "box" in inside else ""

        return Thing(things, made, self.pose, tuple(new))


def lie(bench: Bench) -> Act:
    """The original, upside down on its sticks."""
    stand = _Stand(bench)
    standing = Thing(
        {
            "part": bench.kit.part,
            "sticks": bench.kit.rods(("first", "second")),
            "box": bench.kit.block_between(
                low_mm=bench.kit.low_mm[2], high_mm=bench.kit.high_mm[2]
            ),
        },
        lambda inside: "part" if "part" in inside else "stick" if len(inside) == 2 else "",
        stand.pose,
        ("stick",),
    )
    middle = 0.5 * (stand.low_mm + stand.high_mm)
    press = arrow_down((middle[0], middle[1], stand.high_mm[2]), long_mm=bench.step_mm + 8)
    letters = bench.letters(lambda route: stand.pose)
    return Act("lie", (stand.slab(), standing), (press, *letters))


def box(bench: Bench) -> Act:
    """Walls go round."""
    stand = _Stand(bench)
    standing = stand.box(is_poured=False, saw=_near(stand), new=("board",))
    low, high, long_mm = stand.low_mm, stand.high_mm, bench.step_mm
    middle = 0.5 * (low + high)
    front = np.array([middle[0], low[1] - 4.0, middle[2]])
    return Act(
        "box", (stand.slab(), standing), (marks.Arrow(np.array([front - (0, long_mm, 0), front])),)
    )


def _near(stand):
    """What stands before the inside of the box, on the bench."""
    low, high, far = stand.low_mm, stand.high_mm, 1e4
    right = eye_from(is_right=stand.bench.is_right)[2][0] > 0
    aside = (high[0] - 0.01, far) if right else (-far, low[0] + 0.01)
    return bodies.joined(
        [
            bodies.box((-far, -far, -far), (far, low[1] + 0.01, far)),
            bodies.box((aside[0], -far, -far), (aside[1], far, far)),
        ]
    )


def first_pour(bench: Bench) -> Act:
    """Silicone round the whole original; cut open."""
    stand = _Stand(bench)
    middle = float(stand.pose.put(bench.kit.bounds_mm.mean(axis=0)[None])[0, 1])
    saw = bodies.box((-1e4, -1e4, -1e4), (1e4, middle, 1e4))
    block = stand.box(is_poured=True, saw=saw, new=("upper",))
    side = stand.low_mm[0] + 6.0 if bench.is_right else stand.high_mm[0] - 6.0
    foot = np.array([side, stand.high_mm[1] - 6.0, stand.high_mm[2]])
    stream, arrows = bench.stream_at(foot, "upper")
    return Act("pour_first", (stand.slab(), block, *stream), tuple(arrows))


def cut(bench: Bench) -> Act:
    """The knife starts on the marked side, up and down along the parting."""
    kit, slit = bench.kit, bench.kit.plan.mould.slit
    pose = _towards_reader(bench)
    things = [_lips(kit, pose)]
    marked = pose.put(slit.outside_mm)
    # Just off the block, so that the line is drawn over it.
    way = pose.turn @ np.array(slit.way)
    side = marked @ way
    start = marked[np.argmax(np.round(side - 1e-3 * np.abs(marked[:, 0]), 6))]
    lean = np.array([0.0, 0.0, 1.0])
    along = np.cross(lean, way)
    things += _knife(start, way, along)
    seen = [marks.Line(path) for path in _before(marked, way)]
    high = start + 4.0 * way + (0.5 * float(np.ptp(marked[:, 2])) + 12.0) * lean
    arrow = marks.Arrow(np.array([high, high + _ALONG_MM * along]))
    return Act("cut", tuple(things), (*seen, arrow))


def _knife(tip, way, along):
    """A blade with its point at a place, its edge along the cut, and the handle behind it."""
    blade = np.array([(0, 0), (14, -7), (_BLADE_MM, -7), (_BLADE_MM, 3), (10, 3)])
    flat = bodies.prism(blade, low_mm=-0.6, high_mm=0.6)
    axes = np.stack([way, along, np.cross(way, along)])
    handle = tip + _BLADE_MM * way - 2.0 * along
    return [
        plain(Body(tip + flat.corners_mm @ axes, flat.facets), "tool", is_new=True),
        plain(bodies.rod([handle, handle + _HANDLE_MM * way], diameter_mm=11.0), "board"),
    ]


def _before(path_mm, way):
    """Stretches of a path round the block that lie on the marked side."""
    on = path_mm @ way > (path_mm @ way).max() - 0.5
    ends = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]]).astype(int)))
    return [path_mm[a:b] for a, b in ends.reshape(-1, 2) if b - a > 1]


def _towards_reader(bench) -> Pose:
    """The block as it lies to be cut, its marked side to the reader."""
    way = np.array(bench.kit.plan.mould.slit.way)
    angle = -np.pi / 2 - np.arctan2(way[1], way[0])
    cos, sin = np.round(np.cos(angle), 9), np.round(np.sin(angle), 9)
    return bench.kit.on_bench(np.array([(cos, -sin, 0), (sin, cos, 0), (0, 0, 1.0)]))


def _lips(kit, pose, *, is_upper: bool | None = None) -> Thing:
    """The block, or one of its lips; of one silicone."""

    def made(inside):
        if "box" not in inside or inside & {"part", "channels"}:
            return ""
        return "upper" if is_upper is None or kit.is_under(inside) != is_upper else ""

    return Thing(kit.half("upper", pose).bodies, made, pose, ("upper",))


def open_block(bench: Bench) -> Act:
    """The lips bent apart about the hinge that was left, the original lifted out."""
    return Act("open", *_opened(bench))


def overview(bench: Bench) -> Act:
    """The block held open, with the original."""
    return Act("overview", *_opened(bench))


def _opened(bench):
    kit, pose = bench.kit, _towards_reader(bench)
    lower = _lips(kit, pose, is_upper=False)
    corners = lower.corners_mm()
    high_mm = corners[:, 1].max()
    face = bench.high_of(pose, draw_mm=kit.plan.split.line.box_height_mm)
    bent = pose.hinged(np.array([0.0, high_mm, face]), about_x(-_OPEN_DEG))
    upper = _lips(kit, bent, is_upper=True)
    # Out of the open side, towards the reader.
    deep_mm = float(np.ptp(bench.part_at(pose).corners_mm()[:, 1]))
    away_mm = -0.5 * float(np.ptp(corners[:, 1])) - 0.5 * deep_mm - 6.0
    part = bench.part_at(pose.moved((0.0, away_mm, 0.0)), is_new=True)
    front = part.corners_mm()
    foot = beside(0.5 * (front.min(axis=0) + front.max(axis=0)), y=-0.5 * deep_mm - 4.0)
    pull = marks.Arrow(np.array([foot, beside(foot, y=-bench.step_mm)]))
    return (lower, upper, part), (pull,)
