"""The cards of the view: decision, reason, drawing, at most three controls, what stands where."""

from html import escape

from castplan.plan_record import Plan
from castplan.view.drawings import drawing
from castplan.view.records import Scene
from castplan.words import air as air_view
from castplan.words import bed as bed_view
from castplan.words import plan as view
from castplan.words import scene as scene_view
from castplan.words import shop as shop_view
from castplan.words.decision import Decision, what_and_why
from castplan.words.page_texts import marked, said
from castplan.words.scene import MapClass, Place

_HOLDS = ("held", "depth", "draft")  # maps of what holds
_LISTED = 200  # places of one kind; a scan may have thousands


def build_cards(plan: Plan, scene: Scene) -> str:
    """All cards as HTML that reads well without script and without a 3D picture."""
    cards = (
        ("turn", _turn(plan)),
        ("split", _split(plan, scene)),
        ("cut", _cut(plan)),
        ("holds", _holds(plan, scene)),
        ("thick", _thick(plan, scene)),
        ("pour", _pour(plan, scene)),
        ("measure", _measure(scene)),
        ("watch", _watch(plan)),
    )
    return "\n".join(
        f'<section class="card" id="card-{key}">\n<h2><button type="button" class="head" '
        f'aria-controls="body-{key}" aria-expanded="true"><span class="step">{number}</span>'
        f"{said(f'view_card.{key}')}</button></h2>\n"
        f'<div class="body" id="body-{key}">\n{body}\n</div>\n</section>'
        for number, (key, body) in enumerate(cards, start=1)
    )


def _says(decision: Decision) -> str:
    what, why = what_and_why([decision])
    return f'<p class="decision">{marked(what)}</p>\n<p class="reason">{marked(why)}</p>'


def _turn(plan):
    parts = ""
    if plan.nest is not None:
        parts = _places(scene_view.part_places(plan), "part", "nest.none")
    return (
        f"{_says(view.decisions(plan)[0])}\n{drawing(plan, 'draw')}\n{parts}\n"
        f'<p class="small">{marked(view.sampling_sentence(plan))}</p>'
    )


def _split(plan, scene):
    body = [_says(view.decisions(plan)[1]), drawing(plan, "front"), drawing(plan, "side")]
    shown = {key: key for key in ("part", "upper", "lower", "box", "keys", "ports")}
    apart = "open"
    if plan.split.is_open:
        shown, apart = {"part": "part", "upper": "mould", "box": "box"}, "lift"
    if plan.split.is_cut:
        shown, apart = {key: key for key in ("part", "box", "ports")}, "bend"
        shown |= {"upper": "upper_lip", "lower": "lower_lip"}
    none = "split_card.no_lips" if plan.split.is_cut else "split_card.no_halves"
    if not scene.halves:
        shown = {key: key for key in shown if key in ("part", "box", "ports")}
        body.append(f'<p class="waits">{said(none)} {marked(scene.why_no_halves)}</p>')
    boxes = "\n".join(
        f'<label class="pick"><input type="checkbox" name="shown" value="{key}"'
        f"{'' if key == 'box' else ' checked'}><span>{said(f'split_card.{name}')}</span></label>"
        for key, name in shown.items()
    )
    slider = (
        f'<label class="slider">{said(f"split_card.{apart}")}'
        '<input type="range" id="open" min="0" max="100" value="60"></label>'
    )
    body.append(
        f'<div class="live">{slider if scene.halves else ""}'
        f"<fieldset><legend>{said('split_card.show')}</legend>{boxes}</fieldset></div>"
    )
    return "\n".join(body)


def _cut(plan):
    hatches = "cut_card.hatches_lips" if plan.split.is_cut else "cut_card.hatches"
    axes = "\n".join(
        f'<label class="pick"><input type="radio" name="axis" value="{axis}"'
        f"{' checked' if axis == 'y' else ''}><span>{said(f'cut_card.axis_{axis}')}</span></label>"
        for axis in "yxz"
    )
    return (
        f'<p class="decision">{said("cut_card.look_inside")}</p>\n'
        f'<p class="reason">{said(hatches)}</p>\n'
        f'<div class="live"><fieldset><legend>{said("cut_card.move")}</legend>{axes}</fieldset>'
        f'<label class="slider">{said("cut_card.where")}'
        '<input type="range" id="cut-at" min="0" max="1000" value="500"></label>'
        '<p class="readout" id="cut-text"></p></div>'
    )


