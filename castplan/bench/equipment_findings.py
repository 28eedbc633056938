"""What the shop's pot, chamber and scale say that it should know."""

from castplan.bench.records import EquipmentResult
from castplan.record import Finding
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
            yield Finding(
                code="does-not-fit",
                severity="warn",
                stage="mould",
                message=tell(
                    "build_finding.no_room",
                    **vessel,
                    need_across=f"{fit.need_mm[0]:.0f}",
                    need_high=f"{fit.need_mm[1]:.0f}",
                ),
                do=tell("build_finding.no_room_do"),
            )
        elif not fit.is_as_poured:
            yield Finding(
                code="fits-another-way",
                severity="warn",
                stage="mould",
                message=tell(
                    "build_finding.other_way",
                    **vessel,
                    way=tell("build.the_draw") if fit.way == "draw" else fit.way,
                ),
                do=tell("build_finding.other_way_do"),
            )


def _scale(equipment):
    if equipment.is_scale_enough is False:
        yield Finding(
            code="scale-too-small",
            severity="warn",
            stage="mould",
            message=tell("build_finding.scale", heaviest=f"{equipment.heaviest_cup_g:.0f}"),
            do=tell("build_finding.scale_do"),
        )
