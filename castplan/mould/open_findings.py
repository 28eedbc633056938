"""What an open mould asks of the shop, and where one would do instead of two halves."""

import numpy as np

from castplan.air.records import Air
from castplan.job import Job
from castplan.materials.cards import demould_at, get_card
from castplan.materials.wording import volume_text, wait_text
from castplan.mould.findings import list_box_findings
from castplan.mould.pour_findings import list_silicone_findings
from castplan.mould.records import Mould
from castplan.record import Finding, finding
from castplan.split.records import Split

# Hollow under the back that changes the copy's weight by less is not told (assumed).
WORTH_TELLING_ML = 0.05
SAME_COS = np.cos(np.radians(2.0))


def list_open_findings(split: Split, air: Air, mould: Mould, job: Job) -> tuple[Finding, ...]:
    """Findings of an open mould, in the order of the work."""
    return (
        *list_box_findings(split.box, mould),
        *list_silicone_findings(split.draw.frame, mould.pours),
        *_hollow(split.back),
        finding("open-back", "note", "mould", "open_finding.back"),
        *_left(air.openings, job),
    )


def list_other_mould(split: Split, mould: Mould, job: Job) -> tuple[Finding, ...]:
    """That an open mould would do, and what it saves; nothing where it would not."""
    back = split.back
    if split.is_open or back is None or not back.is_free or back.is_deep:
        return ()
    silicone = get_card(job.silicone, kind="silicone")
    cure_h, _, _ = demould_at(silicone, temperature_c=job.shop_temperature_c)
    return (
        finding(
            "open-mould-would-do",
            "note",
            "kind",
            "open_finding.would_do",
            saved=volume_text(_saved_ml(split, mould, job)),
            wait=wait_text(cure_h),
        ),
    )


def _saved_ml(split, mould, job):
    """Silicone that one pour over the back takes less, in a box of the same outline."""
    block = mould.block
    if abs(np.dot(split.back.direction, split.draw.direction)) < SAME_COS:
        return block.lower_ml
    height_mm = block.high_mm[2] - block.low_mm[2]
    open_mm = height_mm - job.under_mm
    return max(block.box_ml * (1 - open_mm / height_mm), 0.0)


def _hollow(back):
    if back.hollow_ml > WORTH_TELLING_ML:
        volume = volume_text(back.hollow_ml)
        yield finding("open-hollow", "warn", "mould", "open_finding.hollow", volume=volume)


def _left(openings, job):
    """Air under undersides of the cavity, which rises to no open surface."""
    left_mm3 = openings.left_mm3 + openings.small_mm3
    if left_mm3 >= 1000 * job.air_left_ml:
        left = volume_text(left_mm3 / 1000)
        yield finding("air-left", "warn", "air", "open_finding.air_left", left=left)
