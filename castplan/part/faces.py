"""Names for the sides of a part: by what is seen there, no two alike."""

from functools import lru_cache
from itertools import permutations

import numpy as np

from castplan.geometry import directions, frames
from castplan.memory import remembered
from castplan.part.records import Face, Faces, Part
from castplan.part.sides import Side, see_sides
from castplan.record import Frame
from castplan.texts.told import UNTOLD, tell

# Extents: thinner than this share of the middle one is a plate, longer than this many
# times it is long; as much wider, thicker or taller is seen (assumed).
THIN, LONG = 0.6, 1.4
SEEN_MORE = 1.15
FLAT, FLAT_BACK, ROUNDED = 0.75, 0.9, 0.5  # shares of a side
BACK_SHARE, MORE = 0.6, 1.001  # of the largest side's area: what is called a back
_SQUARE_DEG, _OWN_FLAT = 2.0, 0.2  # of a frame to a flat; of the surface in such a flat
_ASIDE = 0.06  # of the length, off the middle: nearer to one end
_TOLD = ((2, 1), (2, -1), (0, 1), (0, -1), (1, 1), (1, -1))  # in which order
_FEW = 10  # are told in words


@remembered
def name_faces(part: Part, frame: Frame) -> Faces:
    """Names of the six sides of a part along the axes of a frame.

    Where the frame leans to the part's largest flats it is theirs instead: a draw between
    two sides sees neither of them as it is.

    Parameters
    ----------
    part : Part
    frame : Frame
        The side nearest to its third axis is told last of two that are alike.

    Returns
    -------
    Faces
        The same for the part turned in its file, with the frame turned alike.
    """
    return _name_faces(part, frame)


# Pictures of a plan that stands ask again and again.
@lru_cache(maxsize=4)
def _name_faces(part, frame):
    frame = _own_frame(part, frame)
    extent_mm, sides = see_sides(part, frame)
    whats = {key: _what(extent_mm, sides, side) for key, side in sides.items()}
    whats = _by_ends(whats, extent_mm, sides)
    named = _distinct(whats)
    return Faces(
        faces=tuple(
            Face(
                direction=tuple(float(v) for v in sense * frame.rotation[axis]),
                name=named[axis, sense][0],
                which=named[axis, sense][1],
            )
            for axis, sense in sides
        )
    )


def _own_frame(part, frame):
    """The frame, or the one of the part's largest flats where the frame leans to them.

    Its axes come in the order and the sense of those of the frame.
    """
    normals = directions.main_normals(part, count=1)
    if not len(normals) or _flat_share(part, normals[0]) < _OWN_FLAT:
        return frame
    if np.abs(frame.rotation @ normals[0]).max() > np.cos(np.radians(_SQUARE_DEG)):
        return frame
    own = frames.frame_along(normals[0], frames.hull_points(part)).rotation
    cosines = frame.rotation @ own.T
    rank = {p: float(np.abs(cosines[range(3), p]).sum()) for p in permutations(range(3))}
    order = max(rank, key=lambda p: round(rank[p], 6))
    rows = own[list(order)] * np.where(cosines[range(3), order] < 0, -1.0, 1.0)[:, None]
    if np.linalg.det(rows) < 0:  # no mirror
        rows[0] *= -1
    return Frame(rotation=rows)


def _flat_share(part, normal):
    """Share of the surface that looks along a direction, either way."""
    corners = part.vertices_mm[part.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1)
    is_along = np.abs(cross @ normal) > np.cos(np.radians(_SQUARE_DEG)) * area
    return float(area[is_along].sum() / max(area.sum(), 1e-12))


def _noun(extent_mm, side: Side, is_round):
    """back, face, end, long_side, short_side, side or round_side, by how the part is built."""
    order = np.argsort(extent_mm, kind="stable")
    thin, middle, long = extent_mm[order]
    own = extent_mm[side.axis]
    if is_round is not None:
        if side.axis != is_round:
            return "round_side"
        across = max(extent_mm[k] for k in range(3) if k != is_round)
        return "end" if own > THIN * across else "face"
    if thin < THIN * middle:
        if side.axis == order[0]:
            return "face"
        if long < LONG * middle:
            return "side"
        return "end" if side.axis == order[2] else "long_side"
    if long > LONG * middle:
        return "end" if side.axis == order[2] else "long_side"
    return "side"


