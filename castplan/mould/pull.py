"""The finished halves pulled apart: what the solids hold against what the plan says."""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from castplan.columns import field as columns
from castplan.mould.records import Solid
from castplan.part.records import Part
from castplan.split.records import ProofResult, Split

# Lengths in a column under this are films that cuts of solids leave where faces touch.
FILM_MM = 0.05
ACROSS = 400  # columns along the box's longer side
NO_FACES = np.empty((0, 3), dtype=np.int32)


def pull_solids(
    part: Part, split: Split, halves: tuple[Solid, Solid], pieces: tuple[Solid, ...] = ()
) -> ProofResult:
    """Draw the upper half up and the lower half down, column by column.

    Silicone of the upper half cannot leave where part or the lower half lies
    above it in its column; the lower half's where part or upper half lies below.

    Parameters
    ----------
    part : Part
    split : Split
    halves : (upper, lower)
        As cut, draw frame.
    pieces : tuple of Solid
        Loose ones, out of the way before the halves move.

    Returns
    -------
    ProofResult
        That of the split, with what the solids hold and where most of it is.
    """
    frame, box, proof = split.draw.frame, split.box, split.proof
    low, high = np.asarray(box.low_mm), np.asarray(box.high_mm)
    pitch_mm = float((high - low)[:2].max()) / ACROSS
    # Corners of the box that no facet uses: all three are seen on one lattice.
    corners = np.array(np.meshgrid(*zip(low, high, strict=True), indexing="ij")).reshape(3, -1).T

    def seen(points, faces, caps, rotation):
        return columns.sample(
            np.concatenate([points, corners @ rotation]), faces, caps, rotation, pitch_mm=pitch_mm
        )

    body = seen(part.vertices_mm, part.faces, part.cap_faces, frame.rotation)
    upper, lower = (seen(half.vertices_mm, half.faces, NO_FACES, np.eye(3)) for half in halves)
    up = _blocked(upper, (body, lower), is_up=True)
    down = _blocked(lower, (body, upper), is_up=False)
    cell = body.cell_mm2
    where = None
    worst = max((up, down), key=lambda held: float(held[0].max(initial=0.0)))
    if worst[0].any():
        k = int(np.argmax(worst[0]))
        at = np.append(body.centre_mm(worst[1][k : k + 1])[0], worst[2][k])
        where = tuple(float(v) for v in frame.to_part(at))
    return replace(
        proof,
        solids_upper_mm3=float(up[0].sum() * cell),
        solids_lower_mm3=float(down[0].sum() * cell),
        solids_loose_mm3=_pull_pieces(part, split, halves, pieces),
        solids_where_mm=where,
    )


def _pull_pieces(part, split, halves, pieces):
    """Volume of the loose pieces with part, half or a later piece on their way out [mm3]."""
    box = split.box
    ends = zip(box.low_mm, box.high_mm, strict=True)
    corners = np.array(np.meshgrid(*ends, indexing="ij")).reshape(3, -1).T
    pitch_mm = float(np.ptp(corners, axis=0).max()) / ACROSS
    held_mm3 = 0.0
    for k, piece in enumerate(split.pieces):
        turn = piece.frame.rotation @ split.draw.frame.rotation.T

        def seen(solid, turn=turn):
            points = np.concatenate([solid.vertices_mm, corners])
            return columns.sample(points, solid.faces, NO_FACES, turn, pitch_mm=pitch_mm)

        body = columns.sample(
            np.concatenate([part.vertices_mm, split.draw.frame.to_part(corners)]),
            part.faces,
            part.cap_faces,
            piece.frame.rotation,
            pitch_mm=pitch_mm,
        )
        in_place = [seen(solid) for solid in (*halves, *pieces[k + 1 :])]
        held, _, _ = _blocked(seen(pieces[k]), (body, *in_place), is_up=True)
        held_mm3 += float(held.sum() * body.cell_mm2)
    return held_mm3


def _blocked(rubber, obstacles, *, is_up):
    """Length, column and middle of each piece of rubber that has an obstacle on its way out."""
    edge = np.full(rubber.n_x * rubber.n_y, -np.inf)
    for other in obstacles:
        thick = other.top_mm - other.bottom_mm > FILM_MM
        ends = other.bottom_mm if is_up else -other.top_mm
        np.maximum.at(edge, other.column_of[thick], ends[thick])
    near, far = (rubber.bottom_mm, rubber.top_mm) if is_up else (-rubber.top_mm, -rubber.bottom_mm)
    stop = np.minimum(far, edge[rubber.column_of])
    length = np.where(stop - near > FILM_MM, stop - near, 0.0)
    # Facets of the cut leave slivers along a wall, narrower than two columns; no mould feels them.
    mask = np.zeros(rubber.n_x * rubber.n_y, dtype=bool)
    mask[rubber.column_of[length > 0]] = True
    wide = ndimage.binary_opening(mask.reshape(rubber.n_y, rubber.n_x), np.ones((2, 2)))
    length[~wide.ravel()[rubber.column_of]] = 0.0
    middle = 0.5 * (near + np.maximum(stop, near))
    return length, rubber.column_of, middle if is_up else -middle
