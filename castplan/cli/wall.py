"""``castplan wall``: sheets to hang up beside the scale."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.job_options import option_of, read_options
from castplan.cli.options import EXIT_CODES
from castplan.job import Job

EPILOG = f"""\b
Examples:
  castplan wall --out wall.pdf
  castplan wall --out wall.pdf --paper Letter --cards silicone-tin-25a,polyurethane-fast-70d
  castplan wall --out wall.pdf --replace

{EXIT_CODES}"""


def wall(
    out: Annotated[Path, typer.Option("--out", metavar="PDF", help="File to write.")],
    cards: Annotated[
        str | None,
        typer.Option(
            metavar="IDS",
            help="Which cards, with commas between. Without it your own and all classes.",
        ),
    ] = None,
    paper: option_of("paper") = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over the file if it is there.")
    ] = False,
):
    """Write wall sheets: ratios in steps, pot life by temperature, inhibition, defects."""
    from castplan import __version__
    from castplan.files import new_file
    from castplan.materials.cards import any_card, load_cards
    from castplan.paper import pdf
    from castplan.paper.sheet_wall import wall_pages
    from castplan.texts import say

    new_file.check_new(out, suffixes=(".pdf",), replace=replace)
    if cards is None:
        # The shop's own first: they are the ones it reaches for.
        chosen = sorted(load_cards().values(), key=lambda card: card.origin == "class")
    else:
        wanted = dict.fromkeys(name.strip() for name in cards.split(","))
        chosen = [any_card(card_id) for card_id in wanted]
    pages = wall_pages(chosen, paper_name=Job(**read_options({"paper": paper})).paper)
    with new_file.appearing(out) as draft:
        pdf.save_pdf(pages, draft, title=say("wall.name"), version=__version__)
    typer.echo(say("wall.written", n=len(chosen), pages=len(pages)))