def _what(extent_mm, sides, side):
    """What a side is called, without "the": the plainest that tells it from the one behind."""
    circles = [axis for axis in range(3) if sides[axis, 1].is_circle]
    is_round = circles[0] if len(circles) == 1 else None
    noun = "round_side" if len(circles) == 3 else _noun(extent_mm, side, is_round)
    other = sides[side.axis, -side.sense]
    if side.is_rim:
        return tell("face.rim")
    if other.is_rim:
        return tell("face.bottom")
    if noun == "round_side":
        return _plain(noun)
    if _back(extent_mm, sides) == (side.axis, side.sense):
        return tell("face.flat_back")
    if _back(extent_mm, sides) == (side.axis, -side.sense):
        noun = "face"
    if side.pieces:
        return _with(noun, _feature(side.pieces))
    if side.n_teeth > other.n_teeth:
        return _with(noun, tell("face_feature.teeth"))
    if side.n_teeth < other.n_teeth:
        return tell("face.no_teeth", side=_plain(noun))
    if side.n_hollows and not other.n_hollows:
        return _with(noun, tell("face_feature.hollow", n=side.n_hollows))
    if side.flat >= FLAT:
        if noun == "face":
            return tell("face.large_flat_side")
        return (
            tell(f"face.flat_{noun}") if is_round is not None or other.flat < FLAT else _plain(noun)
        )
    if other.pieces:
        return tell("face.far", side=_plain(noun), feature=_feature(other.pieces))
    if side.rounded > ROUNDED and other.rounded <= ROUNDED and noun not in ("end", "long_side"):
        return tell(f"face.rounded_{noun}")
    if other.flat >= FLAT and noun == "face":
        return tell("face.front")
    return _plain(noun)


def _back(extent_mm, sides):
    """The largest side that is flat where the one behind it is not; None without such."""
    areas = [np.prod(np.delete(extent_mm, axis)) for axis in range(3)]
    best, largest = None, BACK_SHARE * max(areas) / MORE
    for key in sorted(sides):
        side, other = sides[key], sides[key[0], -key[1]]
        area = areas[key[0]]
        has_more = other.pieces or other.n_hollows or other.flat < FLAT
        if side.flat >= FLAT_BACK and has_more and not side.n_hollows and area > MORE * largest:
            best, largest = key, area
    return best


def _plain(noun):
    return tell(f"face.{noun}")


def _with(noun, feature):
    return tell("face.with", side=_plain(noun), feature=feature)


def _count(n):
    return tell(f"face_count.n{n}") if 2 <= n <= _FEW else str(n)


def _feature(pieces):
    """What stands on a side, counted: ribs, or all else by what most of it is."""
    kind, some = _kind(pieces)
    return tell(f"face_feature.{kind}", n=len(some), count=_count(len(some)))


def _kind(pieces):
    """What the pieces of a side are together, and those that are meant."""
    ribs = [piece for piece in pieces if piece.kind == "rib"]
    others = [piece for piece in pieces if piece.kind != "rib"]
    if _area(ribs) > _area(others):
        return "rib", ribs
    kinds = [piece.kind for piece in others]
    if kinds.count("foot"):
        return "foot", others
    if 2 * kinds.count("arm") >= len(kinds):
        return "arm", others
    is_tall = 2 * (kinds.count("arm") + kinds.count("post")) >= len(kinds)
    return "post" if is_tall else "pad", others


def _area(pieces):
    return round(sum(piece.area_mm2 for piece in pieces), 3)


def _by_ends(whats, extent_mm, sides):
    """Sides that are called alike and face apart, told by what is nearer to one of them."""
    found = dict(whats)
    for axis in range(3):
        if whats[axis, 1] != whats[axis, -1] or whats[axis, 1].key == "face.round_side":
            continue
        for told in (_by_pieces, _by_holes, _by_width):
            apart = told(whats[axis, 1], axis, extent_mm, sides)
            if apart is not None:
                found[axis, 1], found[axis, -1] = apart
                break
    return found


