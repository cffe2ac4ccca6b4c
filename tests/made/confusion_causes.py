# ruff: noqa: E501
"""How well causes are told: ``python -m made.confusion_causes --each 150``.

Run from `tests/` with `src` on the path. Machines that the likelihoods were not made from, with one fault each
from slight to gross, noisy instruments, and in a third of the visits half of the channels missing; sound ones; and
some with two faults. Which runs count was fixed first: `made.faulty.scoring`. Runs are kept in the user's cache
folder, so that the table can be printed again at once.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.find import ALIKE, told_together
from firstfrost.causes.hypotheses import HYPOTHESES, SOUND, priors
from firstfrost.causes.model import Model, case, model
from firstfrost.causes.next_reading import next_readings
from firstfrost.causes.rank import Ranking, rank
from made.faulty import dataset
from made.faulty.scoring import could_show, matters

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A run and what was made of it."""

    truth: tuple[str, ...]
    severity: float
    counts: bool
    matters: bool
    half: bool
    """Half of the channels were missing."""
    first: tuple[str, ...]
    """The first answer, with what was told together with it."""
    alone: str
    causes: tuple[str, ...]
    """What the first three answers name, `sound` left aside."""
    three: tuple[str, ...]
    probability: float
    """Of the first answer alone."""
    of_truth: float
    asked: str = ""
    after_first: bool = False
    """Truth first once the reading that was asked for is given."""
    after_alone: str = ""

    @property
    def right(self) -> bool:
        """The truth is told first, alone or with its twins."""
        return bool(self.truth) and self.truth[0] in self.first

    @property
    def among_three(self) -> bool:
        """The truth is among the first three answers."""
        return self.right or self.truth[0] in self.three


def answers(ranking: Ranking) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the first answer names, and what the first three do."""
    group = told_together(ranking)
    first = tuple(name for one in group for name in one.names)
    three = tuple(name for one in ranking.answers[:3] for name in one.names)
    return first, three


def judge(tables: Model, row: dataset.Row, *, ask: bool) -> Judged:
    """Rank one run, and rank it again with the reading that is asked for."""
    truth = tuple(row.faults) or (SOUND,)
    one = case(tables, row.seen.kit, row.seen.kit_at)
    ranking = rank(tables, one)
    first, three = answers(ranking)
    asked, after, after_alone = "", first, ranking.answers[0].names[0]
    if ask and ranking.answers[0].names != (SOUND,):
        asked, again = after_reading(tables, row, ranking)
        if asked:
            after, _ = answers(again)
            after_alone = again.answers[0].names[0]
    weighs = len(truth) == 1 and truth[0] != SOUND and row.twin is not None
    return Judged(
        truth=truth,
        severity=next(iter(row.faults.values()), 0.0),
        counts=weighs and matters(row) and could_show(row),
        matters=weighs and matters(row),
        half=not row.all_channels,
        first=first,
        alone=ranking.answers[0].names[0],
        causes=tuple(
            name for a in [a for a in ranking.answers if a.names != (SOUND,)][:3] for name in a.names
        ),
        three=three,
        probability=ranking.answers[0].probability,
        of_truth=ranking.probability(truth[0]) if len(truth) == 1 else 0.0,
        asked=asked,
        after_first=truth[0] in after,
        after_alone=after_alone,
    )


def after_reading(tables: Model, row: dataset.Row, ranking: Ranking) -> tuple[str, Ranking]:
    """Give the best further reading its answer: from the whole van's record, or by what the fault is."""
    from firstfrost.causes.features import FEATURE, GIVEN, SURE
    from firstfrost.causes.seen import Seen

    one = case(tables, row.seen.kit, row.seen.kit_at)
    wanted = next_readings(tables, one, row.seen.kit, ranking)
    if not wanted:
        return "", ranking
    best = wanted[0]
    rng = np.random.default_rng([row.seed, 80])
    more = dict(row.seen.kit)
    for name in best.features:
        if name in GIVEN:
            second = any(fault in GIVEN[name] for fault in row.faults)
            if rng.random() > SURE:  # a person looks wrong now and then
                second = not second
            more[name] = Seen(value=FEATURE[name].words[int(second)], typed=True)
        elif name in row.seen.full:
            more[name] = row.seen.full[name]
    return best.act.name, rank(tables, case(tables, more, row.seen.kit_at))


def share(values: Sequence[bool]) -> float:
    """Per cent."""
    return 100.0 * sum(values) / max(1, len(values))


def calibration(
    judged: Sequence[Judged], bins: int = 10
) -> tuple[float, float, list[tuple[float, float, float]]]:
    """Expected calibration error and Brier score of the first answer, and the reliability diagram's points.

    Runs are weighed so that causes come as often as their priors say: probabilities can mean what they say in
    that population only. ECE = sum over bins of the share of runs in it times |mean probability - share right|
    (Naeini and others 2015, from memory); Brier = mean (probability - right)^2 (Brier 1950, from memory).
    """
    counts = Counter(one.truth[0] for one in judged)
    prior = priors(fixed_orifice=False)
    weight = np.array([prior[one.truth[0]] / counts[one.truth[0]] for one in judged])
    weight /= weight.sum()
    p = np.array([one.probability for one in judged])
    right = np.array([one.alone == one.truth[0] for one in judged], dtype=float)
    brier = float((weight * (p - right) ** 2).sum())
    at = np.minimum((p * bins).astype(int), bins - 1)
    ece, points = 0.0, []
    for k in range(bins):
        mine = at == k
        total = float(weight[mine].sum())
        if total <= 0.0:
            continue
        said, was = (float((weight * x)[mine].sum() / total) for x in (p, right))
        ece += total * abs(said - was)
        points.append((said, was, total))
    return ece, brier, points


