"""The causes of a visit, as every page and file shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.causes.evidence import Evidence
from firstfrost.causes.next_reading import NextReading
from firstfrost.causes.readings import Reading

Verdict = Literal["sound", "cause", "cannot tell"]
VERDICTS: Final[tuple[Verdict, ...]] = ("sound", "cause", "cannot tell")


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One answer: a hypothesis, or two at once."""

    names: tuple[str, ...]
    title: str
    prior: float
    """Before any reading; model choice."""
    log_likelihood: float
    """Natural logarithm of its likelihood over that of a sound machine."""
    probability: float
    does: str = ""
    remedy: str = ""
    speaks_for: tuple[Evidence, ...] = ()
    against: tuple[Evidence, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Causes:
    """What may be wrong, likeliest first, and what to read next."""

    verdict: Verdict
    sentence: str
    """For the technician: what the ranking comes to, in a line."""
    answers: tuple[Cause, ...] = ()
    together: tuple[str, ...] = ()
    """Names of the first answer and of those that these readings do not tell from it."""
    apart: str = ""
    """How to tell those apart."""
    next_readings: tuple[NextReading, ...] = ()
    readings: tuple[Reading, ...] = ()
    """What a person typed in."""
    features: int = 0
    """How many features of the visit bear on causes."""
    basis: str = ""
    """What the priors and the likelihoods rest on."""

    asked: bool = False
    """A person asked for them."""

    @property
    def worth_showing(self) -> bool:
        """Whether a page shows the ranking: something is off, was typed in, or somebody asked."""
        return self.asked or self.verdict != "sound" or bool(self.readings)

    @property
    def first(self) -> Cause | None:
        """The likeliest answer."""
        return self.answers[0] if self.answers else None
