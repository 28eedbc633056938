"""Which parts a batch is about, and what is asked for each.

Names of options are those of ``castplan plan`` without their dashes. What is
nearer to a part wins: the command line, then the TOML beside the part, then
its row in the list.
"""

import csv
import functools
import inspect
import os
import re
import tomllib
from pathlib import Path
from typing import get_type_hints

import typer

from castplan import ordinary
from castplan.cli import plan
from castplan.cli.options import read_closing
from castplan.errors import CastplanError, InputError

# Arguments of `plan` that say where, not what.
NOT_A_CHOICE = ("part", "out", "replace", "others", "limit_s", "memory_mb")
_COLUMNS = ("file", "name", "with")
_WITH = "with"  # parts that lie in the same box, as files beside the part
_TABLE = "plan"
_MOST_BYTES = 150
_UNSAFE = re.compile(r'[\x00-\x1f/\\:*?"<>|]')
# Names that some systems keep for devices.
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)


@functools.cache
def options() -> dict:
    """The choices that `castplan plan` takes, by argument name: its parameters."""
    signature = inspect.signature(plan.plan, eval_str=True)
    return {
        name: parameter
        for name, parameter in signature.parameters.items()
        if name not in NOT_A_CHOICE
    }


@functools.cache
def _flags():
    """By name as typed without dashes: the argument, and the option with its dashes."""
    flags = {}
    for parameter in _command().params:
        for flag in parameter.opts:
            flags[flag.removeprefix("--")] = (parameter.name, flag)
    return flags


@functools.cache
def _command():
    """A command that takes those options and gives back what it was told."""

    def told(**values):
        return values

    told.__signature__ = inspect.Signature(options().values())
    hints = get_type_hints(plan.plan, include_extras=True)
    told.__annotations__ = {name: hints[name] for name in options()}
    app = typer.Typer(add_completion=False)
    app.command()(told)
    return typer.main.get_command(app)


def read_choices(texts: dict, *, where: str) -> dict:
    """Values of options from what a table or a file says of them.

    Parameters
    ----------
    texts : dict
        Option names without dashes, or with underscores for them; text,
        numbers, switches and lists.
    where : str
        For messages.

    Returns
    -------
    dict
        By argument name of `planning.plan`; only what was said.

    Raises
    ------
    InputError
        No such option, or a value that cannot be used.
    """
    words, said, off = [], [], {}
    for given, value in texts.items():
        argument, flag = _known(given, where)
        said.append(argument)
        if isinstance(value, bool) or _is_switch(argument):
            if _truth(value, f"{where}: {given}"):
                words.append(flag)
            else:
                off[argument] = False
            continue
        for item in value if isinstance(value, list) else [value]:
            words.append(f"{flag}={item}")
    try:
        told = _command().main(words, prog_name=where, standalone_mode=False)
    except typer.BadParameter as error:
        raise InputError(
            where,
            found=error.format_message().rstrip("."),
            need="a value as castplan plan takes it",
            do="castplan plan --help says which.",
        ) from error
    return {name: told[name] for name in said} | off


def _known(given, where):
    name = given.strip().removeprefix("--").replace("_", "-")
    if name not in _flags():
        raise InputError(
            where,
            found=f"{given!r}",
            need="an option of castplan plan, without its dashes",
            do="castplan plan --help lists them; a list also has the columns file and name.",
        )
    return _flags()[name]


def _is_switch(argument):
    return isinstance(options()[argument].default, bool)


def _truth(value, where):
    if isinstance(value, bool):
        return value
    words = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
    word = str(value).strip().lower()
    if word not in words:
        raise InputError(where, found=repr(value), need="yes or no", do="Write one of them.")
    return words[word]


def read_toml(path: Path) -> dict:
    """Choices of the TOML beside a part; none where there is none.

    Taken are ``units`` at its top and the table ``[plan]``; whatever else the
    file says of the part is passed over.

    Raises
    ------
    InputError
        It is no TOML, or its table says something that cannot be used.
    """
    beside = path.with_suffix(".toml")
    if not os.path.isfile(beside):  # False for what can be no name of a file as well
        return {}
    try:
        told = tomllib.loads(ordinary.read_text(beside))
    except (OSError, ValueError) as error:
        raise InputError(
            beside.name,
            found=f"no TOML that can be read ({error})",
            need='units = "mm" and a table [plan]',
            do="Mend it, or take it away.",
        ) from error
    choices = told.get(_TABLE, {})
    if not isinstance(choices, dict):
        raise InputError(
            beside.name, found=f"{_TABLE} = {choices!r}", need="a table [plan]", do="Mend it."
        )
    if "units" in told:
        choices = {"units": told["units"]} | choices
    return _read_own(choices, path, where=beside.name)


def _read_own(texts, path, *, where):
    """Choices of one part, and the parts that lie in its box."""
    texts = dict(texts)
    named = texts.pop(_WITH, ())
    choices = read_choices(texts, where=where)
    if not named:
        return choices
    files = named if isinstance(named, list) else str(named).split("|")
    return choices | {"others": tuple(path.parent / str(file).strip() for file in files)}


