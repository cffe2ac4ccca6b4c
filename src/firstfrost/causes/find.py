"""Find the causes of what a visit shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from firstfrost.causes.acts import ACT
from firstfrost.causes.cause import Cause, Causes, Verdict
from firstfrost.causes.conditions import Conditions, conditions
from firstfrost.causes.evidence import evidence
from firstfrost.causes.hypotheses import BASIS, HYPOTHESES, SOUND
from firstfrost.causes.look import look
from firstfrost.causes.model import Case, Model, case, model
from firstfrost.causes.next_reading import next_readings
from firstfrost.causes.rank import Ranked, Ranking, rank
from firstfrost.causes.readings import Reading
from firstfrost.causes.seen import Seen
from firstfrost.heating.number import Heating
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Finding

TOO_LITTLE: Final = "Too little was read to say anything of causes."
FEW: Final = 5
"""With fewer features nothing is named."""
SHOWN: Final = 5
LEAST_SHOWN: Final = 0.02
NAMED: Final = 0.5
"""A cause, or causes that look alike, are named from this probability on."""
ALIKE: Final = 0.2
"""A twin with at least this part of the first answer's probability is told together with it."""


def find_causes(
    context: Context,
    findings: Sequence[Finding],
    contact: Contact,
    heating: Heating,
    readings: Sequence[Reading] = (),
    *,
    asked: bool = False,
) -> Causes:
    """Rank what may be wrong.

    Parameters
    ----------
    context : Context
        The record with its phases.
    findings : sequence of Finding
        The standings of the thirteen functions.
    contact : Contact
        The coil sensor's contact over the record.
    heating : Heating
        The heating check.
    readings : sequence of Reading
        What a person typed in; each stands in for the record's own feature.
    asked : bool
        Somebody wants to see them whatever they are.
    """
    if len(context.trace) < 3:
        return Causes(verdict="cannot tell", sentence=TOO_LITTLE, readings=tuple(readings), asked=asked)
    seen = look(context, findings, contact, heating)
    seen.update({one.feature: one.seen for one in readings})
    found = from_features(seen, conditions(context, heating), tuple(readings))
    return replace(found, asked=asked)


def from_features(seen: Mapping[str, Seen], at: Conditions, readings: tuple[Reading, ...] = ()) -> Causes:
    """Rank what may be wrong from the features of a visit."""
    if len(seen) < FEW:
        return Causes(
            verdict="cannot tell",
            sentence=TOO_LITTLE,
            readings=readings,
            features=len(seen),
        )
    tables = model()
    one = case(tables, seen, at)
    ranking = rank(tables, one)
    first = ranking.answers[0]
    group = told_together(ranking)
    verdict, sentence = _verdict(ranking, group)
    shown = [a for i, a in enumerate(ranking.answers[:SHOWN]) if i == 0 or a.probability >= LEAST_SHOWN]
    return Causes(
        verdict=verdict,
        sentence=sentence,
        answers=tuple(_cause(tables, one, seen, a) for a in shown),
        together=tuple(name for a in group for name in a.names),
        apart=_apart(group),
        next_readings=next_readings(tables, one, seen, ranking)[:3] if _asks(first) else (),
        readings=readings,
        features=len(seen),
        basis=f"Priors: {BASIS}. Likelihoods: {tables.made_from}.",
    )


def told_together(ranking: Ranking) -> tuple[Ranked, ...]:
    """The first answer, and those of its twins that these readings leave nearly as likely."""
    first = ranking.answers[0]
    if len(first.names) != 1:
        return (first,)
    twins = HYPOTHESES[first.names[0]].twins
    return (
        first,
        *(
            other
            for other in ranking.answers[1:]
            if len(other.names) == 1
            and other.names[0] in twins
            and other.probability >= ALIKE * first.probability
        ),
    )


def _asks(first: Ranked) -> bool:
    """Whether a further reading is worth naming: not for a machine that is sound as good as surely."""
    return not (first.names == (SOUND,) and first.probability > 0.9)


def _apart(group: tuple[Ranked, ...]) -> str:
    if len(group) < 2:
        return ""
    act = ACT[HYPOTHESES[group[0].names[0]].apart]
    return f"{act.title}: {act.how}"


def _verdict(ranking: Ranking, group: tuple[Ranked, ...]) -> tuple[Verdict, str]:
    first = ranking.answers[0]
    if first.names == (SOUND,):
        if first.probability >= NAMED:
            return (
                "sound",
                f"No cause stands out: {percent(first.probability)} that nothing on the list is wrong.",
            )
        return "cannot tell", "These readings cannot tell whether anything is wrong."
    total = sum(one.probability for one in group)
    names = " or ".join(one.title for one in group)
    if total >= NAMED:
        many = "They look alike in these readings. " if len(group) > 1 else ""
        return "cause", f"Most likely {names} ({percent(total)}). {many}".strip()
    return "cannot tell", f"These readings cannot tell. The first to look at: {names} ({percent(total)})."


def percent(p: float) -> str:
    """A probability in words; none is given as certain."""
    if p > 0.985:
        return "over 98 %"
    if p < 0.015:
        return "under 2 %"
    return f"{100.0 * p:.0f} %"


def _cause(tables: Model, one: Case, seen: Mapping[str, Seen], answer: Ranked) -> Cause:
    pro, con = evidence(tables, one, seen, answer.names)
    rows = [HYPOTHESES[name] for name in answer.names]
    return Cause(
        names=answer.names,
        title=answer.title,
        prior=answer.prior,
        log_likelihood=answer.log_likelihood,
        probability=answer.probability,
        does=" ".join(row.does for row in rows),
        remedy=" ".join(row.remedy for row in rows if row.remedy),
        speaks_for=pro,
        against=con,
    )
