"""The first page: for the householder, in plain words, honest about what was not shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from firstfrost.proofs.finding import Standing
from firstfrost.report import words
from firstfrost.report.heating import answer
from firstfrost.report.numbers import Numbers
from firstfrost.report.text import clean
from firstfrost.report.times import Clock, length, tie
from firstfrost.trace.marks import ENDS, spans
from firstfrost.visit.result import Result

_SENTENCES: Final = 3
"""So many of the sentences on what failed stand on the first page; the ledger has them all."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One of the householder's questions, answered."""

    question: str
    answer: str
    standing: Standing
    """Whose sign and colour it carries."""
    parts: tuple[str, ...]
    """What of it is not simply shown, and why."""


@dataclass(frozen=True, kw_only=True)
class HousePage:
    """All that stands on the first page."""

    verdict: str
    verdict_standing: Standing
    why: str
    tested: tuple[str, ...]
    found: tuple[str, ...]
    answers: tuple[Answer, ...]
    answered: str
    """The heading above them."""
    todo: tuple[str, ...]
    safety: str


def house_page(result: Result, numbers: Numbers, clock: Clock) -> HousePage:
    """Compose the first page of `result`."""
    standings: dict[str, Standing] = {item.function: item.standing for item in result.findings}
    verdict, sign = _verdict(standings)
    if result.failed:
        verdict, sign = words.VERDICTS["no"], words.ANSWER_STANDING["no"]
    answers = [_answer(question, standings) for question in words.QUESTIONS]
    if result.heating is not None:
        said, standing, parts = answer(result.heating, numbers)
        answers.append(
            Answer(question=words.HEATS, answer=said, standing=standing, parts=tuple(map(tie, parts)))
        )
    return HousePage(
        verdict=verdict,
        verdict_standing=sign,
        why=words.WHY,
        tested=tuple(tie(text) for text in _tested(result, numbers, clock)),
        found=_found(result, standings),
        answers=tuple(answers),
        answered=words.COUNTS[len(answers)],
        todo=_todo(standings, result),
        safety=words.SAFETY,
    )


def _where(standings: dict[str, Standing], wanted: str) -> list[str]:
    return [words.PARTS[name] for name, standing in standings.items() if standing == wanted]


def _verdict(standings: dict[str, Standing]) -> tuple[str, Standing]:
    values = set(standings.values())
    if "failed" in values:
        key = "no"
    elif values == {"shown"}:
        key = "yes"
    elif values <= {"unseen", "bypassed"}:
        key = "untested"
    elif values <= {"shown", "prompted"}:
        key = "prompted"
    else:
        worked = sum(standing in ("shown", "prompted") for standing in standings.values())
        key = "part" if 2 * worked >= len(standings) else "little"
    return words.VERDICTS[key], words.ANSWER_STANDING[key]


def _tested(result: Result, numbers: Numbers, clock: Clock) -> tuple[str, ...]:
    trace = result.trace
    if not len(trace):
        return ("The record holds no readings.",)
    first, last = float(trace.time_s[0]), float(trace.time_s[-1])
    day, end_day = clock.day(first), clock.day(last)
    when = f" on {day}" if day else ""
    if clock.days:
        when = f" from {day} to {end_day}"
    text = f"The unit was measured for {length(60 * round((last - first) / 60) or last - first)}{when}"
    air = trace.get("outdoor_air_temp")
    if trace.has("outdoor_air_temp"):
        low, high = numbers.temperature(float(np.nanmin(air))), numbers.temperature(float(np.nanmax(air)))
        text += f", with {low} outdoors" if low == high else f", with {low} to {high} outdoors"
    return (f"{text}. {_defrosted(result)} in that time.", *_did(result, first, last))


def _defrosted(result: Result) -> str:
    count = len(result.defrosts)
    if not count:
        return "It did not go into a defrost"
    times = ("once", "twice", "three times", "four times")[count - 1] if count <= 4 else f"{count} times"
    if result.standing("valve_shifts") == "failed":
        return f"It was to defrost {times}"
    return f"It defrosted {times}"


