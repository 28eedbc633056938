"""Every hazard of a step stands beside it: the step's own and its material's."""

import re
from pathlib import Path

import pytest
from bench_steps import place, steps_of

from castplan.bench.compat import check_compat
from castplan.bench.step_cautions import add_step_cautions
from castplan.materials.cautions import load_cautions
from castplan.records import Job, Shop
from castplan.texts import english, say

CAUTIONS = load_cautions()
SAFETY = " ".join((Path(__file__).parents[2] / "SAFETY.md").read_text("utf-8").split())
# What an audit against the rules named below found missing: the kind of step that it hurts
# at, what the caution there has to say, and what SAFETY.md has to say in full. Rules and
# their numbers from memory where SAFETY.md marks them so.
HAZARDS = {
    "asbestos": ("clean", "asbestos", "1910.1001 and 1926.1101 for asbestos"),
    "lead paint": ("clean", "lead, cadmium or chromate", "1910.1025 and 1926.62 for lead"),
    "cadmium": ("clean", "cadmium", "1910.1027 for cadmium"),
    "chromate": ("clean", "chromate", "1910.1026 for chromium VI"),
    "licensed work": ("clean", "licensed", "licensed people"),
    "wood dust": ("box", "MDF and hardwood can cause cancer", "EU limit 2 mg/m3 inhalable"),
    "saw and router": ("box", "guard", "29 CFR 1910.213"),
    "laser fume and fire": ("box", "extinguisher", "IEC 60825-1"),
    "vinyl in a laser": ("box", "vinyl (PVC)", "hydrogen chloride"),
    "silica": ("trim", "crystalline silica", "29 CFR 1910.1053"),
    "silica in putty": ("clean", "crystalline silica", "Directive 2004/37/EC, Annex III"),
    "alkyl silicate": ("pour", "alkyl silicate", "tetraethyl silicate"),
    "alcohol of tin cure": ("pour", "alcohol", "ethanol or propanol"),
    "sale to the public": ("weigh", "sold to the public", "Annex XVII, entry 20"),
    "static": ("seal", "static", "earth and bond them"),
    "aspiration": ("release", "into the lungs", "H304"),
    "oily rags": ("seal", "Rags", "Rags with drying oil"),
    "compressed air": ("close", "2 bar (30 psi)", "29 CFR 1910.242(b)"),
    "eyes at the nozzle": ("close", "cover your eyes", "chip guard and eye cover"),
    "pressure vessel": ("cast", "rated for air", "2014/29/EU"),
    "pressure vessel in the US": ("cast", "local rules", "29 CFR 1910.169"),
    "burning urethane": ("cast", "hydrogen cyanide", "hydrogen cyanide, carbon monoxide"),
    "heat gun": ("rest", "heat gun", "A heat gun is no oven"),
    "alcohol in the oven": ("rest", "ventilated oven without flame", "no gas flame"),
    "knife at slitting": ("open", "Slit silicone", "EN 388"),
    "knife at trimming": ("trim", "sharp blade", "Cut away from the hand"),
    "metal powder": ("mix", "its dust can explode", "Aluminium powder burns"),
    "extinguisher": ("mix", "extinguisher", "An extinguisher stands by the door"),
}
# Of other resins than the usual one, by the card.
OF_RESINS = {
    "styrene": ("polyester-casting", "probably causes cancer", "2A, probably carcinogenic"),
    "gloves for styrene": ("polyester-casting", "butyl or laminate", "butyl or laminate"),
    "eyes: peroxide": ("polyester-casting", "rinse for 15 minutes", "15 minutes at least (ANSI"),
    "eyes: amine": ("epoxy-slow-80d", "rinse for 15 minutes", "15 minutes at least (ANSI"),
}
# Which work a rule or a standard speaks of; those without one are common practice, no source.
WORK = {
    "clean": ("old-finish", "1910.1001"),  # asbestos; lead 1910.1025, cadmium 1910.1027
    "box": ("boards", "1910.213"),  # woodworking machines
    "close": ("compressed-air", "1910.242(b)"),  # compressed air for cleaning
    "rest": ("fresh-mould", "1910.106"),  # flammable liquids
    "trim": ("dust", "1910.1000"),  # air contaminants
    "open": ("knives", "EN 388"),
}


