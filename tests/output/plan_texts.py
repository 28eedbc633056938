"""INVENTED steps and findings of the hand-made plan, in the length that real ones have."""

from castplan import records

# Text, minutes of hand, minutes of waiting, hold point, cautions.
STEPS = (
    (
        "Photograph the original from all sides, weigh it, and write down three sizes you can "
        "measure again on a cast. Get the owner's consent to the risk in writing.",
        (20, 0, False, ()),
    ),
    (
        "Clean the original and mend every flaw that should not be copied.",
        (20, 0, False, ("dust",)),
    ),
    (
        "Test patch: on a hidden spot brush release agent, then a spoonful of mixed silicone, "
        "partly over the clay you will use. Peel it after 16 h. Sign only if it is cured right "
        "through and nothing sticks.",
        (15, 960, True, ("silicone-tin",)),
    ),
    (
        "Bed the original in sulphur-free clay, held 12 mm above the base board at its lowest "
        "point. Bring the clay up to the parting line, 30.2 mm above the board, level out to the "
        "box walls, meeting the part at 90 degrees; smooth it, a rounded edge becomes flash.",
        (60, 0, False, ()),
    ),
    (
        "Stand the box round it: 144 x 94 mm inside, 74 mm high at least. Glue it down, seal the "
        "corners, brace the long walls.",
        (30, 0, False, ()),
    ),
    (
        "Water test: fill the box with water to the mark and watch it for 10 min. Dry everything. "
        "Sign when it held and the volume is right.",
        (15, 30, True, ()),
    ),
    (
        "Weigh the silicone for the first half: A 583 g and B 58.3 g, 641.3 g together, on a scale "
        "that reads 0.1 g. Mix slowly, scrape sides and bottom, tip into a second cup and mix "
        "again. If you have a chamber, degas until it has risen, fallen and gone quiet.",
        (15, 0, False, ("silicone-tin", "vacuum")),
    ),
    (
        "Brush a first coat into all detail, then pour the first half in a thin stream from high "
        "up into one low corner, not onto the part, up to the mark. Leave it 16 h.",
        (15, 960, False, ("silicone-tin",)),
    ),
    (
        "Turn the box over. Leave the original in the silicone. Take off the base board and all "
        "the clay, and wipe off what is left.",
        (25, 0, False, ()),
    ),
    (
        "Brush or spray 3 light coats of release agent on ALL bare silicone and on the part, "
        "10 min apart, into the keys too. Sign before the second pour: without it the halves fuse.",
        (15, 30, True, ("solvent-release",)),
    ),
    ("Weigh, mix and pour the second half. Leave it 16 h.", (30, 960, False, ("silicone-tin",))),
    (
        "Weigh the resin for one copy: A 63.6 g and B 57.3 g, 120.9 g together. Mix at once and "
        "fully, scraping the cup, without whipping in air.",
        (20, 0, False, ("isocyanate", "polyurethane-b-side")),
    ),
    (
        "Pour into gate G in one thin stream until resin stands in every vent, within 1 min 30 s "
        "of mixing. Leave it 30 min.",
        (20, 120, False, ("isocyanate", "polyurethane-b-side", "pressure-pot")),
    ),
    ("Cut off gate and vents, then trim the flash and sand the seam.", (80, 0, False, ("dust",))),
)

FINDINGS = (
    records.Finding(
        code="blocked-vent",
        severity="warn",
        stage="mould",
        message="Vent 3 would run through the part.",
        do="Drill it from the side along the plate instead, or tilt the mould 15 degrees.",
        where_mm=(112.7, 45.0, 21.5),
    ),
    records.Finding(
        code="bridge",
        severity="warn",
        stage="undercuts",
        message="Silicone would run through hole 2 and lock both halves.",
        do="Plug the hole with clay halfway, flush with the parting.",
        where_mm=(25.0, 35.0, 7.0),
    ),
    records.Finding(
        code="thin-wall",
        severity="note",
        stage="undercuts",
        message="The tip is 0.9 mm thick over 40 mm2.",
        do="Expect some short fills there; warm the mould.",
    ),
)
