"""INVENTED draw, split and undercuts of the hand-made plan."""

import numpy as np
from output.neutral import filled

from castplan import records

WALL_MM = 12.0


def make_draw() -> records.DrawResult:
    """The draw along +z, and two worse ones."""

    def candidate(direction, origin, trapped_mm3, height_mm, silicone_ml, why):
        return filled(
            records.DrawCandidate,
            direction=direction,
            origin=origin,
            n_alike=2 if origin == "search" else 0,
            trapped_mm3=trapped_mm3,
            locked_mm3=trapped_mm3 * 0.7,
            n_pockets=1,
            n_bridges=1,
            depth_mm=4.2,
            mould_height_mm=height_mm,
            silicone_ml=silicone_ml,
            line_climb_mm=8.0,
            seam_on_face_mm=21.0,
            seam_on_show_mm=34.0,
            is_stable=True,
            cost_min=height_mm,
            why=why,
        )

    # Golden-angle spiral over half a sphere; what it traps grows off the draw.
    z = (np.arange(256) + 0.5) / 256
    angle = np.arange(256) * np.pi * (3 - np.sqrt(5))
    radius = np.sqrt(1 - z**2)

    return filled(
        records.DrawResult,
        frame=records.Frame(rotation=np.eye(3)),
        direction=(0.0, 0.0, 1.0),
        candidates=(
            candidate(
                (0.0, 0.0, 1.0),
                "file_z",
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
                "flat_face",
                6_125.0,
                94.0,
                903.0,
                "6.1 ml is held between surfaces of the part; "
                "the mould is 94 mm high and takes about 903 ml",
            ),
        ),
        n_directions=256,
        map_directions=np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=1),
        map_trapped_mm3=np.where(z > 0.97, 0.0, 9_000.0 * radius),
        search_pitch_mm=0.9,
        is_asked_for=False,
    )


