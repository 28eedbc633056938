"""Reading what a person types: amounts with their unit, gauges, things used."""

import re

from castplan import units
from castplan.errors import InputError

ML_PER_UNIT = {
    "ml": 1.0,
    "cc": 1.0,
    "cm3": 1.0,
    "l": 1000.0,
    "usfloz": units.ML_PER_US_FL_OZ,
    "impfloz": units.ML_PER_IMP_FL_OZ,
    "in3": units.CM3_PER_IN3,
}
G_PER_UNIT = {
    "g": 1.0,
    "kg": 1000.0,
    "oz": units.G_PER_OUNCE,
    "lb": 16 * units.G_PER_OUNCE,
}
# Nothing that is moulded takes more: a cubic metre, a tonne, a hundred metres.
MOST = 1e6
MOST_MM = 1e5
_AMOUNT = re.compile(
    r"(?:(?P<whole>\d+)\s+)?(?P<top>\d+)/(?P<bottom>\d+)\s*(?P<of>[a-z].*)?"
    r"|(?P<number>\d+(?:[.,]\d*)?|[.,]\d+)\s*(?P<unit>[a-z].*)?"
)
_SEPARATED = re.compile(r"\s*\d+[.,]\d+[.,]\d")
_GAUGE = re.compile(
    r"([^=]+)=\s*(\d+(?:\.\d+)?)\s*(mm|in)?\s*(?::\s*(?:\+-)?\s*([fmcv]|\d+(?:\.\d+)?)\s*(mm|in)?)?"
)


def read_volume(option, text):
    """Millilitres from ``240ml``, ``240,5 ml``, ``0.5 l``, ``8 US fl oz`` or ``12 in3``."""
    return _read(option, text, ML_PER_UNIT, "a volume", most=MOST)


def read_weight(option, text):
    """Grams from ``500g``, ``1.2 kg``, ``16 oz`` or ``2 lb``."""
    return _read(option, text, G_PER_UNIT, "a weight", most=MOST)


def read_length(option, text):
    """Millimetres from ``142``, ``142mm``, ``14,2cm``, ``5.6in`` or ``3 5/16 in``."""
    known = {k: units.MM_PER_UNIT[k] for k in ("mm", "cm", "in")}
    return _read(option, text, known, "a length", most=MOST_MM, usual="mm")


def _read(option, text, known, what, *, most, usual=None):
    """An amount in the first of the known units; what cannot be read is named."""
    if text is None:
        return None
    match = _AMOUNT.fullmatch(text.strip().lower())

    def wrong(found, need, do=None):
        example = do or f"Write for example {option} 240{next(iter(known))}."
        return InputError(option, found=f"{text!r}{found}", need=need, do=example)

    unit = _unit_of(match, usual)
    if unit in ("floz", "flozs"):
        raise wrong(
            ", and fluid ounces are of two sizes",
            "US (29.57 ml) or imperial (28.41 ml) ones",
            f"Write {option} '8 US fl oz' or {option} '8 imp fl oz'.",
        )
    if match is None and _SEPARATED.match(text):
        raise wrong(
            ", with two separators in its number",
            "one decimal point or comma, and nothing between thousands",
            f"Write for example {option} 1234.5{next(iter(known))}.",
        )
    if match is None or unit not in known:
        fault = "" if match is None else f", {'no unit' if unit is None else f'unit {unit}'}"
        raise wrong(fault, f"{what} with its unit: {', '.join(known)}")
    number = match["number"] or ""
    if re.fullmatch(r"\d{1,3},\d{3}", number):
        raise wrong(
            f", and {number} may be a thousand or a decimal",
            "one of the two",
            f"Write {number.replace(',', '')} or {number.replace(',', '.')} with the unit.",
        )
    value = (_fraction(match) if match["top"] else float(number.replace(",", "."))) * known[unit]
    if not 0 < value <= most:
        first = next(iter(known))
        raise wrong("", f"{what} above 0 and up to {most:,.0f} {first}")
    return value


def _unit_of(match, usual):
    """The unit as it stands in the tables: ``cm³`` and ``US fl. oz`` too; None without one."""
    if match is None:
        return None
    typed = match["unit"] or match["of"]
    if not typed:
        return usual
    unit = re.sub(r"[\s.]", "", typed.replace("\u00b3", "3"))
    return {"imperialfloz": "impfloz", "ukfloz": "impfloz", "litre": "l", "litres": "l"}.get(
        unit, unit
    )


def _fraction(match):
    bottom = int(match["bottom"])
    return int(match["whole"] or 0) + int(match["top"]) / bottom if bottom else 0.0


def read_gauge(text):
    """A `Gauge` from ``shaft=12.7``, ``shaft=12.7mm:m`` or ``shaft=0.5in:+-0.1mm``."""
    from castplan.job import Gauge

    match = _GAUGE.fullmatch(text.strip())
    if not match:
        raise InputError(
            "--gauge",
            found=repr(text),
            need="a name, a length and if you like a class or plus and minus",
            do="Write for example --gauge shaft=12.7mm:m or --gauge slot=40:+-0.3.",
        )
    name, length, unit, allowed, allowed_unit = match.groups()
    scale = units.MM_PER_UNIT[unit or "mm"]
    is_class = allowed is not None and allowed.isalpha()
    tolerance_mm = None
    if allowed is not None and not is_class:
        tolerance_mm = float(allowed) * units.MM_PER_UNIT[allowed_unit or unit or "mm"]
    return Gauge(
        name=name.strip(),
        length_mm=float(length) * scale,
        tolerance_mm=tolerance_mm,
        tolerance_class=allowed if is_class else None,
    )


def read_uses(text):
    """Pairs from ``clay=sulphur-free,paint=enamel``."""
    pairs = []
    for piece in text.split(","):
        what, sign, used = (word.strip() for word in piece.partition("="))
        if not (what and sign and used):
            raise InputError(
                "--uses",
                found=repr(text),
                need="what is used for what",
                do="Write for example --uses clay=sulphur-free,original=print-photopolymer.",
            )
        pairs.append((what, used))
    return tuple(pairs)
