"""How large the copy will be, and whether it still fits."""

from dataclasses import replace

from castplan.bench.records import FitLine, FitResult, FitShare, HeatResult
from castplan.errors import InputError
from castplan.job import Gauge, Job
from castplan.materials.cards import Card, get_card
from castplan.materials.chemistries import chemistry_of
from castplan.materials.fillers import resin_of
from castplan.part.records import Part
from castplan.record import Sourced
from castplan.texts.told import tell

# ISO 2768-1:1989 table 1, linear dimensions except broken edges: plus or minus
# [mm] by class, for lengths up to and including the limit [mm]. Below 0.5 mm the
# standard wants the tolerance at the dimension; class v starts above 3 mm.
ISO_2768_UP_TO_MM = (3, 6, 30, 120, 400, 1000, 2000, 4000)
ISO_2768_MM = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
LEAST_MM = 0.5
# Of a length, how much lies in sections as hot as the thickest (assumed).
HOT_SHARE = 0.5
# Codes: `castplan.texts.names` has the words for them.
ALONG_AXES = ("along the file's x", "along the file's y", "along the file's z")


def iso_2768_mm(length_mm: float, *, tolerance_class: str) -> float | None:
    """Plus or minus of ISO 2768-1 for a length [mm]; None outside the table.

    Parameters
    ----------
    length_mm : float
    tolerance_class : {"f", "m", "c", "v"}
        Fine, medium, coarse, very coarse.
    """
    if length_mm < LEAST_MM:
        return None
    for limit_mm, tolerance_mm in zip(ISO_2768_UP_TO_MM, ISO_2768_MM[tolerance_class], strict=True):
        if length_mm <= limit_mm:
            return tolerance_mm
    return None


def list_shares(
    silicone: Card, resin: Card, heat: HeatResult | None = None
) -> tuple[FitShare, ...]:
    """What mould and resin take off a length, one by one.

    The cards say how much thin bars shrink. Where a section got hotter than
    those, the resin contracts over the difference as it cools: by none of it
    in thin walls and all of it in the thickest, half of it by length (assumed).

    Parameters
    ----------
    silicone, resin : Card
    heat : HeatResult, optional
        Of the part; without it every section counts as thin.
    """
    shares = [
        FitShare(code="silicone", fraction=silicone.shrinkage_fraction),
        FitShare(code="resin", fraction=resin.shrinkage_fraction),
    ]
    expansion = resin.expansion_per_k
    if expansion is not None and heat is not None and heat.peak_c is not None:
        hotter_c = max(heat.peak_c.value - heat.thin_c.value, 0.0)
        most_c = max(heat.peak_c.high - heat.thin_c.high, hotter_c)
        most_per_k = expansion.value if expansion.high is None else expansion.high
        contracted = Sourced(
            value=HOT_SHARE * expansion.value * hotter_c,
            low=0.0,
            high=most_per_k * most_c,
            unit="1",
            basis="computed",
            source=tell("bench_number.heat_shrinkage", expansion=expansion.source),
        )
        shares.append(FitShare(code="heat", fraction=contracted))
    swells = chemistry_of(resin).swells_fraction
    if swells is not None:
        either_way = replace(swells, value=0.0, low=-swells.value, high=swells.value)
        shares.append(FitShare(code="swelling", fraction=either_way))
    return tuple(shares)


def shrink(shares: tuple[FitShare, ...]) -> tuple[float, float, float]:
    """What the shares leave of a length: nominal, low, high.

    The mould shrinks round the original's shape, then the resin in the mould;
    the factors multiply. A number without a range counts as exact.
    """
    factors = [1.0, 1.0, 1.0]
    for number in (share.fraction for share in shares):
        ends = (
            number.value,
            number.value if number.high is None else number.high,
            number.value if number.low is None else number.low,
        )
        factors = [factor * (1 - end) for factor, end in zip(factors, ends, strict=True)]
    return factors[0], factors[1], factors[2]


