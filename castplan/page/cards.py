"""What the page's cards say of a plan: the same sentences as on the sheets, as JSON.

Nothing is computed here; `tests/web` holds the form. What is said is said in the
language that is spoken; names of cards, controls and kinds are codes.
"""

from dataclasses import replace

import numpy as np

from castplan import units
from castplan.materials.cards import load_cards
from castplan.page import bench, short
from castplan.page.choices import CHOICES, controls
from castplan.page.own import NO_OWN, Own
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.view.drawings import drawing
from castplan.words import air as air_view
from castplan.words import build as build_view
from castplan.words import cut as cut_view
from castplan.words import formats
from castplan.words import kinds as kind_view
from castplan.words import mesh as mesh_view
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words import split as view_split
from castplan.words.decision import what_and_why
from castplan.words.faces import side_words
from castplan.words.options import by_controls

_SAME = 1e-4  # of a direction's numbers

# Where each card's findings come from; what is left stands with the materials.
_STAGES = {
    "part": ("check", "water"),
    "kind": ("kind",),
    "split": ("draw", "undercuts", "parting"),
    "stand": (),
    "air": ("air",),
    "box": ("mould",),
    "materials": ("amounts", "compat", "buy", "weigh", "heat", "fit"),
}


@by_controls()
def cards_of(plan: Plan, choices: dict, own: Own = NO_OWN) -> dict:
    """All cards, in the order of the work.

    Parameters
    ----------
    plan : Plan
    choices : dict
        What was chosen, to tell it from what castplan chose.
    own : Own
        What castplan would offer without the choices, so that it stays listed.

    Returns
    -------
    dict
        Plain JSON: ``cards`` for the column with what their ``controls`` may choose,
        ``steps``, ``mixes`` for the bench.
    """
    made = [
        _part(plan),
        _kind(plan),
        _split(plan, own.draws),
        # An open mould lies as its back has it.
        *(() if plan.split.is_open else (_stand(plan, own.stands),)),
        _air(plan),
        _box(plan),
        _materials(plan),
    ]
    placed = set()
    for card in made:
        found = [f for f in view.sorted_findings(plan) if f.stage in _STAGES[card["id"]]]
        card["findings"] = [_finding(finding) for finding in found]
        card["is_chosen"] = any(name in choices for name in card["controls"])
        placed.update(map(id, found))
    rest = [f for f in view.sorted_findings(plan) if id(f) not in placed]
    made[-1]["findings"] += [_finding(finding) for finding in rest]
    return {
        "name": plan.part.name,
        "cards": made,
        "controls": controls(),
        "is_one_pour": plan.split.is_one_pour,
        "short": short.in_short(plan, made),
        "steps": bench.steps_of(plan),
        "mixes": bench.mixes_of(plan),
        "summary": view.summary_lines(plan),
        "basis": view.basis_foot(),
    }


def _card(
    plan, name, title, decision, reason, *, also=(), cost="", picture="", heads=(), rows=(), more=()
):
    return {
        "id": name,
        "title": title,
        "answer": short.ANSWERS[name](plan),
        "decision": decision,
        "reason": reason,
        "controls": [each for each, choice in CHOICES.items() if choice.card == name] + list(also),
        "cost": cost,
        "picture": picture,
        "heads": [say(key) if key else "" for key, *_ in heads],
        "rows": [list(row) for row in rows],
        "more": [str(line) for line in more if line],
    }


def _part(plan):
    size, unit, mesh, closed, facing = mesh_view.check_lines(plan.part.check, inches=True)
    card = _card(
        plan,
        "part",
        say("page_card.part"),
        size,
        closed,
        picture="front",
        more=[
            unit,
            mesh,
            facing,
            air_view.show_sentence(plan),
            view.sampling_sentence(plan),
            shop_view.water_sentence(plan),
        ],
    )
    is_guess = plan.show.basis == "guessed"
    card["guessed"] = view.axis_of(plan, plan.show.direction) if is_guess else ""
    return card


