"""The truth of a run as one table: phases, standings, numbers, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np

from firstfrost import __version__
from firstfrost.bench.faults import FAULTS
from firstfrost.bench.plant.balance import balance
from firstfrost.bench.scenario.during import peak_c
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.look import Look, TrueDefrost
from firstfrost.bench.scenario.phases import phases
from firstfrost.bench.scenario.record import shown_times
from firstfrost.bench.scenario.standings import standings


def truth(look: Look) -> dict[str, Any]:
    """All that is true of a run, ready for JSON; times as the record shows them, numbers in SI and degC."""
    played = look.played
    scenario, run = played.scenario, played.run
    closes = balance(played.plant, run.states)
    return {
        "made_by": __version__,
        "scenario": scenario.name,
        "title": scenario.title,
        "lesson": scenario.lesson,
        "look_for": list(scenario.look_for),
        "seed": scenario.seed,
        "faults": _faults(look),
        "acts": [{"time": _when(look, act.time_s), "act": act.act, "note": act.note} for act in played.acts],
        "phases": [
            {"name": name, "start": _when(look, start), "end": _when(look, end)}
            for name, start, end in phases(look)
        ],
        "defrosts": [_defrost(look, defrost) for defrost in look.defrosts],
        "sensor": _sensor(look),
        "functions": {
            name: {"standing": one.standing, "also": list(one.also), "why": one.why}
            for name, one in standings(look).items()
        },
        "numbers": _numbers(look),
        "instruments": {
            name: {"error": round(float(value), 3), "unit": "standard uncertainties"}
            for name, value in look.record.errors.items()
        },
        "balances": {
            "energy": float(f"{closes.energy_error:.2g}"),
            "water": float(f"{closes.water_error:.2g}"),
            "refrigerant": float(f"{closes.refrigerant_error:.2g}"),
        },
    }


def _when(look: Look, time_s: float) -> Any:
    """On the time base of the record: ISO 8601 in UTC, or seconds."""
    shown = float(shown_times(look.played, np.array([time_s]))[0])
    epoch = look.trace.epoch
    if epoch is None:
        return round(shown, 3)
    return (epoch + timedelta(seconds=round(shown, 3))).isoformat().replace("+00:00", "Z")


def _faults(look: Look) -> list[dict[str, Any]]:
    found = []
    for fault in look.played.scenario.faults:
        row = FAULTS.get(fault.name) or INSTRUMENT_FAULTS[fault.name]
        entry: dict[str, Any] = {
            "name": fault.name,
            "title": row.title,
            "severity": fault.severity,
            "severity_1_is": row.at_one,
            "of": "machine" if fault.name in FAULTS else "instrument",
        }
        for key, time_s in (("from", fault.at_s), ("until", fault.until_s)):
            if time_s is not None:
                entry[key] = _when(look, time_s)
        found.append(entry)
    return found


def _defrost(look: Look, defrost: TrueDefrost) -> dict[str, Any]:
    run = look.played.run
    a, b = look.at(defrost.start_s), look.at(np.floor(defrost.end_s))
    return {
        "start": _when(look, defrost.start_s),
        "end": _when(look, defrost.end_s) if defrost.ended else None,
        "duration_s": round(defrost.end_s - defrost.start_s, 2) if defrost.ended else None,
        "ended_by": defrost.ended_by or None,
        "peak_saturation_c": round(peak_c(look, defrost), 2),
        "peak_pressure_pa": round(
            float(look.window(run.derived("p_discharge"), defrost.start_s, defrost.end_s).max()), -2
        ),
        "frost_at_start_kg": round(float(run.state("frost")[a]), 3),
        "frost_at_end_kg": round(float(run.state("frost")[b]), 3),
        "coil_at_end_c": round(float(run.state("t_coil")[b]), 2),
        "sensor_at_end_c": round(float(run.state("t_sensor")[b]), 2),
        "heat_taken_from_house_j": round(-float(np.minimum(run.derived("heat")[a : b + 1], 0.0).sum()), -3),
    }


def _sensor(look: Look) -> list[dict[str, Any]]:
    """Each move of the contact itself, with what it felt."""
    run = look.played.run
    return [
        {
            "time": _when(look, time_s),
            "contact": "closed" if value > 0.5 else "open",
            "sensor_c": round(float(run.state("t_sensor")[look.at(time_s)]), 2),
            "coil_c": round(float(run.state("t_coil")[look.at(time_s)]), 2),
        }
        for time_s, value in run.switches("contact")
    ]


def _numbers(look: Look) -> dict[str, Any]:
    """Means over plain heating: outside defrosts and five minutes after, outdoor air not held back."""
    run, played = look.played.run, look.played
    plain = (run.board("mode") == 1.0) & (look.hand("fan") > 0.5) & (look.hand("cover") < 0.5)
    for defrost in look.defrosts:
        plain[look.at(defrost.start_s) : look.at(defrost.end_s) + 300] = False
    numbers: dict[str, Any] = {
        "charge_kg": round(played.plant.charge_kg, 3),
        "charge_sound_kg": round(played.scenario.plant.charge_kg, 3),
        "most_frost_kg": round(float(run.state("frost").max()), 3),
        "compressor_run_time_s": round(float((run.board("comp") > 0.5).sum())),
        "energy_compressor_j": round(float(run.state("e_comp")[-1]), -3),
        "energy_fans_j": round(float(run.state("e_fans")[-1]), -3),
        "energy_backup_j": round(float(run.state("e_backup")[-1]), -3),
        "water_drained_kg": round(float(run.state("w_drained")[-1]), 3),
    }
    if plain.sum() >= 60:
        heat, power = run.derived("heat")[plain], run.derived("power")[plain]
        numbers |= {
            "plain_heating_s": int(plain.sum()),
            "capacity_w": round(float(heat.mean()), -1),
            "power_w": round(float(power.mean()), -1),
            "cop": round(float(heat.mean() / power.mean()), 3),
            "superheat_k": round(float(run.derived("superheat")[plain].mean()), 2),
            "subcooling_k": round(float(run.derived("subcooling")[plain].mean()), 2),
            "airflow_indoor_m3s": round(float(run.derived("airflow_ind")[plain].mean()), 3),
            "airflow_outdoor_m3s": round(float(run.derived("airflow_out")[plain].mean()), 3),
        }
    return numbers
