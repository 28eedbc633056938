"""INVENTED verdicts, remedies and seam of the hand-made plan."""

import numpy as np
from output.neutral import filled

from castplan import records


def make_flex() -> records.FlexResult:
    """The pocket at the tip may tear, the bridge is locked; one thin fin, one thin wall."""

    def flex(number, verdict, stretch_fraction, why, **sizes):
        return filled(
            records.PocketFlex,
            number=number,
            group=number,
            around_mm=17.0,
            allowed_fraction=0.2,
            limit_fraction=1.1,
            stretch_fraction=stretch_fraction,
            stretch_low_fraction=stretch_fraction / 2,
            stretch_high_fraction=stretch_fraction * 2,
            pulled_fraction=3.0,
            verdict=verdict,
            why=why,
            **sizes,
        )

    return filled(
        records.FlexResult,
        pockets=(
            flex(
                1,
                "may tear",
                0.43,
                "the silicone must stretch 43 % (22 to 86 %) to pass over the lip; this hardness "
                "usually allows 20 %",
                is_all_round=True,
                wide_mm=20.0,
                narrow_mm=14.0,
            ),
            flex(
                2,
                "locked",
                0.1,
                "the silicone in it is a pin held at both ends",
                neck_mm2=24.0,
                belly_mm2=60.0,
            ),
        ),
        # The volumes and depths of the hand-made pockets, each by itself.
        groups=(
            records.PocketGroup(numbers=(1,), volume_mm3=568.7, depth_mm=4.2, is_trifle=False),
            records.PocketGroup(numbers=(2,), volume_mm3=243.7, depth_mm=4.2, is_trifle=False),
        ),
        thin=(
            filled(
                records.ThinPlace,
                kind="part",
                thickness_mm=0.9,
                area_mm2=40.0,
                centre_mm=(112.0, 35.0, 44.0),
                across="x",
            ),
            filled(
                records.ThinPlace,
                kind="rubber",
                thickness_mm=1.2,
                area_mm2=150.0,
                centre_mm=(25.0, 35.0, 7.0),
                across="y",
            ),
        ),
        safety_factor=records.Sourced(
            value=3.0, unit="times", basis="assumed", source="elongation at break over this"
        ),
        elongation_fraction=records.Sourced(
            value=4.9, low=4.8, high=5.1, unit="1", basis="data sheet", source="a sheet"
        ),
        tensile_mpa=records.Sourced(value=3.6, unit="MPa", basis="data sheet", source="a sheet"),
        tear_n_mm=records.Sourced(value=20.0, unit="N/mm", basis="from memory", source="memory"),
        modulus_low_mpa=0.72,
        modulus_high_mpa=1.1,
        depth_error_mm=0.3,
    )


def make_remedies() -> tuple[records.Remedy, ...]:
    """Two ways for each pocket of `make_flex`."""

    def remedy(pocket, kind, text, remaining_mm3, minutes):
        return filled(
            records.Remedy,
            pocket=pocket,
            n_pockets=1,
            kind=kind,
            text=text,
            remaining_mm3=remaining_mm3,
            minutes=minutes,
        )

    return (
        remedy(1, "cut", "Slit the mould from the outside into the pocket (4 mm deep).", 0.0, 10.0),
        remedy(
            1,
            "loose piece",
            "Mould it as a loose piece and pull that along (0, 1, 0) of the file's axes after the "
            "halves are off.",
            120.0,
            60.0,
        ),
        remedy(2, "cut", "Cut the pin of rubber when you open.", 0.0, 10.0),
        remedy(2, "clay fill", "Fill it with clay (0.24 ml) before the pour.", 0.0, 17.0),
    )


def make_seam() -> records.SeamResult:
    """Once round the plate, and its draft."""
    ring_mm = np.array([(0, 0, 18), (120, 0, 18), (120, 70, 18), (0, 70, 18), (0, 0, 18)], float)
    return filled(
        records.SeamResult,
        loops_mm=(ring_mm,),
        length_mm=380.0,
        length_on_show_mm=34.0,
        n_expected=1,
        draft=filled(
            records.DraftResult,
            limits_deg=(0.0, 1.0, 3.0),
            upper_mm2=(120.0, 900.0, 1_500.0),
            lower_mm2=(60.0, 700.0, 1_100.0),
            upper_total_mm2=17_000.0,
            lower_total_mm2=14_000.0,
        ),
    )


def make_draft_views() -> tuple[records.DraftView, ...]:
    """Four sides of a block with a zone of each kind; invented for the layout."""

    def box(x0, y0, x1, y1):
        return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], dtype=float)

    zones = ((0.0, box(2, 2, 12, 8)), (1.0, box(14, 2, 30, 8)), (3.0, box(32, 2, 40, 8)))
    return tuple(
        records.DraftView(
            name=name, pitch_mm=0.2, outline=(box(0, 0, width, 26),), zones=zones[:count]
        )
        for name, width, count in (
            ("front", 96, 3),
            ("right", 46, 1),
            ("back", 96, 2),
            ("left", 46, 0),
        )
    )
