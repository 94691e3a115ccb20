"""What a hand at the car may come upon, and which of it is a danger until somebody has seen to it."""

from dataclasses import dataclass

from scheduler.vocabulary.cautions import CAUTION, Caution


@dataclass(frozen=True)
class Finding:
    """Something found; ``forbids`` is what its danger tag says, empty where no tag is hung of itself."""

    label: str
    forbids: str = ""
    cautions: tuple[Caution, ...] = ()

    @property
    def is_danger(self) -> bool:
        """Whether a danger tag is hung with it."""
        return bool(self.forbids)


# Inspection list of US Army TM 9-2330-267-14&P; which of it forbids starting or moving is policy:
# petrol and gnawed wiring burn, brakes and tyres gate motion.
FINDINGS = (
    Finding("Smell of petrol", "no start, no spark, no move", (CAUTION["petrol_vapour"],)),
    Finding("Petrol leak", "no start, no spark, no move", (CAUTION["petrol_vapour"],)),
    Finding("Brake fluid leak", "brakes not to be trusted, no move", (CAUTION["brake_fluid"],)),
    Finding("Flat tyre", "no move on a flat tyre", (CAUTION["tyres"],)),
    Finding("Mouse nest", "wiring and air ways not looked at, no start", (CAUTION["rodents"],)),
    Finding("Oil leak", "", (CAUTION["oil"],)),
    Finding("Coolant leak", "", (CAUTION["coolant_poison"],)),
    Finding("Damp or mould", "", (CAUTION["rodents"],)),
    Finding("Damage"),
    Finding("Something else"),
)
BY_LABEL = {finding.label: finding for finding in FINDINGS}
