"""``castplan check``: what the mesh file holds."""

import typer

from castplan.cli.options import EXIT_CODES, PartArgument, UnitsOption

EPILOG = f"""\b
Example:
  castplan check coat_hook.stl --units mm

{EXIT_CODES}"""


def check(part: PartArgument, units: UnitsOption = None):
    """Say what the mesh file holds: size, bodies, holes, volume."""
    from castplan.mesh.load import load_part
    from castplan.output import view

    loaded = load_part(part, unit=units)
    for line in view.check_lines(loaded.check, inches=loaded.check.unit in ("in", "ft")):
        typer.echo(line)
