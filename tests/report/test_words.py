import itertools
import random
from dataclasses import replace
from typing import get_args

import pytest

from firstfrost.heating.rows import ROWS
from firstfrost.phases.phase import NAMES, EndedBy
from firstfrost.proofs.finding import FUNCTIONS, Evidence, Limit, Measured, Standing
from firstfrost.report import words
from firstfrost.report.fields import fields
from firstfrost.report.house import house_page
from firstfrost.report.ink import DARK, LIGHT
from firstfrost.report.numbers import Numbers, key_evidence
from firstfrost.report.signs import COLOURS, drawing
from firstfrost.report.stop import stop_limit
from firstfrost.report.times import clock, elapsed, length
from firstfrost.trace.marks import ACTS
from report import sample

STANDINGS = get_args(Standing)
US, SI = Numbers("us", 101_325.0), Numbers("si", 101_325.0)


def test_there_is_a_word_for_everything():
    assert list(words.TITLES) == list(FUNCTIONS) == list(words.PARTS)
    assert max(len(title) for title in words.TITLES.values()) <= 24
    assert set(words.SIGNS) == set(words.MEANINGS) == set(words.COUNTED) == set(COLOURS) == set(STANDINGS)
    assert list(words.PHASES) == list(NAMES)
    assert set(words.ENDED_BY) == set(get_args(EndedBy))
    assert set(words.ACTS) == set(ACTS)
    asked = list(itertools.chain(*(question.functions for question in words.QUESTIONS)))
    assert asked == list(FUNCTIONS)
    assert len(set(words.SIGNS.values())) == len(STANDINGS)


def test_each_sign_has_a_shape_of_its_own():
    assert len({drawing(name, ink="#000", paper="#fff") for name in STANDINGS}) == len(STANDINGS)


def _house(standings):
    base = sample.mild_day()
    findings = tuple(replace(item, standing=s) for item, s in zip(base.findings, standings, strict=True))
    result = replace(base, findings=findings)
    return house_page(result, US, clock(result))


def test_the_first_page_never_says_more_than_the_ledger():
    """Over many mixtures: a plain yes needs all shown, a no needs a failure, and all is named."""
    dice = random.Random(3)
    mixtures = [[s] * 13 for s in STANDINGS]
    mixtures += [dice.choices(STANDINGS, k=13) for _ in range(150)]
    mixtures += [dice.choices(dice.sample(STANDINGS, 2), k=13) for _ in range(150)]
    for mixture in mixtures:
        page, of = _house(mixture), dict(zip(FUNCTIONS, mixture, strict=True))
        assert (page.verdict == words.VERDICTS["no"]) == ("failed" in mixture)
        assert (page.verdict == words.VERDICTS["yes"]) == (set(mixture) == {"shown"})
        for question, answer in zip(words.QUESTIONS, page.answers, strict=True):
            own = {of[name] for name in question.functions}
            assert (answer.answer == "Yes") == (own == {"shown"})
            assert (answer.answer == "No") == ("failed" in own)
            assert (answer.standing == "shown") == (own == {"shown"})
            if answer.answer == words.ANSWERS["prompted"]:
                assert "prompted" in own <= {"shown", "prompted"}
            text = " ".join(answer.parts)
            for name in question.functions:
                assert (words.PARTS[name] in text) == (of[name] != "shown")
        todo = " ".join(page.todo)
        if "failed" in mixture:
            assert words.NOTHING not in page.todo
            assert all(words.PARTS[name] in todo for name in FUNCTIONS if of[name] == "failed")
        assert 1 <= len(page.found) <= 6


def test_the_first_page_says_what_was_done_by_hand():
    text = " ".join(house_page(sample.mild_day(), US, clock(sample.mild_day())).tested)
    assert "The outdoor fan was stopped on purpose for 12\u00a0min\u00a010\u00a0s" in text
    assert "clock was run fast by hand" in text
    empty = sample.empty()
    assert "not known" in " ".join(house_page(empty, US, clock(empty)).tested)
    untouched = replace(sample.mild_day(), marks=())
    assert "Nothing was done to the unit by hand." in house_page(untouched, US, clock(untouched)).tested