def lines(judged: Sequence[Judged]) -> list[str]:
    """The report's lines."""
    single = [one for one in judged if len(one.truth) == 1]
    faulty = [one for one in single if one.truth != (SOUND,)]
    sound = [one for one in single if one.truth == (SOUND,)]
    counted = [one for one in faulty if one.counts]
    out = [
        (
            f"{len(faulty)} runs with one fault, {len(counted)} of them count; {len(sound)} sound; "
            f"{len(judged) - len(single)} with two faults"
        ),
        "",
        "                                     runs  first %  alone %  in three %  of causes: first %  in three %",
    ]
    groups = (
        ("runs that count", counted),
        ("  all channels", [one for one in counted if not one.half]),
        ("  half of the channels missing", [one for one in counted if one.half]),
        ("all runs with a fault that matters", [one for one in faulty if one.matters]),
        ("all runs with a fault, slight or not", faulty),
    )
    for name, mine in groups:
        out.append(
            f"{name:<36} {len(mine):>5}  {share([o.right for o in mine]):6.1f}   {share([o.alone == o.truth[0] for o in mine]):6.1f}"
            f"   {share([o.among_three for o in mine]):6.1f}      {share([o.causes[0] == o.truth[0] for o in mine]):6.1f}"
            f"            {share([o.right or o.truth[0] in o.causes for o in mine]):6.1f}"
        )
    named = np.mean([len(set(one.first)) for one in counted]) if counted else 0.0
    accused = [one for one in sound if one.alone != SOUND]
    out += [
        f"the first answer names {named:.2f} causes on the mean (twins from {ALIKE:g} of the first's probability on)",
        f"sound machines accused: {len(accused)} of {len(sound)} ({share([one.alone != SOUND for one in sound]):.2f} %)"
        + (f": {dict(Counter(one.alone for one in accused))}" if accused else ""),
    ]
    ece, brier, points = calibration(single)
    out += ["", f"expected calibration error {ece:.4f}, Brier score {brier:.4f} (weighed by the priors)"]
    out += ["said    was     share"] + [f"{a:5.3f}   {b:5.3f}   {c:6.3f}" for a, b, c in points]
    asked = [one for one in counted if one.asked]
    out += [
        "",
        (
            f"a further reading was asked for in {len(asked)} of the counted runs: the truth alone in first place in "
            f"{share([one.alone == one.truth[0] for one in asked]):.1f} % before it and "
            f"{share([one.after_alone == one.truth[0] for one in asked]):.1f} % after; told first "
            f"{share([one.right for one in asked]):.1f} % before, {share([one.after_first for one in asked]):.1f} % after"
        ),
        "asked for: "
        + ", ".join(f"{name} {n}" for name, n in Counter(one.asked for one in asked).most_common(12)),
    ]
    pairs = [one for one in judged if len(one.truth) == 2]
    if pairs:
        out += [
            "",
            (
                f"two faults at once, {len(pairs)} runs: both named in the first answer "
                f"{share([set(one.truth) <= set(one.first) for one in pairs]):.1f} %, one of them "
                f"{share([bool(set(one.truth) & set(one.first)) for one in pairs]):.1f} %, both within the first three "
                f"{share([set(one.truth) <= set((*one.first, *one.three)) for one in pairs]):.1f} %"
            ),
        ]
    out += ["", "cause                             runs count  first % alone %  taken for (times)"]
    for name in HYPOTHESES:
        mine = [one for one in faulty if one.truth == (name,)]
        ok = [one for one in mine if one.counts]
        if not mine:
            continue
        wrong = Counter(one.alone for one in ok if not one.right)
        out.append(
            f"{name:<32} {len(mine):>5} {len(ok):>5}   {share([o.right for o in ok]):6.1f}  {share([o.alone == name for o in ok]):6.1f}  "
            + ", ".join(f"{other} {n}" for other, n in wrong.most_common(4))
        )
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table; 0 if the targets are met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=150, help="runs of each fault")
    parser.add_argument("--sound", type=int, default=1200)
    parser.add_argument("--pairs", type=int, default=120)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args(arguments)
    rows = dataset.load(
        "judge", each=options.each, sound=options.sound, pairs=options.pairs, processes=options.processes
    )
    tables = model()
    judged = [judge(tables, row, ask=True) for row in rows]
    print("\n".join(lines(judged)))
    counted = [one for one in judged if one.counts]
    sound = [one for one in judged if one.truth == (SOUND,)]
    ece, _, _ = calibration([one for one in judged if len(one.truth) == 1])
    good = (
        share([one.right for one in counted]) >= 85.0
        and share([one.among_three for one in counted]) >= 97.0
        and share([one.alone != SOUND for one in sound]) <= 1.0
        and ece <= 0.03
    )
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
