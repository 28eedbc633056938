"""What gate, filling and pours of silicone ask of the shop, with what to do."""

from castplan import units
from castplan.air.records import HARMS, Air
from castplan.geometry.guard import SHOWN_SHARE
from castplan.job import Job
from castplan.materials.wording import listed, tilts_text
from castplan.mould.records import Mould, PoursResult
from castplan.record import Finding, Frame, finding
from castplan.texts.told import tell

# A combination that saves less than this is not worth a finding (assumed).
WORTH_MIN = 10.0


def list_pour_findings(draw_frame: Frame, air: Air, mould: Mould, job: Job) -> tuple[Finding, ...]:
    """Findings of gate, fill, vents saved by rocking and silicone pours, in the order of the work.

    Parameters
    ----------
    draw_frame : Frame
    air : Air
    mould : Mould
    job : Job
    """
    return (
        *_gate(draw_frame, air.feed, job),
        *_fill(draw_frame, air.feed, mould, job),
        *_rocking(air.openings, air.rocking),
        *_pours(draw_frame, mould.pours),
    )


def list_silicone_findings(draw_frame: Frame, pours: PoursResult) -> tuple[Finding, ...]:
    """What the silicone does under the part."""
    return tuple(_pours(draw_frame, pours))


def _gate(draw_frame, feed, job):
    chosen = feed.chosen
    if job.feed == "riser" and not feed.is_riser:
        yield finding("no-riser", "warn", "air", "air_finding.no_riser")
    others = feed.options[1:]
    if feed.is_asked_for and others:
        best = min(others, key=lambda option: option.cost_min)
        if chosen.cost_min > best.cost_min + WORTH_MIN:
            yield finding(
                "other-gate-cheaper",
                "note",
                "air",
                "air_finding.other_gate",
                cost=f"{chosen.cost_min:.0f}",
                other_cost=f"{best.cost_min:.0f}",
                why=best.why,
            )
    if chosen.width_mm < chosen.bore_mm:
        told = {"bore": f"{chosen.bore_mm:g}", "width": f"{chosen.width_mm:.1f}"}
        yield finding(
            "gate-wider-than-part",
            "note",
            "air",
            "air_finding.wide_riser" if feed.is_riser else "air_finding.wide_gate",
            **told,
            do="air_finding.wide_gate_do",
            where_mm=draw_frame.point_in_part(chosen.path_mm[0]),
        )

    for code in HARMS:
        standing = [
            (f"G{n}", gate_too)
            for n, gate_too in enumerate(chosen.further, start=2)
            if code in gate_too.harms
        ]
        if standing:
            labels = listed([label for label, _ in standing])
            # A gate of another cavity is there whatever the resin.
            is_along = all(gate_too.cavity == 1 for _, gate_too in standing)
            yield finding(
                f"further-gate-on-{code}",
                "warn" if code == "marked" else "note",
                "air",
                f"air_finding.further_on_{code}",
                n=len(standing),
                labels=labels,
                do="air_finding.further_do" if is_along else "air_finding.gate_place_do",
                where_mm=draw_frame.point_in_part(standing[0][1].path_mm[0]),
            )
    for code, applies in (
        ("gate_on_show", chosen.show_up_fraction > SHOWN_SHARE),
        ("gate_on_tip", chosen.is_on_tip),
        ("gate_on_worked", chosen.is_on_worked),
    ):
        if applies:
            yield finding(
                code.replace("_", "-"),
                "note",
                "air",
                f"air_finding.{code}",
                bore=f"{chosen.bore_mm:g}",
                do=f"air_finding.{code}_do"
                if code == "gate_on_show"
                else "air_finding.gate_place_do",
                where_mm=draw_frame.point_in_part(chosen.path_mm[0]),
            )


