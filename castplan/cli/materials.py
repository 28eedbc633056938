"""``castplan materials``: the cards, and the shop's own ones."""

import tomllib
from pathlib import Path
from typing import Annotated

import typer

from castplan import ordinary
from castplan.cli.options import EXIT_CODES
from castplan.errors import InputError

EPILOG = f"""\b
Examples:
  castplan materials list
  castplan materials show silicone-tin-25a
  castplan materials add our-tin-25 --from sheet.toml
  castplan materials check
  castplan materials learn plan

{EXIT_CODES}"""

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    epilog=EPILOG,
    help="List, show, add and check material cards. Your own are kept in your user folder.",
)
CardArgument = Annotated[str, typer.Argument(metavar="ID", help="The card's id.")]
SheetOption = Annotated[
    Path | None,
    typer.Option(
        "--from",
        metavar="FILE",
        help="TOML with what the supplier's sheet states, as density_g_ml = 1.08 or "
        'viscosity_mpa_s = "26 Pa s". Without it castplan asks.',
    ),
]


@app.command(name="list", epilog=f"\b\nExample:\n  castplan materials list\n\n{EXIT_CODES}")
def list_cards():
    """List every card: id, what it is, pot life, demould, hardness, whose it is."""
    from castplan.materials.cards import load_cards
    from castplan.words.bench import card_rows

    for line in card_rows(list(load_cards().values())):
        typer.echo(line)


@app.command(epilog=f"\b\nExample:\n  castplan materials show epoxy-slow-80d\n\n{EXIT_CODES}")
def show(card: CardArgument):
    """Show one card: every number with its range, basis and source, and the cautions."""
    from castplan.materials.cards import any_card
    from castplan.words.bench import card_lines

    for line in card_lines(any_card(card)):
        typer.echo(line)


@app.command(
    epilog=f"""\b
Examples:
  castplan materials add our-tin-25
  castplan materials add our-tin-25 --from sheet.toml --replace

{EXIT_CODES}"""
)
def add(
    card: CardArgument,
    source: SheetOption = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the card of this id; the old one is kept."),
    ] = False,
):
    """Make a card from a supplier's data sheet, once nothing on it contradicts."""
    from castplan.materials import folder
    from castplan.materials.sheet import card_or_problems, card_text, read_sheet

    path = folder.card_file(card)
    if path.exists() and not replace:
        raise InputError(
            f"card {card}",
            found="one of yours with this id",
            need="a free id",
            do="Choose another, or give --replace (the old card is kept).",
        )
    entry = _ask(card) if source is None else _read(source, card)
    made = card_or_problems(card, entry)
    folder.keep(path, card_text(made))
    typer.echo(f"Kept {made.title} as {card}: {path}")
    _tell_missing(read_sheet(card, entry).missing)
    typer.echo(f"Take it back with: castplan materials undo {card}")


@app.command(
    epilog=f"""\b
Examples:
  castplan materials check
  castplan materials check our-tin-25
  castplan materials check our-tin-25 --from sheet.toml

{EXIT_CODES}"""
)
def check(
    card: Annotated[
        str | None, typer.Argument(metavar="[ID]", help="One card; without it all of yours.")
    ] = None,
    source: SheetOption = None,
):
    """Check your cards, or a sheet before you add it: ratios, units, ranges, what is missing."""
    from castplan.materials import folder
    from castplan.materials.sheet import card_or_problems, read_sheet, stated_on

    if source is not None:
        name = card or source.stem
        sheets = {name: _read(source, name)}
    else:
        paths = folder.card_files() if card is None else [_own(card)]
        sheets = {path.stem: stated_on(_read(path, path.stem)) for path in paths}
    if not sheets:
        typer.echo("No card of your own yet. Add one with: castplan materials add ID")
    for name, entry in sheets.items():
        made = card_or_problems(name, entry)
        typer.echo(f"{name}: {made.title}, nothing contradicts.")
        _tell_missing(read_sheet(name, entry).missing)


@app.command(epilog=f"\b\nExample:\n  castplan materials remove our-tin-25\n\n{EXIT_CODES}")
def remove(card: CardArgument):
    """Take one of your cards away; it is kept beside the others as a .previous file."""
    from castplan.materials import folder

    aside = folder.set_aside(_own(card))
    typer.echo(f"Removed {card}. It is kept as {aside}")
    typer.echo(f"Take it back with: castplan materials undo {card}")


@app.command(epilog=f"\b\nExample:\n  castplan materials undo our-tin-25\n\n{EXIT_CODES}")
def undo(card: CardArgument):
    """Bring back what one of your cards was before the last change."""
    from castplan.materials import folder

    _check_id(card)
    path = folder.card_file(card)
    if folder.previous(path).exists():
        folder.bring_back(path)
        typer.echo(f"{card} is as it was before.")
    elif path.exists():
        typer.echo(f"{card} was new. It is kept as {folder.set_aside(path)}")
    else:
        raise InputError(
            f"card {card}",
            found="nothing to bring back",
            need="a card of yours",
            do="Look at castplan materials list.",
        )


