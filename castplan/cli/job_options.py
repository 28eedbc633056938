"""The options that are choices of the job: made from their table, read into its fields."""

from typing import Annotated

import typer

from castplan.choices import CHOICES, KEEP_OFF_MM
from castplan.cli.options import (
    read_choice,
    read_direction,
    read_lengths,
    read_percent,
    read_place,
    read_spot,
    words_of,
)
from castplan.cli.quantities import read_gauge, read_volume, read_weight
from castplan.errors import InputError
from castplan.job import Job

# Arguments of a command by their choice's name, as typed but for its dashes.
ARGUMENTS = {
    name: choice.option.replace("-", "_") for name, choice in CHOICES.items() if choice.option
}
# By kind, or by name where it is typed in a way of its own: what typer reads, and how
# it is shown where the unit does not say it.
_TYPED = {
    "number": (float, ""),
    "count": (int, "N"),
    "way": (str, "X,Y,Z"),
    "lengths": (str, ""),
    "places": (list[str], "X,Y,Z"),
    "spots": (list[str], "X,Y,Z[,R]"),
    "text": (str, "ID"),
    "gauges": (list[str], ""),
    "water_ml": (str, ""),
    "original_g": (str, ""),
    "original_density_g_ml": (str, ""),
}


def option_of(name: str, *, says: str | None = None):
    """What typer makes an option of, for one choice of the job.

    Parameters
    ----------
    name : str
        Of the choice.
    says : str, optional
        Instead of the table's own words; the default stands behind them all the same.
    """
    choice = CHOICES[name]
    words = f"{says or choice.help}{default_words(name)}"
    if choice.kind == "word":
        kind, shown = words_of(name.title(), name), None
    else:
        kind, shown = _TYPED.get(name) or _TYPED[choice.kind]
        shown = choice.typed or shown or choice.unit.upper()
    told = typer.Option(
        f"--{choice.option}", metavar=shown, case_sensitive=choice.kind != "word", help=words
    )
    return Annotated[kind | None, told]


def default_words(name: str) -> str:
    """What the help says of a choice's default; nothing where the job has none."""
    value = getattr(Job, name)
    if value is None or value == ():
        return ""
    numbers = value if isinstance(value, tuple) else (value,)
    said = (number if isinstance(number, str) else f"{number:g}" for number in numbers)
    return f" Default {','.join(said)}."


def read_options(told: dict) -> dict:
    """Fields of a job from what was typed; only those that were.

    Parameters
    ----------
    told : dict
        By argument name; other arguments may stand among them.

    Raises
    ------
    InputError
        A value cannot be used.
    """
    typed = {
        name: told[argument]
        for name, argument in ARGUMENTS.items()
        if told.get(argument) not in (None, [])
    }
    if ("original_g" in typed) != ("original_density_g_ml" in typed):
        raise InputError(
            "--original-weight",
            found="one of weight and density",
            need="both, or neither",
            do="Give --original-weight and --original-density together.",
        )
    return {name: _read(name, value) for name, value in typed.items()}


def _read(name, value):
    choice, option = CHOICES[name], f"--{CHOICES[name].option}"
    if name in _READ:
        return _READ[name](option, value)
    if choice.kind == "word":
        return getattr(value, "value", value)
    if choice.kind == "way":
        return read_direction(option, value)
    if choice.kind == "lengths":
        return read_lengths(option, value, count=choice.count)
    if choice.kind == "places":
        return tuple(read_place(option, text) for text in value)
    if choice.kind == "spots":
        return tuple(read_spot(option, text, radius_mm=KEEP_OFF_MM) for text in value)
    return read_choice(option, name, value)


def _density(option, text):
    from castplan.materials.originals import density_of

    return density_of(text)


def _filler(option, value):
    return read_percent(option, value, below=round(100 * CHOICES["filler_fraction"].most))


def _gauges(option, texts):
    return tuple(read_gauge(text) for text in texts)


_READ = {
    "water_ml": read_volume,
    "original_g": read_weight,
    "original_density_g_ml": _density,
    "pigment_fraction": read_percent,
    "filler_fraction": _filler,
    "gauges": _gauges,
}
