"""INVENTED records that several tests share, in the form that real ones have."""

from castplan.records import Drilling, Tilt

# What a supplier's data sheet states.
TIN = {
    "title": "Tin-cure, yard stock",
    "chemistry": "tin-cure",
    "sheet": "invented",
    "density_g_ml": 1.08,
    "ratio_a": 100,
    "ratio_b": 5,
    "pot_life_min": "30 to 40 min",
    "demould_h": 16,
    "shore": "25 A",
}
DRILLING = Drilling(
    label="3",
    peak=2,
    place_mm=(0.0, 80.0, 46.0),
    face="right",
    from_corner_mm=(41.5, 22.1),
    across_deg=-15.0,
    up_deg=30.0,
    length_mm=31.2,
    bore_mm=2.5,
    half="upper",
    caught_before_ml=1.2,
    caught_after_ml=0.0,
)
TILT = Tilt(
    tilt_deg=20.0, toward_deg=30.0, caught_before_ml=3.4, caught_after_ml=0.1, straw_mm=14.0
)
