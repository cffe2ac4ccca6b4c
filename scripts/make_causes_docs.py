# ruff: noqa: E501
"""Make docs/causes.md from the rows of `firstfrost.causes`.

Run from the repository's root: `python scripts/make_causes_docs.py`, or `make docs`.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.causes.acts import ACTS, DANGER_WORDS, Act  # noqa: E402
from firstfrost.causes.conditions import TERMS  # noqa: E402
from firstfrost.causes.features import FEATURE, FEATURES  # noqa: E402
from firstfrost.causes.hypotheses import BASIS, HYPOTHESES, P_NONE, P_SOUND, P_TWO, priors  # noqa: E402
from firstfrost.causes.hypothesis import Hypothesis  # noqa: E402
from firstfrost.causes.model import model  # noqa: E402
from firstfrost.causes.next_reading import BIT_PER_MINUTE, PER_DANGER  # noqa: E402
from firstfrost.causes.rank import MOST_NONE  # noqa: E402
from firstfrost.causes.ratios import ratios  # noqa: E402
from firstfrost.causes.readings import LOOKED, TYPED, channels_for, typed_for  # noqa: E402

PAGE = ROOT / "docs" / "causes.md"
WAYS = {"up": "↑", "down": "↓", "same": "0"}
HEAD = """\
# What is wrong, and which reading would tell

<!-- Made by `make docs` from src/firstfrost/causes. Change that, not this. -->

After the thirteen functions and the heating check `firstfrost check` ranks what may be wrong. A machine that
seems sound gets one line; the ranking is shown when something failed, when the readings speak of a fault, when a
reading is typed in, or with `--causes`.

    firstfrost check trace.csv --unit unit.toml --marks marks.csv --causes
    firstfrost check trace.csv --unit unit.toml --marks marks.csv --reading "filter_look = dirty"

On the [pages](pages.md) a visit's **Causes** takes the same readings where the person stands, without signal too; in
the [service](service.md#batches) they are `looked` of a batch.

It names where to look first. It is no diagnosis: the equipment maker's procedure, local codes and licensed
practice go before it, and nothing in it asks anyone to open the circuit.

## How the ranking is reached

1. **Features.** From the record, the functions' standings and the heating check come numbers (superheat, the
   length of the defrost) and words (whether the fan turned). What was not read is left out, not filled in.
2. **Against a sound machine.** Each number is held against what a sound machine shows under the same conditions:
   a polynomial over {terms}. This is the no-fault model of NIST SP 1087, fitted to sound runs of the bench. A
   condition that was not read widens the band of all numbers that go with it.
