"""Options of the command as page and paper name them: controls by their labels."""

from castplan.choices import CHOICES
from castplan.texts import code_key, english, options_named, say
from castplan.words import formats

# What the command line's options are called on page and paper, where that is not what
# their own control says.
CONTROLS = {
    "--close-to-plane": "page_control.flat_back",
    "--gate": "page_control.gate",
    "--least": "page_control.least",
    "--max-vents": "page_control.add_vent",
    "--measured": "page_control.measured",
    "--pitch": "page_control.pitch",
    "--size": "page_control.sizes",
    "--thickness": "page_control.sheet",
    "--units": "page_control.size",
    "--uses": "page_control.uses",
    "--vent": "page_control.add_vent",
    "--wall": "page_control.wall",
    "--water": "page_control.water",
    "--yes": "page_control.size",
}
_CHOICES = {
    f"--{choice.option}": name for name, choice in CHOICES.items() if choice.card and choice.option
}


def label_of(name: str) -> str:
    """A control's own label, or what the choice is called, with its unit."""
    if f"page_control.{name}" in english():
        return say(f"page_control.{name}")
    choice = CHOICES[name]
    called = formats.capital(say(f"choice.{name}"))
    return f"{called} ({choice.unit})" if choice.unit and choice.kind == "number" else called


def word_of(name: str, word: str) -> str:
    """What a word of a choice is called: by a text of its own, or by one for all."""
    word = code_key(word)
    if name == "parting":
        return say(f"page_kind.{word}")
    own = f"page_option.{name}_{word}"
    return say(own) if own in english() else say(f"page_option.{word}")


def control_named(option: str, value: str = "") -> str:
    """An option by the label of its control, with the value that it is to have.

    Parameters
    ----------
    option : str
        ``--draw``; without a control it stays as it is.
    value : str
        As it is typed behind the option, ``=0,0,1``.
    """
    if option not in {**_CHOICES, **CONTROLS}:
        return option + value
    control = say(CONTROLS[option]) if option in CONTROLS else label_of(_CHOICES[option])
    if value:
        value, name = value.removeprefix("="), _CHOICES.get(option)
        if name is not None and value in CHOICES[name].words:
            value = word_of(name, value)
        return say("page_control.set_to", control=control, value=value)
    return say("page_control.named", control=control)


def by_controls():
    """Name options by their controls in all that is said inside the ``with`` block."""
    return options_named(control_named)
