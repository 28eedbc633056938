"""Step pictures of a plan: which there are, and each as pixels."""

import struct
import zlib
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from castplan.errors import InputError
from castplan.part.faces import name_faces
from castplan.part.records import Face
from castplan.plan_record import Plan
from castplan.step_pictures import broken, lines
from castplan.step_pictures.acts import make_act, names_of
from castplan.step_pictures.bench import Bench
from castplan.step_pictures.camera import eye_from, frame_all
from castplan.step_pictures.draw import look_at, render
from castplan.step_pictures.kit import Kit
from castplan.step_pictures.marks import Letters, Line
from castplan.step_pictures.second_half import LONG

# Printed 90 mm wide this is 250 dots an inch; the overview is printed as wide as the paper.
WIDE_PX = 900
_WIDER_PX = {"overview": 1350, "turn": 1200}
_HIGH_PX, _HIGHER_PX = 900, {"overview": 1000}  # of a picture of something tall
_ROOM_PX = 30
_TRIAL_PX = 160  # of the part, to choose the side that it is seen from
_BETTER = 1.02  # so much more must be seen from the left to look from there
_SHOW_COS, _SHOW_WEIGHT = 0.5, 0.05  # a pixel of the show face counts as so much line


@dataclass(frozen=True, eq=False)
class StepPicture:
    """One picture; rows of its pixels run from the top."""

    name: str
    pixels: np.ndarray = field(repr=False)  # (n_y, n_x, 3) uint8, read-only
    px_per_mm: float  # of what lies square to the view

    def png(self) -> bytes:
        """The picture as a PNG file; the same picture gives the same bytes."""
        n_y, n_x, _ = self.pixels.shape
        # Rows as they are: of few colours they pack smaller than their differences do.
        rows = np.pad(self.pixels.reshape(n_y, -1), ((0, 0), (1, 0)))
        packed = zlib.compress(rows.tobytes(), 6)
        head = struct.pack(">IIBBBBB", n_x, n_y, 8, 2, 0, 0, 0)
        return b"\x89PNG\r\n\x1a\n" + b"".join(
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
            for kind, body in ((b"IHDR", head), (b"IDAT", packed), (b"IEND", b""))
        )


def list_names(plan: Plan) -> tuple[str, ...]:
    """Names of the pictures that a plan has, the overview first, then in the order of the work.

    Parameters
    ----------
    plan : Plan
    """
    return names_of(_bench_of(plan))


def down_side(plan: Plan) -> Face:
    """The side of the original that lies down for the first pour, marked in the picture ``lie``.

    Parameters
    ----------
    plan : Plan
    """
    frame = plan.split.draw.frame
    down = -_bench_of(plan).first_turn[2]
    return name_faces(plan.part, frame).towards(frame.to_part(down))


def name_steps(plan: Plan) -> tuple[tuple[str, ...], ...]:
    """For each step of the schedule the pictures that show it; none for most.

    Parameters
    ----------
    plan : Plan
    """
    there = set(list_names(plan))
    of_kind = {
        "mark": ["lie"] if "bed" in there else [],
        "fix": ["bed"] if "bed" in there else ["lie"],
        "stop": ["stop"],
        "plug": ["plug"],
        "set_in": ["pieces"],
        "box": ["box"],
        "keys": ["keys"],
        "turn": ["turn"],
        "coats": ["coats"],
        "cut": ["cut"],
        "open": ["open"],
        "close": ["close"],
        "mix": ["mix"],
        "cast": ["cast"],
        "out": ["out"],
    }
    found, is_turned = [], False
    for step in plan.bench.schedule.steps:
        is_turned |= step.kind == "turn"
        names = of_kind.get(step.kind, [])
        if step.kind in ("pour", "weigh"):
            names = [f"{step.kind}_{'second' if is_turned else 'first'}"]
        elif step.kind == "sticks":
            names = ["sticks" if is_turned else "rods"]
        found.append(tuple(name for name in names if name in there))
    return tuple(found)


