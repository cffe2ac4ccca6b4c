"""The findings of the made-up mild day of `sample`: one of each standing but failed and bypassed."""

from __future__ import annotations

from firstfrost.proofs.finding import Evidence, Finding, Limit, Measured

CUTOUT_PA = 4_303_852.0
"""Absolute: 610 psi on the gauge at an ambient pressure of 98 050 Pa. [Pa]"""


def _shown(function: str, sentence: str, *evidence: Evidence, **more: str) -> Finding:
    standing = evidence[0].standing if evidence else "unseen"
    return Finding(function=function, standing=standing, sentence=sentence, evidence=evidence, **more)


def findings() -> tuple[Finding, ...]:
    seen = Evidence
    return (
        _shown(
            "sensor_closes",
            "The sensor on the outdoor coil closed by itself as the coil got cold.",
            seen(
                standing="shown",
                start_s=1020,
                end_s=1080,
                channels=("sensor_voltage", "outdoor_coil_temp"),
                what="The sensor's contact closed while the coil was falling.",
                measured=Measured(value=-0.9, unit="degC", expanded=0.62),
                limit=Limit(low=-3.889, high=1.667, unit="degC", source="rating plate: closes at 30 degF"),
                probability=0.9999,
            ),
        ),
        _shown(
            "sensor_opens",
            "The sensor opened by itself as the coil got warm.",
            seen(
                standing="shown",
                start_s=1600,
                end_s=1645,
                channels=("sensor_voltage", "outdoor_coil_temp"),
                what="The sensor's contact opened while the coil was rising.",
                measured=Measured(value=17.1, unit="degC", expanded=0.7),
                limit=Limit(low=12.778, high=18.333, unit="degC", source="rating plate: opens at 60 degF"),
                probability=0.998,
            ),
        ),
        Finding(
            function="timer_counts",
            standing="unseen",
            sentence="The board's run-time clock was run fast by hand, so its own counting was not seen.",
            settle="Record one whole interval of run time (60 min) from one termination to the next start, "
            "with the board left alone.",
        ),
        _shown(
            "defrost_starts",
            "The board started a defrost after its clock was run fast on the test pins.",
            seen(
                standing="prompted",
                start_s=1380,
                end_s=1400,
                channels=("discharge_pressure", "suction_pressure"),
                what="The defrost began 6 s after the test pins were bridged, with the sensor closed.",
                measured=Measured(value=6.0, unit="s", expanded=2.0),
                limit=Limit(low=None, high=15.0, unit="s", source="default: pins time"),
                probability=0.9999,
            ),
            settle="Let the board start a defrost by itself after its own interval of run time.",
        ),
        _shown(
            "valve_shifts",
            "The reversing valve moved when the defrost began.",
            seen(
                standing="shown",
                start_s=1386,
                end_s=1420,
                channels=("discharge_pressure", "suction_pressure"),
                what="The pressures fell together and parted again the other way.",
                measured=Measured(value=14.0, unit="s", expanded=2.0),
                limit=Limit(low=None, high=60.0, unit="s", source="common practice"),
                probability=0.9999,
            ),
        ),
        _shown(
            "fan_stops",
            "The outdoor fan stopped for the defrost and stayed off.",
            seen(
                standing="shown",
                start_s=1388,
                end_s=1640,
                channels=("fan_current",),
                what="The fan's current fell to nothing and stayed there.",
                measured=Measured(value=0.01, unit="A", expanded=0.04),
                limit=Limit(low=None, high=0.2, unit="A", source="this record: 15 % of its running current"),
                probability=0.9999,
            ),
        ),
        _shown(
            "backup_runs",
            "The backup heat ran during the defrost, to keep the house warm.",
            seen(
                standing="shown",
                start_s=1389,
                end_s=1640,
                channels=("backup_current",),
                what="The backup heat drew current through the whole defrost.",
                measured=Measured(value=19.8, unit="A", expanded=0.5),
                limit=Limit(
                    low=2.0, high=None, unit="A", source="default: a current that no idle heater draws"
                ),
                probability=0.9999,
            ),
        ),
        Finding(
            function="coil_clears",
            standing="unseen",
            sentence="There was no frost to clear on this mild day.",
            settle="Look at the coil, or record a defrost, on a day with frost.",
        ),
        _shown(
            "ends_by_sensor",
            "The sensor ended the defrost, well before the board's time limit.",
            seen(
                standing="shown",
                start_s=1630,
                end_s=1645,
                channels=("sensor_voltage",),
                what="The defrost ended 2 s after the sensor opened.",
                measured=Measured(value=254.0, unit="s", expanded=2.0),
                limit=Limit(low=None, high=720.0, unit="s", source="default: longest defrost"),
                probability=0.9999,
            ),
        ),
        _shown(
            "ends_safely",
            "The pressure stayed well below its limits.",
            seen(
                standing="shown",
                start_s=1386,
                end_s=1640,
                channels=("discharge_pressure",),
                what="The highest saturation temperature of the defrost.",
                measured=Measured(value=47.5, unit="degC", expanded=0.9),
                limit=Limit(
                    low=None,
                    high=54.444,
                    unit="degC",
                    source="common practice: saturation ceiling of 130 degF",
                ),
                probability=0.9999,
            ),
            seen(
                standing="shown",
                start_s=1386,
                end_s=1640,
                channels=("discharge_pressure",),
                what="The highest pressure of the defrost.",
                measured=Measured(value=2.87e6, unit="Pa", expanded=3.3e4),
                limit=Limit(
                    low=None,
                    high=CUTOUT_PA,
                    unit="Pa",
                    source="rating plate: high-pressure cutout",
                ),
                probability=0.9999,
            ),
        ),
        _shown(
            "valve_returns",
            "The reversing valve went back to heating.",
            seen(
                standing="shown",
                start_s=1640,
                end_s=1700,
                channels=("discharge_pressure", "suction_pressure"),
                what="The pressures fell together and parted again as in heating.",
                measured=Measured(value=15.0, unit="s", expanded=2.0),
                limit=Limit(low=None, high=60.0, unit="s", source="common practice"),
                probability=0.9999,
            ),
        ),
        _shown(
            "fan_returns",
            "The outdoor fan ran again after the defrost.",
            seen(
                standing="shown",
                start_s=1640,
                end_s=1660,
                channels=("fan_current",),
                what="The fan's current came back.",
                measured=Measured(value=1.32, unit="A", expanded=0.04),
                limit=Limit(low=0.66, high=None, unit="A", source="this record: half its running current"),
                probability=0.9999,
            ),
        ),
        _shown(
            "heating_resumes",
            "Heating came back, but not surely to all of what it was.",
            seen(
                standing="doubtful",
                start_s=1640,
                end_s=2240,
                channels=("supply_air_temp", "return_air_temp"),
                what="The warming of the indoor air, against what it was before.",
                measured=Measured(value=0.96, unit="1", expanded=0.05),
                limit=Limit(low=0.95, high=None, unit="1", source="this record: 95 % of the rise before"),
                probability=0.66,
            ),
            settle="Record ten more minutes of steady heating, with a probe in the return air.",
        ),
    )
