"""Causes that lie in a loose piece: one that did not sit home, or fits its seat loosely."""

import numpy as np
import shapely

from castplan.after.case import Case, near, told_distance
from castplan.after.mould_causes import SEAM_MM
from castplan.after.records import Cause
from castplan.geometry import slide
from castplan.split.records import LoosePiece
from castplan.texts.told import tell

# Resin that creeps along a piece is flash at once; the halves gape more rarely there than a
# piece that is put back by hand for each casting (both assumed).
CREPT_WEIGHT, ASIDE_WEIGHT = 0.8, 0.45
NOWHERE = 0.4  # where no place was told


def round_a_piece(case: Case) -> list[Cause]:
    """Flash round a loose piece: resin crept in between it and the halves."""
    found = _nearest(case)
    if found is None:
        return []
    piece, at, where = found
    return [
        Cause(
            code="piece-loose",
            text=tell(f"cause_loose.crept_{piece.kind}", label=piece.label),
            evidence=(*where, *case.repeated()),
            test=tell("cause_loose.crept_test", label=piece.label),
            weight=CREPT_WEIGHT * at,
        )
    ]


def short_of_its_seat(case: Case) -> list[Cause]:
    """A step where a loose piece meets a half: it was not pushed home."""
    found = _nearest(case)
    if found is None:
        return []
    piece, at, where = found
    return [
        Cause(
            code="piece-not-home",
            text=tell("cause_loose.not_home", label=piece.label),
            evidence=(*where, *case.repeated()),
            test=tell("cause_loose.not_home_test", label=piece.label),
            weight=max(CREPT_WEIGHT * at, ASIDE_WEIGHT * (case.where_draw_mm is None)),
        )
    ]


def _nearest(case):
    """The piece whose wall lies nearest to the defect, how near, and the distance as told."""
    pieces = case.plan.split.pieces
    if not pieces:
        return None
    if case.defect.where_mm is None:
        return pieces[0], NOWHERE, ()
    place = np.array(case.defect.where_mm)
    away = [wall_distance_mm(piece, place) for piece in pieces]
    k = int(np.argmin(away))
    at = near(away[k], reach_mm=max(SEAM_MM, case.reach_mm))
    told = told_distance(away[k], tell("cause_loose.from_piece", label=pieces[k].label))
    return pieces[k], at, (told,)


def wall_distance_mm(piece: LoosePiece, place_mm) -> float:
    """From a place of the part frame to the wall of a piece, along which resin could creep.

    Parameters
    ----------
    piece : LoosePiece
    place_mm : (3,) array_like
    """
    x, y, z = piece.frame.to_frame(np.asarray(place_mm, dtype=float))
    # Where the part ends the end that widens begins.
    past_mm = max(piece.low_mm - z, z - piece.face_mm, 0.0)
    aside_mm = shapely.distance(slide.section_of(piece).boundary, shapely.Point(x, y))
    return float(np.hypot(aside_mm, past_mm))