@app.command(
    epilog=f"""\b
Examples:
  castplan materials learn plan plan-2
  castplan materials learn plan --card polyurethane-fast-70d --keep our-fast-70
  castplan materials learn plan --card our-fast-70 --keep our-fast-70 --replace

{EXIT_CODES}"""
)
def learn(
    plans: Annotated[
        list[Path], typer.Argument(metavar="PLAN...", help="Folders of plans with their logs.")
    ],
    card: Annotated[
        str | None, typer.Option("--card", metavar="ID", help="Only numbers of this card.")
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option(
            "--keep",
            metavar="ID",
            help="Put them on a card of yours: --card's, with these numbers in it.",
        ),
    ] = None,
    number: Annotated[
        list[str] | None,
        typer.Option("--number", metavar="NAME", help="Only this number; as often as you like."),
    ] = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the card of this id; the old one is kept."),
    ] = False,
):
    """Show what your logs tell of your materials; put it on a card only if you say so."""
    from castplan.after.learn import UNITS, keep_on
    from castplan.after.learn import learn as gather
    from castplan.files.cast_file import read_log
    from castplan.files.plan_folder import read_plan
    from castplan.materials.cards import any_card
    from castplan.words.learn import learnt_lines

    for name in number or ():
        if name not in UNITS:
            raise InputError(
                "--number", found=repr(name), need=f"one of {', '.join(UNITS)}", do="Name it so."
            )
    found = [
        one
        for one in gather((read_plan(folder), read_log(folder)) for folder in plans)
        if card in (None, one.card) and (not number or one.name in number)
    ]
    for line in learnt_lines(found):
        typer.echo(line)
    if keep is None:
        return
    _check_id(keep)
    if card is None:
        raise InputError(
            "--keep", found="no --card", need="the card to start from", do="Add --card ID."
        )
    _keep(keep_on(any_card(card), found, card_id=keep), replace=replace)


def _keep(made, *, replace):
    """Write a card of the shop's own; the one it replaces is kept."""
    from castplan.materials import folder
    from castplan.materials.sheet import card_text

    path = folder.card_file(made.card_id)
    if path.exists() and not replace:
        raise InputError(
            f"card {made.card_id}",
            found="one of yours with this id",
            need="a free id",
            do="Choose another, or give --replace (the old card is kept).",
        )
    folder.keep(path, card_text(made))
    typer.echo(f"Kept as {made.card_id}: {path}")
    typer.echo(f"Take it back with: castplan materials undo {made.card_id}")


def _check_id(card):
    from castplan.materials.sheet import CARD_ID

    if not CARD_ID.fullmatch(card):
        raise InputError(
            "card id",
            found=repr(card),
            need="small letters, digits and hyphens",
            do="Write for example our-tin-25.",
        )


def _own(card):
    from castplan.materials import folder

    _check_id(card)
    path = folder.card_file(card)
    if not path.exists():
        raise InputError(
            f"card {card}",
            found="no card of yours with this id",
            need="one that castplan materials list shows as yours",
            do="Classes stay as they are: add a card of your own instead.",
        )
    return path


def _read(path, card):
    """The entries of a sheet: the table of this id, the only table, or the top."""
    try:
        stated = tomllib.loads(ordinary.read_text(path))
    except (OSError, ValueError) as error:
        raise InputError(
            str(path),
            found=f"no sheet that can be read ({error})",
            need="a TOML file",
            do="Look at castplan materials show for the names.",
        ) from error
    tables = {key: value for key, value in stated.items() if isinstance(value, dict)}
    if card in tables:
        return tables[card]
    if len(tables) == 1 and len(stated) == 1:
        return next(iter(tables.values()))
    return stated


def _tell_missing(missing):
    if missing:
        typer.echo(f"Not on the sheet: {', '.join(missing)}.")
        typer.echo("A plan takes what it needs of these from the class and marks it as assumed.")


def _ask(card):
    """Ask for what the sheet states, one line after the other; empty skips."""
    from castplan.materials.sheet import read_line
    from castplan.materials.sheet_entries import CHEMISTRIES, ENTRIES, ONLY
    from castplan.texts.told import UNTOLD

    _check_id(card)
    entry = {"title": typer.prompt("What is written on the tin")}
    entry["sheet"] = typer.prompt("Which data sheet (supplier, edition)", default="")
    while entry.get("chemistry") not in CHEMISTRIES:
        entry["chemistry"] = typer.prompt(f"Chemistry ({', '.join(CHEMISTRIES)})")
    kind = CHEMISTRIES[entry["chemistry"]]
    typer.echo("As on the sheet, with unit; Enter where it says nothing.")
    for name, told in ENTRIES.items():
        if ONLY.get(name, kind) != kind:
            continue
        while True:
            unit = {"1": "a share, or %", "Shore": "A or D behind it"}.get(told.unit, told.unit)
            answer = typer.prompt(f"{told.words} [{unit}]", default="", show_default=False)
            if not answer.strip():
                break
            _, problem = read_line(name, answer, source=UNTOLD)
            if problem is None:
                entry[name] = answer
                break
            typer.echo(problem)
    return entry
