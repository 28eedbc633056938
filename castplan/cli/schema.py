"""``castplan schema``: the form of plan.json."""

import typer

from castplan.cli.options import EXIT_CODES

EPILOG = f"""\b
Examples:
  castplan schema
  castplan schema > plan.schema.json

{EXIT_CODES}"""


def schema():
    """Print the JSON schema (draft 2020-12) that every plan.json keeps to."""
    from castplan.files.schema import schema_text

    typer.echo(schema_text(), nl=False)