def _kind(plan):
    return _card(
        plan,
        "kind",
        say("page_card.kind"),
        kind_view.kind_sentence(plan),
        "",
        heads=kind_view.KIND_HEADS,
        rows=kind_view.kind_rows(plan),
        more=[kind_view.weights_sentence()] if plan.offers else (),
    ) | {"answers": kind_view.answer_cards(plan)}


def _split(plan, own):
    draw, parting = plan.split.draw, plan.split.parting
    ways = _listed(own, draw.candidates[:3], "direction")
    card = _card(
        plan,
        "split",
        say("page_card.split"),
        *what_and_why(view.decisions(plan)[:2]),
        cost=say("page_card.split_cost", cost=f"{draw.candidates[0].cost_min:.0f}"),
        picture="side",
        heads=view_split.POCKET_HEADS,
        rows=view_split.pocket_rows(plan),
        more=[
            *(cut_view.cut_sentences(plan) if plan.split.is_cut else ()),
            view_split.seam_sentence(plan),
            view_split.weights_sentence(plan),
        ],
    )
    base_mm = float(parting.heights_mm[0])
    card["ways"] = [
        {
            "direction": _numbers(each.direction),
            "says": formats.capital(says),
            "cost_min": round(each.cost_min),
        }
        for each, says in zip(ways, view_split.candidate_reasons(plan, ways), strict=True)
    ]
    card["kinds"] = [list(row) for row in view_split.option_rows(plan)]
    card["kind"] = plan.split.line.kind
    card["is_open"] = plan.split.is_open
    card["is_loose"] = plan.split.loose is not None
    card["heights_mm"] = _numbers(parting.heights_mm - base_mm, digits=3)
    card["trapped_ml"] = _numbers(parting.trapped_mm3 / 1000, digits=3)
    # Heights are told above the base board, as everywhere; chosen above the part.
    card["board_mm"] = round(base_mm - plan.mould.block.low_mm[2], 3)
    card["height_mm"] = round(float(plan.split.line.box_height_mm) - base_mm, 3)
    card["trapped_here_ml"] = round(plan.split.line.trapped_mm3 / 1000, 3)
    card["direction"] = _numbers(draw.direction)
    return card


def _stand(plan, own):
    attitude = plan.air.attitude
    options = _listed(own, attitude.options, "up")
    pour_with = say("page_card.pour_with", stand=_stand_side(plan, attitude.chosen))
    card = _card(
        plan,
        "stand",
        say("page_card.stand"),
        *what_and_why([replace(air_view.attitude_decision(plan), what=pour_with)]),
        cost=say("page_card.stand_cost", cost=f"{attitude.chosen.cost_min:.0f}"),
        also=("show_face",),
        picture="pour",
        heads=air_view.OPTION_HEADS,
        rows=air_view.option_rows(plan),
        more=[air_view.rocking_sentence(plan), *air_view.pour_sentences(plan)],
    )
    card["options"] = [
        {
            "up": _numbers(option.up),
            "says": _stand_side(plan, option),
            "n_vents": option.n_vents,
        }
        for option in options
    ]
    card["up"] = _numbers(attitude.chosen.up)
    card["map"] = {
        "up": [_numbers(up, digits=3) for up in attitude.map_up],
        "caught_ml": _numbers(attitude.map_caught_mm3 / 1000, digits=3),
        "n_vents": [int(count) for count in attitude.map_n_vents],
        "cost_min": _numbers(attitude.map_cost_min, digits=1),
    }
    # Draw frame, so that the map has the mould's own sides about it.
    card["map"]["seen"] = [
        _numbers(up, digits=3) for up in plan.split.draw.frame.to_frame(attitude.map_up)
    ]
    return card


