"""From the record to one standing a function."""

from __future__ import annotations

from dataclasses import replace

from firstfrost.proofs.contact import examine
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import BEST_FIRST, Evidence, Finding, Standing
from firstfrost.proofs.rows import RULES, Rule
from firstfrost.trace.channels import CHANNELS


def over_all(occasions: list[Evidence]) -> Standing:
    """The standing over all occasions: `failed` if any is, else the best; `unseen` without any."""
    standings = {one.standing for one in occasions}
    if "failed" in standings:
        return "failed"
    return next((standing for standing in BEST_FIRST if standing in standings), "unseen")


def why_unseen(rule: Rule, context: Context) -> str:
    """Say which channels are missing, where that is why nothing was seen."""
    if any(context.trace.has(*need) for need in rule.needs):
        return f"The situation did not come: {rule.situation[0].lower()}{rule.situation[1:]}"
    fewest = min(rule.needs, key=lambda need: sum(not context.trace.has(name) for name in need))
    missing = [name for name in fewest if not context.trace.has(name)]
    return f"Not in the record: {', '.join(CHANNELS[name].title for name in missing)}."


def finding(rule: Rule, context: Context, occasions: list[Evidence]) -> Finding:
    """Put a rule's occasions together."""
    if context.sparse and rule.function != "ends_safely":
        # Between readings so far apart anything may have happened in time.
        occasions = [
            replace(one, standing="doubtful") if one.standing == "failed" else one for one in occasions
        ]
    if context.sparse and rule.function == "coil_clears":
        occasions = [
            replace(one, standing="doubtful") if one.standing == "shown" else one for one in occasions
        ]
    standing = over_all(occasions)
    settle = "" if standing == "shown" else rule.settle
    if standing == "unseen" and not occasions:
        settle = f"{why_unseen(rule, context)} {rule.settle}"
    return Finding(
        function=rule.function,
        standing=standing,
        sentence=rule.says[standing],
        evidence=tuple(sorted(occasions, key=lambda one: one.start_s)),
        settle=settle,
        remedy=rule.remedy if standing == "failed" else "",
    )


def judge(context: Context) -> tuple[Finding, ...]:
    """Judge the thirteen functions, in the order of the design.

    Raises
    ------
    KeyError
        If a rule gives a standing that it has no sentence for; a test holds that none does.
    """
    if len(context.trace) == 0:
        return tuple(finding(rule, context, []) for rule in RULES)
    contact = examine(context)
    return tuple(finding(rule, context, rule.judge(context, contact)) for rule in RULES)
