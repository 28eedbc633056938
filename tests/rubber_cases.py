"""Canonical undercuts, and what castplan's rule says of each."""

import math

from rubber_pull import Notch

from castplan.materials import rubber


def notch(depth_mm, high_mm, wall_mm, flare=0.0, **more):
    return Notch(depth_mm=depth_mm, high_mm=high_mm, wall_mm=wall_mm, flare=flare, **more)


# Depth, height and wall in mm; a flare over 0 is wider behind its mouth.
UNDERCUTS = {
    "notch 0.6 x 2, wall 6": notch(0.6, 2, 6),
    "notch 0.6 x 2, wall 12": notch(0.6, 2, 12),
    "notch 0.6 x 2, wall 20": notch(0.6, 2, 20),
    "tooth gap 1 x 1, wall 12": notch(1, 1, 12),
    "hook 1 x 4, wall 6": notch(1, 4, 6),
    "hook 1 x 4, wall 12": notch(1, 4, 12),
    "hook 2 x 4, wall 6": notch(2, 4, 6),
    "hook 2 x 4, wall 12": notch(2, 4, 12),
    "hook 2 x 4, wall 20": notch(2, 4, 20),
    "hook 3 x 5, wall 6": notch(3, 5, 6),
    "hook 3 x 5, wall 12": notch(3, 5, 12),
    "hook 3 x 5, wall 20": notch(3, 5, 20),
    "hook 2 x 4, faces at 0.5, wall 12": notch(2, 4, 12, -0.5),
    "bead 1 x 3, faces at 0.9, wall 12": notch(1, 3, 12, -0.6),
    "slot 4 x 8, wall 12": notch(4, 8, 12),
    "slot 8 x 8, wall 12": notch(8, 8, 12),
    "dovetail 4 x 8 to 12, wall 12": notch(4, 8, 12, 0.5),
    "dovetail 10 x 10 to 15, wall 12": notch(10, 10, 12, 0.5),
    "lip 0.75 round 30, wall 12": notch(0.75, 10, 12, radius_mm=15),
    "lip 2.5 round 30, wall 12": notch(2.5, 10, 12, radius_mm=15),
    "lip 2.5 round 30, wall 20": notch(2.5, 10, 20, radius_mm=15),
    "cross slot 2 x 4, room 8": notch(2, 4, 4, is_backed=True),
    "cross slot 2 x 4, room 16": notch(2, 4, 8, is_backed=True),
    "cross slot 3 x 5, room 24": notch(3, 5, 12, is_backed=True),
    "cup mouth 30 over 32": notch(1, 20, 15, radius_mm=15, is_core=True),
    "cup mouth 24 over 32": notch(4, 20, 12, radius_mm=12, is_core=True),
}


def rule_for(shape: Notch) -> tuple[float, float]:
    """What castplan says: eased aside, and pulled straight."""
    depth_mm, is_ring = shape.depth_mm, not math.isinf(shape.radius_mm)
    slope = -0.5 * shape.flare * shape.high_mm / depth_mm
    if is_ring:
        # The radius is that of the part's skin; the notch goes in from there,
        # or out where the rubber is a core.
        narrow_mm = shape.radius_mm - (0.0 if shape.is_core else depth_mm)
        diameters = {"wide_mm": 2 * (narrow_mm + depth_mm), "narrow_mm": 2 * narrow_mm}
        measure = rubber.core_stretch_fraction if shape.is_core else rubber.lip_stretch_fraction
        eased = measure(**diameters)
    elif shape.is_backed:
        # Held at its middle, as by the same notch across.
        eased = rubber.pressed_stretch_fraction(
            depth_mm=depth_mm, across_mm=depth_mm, room_mm=2 * shape.wall_mm
        )
    else:
        eased = rubber.eased_stretch_fraction(
            depth_mm=depth_mm, thick_mm=shape.high_mm, wall_mm=shape.wall_mm, slope=slope
        ) + rubber.squeezed_stretch_fraction(belly_over_neck=1 + max(shape.flare, 0.0))
    pulled = rubber.pulled_stretch_fraction(
        depth_mm=depth_mm,
        wall_mm=shape.wall_mm,
        slope=slope,
        is_held_round=is_ring or shape.is_backed,
    )
    return eased, pulled


def before(shape: Notch) -> float:
    """The rule that stood before: a tongue bent or sheared, or the measure of a lip."""
    if not math.isinf(shape.radius_mm):
        return shape.depth_mm / (shape.radius_mm - (0.0 if shape.is_core else shape.depth_mm))
    share = shape.depth_mm / shape.high_mm
    return max(min(share, math.pi / 4 / share), math.sqrt(1 + max(shape.flare, 0.0)) - 1)