def _stand_side(plan, option):
    """Which side of the part is up, as everywhere; and how the box stands for it."""
    box = air_view.stand_words(option, is_cut=plan.split.is_cut)
    if option.is_tilted:
        box = say("air.stand_raised", stand=box, raised=air_view.raise_words(option))
    return say("page_card.stand_side", up=side_words(plan, option.up), box=box)


def _air(plan):
    fill = air_view.fill_sentences(plan)
    gate = [
        air_view.gate_sentence(plan),
        *air_view.run_sentences(plan),
        *air_view.gate_lines(plan),
    ]
    card = _card(
        plan,
        "air",
        say("page_card.air"),
        *what_and_why([view.decisions(plan)[2]]),
        picture="pour",
        heads=air_view.ROUTE_HEADS,
        rows=air_view.route_rows(plan),
        more=fill if plan.split.is_open else [*fill, *gate],
    )
    card["is_open"] = plan.split.is_open
    card["peaks"] = [list(row) for row in air_view.peak_rows(plan)]
    frame = plan.air.openings.frame
    card["vents"] = [
        {
            "label": port.label,
            "place_mm": _numbers(frame.to_part(np.asarray(port.place_mm)), digits=3),
        }
        for port in view.vents(plan)
    ]
    # Taken away it would come back: one opening cannot let resin in and air out.
    told = [f for f in plan.findings if f.code == "vent-beside-gate"]
    card["must_stay"] = str(told[0].message) if told and len(card["vents"]) == 1 else ""
    card["stays"] = _stays(1000 * plan.mould.fill.caught_ml)
    card["left_ml"] = round(plan.air.openings.left_mm3 / 1000, 3)
    return card


def _listed(own, planned, way):
    """Castplan's own and, where none of them is that, the one that is planned, in front."""
    if not own:
        return tuple(planned)
    now = np.asarray(getattr(planned[0], way))
    is_there = any(np.abs(np.asarray(getattr(each, way)) - now).max() < _SAME for each in own)
    return own if is_there else (planned[0], *own)


def _stays(caught_mm3):
    """What air stays with the vents that there are."""
    if units.is_nothing(caught_mm3):
        return say("page_card.no_air_stays")
    return say("page_card.air_stays", caught=formats.trapped_text(caught_mm3))


def _box(plan):
    return _card(
        plan,
        "box",
        say("page_card.box"),
        *what_and_why([build_view.box_decision(plan)]),
        picture="draw",
        rows=[build_view.board_row(board) for board in plan.mould.boards.boards],
        more=build_view.build_sentences(plan),
    )


def _materials(plan):
    buying = [shop_view.buy_row(line, plan.job.shop.currency) for line in plan.bench.buy.lines]
    sentences = shop_view.buy_sentences(plan)
    return _card(
        plan,
        "materials",
        say("page_card.materials"),
        view.summary_lines(plan)[-1],
        sentences[0],
        cost=sentences[1],
        heads=shop_view.BUY_HEADS,
        rows=buying,
        more=[
            *sentences[2:],
            *shop_view.fit_sentences(plan),
            *shop_view.heat_sentences(plan),
            shop_view.timeline_sentence(plan),
        ],
    )


def _finding(finding):
    return {
        "code": finding.code,
        "severity": finding.severity,
        "message": str(finding.message),
        "do": str(finding.do),
        "where_mm": None if finding.where_mm is None else _numbers(finding.where_mm),
    }


def drawings_of(plan: Plan) -> dict:
    """The drawings that cards name as their picture, as SVG by name.

    They come apart from the cards: numbers are not to wait for them.
    """
    return {name: drawing(plan, name) for name in ("draw", "front", "side", "pour")}


def card_choices() -> list[dict]:
    """The materials that can be chosen."""
    return [
        {"id": card_id, "kind": card.kind, "title": str(card.title)}
        for card_id, card in sorted(load_cards().items())
    ]


def _numbers(values, *, digits=6):
    return [round(float(value), digits) for value in np.asarray(values)]