def _by_pieces(what, axis, extent_mm, sides):
    """Names of the + and the - side by what stands on another side, nearer to one."""
    for key in sorted(sides):
        side = sides[key]
        if side.axis == axis or not side.pieces:
            continue
        kind, some = _kind(side.pieces)
        pieces = sorted(some, key=lambda piece: round(piece.high_mm, 3))
        which = ("taller", "lower") if len(pieces) == 2 else ("tallest", "lowest")
        least, most = pieces[0], pieces[-1]
        apart = (most.middle_mm[axis] - least.middle_mm[axis]) / extent_mm[axis]
        if most.high_mm > SEEN_MORE * least.high_mm and abs(apart) > _ASIDE:
            feature = tell(f"face_feature.{kind}", n=1, count="1")
            names = [tell(f"face.by_{one}", side=what, feature=feature) for one in which]
            return names if apart > 0 else names[::-1]
        found = _nearer(what, axis, extent_mm, sides, side.pieces)
        if found is not None:
            return found
    return None


def _by_holes(what, axis, extent_mm, sides):
    for key in sorted(sides):
        side = sides[key]
        if side.axis != axis and side.holes:
            found = _nearer(what, axis, extent_mm, sides, side.holes)
            if found is not None:
                return found
    return None


def _nearer(what, axis, extent_mm, sides, pieces):
    """By a few pieces that lie all together off the middle."""
    middle = np.mean([piece.middle_mm[axis] for piece in pieces])
    centre = sides[(axis + 1) % 3, 1].middle_of(axis)
    off = (middle - centre) / extent_mm[axis]
    if abs(off) < _ASIDE:
        return None
    if pieces[0].kind in ("hole", "slot"):
        kind, some = max(piece.kind for piece in pieces), pieces
    else:
        kind, some = _kind(pieces)
    feature = tell(f"face_feature.{kind}", n=len(some), count=_count(len(some)))
    names = [tell(f"face.{where}", side=what, feature=feature) for where in ("near", "far")]
    return names if off > 0 else names[::-1]


def _by_width(what, axis, extent_mm, sides):
    """By how wide or thick the part is near either of them."""
    seen = [sides[other, 1].ends_of(axis) for other in range(3) if other != axis]
    for share, pair in zip(
        ("shadow", "solid"), (("wide", "narrow"), ("thick", "thin")), strict=True
    ):
        for ends in seen:
            low, high = ends[share]
            if max(low, high) > SEEN_MORE * min(low, high):
                names = [tell(f"face.{one}", side=what) for one in pair]
                return names if high > low else names[::-1]
    return None


def _distinct(whats):
    """Every name once, and how to tell a side from one that looks like it.

    With "the" where there is one, right and left hand where other sides say which is which;
    else "one" and "the other", or counted. The upper one along the third axis comes first:
    the original is laid with it up.
    """
    alike = {}
    for key, what in sorted(whats.items(), key=lambda item: _TOLD.index(item[0])):
        alike.setdefault(what, []).append(key)
    alone = {keys[0]: what for what, keys in alike.items() if len(keys) == 1}
    named = {key: (_the(what), UNTOLD) for key, what in alone.items()}
    for what, keys in alike.items():
        if len(keys) == 2:
            named |= _by_hand(what, keys, alone) or {
                key: (tell(f"face.{which}", side=what), tell("face.alike"))
                for key, which in zip(keys, ("one", "other"), strict=True)
            }
        elif len(keys) > 2:
            named |= {
                key: (tell("face.numbered", side=what, number=number), tell("face.alike"))
                for number, key in enumerate(keys, start=1)
            }
    return named


def _by_hand(what, keys, alone):
    """Two sides that face apart, by their hand as one looks at a third side; None of others."""
    axis = keys[0][0]
    seen = [key for key in sorted(alone, key=_TOLD.index) if key[0] != axis]
    if axis != keys[1][0] or len({key[0] for key in seen}) < 2:
        return None
    # Looked at is a side with something on it.
    front = next((key for key in seen if alone[key].key == "face.with"), seen[0])
    top = next(key for key in seen if key[0] != front[0])
    right = np.cross(_towards(top), _towards(front))[axis]
    which = tell("face.handed", front=_the(alone[front]), up=_the(alone[top]))
    hands = {key: "right" if key[1] == right else "left" for key in keys}
    return {key: (_the(tell(f"face.{hand}", side=what)), which) for key, hand in hands.items()}


def _the(what):
    return tell("face.the", side=what)


def _towards(key):
    way = np.zeros(3)
    way[key[0]] = key[1]
    return way
