"""Reading what a person types: amounts with their unit, gauges, things used."""

import re

from castplan import units
from castplan.errors import InputError

ML_PER_UNIT = {
    "ml": 1.0,
    "cc": 1.0,
    "cm3": 1.0,
    "l": 1000.0,
    "floz": units.ML_PER_US_FL_OZ,
    "in3": units.CM3_PER_IN3,
}
G_PER_UNIT = {
    "g": 1.0,
    "kg": 1000.0,
    "oz": units.G_PER_OUNCE,
    "lb": 16 * units.G_PER_OUNCE,
}
_AMOUNT = re.compile(r"\s*(\d+(?:\.\d*)?|\.\d+)\s*([a-z]+3?)\s*", re.IGNORECASE)
_GAUGE = re.compile(
    r"([^=]+)=\s*(\d+(?:\.\d+)?)\s*(mm|in)?\s*(?::\s*(?:\+-)?\s*([fmcv]|\d+(?:\.\d+)?)\s*(mm|in)?)?"
)


def read_volume(option, text):
    """Millilitres from ``240ml``, ``0.5 l``, ``8 floz`` or ``12 in3``."""
    return _read(option, text, ML_PER_UNIT, "a volume")


def read_weight(option, text):
    """Grams from ``500g``, ``1.2 kg``, ``16 oz`` or ``2 lb``."""
    return _read(option, text, G_PER_UNIT, "a weight")


def read_length(option, text):
    """Millimetres from ``142``, ``142mm``, ``14.2cm`` or ``5.6in``."""
    plain = f"{text}mm" if re.fullmatch(r"[\s\d.]+", text) else text
    return _read(option, plain, {k: units.MM_PER_UNIT[k] for k in ("mm", "cm", "in")}, "a length")


def _read(option, text, known, what):
    if text is None:
        return None
    match = _AMOUNT.fullmatch(text)
    factor = known.get(match[2].lower()) if match else None
    value = float(match[1]) * factor if factor else 0.0
    if not 0 < value < float("inf"):
        raise InputError(
            option,
            found=repr(text),
            need=f"{what} with its unit: {', '.join(known)}",
            do=f"Write for example {option} 240{next(iter(known))}.",
        )
    return value


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
