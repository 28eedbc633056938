"""Options of the command as the page names them: controls by their labels."""

from castplan.choices import CHOICES
from castplan.page.choices import label_of, word_of
from castplan.texts import options_named, say

# What the command line's options are called on the page, where that is not what
# their own control says.
CONTROLS = {
    "--close-to-plane": "page_control.flat_back",
    "--gate": "page_control.gate",
    "--max-vents": "page_control.add_vent",
    "--measured": "page_control.measured",
    "--thickness": "page_control.sheet",
    "--units": "page_control.size",
    "--vent": "page_control.add_vent",
    "--wall": "page_control.wall",
    "--water": "page_control.water",
    "--yes": "page_control.size",
}
_CHOICES = {
    f"--{choice.option}": name for name, choice in CHOICES.items() if choice.card and choice.option
}


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
