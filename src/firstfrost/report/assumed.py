"""Which defaults a result really rests on: settings one by one, instruments only where they were read."""

from __future__ import annotations

from typing import Final

from firstfrost.equipment.unit import Default
from firstfrost.trace.channels import CHANNELS
from firstfrost.visit.result import Result

_INSTRUMENTS: Final = "instruments."


def default_settings(result: Result) -> tuple[Default, ...]:
    """The settings that were not given, without the accuracies of instruments."""
    return tuple(item for item in result.unit.defaults if not item.setting.startswith(_INSTRUMENTS))


def default_accuracies(result: Result) -> dict[str, Default]:
    """The accuracies that were not given, of the channels in the record, by channel."""
    found = {
        item.setting.removeprefix(_INSTRUMENTS): item
        for item in result.unit.defaults
        if item.setting.startswith(_INSTRUMENTS)
    }
    return {
        name: found[name]
        for name in result.trace.columns
        if name in found and result.trace.has(name) and not is_switch(name)
    }


def is_switch(channel: str) -> bool:
    """On or off has no error of its own, so nothing rests on a default there."""
    return channel in CHANNELS and CHANNELS[channel].kind == "switch"