@pytest.mark.parametrize("kind", WORK)
def test_a_rule_stands_beside_the_work_that_it_speaks_of(kind):
    key, rule = WORK[kind]
    result = add_step_cautions(steps_of())
    (step,) = [step for step in result.steps if step.kind == kind]
    assert key in step.cautions
    assert rule in str(CAUTIONS[key].source)


def said_at(kind: str, job=None) -> str:
    """All that the cautions of a kind of step say, with their sources."""
    steps = add_step_cautions(steps_of(job=job) if job else steps_of()).steps
    keys = [key for step in steps if step.kind == kind for key in step.cautions]
    return " ".join(f"{CAUTIONS[key].text} {CAUTIONS[key].source}" for key in keys)


@pytest.mark.parametrize("name", HAZARDS)
def test_a_hazard_is_told_at_its_step_and_in_full_in_the_manual(name):
    kind, short, full = HAZARDS[name]
    assert short in said_at(kind, Job(filler_fraction=0.5))
    assert full in SAFETY


@pytest.mark.parametrize("name", OF_RESINS)
def test_a_hazard_of_a_resin_is_told_where_it_is_weighed_and_poured(name):
    card, short, full = OF_RESINS[name]
    for kind in ("mix", "cast"):
        assert short in said_at(kind, Job(resin=card))
    assert full in SAFETY


def test_a_hazard_is_not_told_everywhere():
    assert said_at("mark") == ""
    assert "asbestos" not in said_at("pour")


def test_a_caution_names_kinds_of_step_that_there_are():
    kinds = {key.removeprefix("step_name.") for key in english() if key.startswith("step_name.")}
    assert {kind for caution in CAUTIONS.values() for kind in caution.steps} <= kinds


def test_every_caution_stands_somewhere():
    """On a step of its own kind, on a card, or written at a step: none is left in the file."""
    jobs = [
        Job(),
        Job(silicone="silicone-platinum-20a", resin="epoxy-slow-80d"),
        Job(resin="polyester-casting"),
        Job(resin="polyurethane-heat-82d"),
        Job(resin="plaster-casting"),
        Job(resin="wax-casting"),
        Job(filler_fraction=0.5),
    ]
    shown = set()
    for job in jobs:
        for step in add_step_cautions(steps_of(job=job)).steps:
            assert len(set(step.cautions)) == len(step.cautions)
            shown |= set(step.cautions)
    assert shown == set(CAUTIONS)


@pytest.mark.parametrize("words", ["Weigh the resin", "Pour into gate G", "Take the casting out"])
def test_curing_urethane_is_hot(words):
    result = steps_of()
    assert "heat" in result.steps[place(result, words)].cautions


def test_baking_a_mould_is_not_curing_resin():
    result = add_step_cautions(steps_of())
    assert result.steps[place(result, "Leave the open mould")].cautions == ("fresh-mould",)


def test_heat_is_forbidden_to_what_is_not_cured_only():
    text = str(CAUTIONS["isocyanate"].text)
    assert "never heat, spray or sand it before it is cured through" in text
    assert not re.search(r"never heat(?![^.;]*before)", text)


def test_nitrile_does_not_hold_styrene():
    """EN ISO 374-1: by breakthrough; butyl or laminate for styrene (from memory)."""
    verdicts = {}
    for gloves in ("nitrile", "butyl", "laminate", "latex"):
        job = Job(resin="polyester-casting", shop=Shop(uses=(("gloves", gloves),)))
        lines = [line for line in check_compat(job).lines if line.what == "gloves"]
        verdicts[gloves] = {line.meets: line.verdict for line in lines}["polyester"]
    assert verdicts == {"nitrile": "stop", "butyl": "fine", "laminate": "fine", "latex": "stop"}


def test_the_wall_blames_nothing_that_the_steps_tell():
    steps = str(english()["step.open_halves"])
    assert "corner was pulled alone" in say("defect.torn_mould_cause_1")
    assert "along the whole parting" in steps and "at a corner" not in steps
    assert "along the whole parting" in say("defect.torn_mould_do_1")