def _did(result: Result, first_s: float, last_s: float) -> list[str]:
    if result.marks is None:
        return ["What was done to the unit by hand was not written down, so it is taken as not known."]
    acts = {mark.act for mark in result.marks}
    done: list[str] = []
    for act, text in words.DID.items():
        if act not in acts:
            continue
        total = sum(
            min(end, last_s) - max(start, 0.0) for start, end in spans(result.marks, act, until_s=last_s)
        )
        done.append(text.format(length=length(total)) if act in ENDS else text)
    return done or ["Nothing was done to the unit by hand."]


def _count(number: int) -> str:
    names = ("None", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven",
             "Twelve", "All thirteen")  # fmt: skip
    return names[number] if number < len(names) else str(number)


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def _found(result: Result, standings: dict[str, Standing]) -> tuple[str, ...]:
    total = len(standings)
    shown, failed = _where(standings, "shown"), _where(standings, "failed")
    said: list[str] = []
    if failed:
        said.append(f"{_count(len(failed))} of the {total} steps did not work.")
        sentences = [clean(item.sentence) for item in result.findings if item.standing == "failed"]
        said += list(dict.fromkeys(sentences))[:_SENTENCES]
    if len(shown) == total:
        said.append(f"All {total} steps of the defrost happened by themselves and were measured.")
    elif shown:
        which = ("other" if len(shown) == 1 else "others") if failed else f"of the {total} steps"
        was = "happened by itself and was" if len(shown) == 1 else "happened by themselves and were"
        said.append(f"{_count(len(shown))} {which} {was} measured.")
    rest: list[str] = []
    for standing, (one, several) in words.FOUND.items():
        count = len(_where(standings, standing))
        if count == total and standing == "unseen":
            return (words.NONE_FOUND,)
        if count:
            rest.append(f"{_count(count).lower()} {one if count == 1 else several}")
    if rest:
        text = _listed(rest)
        said.append(f"{text[0].upper()}{text[1:]}. {words.BELOW}")
    return tuple(said)


def _answer(question: words.Question, standings: dict[str, Standing]) -> Answer:
    own = {name: standings[name] for name in question.functions if name in standings}
    values = set(own.values())
    if "failed" in values:
        key = "no"
    elif values == {"shown"}:
        key = "yes"
    elif values and values <= {"shown", "prompted"}:
        key = "prompted"
    elif values <= {"unseen", "bypassed"}:
        key = "untested"
    elif values <= {"doubtful", "unseen", "bypassed"}:
        key = "unclear"
    else:
        key = "part"
    by_standing: dict[Standing, list[str]] = {}
    for name, standing in own.items():
        if standing != "shown":
            by_standing.setdefault(standing, []).append(words.PARTS[name])
    parts = [f"{words.TODAY[standing]}: {_listed(names)}." for standing, names in by_standing.items()]
    return Answer(
        question=question.text,
        answer=words.ANSWERS[key],
        standing=words.ANSWER_STANDING[key],
        parts=tuple(parts),
    )


def _todo(standings: dict[str, Standing], result: Result) -> tuple[str, ...]:
    failed = _where(standings, "failed")
    rest = [part for standing in words.FOUND for part in _where(standings, standing)]
    todo: list[str] = []
    if failed:
        todo.append(words.PUT_RIGHT.format(parts=_listed(failed)))
    if len(rest) == len(standings):
        todo.append(words.AGAIN)
    elif rest:
        todo.append(words.REST.format(parts=_listed(rest)))
    wrong = [] if result.heating is None else result.heating.of("failed")
    if wrong:
        todo.append(words.HEATING_WRONG)
    if not failed and not rest and not wrong:
        todo.append(words.NOTHING)
    return (*todo, words.IN_FROST)
