"""INVENTED draw, split and undercuts of the hand-made plan."""

import numpy as np
from output.neutral import filled

from castplan import model

WALL_MM = 12.0


def make_draw() -> model.DrawResult:
    """The draw along +z, and two worse ones."""

    def candidate(direction, origin, trapped_mm3, height_mm, silicone_ml, why):
        return filled(
            model.DrawCandidate,
            direction=direction,
            origin=origin,
            trapped_mm3=trapped_mm3,
            locked_mm3=trapped_mm3 * 0.7,
            mould_height_mm=height_mm,
            silicone_ml=silicone_ml,
            why=why,
        )

    return filled(
        model.DrawResult,
        frame=model.Frame(rotation=np.eye(3)),
        direction=(0.0, 0.0, 1.0),
        candidates=(
            candidate(
                (0.0, 0.0, 1.0),
                "the file's z axis",
                812.4,
                74.0,
                903.3,
                "0.57 ml is held between surfaces of the part, 0.24 ml more by a level split; "
                "the mould is 74 mm high and takes about 903 ml",
            ),
            candidate(
                (0.12, 0.50, 0.8577),
                "search",
                2_310.0,
                88.0,
                1_004.0,
                "a level split holds 2.3 ml, a line that follows the part would not; "
                "the mould is 88 mm high and takes about 1004 ml",
            ),
            candidate(
                (0.0, 1.0, 0.0),
                "square to a flat face",
                6_125.0,
                94.0,
                903.0,
                "6.1 ml is held between surfaces of the part; "
                "the mould is 94 mm high and takes about 903 ml",
            ),
        ),
        n_directions=256,
        search_pitch_mm=0.9,
        is_asked_for=False,
    )


def make_parting() -> model.PartingResult:
    """A level split at 18.2 mm, free from 16.0 to 21.5 mm."""

    heights_mm = np.linspace(0.0, 50.0, 101)
    away_mm = np.maximum(np.maximum(16.0 - heights_mm, heights_mm - 21.5), 0.0)
    return filled(
        model.PartingResult,
        heights_mm=heights_mm,
        trapped_mm3=812.4 + 38.0 * away_mm**2,
        height_mm=18.2,
        free_low_mm=16.0,
        free_high_mm=21.5,
        trapped_at_mm3=812.4,
        locked_mm3=568.7,
        part_below_mm3=45_000.0,
        part_above_mm3=53_431.7,
        filled_above_mm3=210.0,
        filled_below_mm3=0.0,
    )


def make_line(kind="level", *, is_asked_for=False) -> model.PartingLine:
    """A split of the box at 18.2 mm, or one that tilts or wanders by 4 mm."""
    x_mm = np.linspace(-WALL_MM, 132.0, 49)
    corners_mm = np.array([(0, 0), (120, 0), (120, 70), (0, 70), (0, 0)], float)
    station = np.linspace(0, 4, 80, endpoint=False)
    ring_mm = np.stack([np.interp(station, range(5), corners_mm[:, k]) for k in (0, 1)], axis=1)
    height_mm = np.full((33, 49), 18.2)
    line_mm = np.full(80, 18.2)
    if kind == "tilted":
        height_mm = 18.2 + np.tile((x_mm - 60) / 18, (33, 1))
        line_mm = 18.2 + (ring_mm[:, 0] - 60) / 18
    elif kind == "following":
        line_mm = 18.2 + 4 * np.sin(ring_mm[:, 0] / 15)
        height_mm[8:24, 8:40] = 18.2 + 4 * np.sin(x_mm[8:40] / 15)
    loop = filled(
        model.RimLoop,
        points_mm=ring_mm,
        low_mm=line_mm - 2.0,
        high_mm=line_mm + 3.0,
        line_mm=line_mm,
        length_mm=380.0,
    )
    options = tuple(
        filled(
            model.PartingOption,
            kind=name,
            trapped_mm3=trapped_mm3,
            low_mm=float(line_mm.min()),
            high_mm=float(line_mm.max()),
            length_mm=380.0,
            is_free=False,
            note=note,
        )
        for name, trapped_mm3, note in (
            ("level", 812.4, "one clay level all round"),
            ("tilted", 702.0, "one flat clay bed, packed up on one side"),
            ("following", 568.7, "clay modelled to the line, station by station"),
        )
    )
    plug = filled(
        model.HolePlug,
        number=1,
        centre_mm=(15.0, 35.0),
        area_mm2=100.0,
        width_mm=10.0,
        free_low_mm=0.0,
        free_high_mm=8.0,
        height_mm=4.0,
        trapped_mm3=0.0,
        is_following=False,
        rim=loop,
    )
    return filled(
        model.PartingLine,
        kind=kind,
        is_asked_for=is_asked_for,
        options=options,
        plane=(18.2, 0.0, 0.0),
        outlines=(loop,),
        plugs=(plug,),
        surface=filled(
            model.PartingSurface,
            x0_mm=-WALL_MM,
            y0_mm=-WALL_MM,
            step_x_mm=3.0,
            step_y_mm=94.0 / 32,
            heights_mm=height_mm,
        ),
        box_height_mm=18.2,
        trapped_mm3=812.4 if kind == "level" else 568.7,
        part_below_mm3=45_000.0,
        part_above_mm3=53_431.7,
        filled_above_mm3=210.0,
        filled_below_mm3=0.0,
    )


def make_undercuts() -> model.UndercutResult:
    """A pocket at the tip and a bridge in the plate."""

    def pocket(number, kind, n_mouths, volume_mm3, low_mm, high_mm, held_by):
        low, high = np.array(low_mm), np.array(high_mm)
        return filled(
            model.Pocket,
            number=number,
            kind=kind,
            n_mouths=n_mouths,
            volume_mm3=volume_mm3,
            depth_mm=4.2,
            depth_mid_mm=2.1,
            centre_mm=tuple((low + high) / 2),
            low_mm=low_mm,
            high_mm=high_mm,
            held_by=held_by,
        )

    return filled(
        model.UndercutResult,
        pockets=(
            pocket(1, "pocket", 1, 568.7, (82.0, 25.0, 26.0), (98.0, 45.0, 34.0), "upper"),
            pocket(2, "bridge", 2, 243.7, (20.0, 30.0, 4.0), (30.0, 40.0, 10.0), "lower"),
        ),
        min_volume_mm3=5.0,
        n_small=14,
        small_mm3=21.0,
        sealed_mm3=0.0,
    )
