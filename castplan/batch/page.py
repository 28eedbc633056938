"""The catalogue as one HTML file: no network, no other file but the plans it links to."""

from html import escape
from importlib import resources
from urllib.parse import quote

from castplan.batch import summary
from castplan.batch.digest import PICTURE
from castplan.batch.pot import Load, PotLoads
from castplan.batch.store import PLANS_FOLDER, SUMMARY_FILE, Entry
from castplan.batch.totals import Totals
from castplan.texts import say
from castplan.view.page import FILES
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.page_texts import as_one, json_in_page, marked, said, texts_of_script

# Sorts of the list: fields of a part's data.
_SORTS = (
    "list",
    "name",
    "state",
    "verdict",
    "trapped",
    "vents",
    "silicone",
    "resin",
    "cost",
)
# Files of a plan folder that the page links to, if they are there.
_LINKS = {"sheets.pdf": "parts_page.sheets", "view.html": "parts_page.view"}
# Hatch of what is trapped, as on the sheets: never by colour alone.
_HATCH = (
    '<svg class="marks" aria-hidden="true" focusable="false"><defs><pattern id="trapped" '
    'width="30" height="30" patternUnits="userSpaceOnUse" patternTransform="rotate(20)">'
    '<path d="M0 0H30M0 0V30" stroke="var(--trapped)" stroke-width="7" fill="none"/>'
    "</pattern></defs></svg>"
)


def page_html(
    entries: list[Entry],
    totals: Totals,
    pot: PotLoads | None,
    *,
    title: str,
    n_asked: int,
    files: dict[str, tuple[str, ...]],
) -> bytes:
    """The catalogue as a page.

    Parameters
    ----------
    entries : list of Entry
    totals : Totals
    pot : PotLoads or None
    title : str
        Plain text.
    n_asked : int
        Parts of the run, those not tried yet among them.
    files : dict
        By part, names of the files in its plan folder.

    Returns
    -------
    bytes
        UTF-8; the same entries give the same bytes.
    """
    assets = resources.files("castplan.batch")
    css, js = (assets.joinpath(f"page.{kind}").read_text("utf-8") for kind in ("css", "js"))
    script = as_one([(FILES / "say.js").read_text("utf-8"), js])
    parts = "\n".join(_part(entry, files.get(entry.name, ())) for entry in entries)
    body = f"""<main>
<h1>{escape(title)}</h1>
<section class="card">
<p>{escape(summary.count_sentence(entries, n_asked=n_asked))}</p>
<p>{_ways(pot)}</p>
</section>
{_buy(totals)}
{_pot(pot)}
<section id="parts" aria-label="{said("parts_page.parts")}">
{_controls(entries)}
<ol class="parts">
{parts}
</ol>
</section>
<p class="soft">{escape(view.basis_foot())}</p>
<p class="soft">{escape(view.sheet_first())}</p>
</main>"""
    page = f"""<!DOCTYPE html>
<html lang="{said("language.code")}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src \
'unsafe-inline'; script-src 'unsafe-inline'">
<title>{escape(title)}</title>
<style>
{css}</style>
</head>
<body>
{_HATCH}
{body}
<script type="application/json" id="words">{json_in_page(texts_of_script(js))}</script>
<script type="module">
{script}</script>
</body>
</html>
"""
    return page.encode("utf-8")


def _part(entry, files):
    state = summary.state_of(entry)
    data = {
        "name": entry.name,
        "state": summary.STATES.index(state),
        "verdict": summary.rank(entry),
    }
    digest = entry.digest or {}
    for key, name in (
        ("trapped", "trapped_ml"),
        ("vents", "n_vents"),
        ("silicone", "silicone_g"),
        ("resin", "resin_g"),
        ("cost", "cost"),
    ):
        value = digest.get(name)
        data[key] = "" if value is None else value
    attributes = " ".join(f'data-{key}="{escape(str(value))}"' for key, value in data.items())
    words = summary.state_words(state)
    head = f'<h3>{escape(entry.name)}<span class="state">{escape(words)}</span></h3>'
    if not entry.is_planned:
        return (
            f'<li class="part" {attributes}><div></div><div>{head}'
            f"<p>{escape(entry.error)}</p></div></li>"
        )
    return (
        f'<li class="part" {attributes}>{_picture(digest["picture"], entry.name)}'
        f'<div>{head}<p class="soft">{escape(formats.size_text(digest["size_mm"]))}</p>'
        f"{_finding(digest)}{_steps(digest)}{_links(entry, files)}</div>{_facts(entry)}</li>"
    )


def _finding(digest):
    if not digest["worst"]:
        return f"<p>{said('parts_page.no_finding')}</p>"
    worst = digest["worst"][0]
    return f'<p>{marked(worst["message"])}</p><p class="do">{marked(worst["do"])}</p>'


def _steps(digest):
    steps = "".join(f"<li>{marked(step)}</li>" for step in digest["says"])
    head = said("parts_page.do")
    return f'<details><summary>{head}</summary><ol class="steps">{steps}</ol></details>'


