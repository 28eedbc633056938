"""What the shop's pot, chamber and scale say that it should know."""

from castplan.bench.records import EquipmentResult
from castplan.record import Finding, finding
from castplan.texts.names import vessel_name
from castplan.texts.told import tell


def list_equipment_findings(equipment: EquipmentResult) -> tuple[Finding, ...]:
    """Where the mould does not go into the shop's vessels, or the scale shows too little."""
    return (*_fits(equipment), *_scale(equipment))


def _fits(equipment):
    for fit in equipment.fits:
        vessel = {
            "vessel": vessel_name(fit.name),
            "across": f"{fit.inner_mm[0]:g}",
            "high": f"{fit.inner_mm[1]:g}",
        }
        if not fit.is_fitting:
            yield finding(
                "does-not-fit",
                "warn",
                "mould",
                "build_finding.no_room",
                **vessel,
                need_across=f"{fit.need_mm[0]:.0f}",
                need_high=f"{fit.need_mm[1]:.0f}",
            )
        elif not fit.is_as_poured:
            yield finding(
                "fits-another-way",
                "warn",
                "mould",
                "build_finding.other_way",
                **vessel,
                way=tell("build.the_draw") if fit.way == "draw" else fit.way,
            )


def _scale(equipment):
    if equipment.is_scale_enough is False:
        yield finding(
            "scale-too-small",
            "warn",
            "mould",
            "build_finding.scale",
            heaviest=f"{equipment.heaviest_cup_g:.0f}",
        )
