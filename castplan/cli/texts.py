"""``castplan texts``: every text, as a file to translate."""

import typer

from castplan.cli.options import EXIT_CODES

EPILOG = f"""\b
Examples:
  castplan texts > de.toml
  castplan --language de texts > newer-de.toml

{EXIT_CODES}"""


def texts():
    """Print every text of sheets, view and page as one TOML file to translate.

    With --language it prints that translation, English where it lacks a text:
    so an older one is brought up to date.
    """
    from castplan.texts import whole_catalogue

    typer.echo(whole_catalogue(), nl=False)