3. **Likelihood.** How many times likelier this is under each cause than on a sound machine comes from {networks} small
   networks that were trained to tell runs of the bench apart: such a classifier's outputs hold exactly that ratio
   (likelihood ratios by classification: Cranmer, Pavez, Louppe, arXiv:1506.02169, from memory). They also see each
   channel by itself, so that a visit with half of the channels still says something. Trained on {trained}; one
   temperature ({temperature:.2f}) was fitted on machines of other sizes and refrigerants, so that 80 % comes as near to
   four in five as it can ([measured](accuracy.md#causes)).
4. **What was looked at** (a dirty filter, a drop measured across it) multiplies that by its own likelihood.
5. **Prior.** {basis}.
6. **Probability** = prior × likelihood, scaled so that all answers add to 1.

The two pages a reader sees give both parts: the prior, and how many times better than a sound machine the answer
explains the readings. Evidence is listed feature by feature, each taken alone, from a second and plainer model of the
same runs: under each cause a number spreads about what that cause makes of it, worse with its severity, as a t
distribution of {nu:g} degrees of freedom, and words have a table of probabilities. Features go together, so the single
ratios do not multiply to the whole. The same plainer model says what a further reading would be worth.

**Two at once** is a class of the networks, learnt from runs with two faults; which two is told by {members} others that say
of each fault whether it is one of them. **None of these** takes what no cause on the list explains. It has no runs to
learn from: for it only the plainer model speaks, and it stays below e^{none:g} of the likeliest cause:
how far it is believed was chosen by taking each fault off the list in turn.
**Causes that look alike** are told together, with the reading that parts them.

## What it rests on, and what not

The likelihoods come from the practice bench and not from machines in the field. How well the ranking does on other
machines of the bench is measured ([accuracy](accuracy.md#causes)); how well it does in the field is not known, and
can be no better than the bench ([its physics](bench-physics.md)). The directions of charge faults are held against
the published correlations by a test; other signs are physics reasoning from memory and labelled so.

## The next reading

Worth = expected information gain over the likeliest answers (bits), less {bit:g} bit for each minute, and
{danger:.0%} of that more for each step of danger (both model choice, no source).

*Typed as* is what it is [typed in](#typed-in) as; a channel in parentheses is read into the record instead.

| reading | how | typed as | minutes | danger | caution |
|---|---|---|---:|---|---|
"""


def acts() -> str:
    """The table of readings."""
    return "".join(
        f"| `{act.name}`: {act.title} | {act.how} | {_as(act)} | {act.minutes:g} | {DANGER_WORDS[act.danger]} | {act.caution} |\n"
        for act in ACTS
    )


def _as(act: Act) -> str:
    names = [f"`{name}`" for name in typed_for(act)]
    return ", ".join([*names, *(f"(`{name}`)" for name in channels_for(act))])


def typed() -> str:
    """What can be typed in."""
    lines = [
        "\n### Typed in\n",
        (
            '`--reading "NAME = VALUE"`, a number with its unit and, if known, `± ` its standard uncertainty. '
            "It stands in for the record's own. On the pages and in the service of one name the latest counts.\n"
        ),
        "| name | means | standard uncertainty if none is given |\n|---|---|---|",
    ]
    lines += [f"| `{row.name}` | {FEATURE[row.feature].title} | {row.u} |" for row in TYPED.values()]
    lines += [f"| `{name}` | {FEATURE[name].title}: {', '.join(FEATURE[name].words)} | |" for name in LOOKED]
    return "\n".join(lines) + "\n"


def causes() -> str:
    """One part a cause."""
    prior = priors(fixed_orifice=False)
    return "\n## The causes\n\n" + "\n".join(_cause(row, prior[row.name]) for row in HYPOTHESES.values())


def _cause(row: Hypothesis, prior: float) -> str:
    lines = [f"### {row.title}", "", f"`{row.name}`. {row.does} Prior {100 * prior:.1f} % ({row.basis}).", ""]
    if row.signs:
        signs = "; ".join(f"{WAYS[one.way]} {FEATURE[one.feature].title} ({one.source})" for one in row.signs)
        lines += [f"*Signs:* {signs}.", ""]
    if row.remedy:
        lines += [f"*What to do:* {row.remedy}", ""]
    if row.twins:
        twins = ", ".join(f"`{name}`" for name in row.twins)
        lines += [f"*Looks like* {twins}; parted by `{row.apart}`.", ""]
    return "\n".join(lines)


def features() -> str:
    """The table of features."""
    lines = ["\n## The features\n", "| feature | what | number or words |", "|---|---|---|"]
    for row in FEATURES:
        kind = ", ".join(row.words) if row.words else f"number [{row.unit}]"
        lines.append(f"| `{row.name}` | {row.title} | {kind} |")
    return "\n".join(lines) + "\n\n`log` is the natural logarithm of a ratio.\n"


def page() -> str:
    """The whole page."""
    tables, learnt = model(), ratios()
    head = HEAD.format(
        terms=", ".join(TERMS[1:]), nu=tables.nu, trained=tables.made_from, basis=BASIS[0].upper() + BASIS[1:],
        bit=BIT_PER_MINUTE, danger=PER_DANGER, none=MOST_NONE, networks=len(learnt.networks), members=len(learnt.members),
        temperature=learnt.temperature,
    )  # fmt: skip
    assert P_SOUND + P_NONE < 1.0
    assert P_TWO < 1.0
    return head + acts() + typed() + causes() + features()


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