def draw_picture(plan: Plan, name: str) -> StepPicture:
    """One picture of a plan; the same plan gives the same pixels.

    Parameters
    ----------
    plan : Plan
    name : str
        One of `list_names`.

    Returns
    -------
    StepPicture

    Raises
    ------
    InputError
        The plan has no such picture.
    """
    bench = _bench_of(plan)
    there = names_of(bench)
    if name not in there:
        raise InputError(
            "step picture",
            found=repr(name),
            need=f"one of {', '.join(there)}",
            do="Name a step that this plan has.",
        )
    act = make_act(bench, name)
    rotation = eye_from(is_right=bench.is_right)
    reach = [thing.corners_mm() for thing in act.things] + [mark.reach_mm() for mark in act.marks]
    points = np.concatenate(reach)
    size_mm = np.ptp(points @ rotation[:2].T, axis=0)
    room = np.array([_WIDER_PX.get(name, WIDE_PX), _HIGHER_PX.get(name, _HIGH_PX)]) - 2 * _ROOM_PX
    px_per_mm = float((room / size_mm).min())
    long, *others = sorted(bench.size_mm, reverse=True)
    pixels = None
    if long > LONG * max(others):
        pixels = _broken(act, rotation, points, px_per_mm)
    if pixels is None:
        camera = frame_all(rotation, points, px_per_mm=px_per_mm, room_px=_ROOM_PX)
        pixels = render(list(act.things), camera, act.marks)
    pixels.setflags(write=False)
    return StepPicture(name, pixels, px_per_mm)


def _broken(act, rotation, points, px_per_mm):
    """The picture of something long, larger and with stretches left out; None of other things."""
    size_px = np.ptp(points @ rotation[:2].T, axis=0) * px_per_mm
    aspect = size_px[0] / size_px[1]
    if aspect < broken.LONG:
        return None
    larger = min(aspect / broken.AS_WIDE, broken.LARGER)
    camera = frame_all(rotation, points, px_per_mm=larger * px_per_mm, room_px=_ROOM_PX)
    busy, wide_px = [], camera.size_px[0]
    for mark in act.marks:
        x = camera.to_paper(mark.reach_mm())[:, 0]
        if isinstance(mark, Letters):
            busy += [(float(each), float(each)) for each in x]
        elif not isinstance(mark, Line):  # which shows where something long goes
            busy.append((float(x.min()), float(x.max())))
    stretches = broken.list_stretches(busy, wide_px=wide_px, spare_px=wide_px * (1 - 1 / larger))
    if not stretches:
        return None
    axis = rotation[:2, int(np.argmax(np.ptp(points[:, :2], axis=0)))]
    pixels = render(list(act.things), camera, act.marks)
    return broken.shorten(pixels, stretches, slope=float(axis[1] / axis[0]))


@lru_cache(maxsize=2)
def _bench_of(plan):
    """The bench of a plan, seen from the side that shows more of the original."""
    kit = Kit(plan)
    seen = {is_right: _seen_from(Bench(kit, is_right=is_right)) for is_right in (True, False)}
    return Bench(kit, is_right=seen[False] < _BETTER * seen[True])


def _seen_from(bench):
    """How much of the original is to be seen, lying and turned: lines, and its show face."""
    rotation, plan = eye_from(is_right=bench.is_right), bench.kit.plan
    total = 0.0
    for pose in (bench.lying, bench.turned):
        part = bench.part_at(pose)
        corners = part.corners_mm()
        px_per_mm = _TRIAL_PX / float(np.ptp(corners @ rotation[:2].T, axis=0).max())
        camera = frame_all(rotation, corners, px_per_mm=px_per_mm, room_px=2)
        seen = look_at([part], camera)
        buffers = [a.ravel() for a in (seen.depth_px, seen.facet, seen.made, seen.thing)]
        is_new = np.zeros((2, 256), dtype=bool)
        for found in lines.find_edges(tuple(buffers), seen.normals, is_new, camera.size_px[0]):
            total += np.count_nonzero(found)
        if plan.show.direction is not None:
            show = plan.split.draw.frame.to_frame(np.array(plan.show.direction))
            ahead = rotation @ pose.turn @ show
            cosine = seen.normals[seen.facet[seen.facet >= 0]] @ ahead
            total += _SHOW_WEIGHT * np.count_nonzero(cosine > _SHOW_COS)
    return total