def predict_fit(part: Part, job: Job, heat: HeatResult | None = None) -> FitResult:
    """Predict the copy's lengths and hold them against their tolerances.

    Parameters
    ----------
    part : Part
    job : Job
        Cards and gauges.
    heat : HeatResult, optional
        Of the part.

    Returns
    -------
    FitResult

    Raises
    ------
    InputError
        A card is unknown, a gauge has no length, or its class is none of ISO 2768-1.
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = resin_of(job)
    shares = list_shares(silicone, resin, heat)
    factors = shrink(shares)
    axes = []
    if part.check.n_parts == 1:  # of several, how far they lie apart is no length to fit
        axes = [
            Gauge(name=name, length_mm=float(side))
            for name, side in zip(ALONG_AXES, part.check.extent_mm, strict=True)
        ]
    nominal, low, high = factors
    how = tell(
        "bench_number.shrinkage",
        silicone=silicone.card_id,
        resin=resin.card_id,
        silicone_source=silicone.shrinkage_fraction.source,
        resin_source=resin.shrinkage_fraction.source,
    )
    return FitResult(
        lines=tuple(_line(gauge, factors) for gauge in (*axes, *job.gauges)),
        shares=shares,
        later=chemistry_of(silicone).later_shrinkage_fraction,
        shrinkage=Sourced(
            value=1 - nominal, low=1 - high, high=1 - low, unit="1", basis="computed", source=how
        ),
        print_scale=Sourced(
            value=1 / nominal,
            low=1 / high,
            high=1 / low,
            unit="1",
            basis="computed",
            source=tell("bench_number.print_scale"),
        ),
    )


def _line(gauge: Gauge, factors) -> FitLine:
    length_mm = gauge.length_mm
    if not 0 < length_mm < float("inf"):
        raise InputError(
            f"gauge {gauge.name}",
            found=f"{length_mm:g} mm",
            need="a length above 0",
            do="Measure it on the original again.",
        )
    copy_mm, low_mm, high_mm = (length_mm * factor for factor in factors)
    tolerance_mm = gauge.tolerance_mm
    if gauge.tolerance_class is not None:
        if gauge.tolerance_class not in ISO_2768_MM:
            raise InputError(
                f"gauge {gauge.name}",
                found=f"class {gauge.tolerance_class!r}",
                need=f"one of {', '.join(ISO_2768_MM)}",
                do="Or give plus and minus in millimetres.",
            )
        tolerance_mm = iso_2768_mm(length_mm, tolerance_class=gauge.tolerance_class)
        if tolerance_mm is None:
            raise InputError(
                f"gauge {gauge.name}",
                found=f"{length_mm:g} mm, for which class {gauge.tolerance_class} has no row",
                need="a length within ISO 2768-1",
                do="Give plus and minus in millimetres.",
            )
    finest = next(
        (
            name
            for name in ISO_2768_MM
            if (allowed := iso_2768_mm(length_mm, tolerance_class=name)) is not None
            and _within(length_mm, low_mm, high_mm, allowed)
        ),
        None,
    )
    return FitLine(
        name=gauge.name,
        original_mm=length_mm,
        copy_mm=copy_mm,
        low_mm=low_mm,
        high_mm=high_mm,
        tolerance_mm=tolerance_mm,
        tolerance_class=gauge.tolerance_class,
        verdict=_verdict(length_mm, low_mm, high_mm, tolerance_mm),
        finest_class=finest,
    )


def _within(length_mm, low_mm, high_mm, tolerance_mm):
    return low_mm >= length_mm - tolerance_mm and high_mm <= length_mm + tolerance_mm


def _verdict(length_mm, low_mm, high_mm, tolerance_mm):
    if tolerance_mm is None:
        return "not asked"
    if _within(length_mm, low_mm, high_mm, tolerance_mm):
        return "fits"
    if high_mm < length_mm - tolerance_mm or low_mm > length_mm + tolerance_mm:
        return "does not fit"
    return "may not fit"
