# ruff: noqa: E501
"""Further readings and acts, one row each: what it gives, what it costs, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.causes.features import FEATURES

Danger = Literal[0, 1, 2, 3]
DANGER_WORDS: Final = ("none beyond being there", "slight", "moving parts or pressure", "line voltage")


@dataclass(frozen=True, kw_only=True)
class Act:
    """One further reading.

    `gives` names features; with `channel` also every feature that this channel bears on. Minutes and danger
    are common practice, no source.
    """

    name: str
    title: str
    how: str
    minutes: float
    danger: Danger
    caution: str
    gives: tuple[str, ...] = ()
    channel: tuple[str, ...] = ()

    @property
    def features(self) -> tuple[str, ...]:
        """All features that it gives."""
        by_channel = tuple(row.name for row in FEATURES if set(row.channels) & set(self.channel))
        return tuple(dict.fromkeys((*self.gives, *by_channel)))


_FAN = "The fan starts by itself: power off and locked out before hands, or anything else, go near the blade."
_LIVE = "Line voltage: only for people qualified for live readings, with meter and gloves rated for it."
_GAUGE = "Refrigerant under pressure at the hoses: gloves and eye protection; only for certified people where the law asks it."
_HOT = "The discharge line burns: over 90 degC (200 degF) is usual."
_DEFROST = (
    "sensor_closes",
    "sensor_opens",
    "defrost_starts",
    "valve_shifts",
    "fan_stops",
    "backup_runs",
    "ends_by_sensor",
    "ends_safely",
    "valve_returns",
    "fan_returns",
    "heating_resumes",
)

ACTS: Final[tuple[Act, ...]] = (
    Act(
        name="look-filter",
        title="look at the filter",
        how="Take it out with the blower off and hold it to the light.",
        minutes=3,
        danger=0,
        caution="Blower off: a filter taken out of a running unit pulls dirt, and fingers, in.",
        gives=("filter_look",),
    ),
    Act(
        name="static-pressure",
        title="pressure drop of filter and indoor coil",
        how="A manometer on both sides of the filter, then of the coil.",
        minutes=10,
        danger=1,
        caution="Drill test holes only where no coil, wire or pan is behind the sheet metal.",
        gives=("filter_drop_log", "coil_drop_log"),
    ),
    Act(
        name="airflow",
        title="indoor airflow",
        how="A flow hood or a traverse; or the temperature rise over backup heat.",
        minutes=20,
        danger=1,
        caution="A ladder stands on firm ground; mind the edges of sheet metal.",
        channel=("airflow",),
    ),
    Act(
        name="look-outdoor",
        title="look at the outdoor coil and the base pan",
        how="Look between the fins from both sides, and for ice in the pan.",
        minutes=3,
        danger=2,
        caution=f"{_FAN} Ice may fall.",
        gives=("outdoor_look", "pan_look"),
    ),
    Act(
        name="fan-volts",
        title="volts at the outdoor fan's leads",
        how="With a call for heat and the fan standing still.",
        minutes=6,
        danger=3,
        caution=f"{_LIVE} {_FAN}",
        gives=("fan_volts",),
    ),
    Act(
        name="fan-amps",
        title="outdoor fan's current",
        how="A clamp round one fan lead, in heating and through a defrost.",
        minutes=5,
        danger=3,
        caution=_LIVE,
        channel=("fan_current",),
    ),
    Act(
        name="valve-volts",
        title="volts on the reversing valve's coil",
        how="Across the coil's two leads in heating and in defrost.",
        minutes=6,
        danger=1,
        caution="24 V, but line voltage stands next to it in the cabinet: only with the line side covered.",
        channel=("valve_voltage",),
    ),
    Act(
        name="sensor-volts",
        title="volts across the coil sensor",
        how="Across its two leads at the board while the coil gets cold and warm.",
        minutes=8,
        danger=1,
        caution="24 V, but line voltage stands next to it in the cabinet: only with the line side covered.",
        gives=("sensor_closes", "sensor_opens"),
        channel=("sensor_voltage",),
    ),
    Act(
        name="sensor-clip",
        title="look at the coil sensor's seat",
        how="Is it clipped where the equipment maker shows it, clean and tight?",
        minutes=5,
        danger=2,
        caution=_FAN,
        gives=("sensor_seat",),
    ),
    Act(
        name="coil-probe",
        title="probe on the outdoor coil",
        how="A clamp on a clean return bend beside the sensor, insulated.",
        minutes=6,
        danger=2,
        caution=_FAN,
        channel=("outdoor_coil_temp",),
    ),
    Act(
        name="clamp-check",
        title="check that the clamps sit tight",
        how="Move each by hand and watch its reading; clean, clamp and insulate it anew.",
        minutes=5,
        danger=2,
        caution=f"{_HOT} {_FAN}",
        gives=("coil_clamp", "vapor_clamp"),
    ),
    Act(
        name="gauge-zero",
        title="gauges open to the air",
        how="Off the ports and open: do they read zero?",
        minutes=6,
        danger=2,
        caution=_GAUGE,
        gives=("suction_zero", "high_zero"),
    ),
    Act(
        name="suction-gauge",
        title="suction pressure",
        how="A gauge on the true suction port, through heating and a defrost.",
        minutes=6,
        danger=2,
        caution=_GAUGE,
        channel=("suction_pressure",),
    ),
    Act(
        name="high-gauge",
        title="liquid line pressure",
        how="A gauge on the liquid line port, through heating and a defrost.",
        minutes=6,
        danger=2,
        caution=_GAUGE,
        channel=("liquid_pressure",),
    ),
    Act(
        name="suction-temp",
        title="suction line temperature",
        how="A clamp on the suction line near the compressor, insulated.",
        minutes=4,
        danger=1,
        caution=_FAN,
        channel=("suction_line_temp",),
    ),
    Act(
        name="liquid-temp",
        title="liquid line temperature",
        how="A clamp on the liquid line near its port.",
        minutes=4,
        danger=1,
        caution=_FAN,
        channel=("liquid_line_temp",),
    ),
    Act(
        name="discharge-temp",
        title="discharge line temperature",
        how="A clamp on the discharge line a hand's width from the compressor.",
        minutes=5,
        danger=2,
        caution=_HOT,
        channel=("discharge_temp",),
    ),
    Act(
        name="vapor-temp",
        title="vapor line temperature",
        how="A clamp on the vapor line at the service valve.",
        minutes=4,
        danger=1,
        caution=_HOT,
        channel=("vapor_line_temp",),
    ),
    Act(
        name="air-temps",
        title="supply and return air",
        how="A probe in each, out of sight of coil and elements.",
        minutes=5,
        danger=0,
        caution="Mind the edges of sheet metal.",
        channel=("supply_air_temp", "return_air_temp"),
    ),
    Act(
        name="power",
        title="compressor current and power",
        how="A clamp meter at the disconnect, with its voltage leads.",
        minutes=6,
        danger=3,
        caution=_LIVE,
        channel=("power", "compressor_current"),
    ),
    Act(
        name="backup-amps",
        title="backup heat's current",
        how="A clamp round the elements' feed, in heating and in defrost.",
        minutes=6,
        danger=3,
        caution=_LIVE,
        channel=("backup_current",),
    ),
    Act(
        name="line-volts",
        title="line voltage under load",
        how="At the disconnect with the compressor running.",
        minutes=4,
        danger=3,
        caution=_LIVE,
        channel=("line_voltage",),
    ),
    Act(
        name="line-drop",
        title="temperature along the liquid line",
        how="Two clamps, before and after the drier: a restriction leaves the line colder after it.",
        minutes=6,
        danger=1,
        caution=_FAN,
        gives=("line_drop",),
    ),
    Act(
        name="valve-ports",
        title="suction line on both sides of the reversing valve",
        how="Two clamps of one make; after ten minutes of heating they should read alike.",
        minutes=8,
        danger=2,
        caution=_HOT,
        gives=("valve_ports",),
    ),
    Act(
        name="check-valve-touch",
        title="both sides of the outdoor check valve",
        how="Two clamps in heating: alike when liquid goes through it.",
        minutes=8,
        danger=2,
        caution=_FAN,
        gives=("check_valve",),
    ),
    Act(
        name="second-stage",
        title="call the second stage of heat",
        how="Raise the thermostat far above the room and read backup current or the supply air.",
        minutes=6,
        danger=1,
        caution="Nothing lies on registers or elements while they heat.",
        gives=("second_stage",),
    ),
    Act(
        name="clocks",
        title="watch beside the logger's clock",
        how="Read both at one moment and write the difference down.",
        minutes=1,
        danger=0,
        caution="None.",
        gives=("clocks",),
    ),
    Act(
        name="defrost",
        title="bring about a defrost",
        how="By the plan of a visit: the coil made cold, the sensor left to close by itself, the pins bridged.",
        minutes=35,
        danger=2,
        caution=f"Know the stop limit before it begins. {_FAN}",
        gives=_DEFROST,
    ),
    Act(
        name="whole-interval",
        title="leave the recorder on for a whole interval",
        how="From one defrost's end to the next one's start, nobody near it.",
        minutes=100,
        danger=0,
        caution="Leads and hoses out of reach of the fan and of children.",
        gives=("interval_log", "timer_counts", "defrost_starts"),
    ),
)
ACT: Final = {act.name: act for act in ACTS}
