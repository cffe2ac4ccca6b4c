"""The result of a visit: what every page, file and screen is made from."""

from __future__ import annotations

from dataclasses import dataclass

from firstfrost.causes.cause import Causes
from firstfrost.cycle.channels import Cycle
from firstfrost.equipment.unit import Unit
from firstfrost.heating.number import Heating
from firstfrost.phases.phase import Defrost, Phase
from firstfrost.proofs.finding import Finding
from firstfrost.trace.marks import Marks
from firstfrost.trace.receipt import Receipt
from firstfrost.trace.trace import Trace


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One danger of the work, in words for the person at the unit."""

    code: str
    text: str


@dataclass(frozen=True, kw_only=True)
class MadeBy:
    """What made the result."""

    version: str
    property_tables: str
    """Version and source of the refrigerant tables."""


@dataclass(frozen=True, kw_only=True)
class Result:
    """All that a visit gave.

    `marks` is None when no marks file was given (not known), and empty when nothing was touched.
    """

    made_by: MadeBy
    unit: Unit
    trace: Trace
    marks: Marks | None
    cycle: Cycle
    receipt: Receipt
    phases: tuple[Phase, ...]
    defrosts: tuple[Defrost, ...]
    findings: tuple[Finding, ...]
    """One per function, in the order of `FUNCTIONS`."""
    cautions: tuple[Caution, ...]
    warnings: tuple[str, ...] = ()
    heating: Heating | None = None
    """The heating check; None where it was not made."""
    causes: Causes | None = None
    """What may be wrong, ranked; None where it was not looked for."""

    @property
    def failed(self) -> bool:
        """Whether a function of the defrost, or a number of the heating check, failed."""
        functions = any(finding.standing == "failed" for finding in self.findings)
        return functions or (self.heating is not None and bool(self.heating.of("failed")))

    def standing(self, function: str) -> str:
        """The standing of one function by its name."""
        return next(finding.standing for finding in self.findings if finding.function == function)