def _evidence(value, low, high, unit="degC", expanded=0.5, **more):
    return Evidence(
        standing="shown", start_s=0, end_s=1, channels=(), what="x",
        measured=Measured(value=value, unit=unit, expanded=expanded),
        limit=Limit(low=low, high=high, unit=unit, source="rating plate"), **more,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("evidence", "number", "limit", "margin"),
    [
        (_evidence(47.5, None, 54.444), "117.5 ± 0.9 °F", "at most 130 °F", "12.5 °F to spare"),
        (_evidence(57.2, None, 54.444), "135.0 ± 0.9 °F", "at most 130 °F", "5.0 °F above"),
        (_evidence(-5.0, -3.889, 1.667), "23.0 ± 0.9 °F", "25 to 35 °F", "2.0 °F below"),
        (_evidence(0.96, 0.95, None, "1", 0.05), "96 ± 5 %", "at least 95 %", "1 % to spare"),
        (_evidence(720.0, None, 720.0, "s", 2.0), "720 ± 2 s", "at most 12 min", "at the limit"),
        (_evidence(719.8, None, 720.0, "s", 0.4), "720 ± 1 s", "at most 12 min", "at the limit"),
        (_evidence(2724.0, 1620.0, 1980.0, "s", 4.0), "45.4 ± 0.1 min", "27 to 33 min", "12 min 24 s above"),
        (_evidence(2400.0, 2160.0, 2640.0, "s", 50.0), "40.0 ± 0.8 min", "36 to 44 min", "4 min to spare"),
        (_evidence(254.0, None, 720.0, "s", None), "4 min 14 s", "at most 12 min", "7 min 46 s to spare"),
        (_evidence(0.01, None, 0.2, "A", 0.04), "0.01 ± 0.04 A", "at most 0.2 A", "0.19 A to spare"),
        (
            _evidence(101_325.0 + 400 * 6894.757, None, 101_325.0 + 610 * 6894.757, "Pa", 34_000.0),
            "400 ± 5 psig",
            "at most 610 psig",
            "210 psi to spare",
        ),
        (_evidence(float("nan"), None, 5.0), "not known", "at most 41 °F", ""),
        (_evidence(3.0, None, None), "37.4 ± 0.9 °F", "", ""),
    ],
)
def test_numbers_limits_and_margins_in_us_units(evidence, number, limit, margin):
    """By hand: degF = 1.8 degC + 32, 1 psi = 6894.757 Pa (NIST SP 811, appendix B.8)."""
    assert US.measured(evidence.measured) == number
    assert US.limit(evidence.limit) == limit
    assert US.margin(evidence) == margin


@pytest.mark.parametrize("standing", ["failed", "doubtful", "unseen", "bypassed"])
def test_no_room_to_the_limit_speaks_for_what_is_not_shown(standing):
    """A defrost that the pressure switch ended had minutes left of its time: no merit of the sensor."""
    within = replace(_evidence(155.0, None, 840.0, "s", 1.0, probability=0.9999), standing=standing)
    held = US.held(within)
    assert held.margin == ""
    assert held.chance is None
    assert held.number == ("155 ± 1 s" if standing in ("failed", "doubtful") else "")
    beyond = replace(_evidence(900.0, None, 840.0, "s", 1.0, probability=0.0), standing=standing)
    assert US.held(beyond).margin == ("1 min above" if standing in ("failed", "doubtful") else "")


def test_near_its_limit_a_doubtful_number_keeps_its_margin():
    near = replace(_evidence(0.96, 0.95, None, "1", 0.05, probability=0.65), standing="doubtful")
    assert US.held(near).margin == "1 % to spare"
    assert US.held(near).chance == 0.65
    assert US.held(None).number == ""


def test_a_valve_that_stayed_did_not_defrost():
    result = sample.mild_day()
    findings = tuple(
        replace(item, standing="failed") if item.function == "valve_shifts" else item
        for item in result.findings
    )
    for one, said in (
        (result, "It defrosted once"),
        (replace(result, findings=findings), "It was to defrost"),
    ):
        assert said in " ".join(house_page(one, US, clock(one)).tested)
    twice = replace(result, defrosts=result.defrosts * 2)
    assert "It defrosted twice in that time." in " ".join(house_page(twice, US, clock(twice)).tested)


def test_numbers_in_si_units():
    evidence = _evidence(47.5, None, 54.444)
    assert SI.measured(evidence.measured) == "47.5 ± 0.5 °C"
    assert SI.margin(evidence) == "6.9 K to spare"
    assert SI.measured(Measured(value=1_101_325.0, unit="Pa")) == "1000 kPa(g)"


def test_the_least_sure_occasion_of_the_standing_stands_for_it():
    sure, unsure = _evidence(1, None, 2, probability=0.99), _evidence(1.5, None, 2, probability=0.97)
    other = replace(_evidence(9, None, 2, probability=0.1), standing="failed")
    assert key_evidence((sure, other, unsure), "shown") is unsure
    assert key_evidence((sure, other), "failed") is other
    assert key_evidence((), "unseen") is None