def make_parting() -> records.PartingResult:
    """A level split at 18.2 mm, free from 16.0 to 21.5 mm."""

    heights_mm = np.linspace(0.0, 50.0, 101)
    away_mm = np.maximum(np.maximum(16.0 - heights_mm, heights_mm - 21.5), 0.0)
    return filled(
        records.PartingResult,
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


def _ring_mm(along_mm):
    """Places along the outline of the plate, 120 x 70 mm, from its corner."""
    corners_mm = np.array([(0, 0), (120, 0), (120, 70), (0, 70), (0, 0)], float)
    reached_mm = np.array([0.0, 120.0, 190.0, 310.0, 380.0])
    return np.stack([np.interp(along_mm, reached_mm, corners_mm[:, k]) for k in (0, 1)], axis=-1)


def line_height_mm(kind, x_mm):
    """Where a split of the plate runs at x, draw frame: 4 mm about 18.2 mm at most."""
    return (
        18.2
        + {
            "level": np.zeros_like(x_mm),
            "tilted": (x_mm - 60) / 18,
            "stepped": np.where(x_mm < 60, -3.0, 3.0),
            "following": 4 * np.sin(x_mm / 15),
        }[kind]
    )


def make_strip(kind, *, outline=1) -> records.ClayStrip:
    """Stations every 10 mm round the plate, over a box floor at -12 mm."""

    def station(along_mm):
        x_mm, y_mm = _ring_mm(along_mm)
        height_mm = float(line_height_mm(kind, x_mm)) + WALL_MM
        return filled(
            records.ClayStation,
            along_mm=float(along_mm),
            from_corner_mm=(x_mm + WALL_MM, y_mm + WALL_MM),
            height_mm=height_mm,
            low_mm=height_mm - 2.0,
            high_mm=height_mm + 3.0,
        )

    along_mm = np.arange(0.0, 381.0, 10.0)
    stations = tuple(station(at_mm) for at_mm in along_mm)
    return filled(records.ClayStrip, outline=outline, length_mm=380.0, stations=stations)


def make_line(kind="level", *, is_asked_for=False) -> records.PartingLine:
    """A split of the box at 18.2 mm, or one that tilts, steps or wanders by 4 mm at most."""
    x_mm = np.linspace(-WALL_MM, 132.0, 49)
    ring_mm = _ring_mm(np.linspace(0.0, 380.0, 240, endpoint=False))
    line_mm = line_height_mm(kind, ring_mm[:, 0])
    height_mm = np.full((33, 49), 18.2)
    if kind == "tilted":
        height_mm = np.tile(line_height_mm(kind, x_mm), (33, 1))
    elif kind != "level":
        height_mm[8:24, 8:40] = line_height_mm(kind, x_mm[8:40])
    # Across the draw at the tip no height is free.
    is_held = (ring_mm[:, 0] > 100) & (ring_mm[:, 1] == 0)
    loop = filled(
        records.RimLoop,
        points_mm=ring_mm,
        low_mm=line_mm + np.where(is_held, 1.0, -2.0),
        high_mm=line_mm + np.where(is_held, -1.0, 3.0),
        line_mm=line_mm,
        length_mm=380.0,
    )
    options = tuple(
        filled(
            records.PartingOption,
            kind=name,
            trapped_mm3=trapped_mm3,
            low_mm=float(line_mm.min()),
            high_mm=float(line_mm.max()),
            length_mm=380.0,
            is_free=name == "following",
            note=note,
        )
        for name, trapped_mm3, note in (
            ("level", 812.4, "one clay level all round"),
            ("tilted", 702.0, "one flat clay bed, packed up on one side"),
            ("stepped", 640.0, "level stretches with 4 steps between them"),
            ("following", 568.7, "clay modelled to the line, station by station"),
        )
    )
    return filled(
        records.PartingLine,
        kind=kind,
        is_asked_for=is_asked_for,
        options=options,
        plane=(18.2, 0.0, 0.0),
        outlines=(loop,),
        plugs=_plugs(),
        strips=(make_strip(kind),),
        surface=filled(
            records.PartingSurface,
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


def _plugs() -> tuple[records.HolePlug, ...]:
    """A hole of 10 mm with a level plug, and one of 8 mm whose rim climbs by 2 mm."""

    def plug(number, centre_mm, width_mm, free_mm, height_mm, climb_mm):
        angle = np.linspace(0.0, -2 * np.pi, 60, endpoint=False)
        line_mm = height_mm + climb_mm * np.sin(angle)
        around = width_mm / 2 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        return filled(
            records.HolePlug,
            number=number,
            centre_mm=centre_mm,
            area_mm2=np.pi * width_mm**2 / 4,
            width_mm=width_mm,
            free_low_mm=free_mm[0],
            free_high_mm=free_mm[1],
            height_mm=height_mm,
            trapped_mm3=60.0 * climb_mm,
            is_following=climb_mm > 0,
            rim=filled(
                records.RimLoop,
                points_mm=np.array(centre_mm) + around,
                low_mm=line_mm - 1.0,
                high_mm=line_mm + 1.0,
                line_mm=line_mm,
                length_mm=np.pi * width_mm,
            ),
        )

    return (
        plug(1, (15.0, 35.0), 10.0, (0.0, 8.0), 4.0, 0.0),
        plug(2, (60.0, 50.0), 8.0, (7.0, 5.0), 6.0, 2.0),
    )


def make_undercuts() -> records.UndercutResult:
    """A pocket at the tip and a bridge in the plate."""

    def pocket(number, kind, n_mouths, volume_mm3, low_mm, high_mm, held_by):
        low, high = np.array(low_mm), np.array(high_mm)
        return filled(
            records.Pocket,
            number=number,
            kind=kind,
            n_mouths=n_mouths,
            volume_mm3=volume_mm3,
            depth_mm=4.2,
            centre_mm=tuple((low + high) / 2),
            low_mm=low_mm,
            high_mm=high_mm,
            held_by=held_by,
        )

    return filled(
        records.UndercutResult,
        pockets=(
            pocket(1, "pocket", 1, 568.7, (82.0, 25.0, 26.0), (98.0, 45.0, 34.0), "upper"),
            pocket(2, "bridge", 2, 243.7, (20.0, 30.0, 4.0), (30.0, 40.0, 10.0), "lower"),
        ),
        min_volume_mm3=5.0,
        n_small=14,
        small_mm3=21.0,
        sealed_mm3=0.0,
    )
