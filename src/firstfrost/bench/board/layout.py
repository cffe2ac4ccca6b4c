"""Where each number of the board's own state stands: contacts, clocks, outputs, a person's hand."""

from __future__ import annotations

from typing import Final

BOARD: Final[tuple[tuple[str, str], ...]] = (
    ("mode", "0 rest, 1 heating, 2 delay before defrost, 3 defrost, 4 delay after defrost"),
    ("contact", "coil sensor's contact: 1 closed"),
    ("sensed", "contact as the board sees it, with a jumper: 1 closed"),
    ("clock", "run time counted towards a defrost [s]"),
    ("defrost_time", "time in this defrost [s]"),
    ("delay", "time left of a delay [s]"),
    ("since", "compressor run time since the last defrost [s]"),
    ("clean_split", "demand: learnt split of clean coil [K]; -1 not learnt"),
    ("rest", "time since the compressor stopped [s]"),
    ("run", "time since the compressor started [s]"),
    ("call", "thermostat calls"),
    ("second", "thermostat's second stage calls"),
    ("high", "high pressure switch is open"),
    ("low", "low pressure switch is open"),
    ("high_trips", "trips in this call"),
    ("low_trips", "trips in this call"),
    ("locked", "locked out"),
    ("blower_left", "time the blower runs on [s]"),
    ("ended_by", "how the last defrost ended: 0 none, 1 sensor, 2 time, 3 high pressure, 4 call"),
    ("defrosts", "defrosts started"),
    ("comp", "output: compressor"),
    ("valve", "output: reversing valve coil"),
    ("fan", "output: outdoor fan"),
    ("blower", "output: indoor blower"),
    ("backup", "output: backup heat [W]"),
    ("hand_call", "person: the call switch is on"),
    ("hand_fan", "person: the fan's lead is on"),
    ("hand_pins", "person: test pins are bridged"),
    ("hand_jumper", "person: the sensor is jumpered"),
    ("hand_cover", "person: the coil is covered"),
)
BOARD_NAMES: Final = tuple(row[0] for row in BOARD)
N_BOARD: Final = len(BOARD)
(
    D_MODE,
    D_CONTACT,
    D_SENSED,
    D_CLOCK,
    D_DEFROST_TIME,
    D_DELAY,
    D_SINCE,
    D_CLEAN_SPLIT,
    D_REST,
    D_RUN,
    D_CALL,
    D_SECOND,
    D_HIGH,
    D_LOW,
    D_HIGH_TRIPS,
    D_LOW_TRIPS,
    D_LOCKED,
    D_BLOWER_LEFT,
    D_ENDED_BY,
    D_DEFROSTS,
    D_COMP,
    D_VALVE,
    D_FAN,
    D_BLOWER,
    D_BACKUP,
    D_HAND_CALL,
    D_HAND_FAN,
    D_HAND_PINS,
    D_HAND_JUMPER,
    D_HAND_COVER,
) = range(30)
N_GUARDS: Final = 6
"""Values that switch something when they rise through zero; see `logic.guards`."""


def fresh() -> list[float]:
    """A board at rest whose compressor has rested long enough."""
    d = [0.0] * N_BOARD
    d[D_REST] = 1e6
    d[D_CLEAN_SPLIT] = -1.0
    d[D_HAND_CALL] = d[D_HAND_FAN] = 1.0
    return d