def legend(classes: tuple[MapClass, ...], key: str) -> str:
    """The classes of a map as a list of swatches, HTML."""
    rows = "\n".join(
        f'<li><svg class="swatch" viewBox="0 0 24 16" aria-hidden="true">{_swatch(item)}</svg>'
        f'<b>{item.letter}</b> <span class="mm">{escape(item.mm)}</span>'
        f'<span class="inch">{escape(item.inch)}</span></li>'
        for item in classes
    )
    return f'<ul class="legend live" data-map="{key}">\n{rows}\n</ul>'


def _swatch(item):
    """The class as it is drawn on the part: its colour under its hatch."""
    ground = f'<rect width="24" height="16" fill="{item.colour}"/>'
    slash = {1: 6.0, 5: 3.6}.get(item.hatch)
    lines = []
    if slash or item.hatch == 3:
        step = slash or 5.0
        lines += [f"M{x:g} 16L{x + 16:g} 0" for x in _steps(-16, 24, step)]
    if item.hatch in (2, 3, 8):
        step = {2: 6.0, 3: 5.0, 8: 10.0}[item.hatch]
        lines += [f"M{x:g} 0L{x + 16:g} 16" for x in _steps(-16, 24, step)]
    if item.hatch == 6:
        lines += [f"M0 {y:g}H24" for y in _steps(2, 16, 4.5)]
    marks = f'<path class="hatch" d="{"".join(lines)}"/>' if lines else ""
    if item.hatch in (4, 7):
        step, size = (6.0, 1.0) if item.hatch == 4 else (4.0, 1.0)
        marks = "".join(
            f'<circle class="dot" cx="{x:g}" cy="{y:g}" r="{size:g}"/>'
            for x in _steps(2, 24, step)
            for y in _steps(2, 16, step)
        )
    return ground + marks


def _steps(low, high, step):
    return [low + k * step for k in range(int((high - low) / step) + 1)]


def _places(places: list[Place], shape: str, none: str) -> str:
    """Numbered entries: a button that flies there, what it is, what to do."""
    if not places:
        return f'<p class="small">{said(none)}</p>'
    rows = []
    for place in places[:_LISTED]:
        do = ""
        if place.do:
            do = f'<p class="do"><b>{said("place_list.do")}</b> {marked(place.do)}</p>'
        flies = "" if place.at_mm is not None else " disabled"
        rows.append(
            f'<li id="{escape(place.key)}"><button type="button" class="place" '
            f'data-place="{escape(place.key)}"{flies}>'
            f'<span class="number {shape}">{escape(place.number)}</span>'
            f"<span>{marked(place.title)}</span></button>"
            f'<div class="more"><p>{marked(place.what)}</p>{do}</div></li>'
        )
    rest = len(places) - _LISTED
    more = ""
    if rest > 0:
        more = f'<p class="small">{said("place_list.rest", n=rest, number=f"{rest:,}")}</p>'
    return f'<ol class="places">\n{"".join(rows)}\n</ol>{more}'


def _holds(plan, scene):
    maps = [one for one in scene_view.surface_maps(plan, scene) if one.key in _HOLDS]
    picks = "\n".join(
        f'<label class="pick"><input type="radio" name="map" value="{one.key}"'
        f"{' checked' if one.key == 'held' else ''}>"
        f"<span>{said(f'hold_card.map_{one.key}')}</span></label>"
        for one in maps
    )
    legends = "\n".join(legend(one.classes, one.key) for one in maps)
    pockets = _places(scene_view.pocket_places(plan), "square", "hold_card.no_pocket")
    return (
        f'<p class="decision">{marked(bed_view.bed_line(plan))}</p>\n{drawing(plan, "draw")}\n'
        f'<div class="live"><fieldset><legend>{said("hold_card.colour_by")}</legend>'
        f"{picks}</fieldset></div>\n{legends}\n{_specks(plan)}"
        f"<h3>{said('hold_card.pockets')}</h3>\n{pockets}{_thinned(scene)}"
    )


def _specks(plan):
    if not plan.split.undercuts.n_small:
        return ""
    return f'<p class="small">{said("hold_card.specks")}</p>\n'