def _links(entry, files):
    folder = f"{PLANS_FOLDER}/{quote(entry.name)}"
    links = [
        f'<a href="{folder}/{quote(name)}">{escape(say(key))}</a>'
        for name, key in _LINKS.items()
        if name in files
    ]
    return f"<p>{' &nbsp; '.join(links)}</p>" if links else ""


def _facts(entry):
    rows = "".join(
        f"<dt>{escape(name)}</dt><dd>{marked(told)}</dd>" for name, told in summary.facts(entry)
    )
    return f'<dl class="facts">{rows}</dl>'


def _picture(picture, name):
    if not picture["outline"]:
        return '<div class="picture"></div>'
    margin = PICTURE // 40
    box = f"{-margin} {-margin} {picture['width'] + 2 * margin} {picture['height'] + 2 * margin}"
    paths = "".join(
        f'<path class="{kind}" d="{escape(picture[key])}"/>'
        for kind, key in (("o", "outline"), ("l", "lines"), ("p", "pockets"))
        if picture[key]
    )
    label = said("parts_page.picture", name=name)
    return f'<svg class="picture" viewBox="{box}" role="img" aria-label="{label}">{paths}</svg>'


def _controls(entries):
    told = summary.counts(entries)
    boxes = "".join(
        f'<label><input type="checkbox" value="{place}" checked>'
        f"{escape(summary.state_words(state))} ({told[state]})</label>"
        for place, state in enumerate(summary.STATES)
    )
    ways = [(key, said(f"parts_page.by_{key}")) for key in _SORTS]
    sorts = "".join(f'<option value="{key}">{label}</option>' for key, label in ways)
    return f"""<form class="card controls" hidden>
<p><label for="find">{said("parts_page.find")}</label>\
<input type="search" id="find" autocomplete="off"></p>
<p><label for="sort">{said("parts_page.sort")}</label><select id="sort">{sorts}</select></p>
<fieldset><legend>{said("parts_page.show")}</legend>{boxes}</fieldset>
<p id="told" role="status"></p>
</form>"""


def _buy(totals):
    heads = [said(key) for key, *_ in shop_view.BUY_HEADS]
    labels = ["", *(f' data-label="{head}"' for head in heads[1:])]
    rows = ""
    for line in totals.lines:
        cells = zip(labels, shop_view.buy_row(line, totals.currency), strict=True)
        row = "".join(f"<td{label}>{marked(told)}</td>" for label, told in cells)
        rows += f"<tr>{row}</tr>"
    columns = "".join(f'<th scope="col">{head}</th>' for head in heads)
    return f"""<section class="card" id="buy">
<h2>{said("parts_page.buy_for_all")}</h2>
<p>{marked(summary.buy_sentence(totals))}</p>
<div class="scroll" tabindex="0" role="region" aria-label="{said("parts_page.buy")}">\
<table class="buy"><thead><tr>{columns}</tr></thead><tbody>{rows}</tbody></table></div>
</section>"""


def _ways(pot):
    """Links to the sections of the page, and to the table."""
    ways = [("parts", said("parts_page.parts")), ("buy", said("parts_page.buy"))]
    if pot:
        ways.append(("pot", said("parts_page.pot")))
    links = " &nbsp; ".join(f'<a href="#{way}">{label}</a>' for way, label in ways)
    return f'{links} &nbsp;\n<a href="{SUMMARY_FILE}">{said("parts_page.table")}</a>'


def _pot(pot):
    if pot is None:
        return ""
    told = "".join(f"<p>{marked(line)}</p>" for line in summary.pot_sentences(pot))
    loads = "".join(
        f"<li>{_load_picture(load, pot.inner_mm[0], number)}"
        f"<p><strong>{said('parts_page.load', number=number)}</strong> "
        f"{marked(summary.load_sentence(load))}</p></li>"
        for number, load in enumerate(pot.loads, start=1)
    )
    return f"""<section class="card" id="pot">
<h2>{said("parts_page.pot_together")}</h2>
{told}
<ol class="loads">{loads}</ol>
</section>"""


def _load_picture(load: Load, diameter_mm: float, number: int) -> str:
    """The pot from above, y upward as in `Place`; moulds numbered in the sentence's order."""
    radius = diameter_mm / 2
    shapes = ""
    for order, place in enumerate(load.places, start=1):
        x, y = place.x_mm - place.wide_mm / 2, -place.y_mm - place.deep_mm / 2
        size = min(place.wide_mm, place.deep_mm, diameter_mm / 6)
        shapes += (
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{place.wide_mm:.1f}" '
            f'height="{place.deep_mm:.1f}"/>'
            f'<text x="{place.x_mm:.1f}" y="{-place.y_mm:.1f}" font-size="{0.7 * size:.1f}">'
            f"{order}</text>"
        )
    edge, label = radius * 1.02, said("parts_page.load_from_above", number=number)
    return (
        f'<svg class="pot" viewBox="{-edge:.1f} {-edge:.1f} {2 * edge:.1f} {2 * edge:.1f}" '
        f'role="img" aria-label="{label}"><circle r="{radius:.1f}"/>{shapes}</svg>'
    )
