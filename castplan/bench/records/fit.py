"""The size of the copy."""

from castplan.record import Sourced, record


@record
class FitLine:
    """One length: of the original, of the copy as expected, and against its tolerance.

    `verdict` is "fits", "may not fit", "does not fit" or "not asked".
    `finest_class` is the finest ISO 2768-1 class the whole interval keeps;
    None when it keeps none or the length lies outside the table.
    """

    name: str
    original_mm: float
    copy_mm: float
    low_mm: float
    high_mm: float
    tolerance_mm: float | None
    tolerance_class: str | None
    verdict: str
    finest_class: str | None


@record
class FitShare:
    """What one thing takes off a length, as a fraction of it; negative where it adds.

    `code` is "silicone", "resin", "heat" (the resin shrinks more where it got
    hotter) or "swelling" (of the silicone, either way).
    """

    code: str
    fraction: Sourced


@record
class FitResult:
    """Lengths along the part's axes, then the gauges.

    `shrinkage` is that of mould and resin together, by length, `shares` what it
    is made of. `later` is what the silicone loses after its first day, within
    its own share. `print_scale` is what a printed original would have to be
    scaled by.
    """

    lines: tuple[FitLine, ...]
    shares: tuple[FitShare, ...]
    shrinkage: Sourced
    later: Sourced | None
    print_scale: Sourced