def _thinned(scene):
    if not scene.surface.is_thinned:
        return ""
    n_shown = len(scene.surface.faces)
    return f'<p class="small">{said("hold_card.thinned", triangles=f"{n_shown:,}")}</p>'


def _thick(plan, scene):
    thick = next(one for one in scene_view.surface_maps(plan, scene) if one.key == "thickness")
    return (
        f'<p class="decision">{marked(shop_view.heat_sentences(plan)[0])}</p>\n'
        f'<p class="reason">{said("thick_card.how_measured")}</p>\n'
        f"{legend(thick.classes, 'thickness')}"
    )


def _pour(plan, scene):
    decision = view.decisions(plan)[2]
    air = next(one for one in scene_view.surface_maps(plan, scene) if one.key == "air")
    controls = (
        f"<fieldset><legend>{said('pour_card.show')}</legend>"
        '<label class="pick"><input type="radio" name="pour" value="film" checked>'
        f"<span>{said('pour_card.film')}</span></label>"
        '<label class="pick"><input type="radio" name="pour" value="air">'
        f"<span>{said('pour_card.air')}</span></label></fieldset>"
        f'<div data-map="film"><label class="slider">{said("pour_card.resin_in")}'
        '<input type="range" id="film" min="0" '
        f'max="{len(scene.film.level_mm) - 1}" value="{len(scene.film.level_mm) // 2}"></label>'
        f'<button type="button" id="play" class="act">{said("view.play")}</button>'
        f'{_curve(scene)}<p class="readout" id="film-text"></p></div>'
    )
    fill = "".join(f"<li>{marked(line)}</li>" for line in air_view.fill_sentences(plan))
    return (
        f"{_says(decision)}\n<p>{marked(air_view.attitude_decision(plan).sentence)}</p>\n"
        f'{drawing(plan, "pour")}\n<div class="live">{controls}</div>\n'
        f"{legend(scene_view.film_classes(), 'film')}\n{legend(air.classes, 'air')}\n"
        f"<h3>{said('pour_card.openings')}</h3>\n"
        f"{_places(scene_view.port_places(plan), 'round', 'pour_card.none_planned')}\n"
        f"<h3>{said('pour_card.high_points')}</h3>\n"
        f"{_places(scene_view.peak_places(plan, scene), 'peak', 'pour_card.none_listed')}\n"
        f"<details><summary>{said('pour_card.how_it_fills')}</summary>"
        f'<ul class="lines">{fill}</ul></details>'
    )


def _curve(scene):
    """Level of what rises over volume filled, with a line at the step that is shown."""
    film = scene.film
    top = max(float(film.rising_mm.max()), 1e-9)
    full = max(float(film.filled_ml.max()), 1e-9)
    points = " ".join(
        f"{8 + 284 * filled / full:.1f},{82 - 74 * level / top:.1f}"
        for level, filled in zip(film.rising_mm, film.filled_ml, strict=True)
    )
    return (
        '<svg class="curve" viewBox="0 0 300 104" role="img" '
        f'aria-label="{said("pour_card.curve")}">'
        '<path class="axis" d="M8 4V82H296"/>'
        f'<polyline class="run" points="{points}"/>'
        '<line class="now" id="film-now" x1="8" x2="8" y1="4" y2="82"/>'
        f'<text x="12" y="14">{said("pour_card.curve_level")}</text>'
        f'<text x="292" y="98" text-anchor="end">{said("pour_card.curve_resin")}</text>'
        "</svg>"
    )


def _measure(scene):
    return (
        f'<p class="decision">{said("measure_card.click_two")}</p>\n'
        f'<p class="reason">{said("measure_card.near_a_corner")}</p>\n'
        f'<div class="live"><p class="readout" id="length-text">{said("view.no_point")}</p>'
        f'<button type="button" id="clear" class="act">{said("measure_card.again")}</button></div>'
        f"{_thinned(scene)}"
    )


def _watch(plan):
    places = scene_view.finding_places(plan)
    n_stops = sum(finding.severity == "stop" for finding in plan.findings)
    lead = said("watch_card.nothing_stops" if places else "watch_card.nothing")
    if n_stops:
        lead = said("watch_card.clear", n=n_stops, number=n_stops)
    return f'<p class="decision">{lead}</p>\n{_places(places, "round", "watch_card.no_findings")}'
