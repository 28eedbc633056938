"""The lines of a supplier's data sheet that a card takes, with units and usual ranges."""

from castplan.record import record

CHEMISTRIES = {
    "tin-cure": "silicone",
    "platinum-cure": "silicone",
    "polyurethane": "resin",
    "epoxy": "resin",
    "polyester": "resin",
    "plaster": "resin",
    "wax": "resin",
}


@record
class Entry:
    """One line of a data sheet: what it is called, its unit and its usual range."""

    words: str
    unit: str
    low: float
    high: float
    is_needed: bool = False


# Ranges are wide on purpose: they catch a wrong unit or a slipped comma, not a
# rare material (from memory).
ENTRIES = {
    "density_g_ml": Entry(words="density, mixed", unit="g/ml", low=0.7, high=2.6),
    "density_a_g_ml": Entry(words="density of part A", unit="g/ml", low=0.7, high=2.8),
    "density_b_g_ml": Entry(words="density of part B", unit="g/ml", low=0.7, high=2.6),
    "ratio_a": Entry(words="parts A by weight", unit="parts by weight", low=0.5, high=1000),
    "ratio_b": Entry(words="parts B by weight", unit="parts by weight", low=0.5, high=1000),
    "ratio_b_by_volume": Entry(
        words="parts B by volume to 100 of A", unit="parts by volume to 100 of A", low=0.3, high=500
    ),
    "viscosity_mpa_s": Entry(words="viscosity, mixed", unit="mPa s", low=10, high=300_000),
    "pot_life_min": Entry(words="pot life", unit="min", low=0.5, high=480, is_needed=True),
    "pot_life_at_c": Entry(words="temperature of that pot life", unit="C", low=15, high=35),
    "demould_h": Entry(words="time to demould", unit="h", low=0.05, high=200, is_needed=True),
    "full_cure_h": Entry(words="full cure", unit="h", low=0.2, high=700),
    "shrinkage_fraction": Entry(words="shrinkage by length", unit="1", low=-0.005, high=0.06),
    "shore": Entry(words="hardness", unit="Shore", low=1, high=95),
    "elongation_fraction": Entry(words="elongation at break", unit="1", low=0.001, high=15),
    "heat_limit_c": Entry(words="heat limit of use", unit="C", low=30, high=350),
    "ratio_tolerance_fraction": Entry(
        words="tolerance of the ratio", unit="1", low=0.002, high=0.5
    ),
    "tear_n_mm": Entry(words="tear strength", unit="N/mm", low=1, high=100),
    "tensile_mpa": Entry(words="tensile strength", unit="MPa", low=0.5, high=100),
    "max_section_mm": Entry(words="greatest thickness", unit="mm", low=1, high=300),
    "smallest_mix_g": Entry(words="smallest mix", unit="g", low=1, high=2000),
    "largest_mix_g": Entry(words="largest mix", unit="g", low=20, high=50_000),
    "mould_life_casts": Entry(words="casts from one mould", unit="casts", low=1, high=500),
    "waste_fraction": Entry(words="waste in cup and on tools", unit="1", low=0.0, high=2.0),
    "reaction_heat_kj_kg": Entry(words="heat of reaction", unit="kJ/kg", low=10, high=900),
    "specific_heat_j_kg_k": Entry(words="specific heat", unit="J/(kg K)", low=800, high=3500),
    "expansion_per_k": Entry(words="thermal expansion by length", unit="1/K", low=1e-6, high=5e-4),
    "deflection_c": Entry(words="heat deflection temperature", unit="C", low=30, high=250),
    "post_cure_c": Entry(words="temperature of the post-cure", unit="C", low=35, high=200),
    "post_cure_h": Entry(words="time of the post-cure", unit="h", low=0.5, high=72),
    "plain_limit_c": Entry(words="heat limit without post-cure", unit="C", low=30, high=200),
    "pour_at_c": Entry(words="pouring temperature", unit="C", low=40, high=120),
}
# What a silicone or a resin has no use for.
ONLY = {
    "tear_n_mm": "silicone",
    "mould_life_casts": "silicone",
    "max_section_mm": "resin",
    "smallest_mix_g": "resin",
    "largest_mix_g": "resin",
    "reaction_heat_kj_kg": "resin",
    "specific_heat_j_kg_k": "resin",
    "expansion_per_k": "resin",
    "deflection_c": "resin",
    "post_cure_c": "resin",
    "post_cure_h": "resin",
    "plain_limit_c": "resin",
    "pour_at_c": "resin",
}
