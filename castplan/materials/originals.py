"""Densities of what originals are made of, for a volume from a weight."""

from castplan.errors import InputError
from castplan.record import Sourced
from castplan.texts.told import tell_data


def _density(value, low, high, source="handbook value, from memory"):
    return Sourced(
        value=value,
        low=low,
        high=high,
        unit="g/ml",
        basis="from memory",
        source=tell_data(source),
    )


# Ranges are over the grades that go by the name.
DENSITIES = {
    "aluminium": _density(2.70, 2.65, 2.80),
    "brass": _density(8.5, 8.4, 8.7),
    "bronze": _density(8.8, 8.7, 8.9),
    "steel": _density(7.85, 7.75, 8.0),
    "zinc-casting": _density(6.7, 6.6, 6.8),
    "glass": _density(2.5, 2.4, 2.6),
    "phenolic": _density(1.38, 1.30, 1.45),
    "abs": _density(1.05, 1.03, 1.07),
    "polystyrene": _density(1.05, 1.04, 1.06),
    "acrylic": _density(1.19, 1.17, 1.20),
    "nylon": _density(1.14, 1.12, 1.15),
    "pvc": _density(1.40, 1.30, 1.45),
    "pla-print": _density(
        1.24, 0.4, 1.25, "from memory: filament at full density; prints are mostly hollow"
    ),
    "hardwood": _density(0.70, 0.55, 0.85, "from memory: air-dry; kinds differ widely"),
    "softwood": _density(0.50, 0.40, 0.60, "from memory: air-dry; kinds differ widely"),
    "plaster": _density(1.10, 0.9, 1.3, "from memory: set and dry; by how much water it took"),
}


def density_of(text: str) -> float:
    """A density from a number or from the name of a material [g/ml].

    Parameters
    ----------
    text : str
        ``2.7``, or a key of `DENSITIES`.

    Raises
    ------
    InputError
        It is neither.
    """
    known = DENSITIES.get(text.strip().lower())
    if known is not None:
        return known.value
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.01 <= value <= 25:
        raise InputError(
            "--original-density",
            found=repr(text),
            need=f"a number of g/ml, or one of {', '.join(DENSITIES)}",
            do="Measure it in water instead if you can.",
        )
    return value


def density_range(density_g_ml: float) -> tuple[float, float]:
    """Least and greatest density that goes by this one: of the material it belongs to.

    Of a number that no material of the list has, the number itself, twice.
    """
    alike = [one for one in DENSITIES.values() if one.value == density_g_ml]
    ends = [end for one in alike for end in (one.low, one.high)] or [density_g_ml]
    return min(ends), max(ends)