def list_parts(source: Path, *, out: Path) -> list[tuple[str, Path, dict]]:
    """Name, file and own choices of every part.

    Parameters
    ----------
    source : pathlib.Path
        A folder, searched with those below it, or a list.
    out : pathlib.Path
        The results; not searched.

    Returns
    -------
    list of (str, pathlib.Path, dict)
        In the order of the list, or by path; every name is another one. The
        choices are as written.

    Raises
    ------
    InputError
        No part, or a list that cannot be read.
    """
    if source.is_dir():
        found = [(path.relative_to(source), path, {}) for path in _meshes(source, out)]
    elif source.is_file() and source.suffix.lower() == ".csv":
        found = [
            (Path(name) if name else _short(file), source.parent / file, row)
            for file, name, row in _rows(source)
        ]
    else:
        raise InputError(
            str(source),
            found="no folder and no .csv list",
            need="a folder with meshes, or a list with a column file",
            do="Check the path.",
        )
    if not found:
        raise InputError(
            str(source), found="no part", need="at least one mesh", do="Check the path."
        )
    named = _distinct([_label(place, path) for place, path, _ in found], [p for _, p, _ in found])
    return [(name, path, row) for name, (_, path, row) in zip(named, found, strict=True)]


def _meshes(source, out):
    from castplan.part.read import FORMATS

    kinds, out = {f".{kind}" for kind in FORMATS}, out.resolve()
    for path in sorted(source.rglob("*")):
        is_hidden = any(step.startswith(".") for step in path.relative_to(source).parts)
        is_ours = out in path.resolve().parents or _is_result(path.parent, source)
        is_mesh = path.is_file() and path.suffix.lower() in kinds
        if is_mesh and not is_hidden and not is_ours:
            yield path


@functools.cache
def _is_result(folder, source):
    """Whether a folder lies in a plan, whose solids are no parts to plan."""
    if (folder / "plan.json").is_file():
        return True
    return folder != source and _is_result(folder.parent, source)


def _rows(source):
    try:
        text = ordinary.read_text(source, encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        raise InputError(
            str(source), found=f"no text ({error})", need="a list in UTF-8", do="Save it as such."
        ) from error
    head = text.partition("\n")[0]
    # Where the comma is the decimal sign, table programs write semicolons.
    rows = csv.DictReader(text.splitlines(), delimiter=";" if ";" in head else ",", restval="")
    columns = [(column or "").strip() for column in rows.fieldnames or ()]
    if "file" not in columns:
        raise InputError(
            str(source),
            found=f"the columns {', '.join(columns) or 'none'}",
            need="one that is called file",
            do="The first line names the columns: file, name, and options of castplan plan.",
        )
    for column in columns:
        if column not in _COLUMNS:
            _known(column, str(source))
    rows.fieldnames = columns
    for number, row in enumerate(_whole(rows, source), start=2):
        if row.pop(None, None):
            raise InputError(
                f"{source} line {number}",
                found="more cells than columns",
                need="a cell a column",
                do="Put text with commas in quotation marks.",
            )
        told = {key: value.strip() for key, value in row.items() if value.strip()}
        if told:
            yield told.pop("file", ""), told.pop("name", ""), told


def _whole(rows, source):
    try:
        yield from rows
    except csv.Error as error:
        raise InputError(
            str(source),
            found=f"no table after line {rows.line_num} ({error})",
            need="a list as a table program saves it",
            do="Save it anew as CSV.",
        ) from error


def _short(file):
    """A file's place below its list; its name alone where it lies elsewhere."""
    path = Path(file)
    return Path(path.name) if path.is_absolute() or ".." in path.parts else path


def _label(place, path):
    """A name that can be a folder's on any system."""
    text = "-".join(place.parts)
    if place.suffix and place.name == path.name:
        text = text[: -len(place.suffix)]
    text = "".join(sign if sign.isprintable() else "_" for sign in text)
    # With what is put behind it, it still has to be a name on every system.
    text = text.encode()[:_MOST_BYTES].decode(errors="ignore")
    text = _UNSAFE.sub("_", text).strip(". ") or "part"
    text = text.replace(".previous", "_previous")  # the name of a plan that was replaced
    return f"_{text}" if _DEVICES.match(text) else text


def _distinct(labels, paths):
    """Labels that differ on every system: with their suffix where that helps, then numbered."""
    same = {label.casefold() for label in labels if _count(labels, label) > 1}
    labels = [
        f"{label}{path.suffix}" if label.casefold() in same else label
        for label, path in zip(labels, paths, strict=True)
    ]
    taken, names = set(), []
    for label in labels:
        name, number = label, 2
        while name.casefold() in taken:
            name, number = f"{label}-{number}", number + 1
        taken.add(name.casefold())
        names.append(name)
    return names


def _count(labels, label):
    return sum(other.casefold() == label.casefold() for other in labels)


def read_orders(source: Path, told: dict, *, out: Path) -> list:
    """An order a part; what is wrong with one part's options stands in its order.

    Parameters
    ----------
    source, out : pathlib.Path
    told : dict
        The choices for all parts, by argument name of `planning.plan`.

    Returns
    -------
    list of Order

    Raises
    ------
    InputError
        As `list_parts`, or a choice for all parts cannot be used.
    """
    from castplan.batch.order import own_cards, own_texts

    plan.read_job(told)
    own = {"cards": own_cards(), "texts": own_texts()}
    return [_order(name, path, row, told, own) for name, path, row in list_parts(source, out=out)]


def _order(name, path, row, told, own):
    from castplan.batch.order import Order
    from castplan.job import Job

    try:
        choices = told | read_toml(path) | _read_own(row, path, where=name)
        job, solids = plan.read_job(choices)
        return Order(
            name=name,
            path=path,
            job=job,
            unit=choices["units"],
            measured=choices["measured"],
            closing=read_closing(choices["thickness"], choices["close_to_plane"]),
            is_size_meant=choices["yes"],
            solids=solids,
            others=choices.get("others", ()),
            **own,
        )
    except CastplanError as error:
        return Order(name=name, path=path, job=Job(), wrong=str(error))
