"""What a worked sample says about the estimates: thread it took, and the give its rays must have found."""

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.craft.assembly import Lace
from pipeline.craft.stretch import SAME_MM
from pipeline.pattern_model import Pattern


@dataclass(frozen=True, slots=True)
class Calibration:
    """A sample against the reckoning."""

    ratios: Mapping[str, float]
    """Thread measured over thread estimated, by letter of those that were measured and are used."""
    pin_mm: float | None
    """The give at a pin that a sample which just worked implies, other allowances as they are; mm."""
    slack_pct: float | None
    """The slack it implies instead, the give at the pin as it is; per cent of a ray's free length."""


def calibrate(pattern: Pattern, lace: Lace) -> Calibration:
    """Read a sample of this pattern that was worked to the end and just reached.

    A sample that just worked asked its tightest ray for all it could give: demand = pin + share · natural length
    there. Solved for the pin or for the slack; both are zero where the other allowances alone were enough.
    """
    ratios = {
        letter: total.measured / total.total
        for letter, total in lace.totals.items()
        if total.measured is not None and total.total
    }
    demands = [demand for done in lace.rounds for demand in done.demands if demand.mm > SAME_MM]
    if not demands:
        return Calibration(ratios, None, None)
    fibre_pct = pattern.give.fibre_pct
    fibre = lace.threads[lace.web_thread].fibre_pct if fibre_pct is None else fibre_pct
    share = (fibre + pattern.give.slack_pct) / 100
    pin = max(demand.mm - share * demand.natural for demand in demands)
    slack = max((demand.mm - pattern.give.pin) / demand.natural * 100 - fibre for demand in demands)
    return Calibration(ratios, max(0.0, pin), max(0.0, slack))