def test_times_are_the_sites_own_where_its_zone_is_known():
    mild, empty = clock(sample.mild_day()), clock(sample.empty())
    assert mild.span(1386, 1640) == "09:25:06–09:29:20"
    assert mild.day(0) == "Tuesday 14 October 2025"
    assert (empty.span(0, 65), empty.day(0)) == ("0:00–1:05", "")
    base = sample.mild_day()
    no_zone = replace(
        base, trace=replace(base.trace, zone=None), unit=sample.unit(site=replace(base.unit.site, zone=None))
    )
    assert clock(no_zone).at(1386) == "23:06"
    assert clock(sample.long_day()).at(86_000) == "15 Oct 08:55:20"
    assert mild.at(float("inf")) == "open"


def test_elapsed_and_length():
    assert [elapsed(s) for s in (0, 59.6, 3600, -5)] == ["0:00", "1:00", "1:00:00", "-0:05"]
    assert [length(s) for s in (42, 60, 254, 4320, 7200)] == [
        "42 s",
        "1 min",
        "4 min 14 s",
        "1 h 12 min",
        "2 h",
    ]


def test_a_clock_that_changes_with_the_season_is_followed():
    """America/Denver left daylight time on 2 November 2025 at 08:00 UTC (IANA time zone database)."""
    from datetime import UTC, datetime

    base = sample.mild_day()
    night = replace(base, trace=replace(base.trace, epoch=datetime(2025, 11, 2, 7, 30, tzinfo=UTC)))
    assert [clock(night).at(s) for s in (0, 1799, 1800)] == ["01:30:00", "01:59:59", "01:00:00"]


def _luminance(code):
    channels = [int(code[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(a, b):
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_text_has_the_contrast_of_level_aa():
    """4.5 to 1, Web Content Accessibility Guidelines 2.2, success criterion 1.4.3."""
    from firstfrost.report.html import DARK_SIGNS

    for paper, ink, signs in (("#ffffff", LIGHT, COLOURS), ("#151b20", DARK, DARK_SIGNS)):
        for name in ("ink", "soft", "limit", "coil"):
            assert _contrast(ink[name], paper) >= 4.5, name
        for name, code in signs.items():
            assert _contrast(code, paper) >= 4.5, name
        for name, code in ink.items():
            if name.startswith("band_"):
                assert _contrast(ink["ink"], code) >= 4.5, name
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_lines_stand_out_from_the_paper():
    """3 to 1 for what must be seen to understand a graphic, WCAG 2.2, 1.4.11."""
    for paper, ink in (("#ffffff", LIGHT), ("#151b20", DARK)):
        for name in ("high", "low", "coil", "air", "supply", "limit"):
            assert _contrast(ink[name], paper) >= 3.0, name
    assert len(set(LIGHT.values())) == len(LIGHT)
    assert list(LIGHT) == list(DARK)


def test_many_occasions_are_cut_and_the_cut_is_told():
    base = sample.mild_day()
    one = base.findings[0].evidence[0]
    many = replace(
        base.findings[0], evidence=tuple(replace(one, start_s=k, probability=0.9) for k in range(20))
    )
    row = fields(replace(base, findings=(many, *base.findings[1:]))).rows[0]
    assert len(row.occasions) == 6
    assert row.more == "14 more occasions are in the JSON result."


def test_the_stop_limit_is_the_number_on_the_gauge():
    """130 degF dew of R-410A is 476.8 psig at sea level, 491.5 psia (CoolProp 8.0.0)."""
    result = sample.mild_day()
    level = replace(result, unit=sample.unit(site=replace(result.unit.site, atmosphere_pa=101_325.0)))
    text = stop_limit(level, US)
    assert text == (
        "Stop a forced defrost before the high-side gauge reads 477 psig: the saturation ceiling of 130 °F "
        "(a default, common practice without a published source) for R-410A at this site."
    )
    high = replace(level.unit.limits, saturation_ceiling_c=500.0)
    said = stop_limit(replace(result, unit=sample.unit(limits=high)), US)
    assert said.startswith("Stop a forced defrost before the high-side gauge reads 610 psig")
    assert "high-pressure cutout" in said
    assert fields(result).cautions[0] == stop_limit(result, Numbers("us", sample.ATMOSPHERE_PA))


def test_each_number_of_the_heating_check_has_its_words():
    names = [row.name for row in ROWS]
    assert list(words.HEATING_PARTS) == names
    assert set(names) >= words.HEAT_MATTERS
    for row in ROWS:
        assert len(row.title) <= 28, row.title
        assert {"shown", "doubtful", "failed", "unseen"} == set(row.says)
