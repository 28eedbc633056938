"""The finished halves pulled apart: what the solids hold against what the plan says."""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from castplan.columns import field as columns
from castplan.mould.records import Solid
from castplan.part.records import Part
from castplan.record import Finding, Frame
from castplan.split.records import BoxResult, ProofResult
from castplan.texts.told import tell

# Lengths in a column under this are films that cuts of solids leave where faces touch.
FILM_MM = 0.05
# More than the plan says by this much is another mould than the one planned: a
# cube of 3.7 mm, as for undercuts worth telling (assumed).
WORTH_TELLING_MM3 = 50.0
ACROSS = 400  # columns along the box's longer side
NO_FACES = np.empty((0, 3), dtype=np.int32)


def pull_solids(
    part: Part, frame: Frame, box: BoxResult, halves: tuple[Solid, Solid], proof: ProofResult
) -> ProofResult:
    """Draw the upper half up and the lower half down, column by column.

    Silicone of the upper half cannot leave where part or the lower half lies
    above it in its column; the lower half's where part or upper half lies below.

    Parameters
    ----------
    part : Part
    frame : Frame
        Along the draw.
    box : BoxResult
    halves : (upper, lower)
        As cut, draw frame.
    proof : ProofResult
        Of the plan.

    Returns
    -------
    ProofResult
        The same, with what the solids hold and where most of it is.
    """
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
        solids_where_mm=where,
    )


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


def list_proof_findings(proof: ProofResult, *, tie_mm3: float) -> tuple[Finding, ...]:
    """Stop where the finished mould holds more than the split promised.

    Parameters
    ----------
    proof : ProofResult
    tie_mm3 : float
        Trapped volume that counts as nothing.
    """
    limit_mm3 = max(tie_mm3, WORTH_TELLING_MM3)
    told = []
    for code, key, held_mm3, where in (
        ("proof-holds", "columns", proof.trapped_mm3, None),
        ("solids-hold", "solids", proof.solids_mm3, proof.solids_where_mm),
    ):
        if held_mm3 is not None and held_mm3 > proof.promised_mm3 + limit_mm3:
            more = f"{(held_mm3 - proof.promised_mm3) / 1000:.2g}"
            told.append(
                Finding(
                    code=code,
                    severity="stop",
                    stage="undercuts",
                    message=tell(f"proof_finding.{key}", more=more),
                    do=tell("proof_finding.do"),
                    where_mm=where,
                )
            )
    return tuple(told)