def _fill(draw_frame, feed, mould, job):
    gate, fill = mould.gate, mould.fill
    if gate.unfed_ml > 0:
        yield finding(
            "gate-too-low",
            "stop",
            "air",
            "air_finding.gate_too_low",
            unfed=units.digits(gate.unfed_ml, 3),
        )
    if gate.bore_mm < gate.least_bore_mm:
        yield finding(
            "gate-narrow",
            "warn",
            "air",
            "air_finding.gate_narrow",
            bore=f"{gate.bore_mm:g}",
            low=f"{gate.fill_low_s:.0f}",
            high=f"{gate.fill_high_s:.0f}",
            limit=f"{gate.limit_s:.0f}",
            least=f"{gate.least_bore_mm:g}",
        )
    yield from _run(draw_frame, feed, limit_s=gate.limit_s)
    slow = [region for region in fill.thin if region.reach_mm < region.way_mm]
    for region in slow[:3]:
        yield finding(
            "short-fill",
            "warn",
            "air",
            "air_finding.short_fill",
            gap=f"{region.gap_mm:.1f}",
            way=f"{region.way_mm:.0f}",
            reach=f"{region.reach_mm:.0f}",
            where_mm=draw_frame.point_in_part(region.place_mm),
        )
    if fill.basins:
        largest = max(fill.basins, key=lambda basin: basin.volume_ml)
        yield finding(
            "spills",
            "note",
            "air",
            "air_finding.spills",
            n=len(fill.basins),
            largest=units.digits(largest.volume_ml, 2),
            drop=f"{largest.drop_mm:.0f}",
            where_mm=draw_frame.point_in_part(largest.place_mm),
        )
    if fill.caught_ml >= 10 * job.air_left_ml:
        low, high = (100 * fraction for fraction in fill.pot_fraction)
        yield finding(
            "caught-air",
            "warn",
            "air",
            "air_finding.caught",
            caught=units.digits(fill.caught_ml, 2),
            pot_low=f"{fill.pot_bar[0]:g}",
            pot_high=f"{fill.pot_bar[1]:g}",
            least=f"{high:.0f}",
            most=f"{low:.0f}",
        )


def _run(draw_frame, feed, *, limit_s):
    run = feed.run
    if run is None:
        return
    along = [gate for gate in feed.chosen.further if gate.cavity == run.cavity]
    # What goes before them is the gate of that cavity, of the first one the chosen gate itself.
    along = along[0 if run.cavity == 1 else 1 :]
    n = len(along)
    told = {
        "time": _seconds(run.high_s),
        "length": f"{run.length_mm:.0f}",
        "limit": f"{limit_s:.0f}",
    }
    if run.next_mm is not None:
        place_mm = draw_frame.point_in_part(run.next_mm)
        yield finding(
            "run-late",
            "warn",
            "air",
            "air_finding.run_late",
            pot=f"{run.pot_life_s:.0f}",
            **told,
            place=", ".join(str(round(value)) for value in place_mm),
            where_mm=place_mm,
        )
    elif n:
        yield finding(
            "several-gates",
            "note",
            "air",
            "air_finding.several_gates",
            n=n,
            alone=_seconds(run.alone_s),
            **told,
            where_mm=draw_frame.point_in_part(along[0].path_mm[0]),
        )


def _seconds(time_s):
    # Beyond an hour it does not matter how long; resin that stops short takes for ever.
    if time_s > 3600.0:
        return tell("air_finding.over", most="3600")
    return f"{time_s:.0f}"


def _rocking(air, rocking):
    if not rocking.tilts:
        return
    first = air.vents[:1] if air.gate is None else ()
    kept = ", ".join(str(air.peaks[k].number) for k in (*first, *rocking.vents))
    yield finding(
        "rocking-saves-vents",
        "note",
        "air",
        "air_finding.rocking",
        n=rocking.n_saved,
        kept=kept,
        ways=tilts_text(rocking.tilts),
        left=units.digits(rocking.left_mm3 / 1000, 2),
        still=units.digits(rocking.still_mm3 / 1000, 2),
    )


def _pours(draw_frame, pours):
    for pour in pours.pours:
        if not pour.caught:
            continue
        way = "tilt" if pour.tilt_deg else "brush"
        way = "tilt_whole" if pour.tilt_deg and pour.half == "whole" else way
        yield finding(
            "silicone-air",
            "warn",
            "air",
            f"air_finding.silicone_{pour.half}",
            n=len(pour.caught),
            caught=units.digits(pour.caught_mm3 / 1000, 2),
            tilt=f"{pour.tilt_deg:.0f}",
            toward=f"{pour.toward_deg:.0f}",
            left=units.digits(pour.tilted_mm3 / 1000, 2),
            do=f"air_finding.silicone_{way}_do",
            where_mm=draw_frame.point_in_part(pour.caught[0].place_mm),
        )
