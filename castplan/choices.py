"""Every choice of the shop once: what it may be, and in which unit.

The job checks itself by this table; the options of the commands, the columns of a
batch list, the page's controls and the document of its interface are made from it.
Defaults stand in `castplan.job.Job`.
"""

from castplan.checks import Choice

# How far round a marked place gate and vents keep off, unless the shop says (assumed).
KEEP_OFF_MM = 5.0


def _mm(least=0.1, most=2000.0, **offer):
    return Choice("number", least, most, "mm", **offer)


def _word(*words, **offer):
    return Choice("word", words=words, **offer)


CHOICES = {
    "mould": _word(
        "two-part",
        "open",
        "loose",
        "cut",
        "auto",
        option="mould",
        help="auto: the kinds that work are compared and the best is planned; two-part: two "
        "halves; open: one pour over a part that lies on its flat back; loose: two halves and up "
        "to three loose pieces, pulled out first, where silicone would not come out; cut: one "
        "pour round the whole part, cut open with a knife.",
        card="kind",
    ),
    "slides": _word(
        "poured",
        "printed",
        option="slides",
        help="How loose pieces are made: poured of silicone against the original, or printed from "
        "their solids. Rods for round holes are bought.",
        is_on_page=True,
    ),
    "draw": Choice(
        "way",
        option="draw",
        help="Draw direction of the upper half, in the file's axes: 0,0,1 or +z. Without it the "
        "best of many directions is chosen.",
        card="split",
    ),
    "up": Choice(
        "way",
        option="up",
        help="Pouring position: the direction that faces up when resin is poured. Without it "
        "castplan chooses.",
        card="stand",
    ),
    "show_face": Choice(
        "way",
        option="show-face",
        help="The direction in which the side that will be seen faces: parting line, gate and "
        "vents keep off it where they can. Without it castplan guesses, and says what it "
        "guessed.",
        card="part",
    ),
    "parting": _word(
        "level",
        "tilted",
        "stepped",
        "following",
        option="parting",
        help="Kind of parting: level is flat, following is shaped. Without it the plainest that "
        "traps nothing.",
        card="split",
    ),
    "parting_height_mm": _mm(
        0.0,
        option="parting-height",
        help="Height of a flat parting above the lowest point of the part as it lies.",
        card="split",
    ),
    "n_directions": Choice("count", 1, 100_000, "directions"),
    "draw_weights": Choice("record"),
    "pitch_mm": _mm(
        1e-4,
        1000.0,
        option="pitch",
        help="Distance between samples. Without it as fine as the memory allows.",
    ),
    "memory_mb": Choice("number", 0.01, 1e6, "MB"),
    "wall_mm": _mm(
        option="wall",
        help="Silicone beside the part. Without it the part's size decides.",
        card="box",
    ),
    "over_mm": _mm(option="over", help="Silicone above the part.", card="box"),
    "under_mm": _mm(option="under", help="Silicone below the part.", card="box"),
    "box": _word(
        "rectangle",
        "round",
        "outline",
        option="box",
        help="Shape of the box. Without it a rectangle.",
        card="box",
    ),
    "box_step_mm": _mm(
        0.001,
        100.0,
        option="box-step",
        help="Round the inside of the box up to steps of this length.",
        is_on_page=True,
    ),
    "board_mm": _mm(option="board", help="Thickness of the box's boards.", card="box"),
    "kerf_mm": _mm(0.0, 100.0, option="kerf", help="Width of the cut of laser or router."),
    "key_mm": _mm(
        1.0,
        100.0,
        option="key",
        help="Diameter of the keys. Without it the wall decides.",
        is_on_page=True,
    ),
    "key_pitch_mm": _mm(option="key-pitch", help="Distance from key to key."),
    "key_clearance_mm": _mm(
        0.0,
        option="key-clearance",
        help="Distance of keys from part and box. Without it the wall decides.",
    ),
    "bed": _word("clay", "printed", option="bed", help="What the part lies in.", card="box"),
    "bed_clearance_mm": _mm(
        0.0, 100.0, option="bed-clearance", help="Gap between printed bed and part or box."
    ),
    "printer_mm": Choice(
        "lengths",
        1.0,
        1e5,
        "mm",
        count=3,
        option="printer",
        typed="W,D,H",
        help="Room of your 3D printer in mm: a printed bed is cut into pieces that fit. Without it "
        "the bed is one piece.",
    ),
    "pot_mm": Choice(
        "lengths",
        10.0,
        5000.0,
        "mm",
        count=2,
        option="pot",
        typed="D,H",
        help="Inside of the pressure pot in mm, to check.",
        is_on_page=True,
    ),
    "chamber_mm": Choice(
        "lengths",
        10.0,
        5000.0,
        "mm",
        count=2,
        option="chamber",
        typed="D,H",
        help="Inside of the vacuum chamber in mm, to check.",
        is_on_page=True,
    ),
    "scale_max_g": Choice(
        "number",
        1.0,
        1e6,
        "g",
        option="scale-max",
        help="The most that the scale shows, to check.",
        is_on_page=True,
    ),
    "feed": _word(
        "auto",
        "top",
        "riser",
        option="feed",
        help="top: through a high point; riser: from below, beside the part; auto: whichever "
        "needs less effort.",
        card="air",
    ),
    "gate_mm": _mm(
        1.0,
        100.0,
        option="gate",
        help="Bore of the gate. Without it the smallest usual one that fills in time.",
        card="air",
    ),
    "cup_mm": _mm(0.0, 1000.0),
    "vent_mm": _mm(0.1, 100.0),
    "vent_min_height_mm": _mm(
        0.0,
        1000.0,
        option="vent-height",
        help="A high point lower than this above the dip beside it gets no vent.",
        is_on_page=True,
    ),
    "vent_min_air_ml": Choice(
        "number",
        0.0,
        1000.0,
        "ml",
        option="vent-air",
        help="A high point that traps less air than this gets no vent.",
        is_on_page=True,
    ),
    "vent_pitch_mm": _mm(
        0.1, 1e5, option="vent-pitch", help="Distance from vent to vent along a level ceiling."
    ),
    "max_vents": Choice(
        "count",
        0,
        200,
        "vents",
        option="max-vents",
        help="Most vents that the mould may have.",
        is_on_page=True,
    ),
    "vents_at": Choice(
        "places",
        -1e5,
        1e5,
        "mm",
        option="vent",
        help="Put a vent at this place, in the file's axes and mm; give it as often as you like. "
        "Then these vents and no others are made.",
        card="air",
    ),
    "keep_off": Choice(
        "spots",
        -1e5,
        1e5,
        "mm",
        option="keep-off",
        help="Gate and vents keep off this place, in the file's axes and mm, and off what lies "
        f"within R of it; give it as often as you like. Without R it is {KEEP_OFF_MM:g}.",
        card="air",
    ),
    "air_left_ml": Choice(
        "number",
        1e-6,
        1000.0,
        "ml",
        option="air-left",
        help="Make as few vents as leave less air than this.",
        is_on_page=True,
    ),
    "n_attitudes": Choice("count", 1, 100_000, "directions"),
    "air_weights": Choice("record"),
    "silicone": Choice("text", option="silicone", help="Silicone class.", card="materials"),
    "resin": Choice("text", option="resin", help="Resin class.", card="materials"),
    "copies": Choice(
        "count", 1, 10_000, "castings", option="copies", help="Castings wanted.", card="materials"
    ),
    # Beyond it no card says how long a cup stays workable.
    "shop_temperature_c": Choice(
        "number",
        10.0,
        35.0,
        "C",
        option="temperature",
        help="Temperature of the shop in Celsius.",
        card="materials",
    ),
    "paper": _word("A4", "Letter", option="paper", help="Sheet size.", is_on_page=True),
    "water_ml": Choice(
        "number",
        1e-3,
        1e6,
        "ml",
        option="water",
        typed="VOLUME",
        help="Volume of the original by water displacement, with its unit, as 143ml. The plan's "
        "weights then follow it.",
        card="part",
    ),
    "original_g": Choice(
        "number",
        1e-3,
        1e6,
        "g",
        option="original-weight",
        typed="WEIGHT",
        help="What the original weighs, with its unit, as 160g. Needs --original-density.",
    ),
    "original_density_g_ml": Choice(
        "number",
        0.01,
        30.0,
        "g/ml",
        option="original-density",
        typed="G/ML",
        help="Density of the original's material, or its name: aluminium, brass, steel, phenolic, "
        "abs, hardwood and others.",
    ),
    "brush_mm": _mm(
        0.0,
        10.0,
        option="brush-coat",
        help="Weigh a brush coat of this thickness as a cup of its own; 0 brushes from the pour's "
        "cup.",
        is_on_page=True,
    ),
    "pigment_fraction": Choice(
        "number",
        0.0,
        0.5,
        option="pigment",
        typed="PERCENT",
        help="Pigment as a share of A and B together, by weight.",
        is_on_page=True,
    ),
    "filler": _word(
        "chalk",
        "aluminium",
        "aluminium-hydroxide",
        "quartz",
        "hollow-glass",
        option="filler-kind",
        help="Powder that is stirred into the resin, if any is.",
        card="materials",
    ),
    "filler_fraction": Choice(
        "number",
        0.0,
        3.0,
        option="filler",
        typed="PERCENT",
        help="Filler, as a share of A and B together by weight: 50 is half as much as both.",
        card="materials",
    ),
    "inserts": Choice(
        "count",
        0,
        1000,
        "inserts",
        option="inserts",
        help="Threaded inserts that are cast into each casting.",
        is_on_page=True,
    ),
    "gauges": Choice(
        "record",
        option="gauge",
        typed="NAME=LENGTH[:TOL]",
        help="A length of the original that must fit, as shaft=12.7mm:m (a class of ISO 2768-1: "
        "f, m, c, v) or slot=40:+-0.3. Give it as often as you like.",
    ),
    "place": _word(
        "indoors",
        "shade",
        "cabin",
        "behind-glass",
        "on-deck",
        option="place",
        help="Where the part will live.",
        card="materials",
    ),
    "start": Choice(
        "text",
        option="start",
        typed="DATE TIME",
        help='When the work starts, as "2026-12-01 08:00".',
        card="materials",
    ),
    "shop": Choice("record"),
}
