"""Make what the pages take from the library, so that nothing is typed twice.

frontend/src/data/saturation.json   the saturation lines, thinned, for a device without signal
frontend/src/data/library.json      channels, functions, standings, acts, cautions, steps, settings
frontend/test/cases.json            values of the library at many points, which the pages must give as well
frontend/test/demo-result.json      the result of the demo visit, for tests

Run from the repository's root: `python scripts/make_page_data.py`, or `make docs`.
"""

from __future__ import annotations

import json
import random
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.air.atmosphere import pressure_at_altitude_pa  # noqa: E402
from firstfrost.bench.plan.runs import WAYS  # noqa: E402
from firstfrost.bench.plan.steps import steps  # noqa: E402
from firstfrost.bench.plan.words import NUMBERS  # noqa: E402
from firstfrost.bench.plan.words import TITLES as WAY_TITLES  # noqa: E402
from firstfrost.causes.acts import ACTS as READINGS  # noqa: E402
from firstfrost.causes.acts import DANGER_WORDS  # noqa: E402
from firstfrost.causes.conditions import Conditions  # noqa: E402
from firstfrost.causes.features import FEATURE, FEATURES  # noqa: E402
from firstfrost.causes.find import from_features  # noqa: E402
from firstfrost.causes.readings import LOOKED, TYPED, bounds, channels_for, state, typed_for  # noqa: E402
from firstfrost.causes.seen import Seen  # noqa: E402
from firstfrost.equipment.read import default_cutout, unit_from  # noqa: E402
from firstfrost.equipment.settings import CHOICES, SETTINGS  # noqa: E402
from firstfrost.equipment.stop import stop_limit  # noqa: E402
from firstfrost.errors import InputError  # noqa: E402
from firstfrost.heating.rows import ROWS as HEATING_ROWS  # noqa: E402
from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS, Evidence, Limit, Measured  # noqa: E402
from firstfrost.quantities.convert import from_si  # noqa: E402
from firstfrost.refrigerants import REFRIGERANTS, refrigerant  # noqa: E402
from firstfrost.report import signs, words  # noqa: E402
from firstfrost.report.causes import causes_page  # noqa: E402
from firstfrost.report.heating import HEAT  # noqa: E402
from firstfrost.report.numbers import Numbers  # noqa: E402
from firstfrost.trace.channels import CHANNELS  # noqa: E402
from firstfrost.trace.marks import ACTS, ENDS  # noqa: E402
from firstfrost.trace.plausible import USUAL  # noqa: E402
from firstfrost.visit import stop as watch  # noqa: E402
from firstfrost.visit.as_json import causes_json  # noqa: E402
from firstfrost.visit.cautions import cautions  # noqa: E402

DATA = ROOT / "frontend" / "src" / "data"
CASES = ROOT / "frontend" / "test" / "cases.json"
DEMO = ROOT / "frontend" / "test" / "demo-result.json"
EVERY = 3
"""Each third of the 256 nodes is kept: 255 steps are 85 of three. The error grows by 3^4, to some 0.1 mK."""
SEED = 20251014


def _line(name: str, which: int) -> dict[str, Any]:
    """One line's temperature over the square root of the pressure, each third node."""
    fluid = refrigerant(name)
    line = fluid.bubble if which else fluid.dew
    curve = line.temp
    step = 1.0 / curve.per_step
    count = len(curve.pieces) + 1
    nodes = [
        [
            curve.at(curve.start + i * step),
            float(curve.slopes(_array(curve.start + i * step))[0]) * step * EVERY,
        ]
        for i in range(0, count, EVERY)
    ]
    return {
        "start": curve.start,
        "step": step * EVERY,
        "low_pa": line.pressure_low_pa,
        "high_pa": line.pressure_high_pa,
        "temp_c": [round(value, 7) for value, _ in nodes],
        "rise_k": [round(rise, 7) for _, rise in nodes],
    }


def _array(x: float) -> Any:
    import numpy as np

    return np.array([x])


def saturation() -> dict[str, Any]:
    """Every refrigerant's two lines; of a pure fluid the one serves as both."""
    out: dict[str, Any] = {}
    for name in REFRIGERANTS:
        fluid = refrigerant(name)
        out[name] = {
            "class": fluid.safety_class,
            "blend": fluid.is_blend,
            "low_c": fluid.lowest_temp_c,
            "high_c": fluid.highest_temp_c,
            "u_k": fluid.saturation_u_k,
            "cutout": default_cutout(fluid)[0],
            "dew": _line(name, 0),
            **({"bubble": _line(name, 1)} if fluid.is_blend else {}),
        }
    return out


def _step(step: Any) -> dict[str, Any]:
    return {
        "text": step.text,
        "caution": step.caution,
        "marks": list(step.marks),
        "at": step.at or None,
        "expect": list(step.expect),
        "stop_limit_applies": step.stop,
    }


def library() -> dict[str, Any]:
    """The library's own words, limits and rows."""
    plain = unit_from({"unit": {"refrigerant": "R-410A"}}, source="pages")
    by_class = {
        refrigerant(name).safety_class: [{"code": c.code, "text": c.text} for c in cautions(name)]
        for name in REFRIGERANTS
    }
    return {
        "channels": [
            {"name": c.name, "kind": c.kind, "title": c.title, "low": c.lowest, "high": c.highest}
            for c in CHANNELS.values()
        ],
        "usual": [
            {"channel": r.channel, "low": r.low, "high": r.high, "running": r.running} for r in USUAL
        ],
        "functions": [
            {"name": name, "title": words.TITLES[name], "part": words.PARTS[name]} for name in FUNCTIONS
        ],
        "standings": [
            {
                "name": name,
                "means": words.MEANINGS[name],
                "counted": words.COUNTED[name],
                "sign": signs.drawing(name, ink="currentColor", paper="var(--sheet)"),
            }
            for name in (*BEST_FIRST, "failed")
        ],
        "acts": [
            {"name": name, "title": words.ACTS[name], "undone_by": ENDS.get(name)} for name in ACTS
        ],
        "phases": words.PHASES,
        "ended_by": words.ENDED_BY,
        "cautions": by_class,
        "ways": [
            {"way": way, "title": WAY_TITLES[way], "steps": [_step(s) for s in steps(way, plain)]}
            for way in WAYS
        ],
        "heating": [
            {"name": row.name, "title": row.title, "heat": row.name in HEAT} for row in HEATING_ROWS
        ],
        "features": [
            {"name": row.name, "title": row.title, "unit": row.unit}
            for row in FEATURES if row.group != "level"
        ],
        "dangers": list(DANGER_WORDS),
        "typed": [
            {
                "name": row.name, "title": FEATURE[row.feature].title, "group": FEATURE[row.feature].group,
                "kind": row.kind, "low": bounds(row)[0], "high": bounds(row)[1], "u": row.u,
                "sized": row.how == "log over capacity",
            }
            for row in TYPED.values()
        ],
        "looked": [
            {
                "name": name, "title": FEATURE[name].title, "group": FEATURE[name].group,
                "words": list(FEATURE[name].words),
            }
            for name in LOOKED
        ],
        "asked": [
            {"act": act.name, "typed": list(typed_for(act)), "channels": list(channels_for(act))}
            for act in READINGS
        ],
        "numbers": [
            {"key": n.key, "unit": n.unit, "title": n.title, "saturation": n.saturation} for n in NUMBERS
        ],
        "settings": [
            {
                "name": s.name, "kind": s.kind, "meaning": s.meaning, "lowest": s.lowest,
                "highest": s.highest, "default": s.default, "why": s.why,
            }
            for s in SETTINGS
        ],
        "choices": [
            {"name": c.name, "meaning": c.meaning, "words": list(c.words), "default": c.default}
            for c in CHOICES
        ],
        "watch": {
            "window_s": watch.WINDOW_S, "lead_s": watch.LEAD_S, "near_k": watch.NEAR_K,
            "blind_s": watch.BLIND_S,
        },
        "safety": words.SAFETY,
    }  # fmt: skip


def _points(draw: random.Random) -> list[dict[str, Any]]:
    """Saturation at random pressures of both lines, with what a reading beside it makes of it."""
    out = []
    for name in REFRIGERANTS:
        fluid = refrigerant(name)
        low = max(fluid.dew.pressure_low_pa, fluid.bubble.pressure_low_pa)
        high = min(fluid.dew.pressure_high_pa, fluid.bubble.pressure_high_pa)
        for i in range(60):
            share = draw.random() if i > 1 else float(i)
            pressure = (low**0.5 + share * (high**0.5 - low**0.5)) ** 2
            pressure = min(max(pressure, low), high)
            beside = draw.uniform(-20.0, 90.0)
            dew, bubble = fluid.dew_temp_c(pressure), fluid.bubble_temp_c(pressure)
            out.append(
                {
                    "refrigerant": name, "pressure_pa": pressure, "dew_c": dew, "bubble_c": bubble,
                    "beside_c": beside, "superheat_k": beside - dew, "subcooling_k": bubble - beside,
                    "dew_pressure_pa": fluid.dew_pressure_pa(dew),
                }
            )  # fmt: skip
    return out


def _stops(draw: random.Random) -> list[dict[str, Any]]:
    """Stop limits of units with and without their own limits, at several heights."""
    out = []
    for name in REFRIGERANTS:
        for ceiling, cutout in ((None, None), ("120 degF", None), (None, "250 psi"), ("150 degF", "300 psi")):
            altitude = f"{draw.randrange(-200, 9000)} ft"
            limits = {"saturation_ceiling": ceiling, "high_pressure_cutout": cutout}
            limits = {key: value for key, value in limits.items() if value}
            plate = {"unit": {"refrigerant": name}, "limits": limits, "site": {"altitude": altitude}}
            unit = unit_from(plate, source="pages")
            limit = stop_limit(unit)
            out.append(
                {
                    "plate": plate, "temp_c": limit.temp_c, "pressure_pa": limit.pressure_pa,
                    "gauge_pa": limit.gauge_pa, "by": limit.by, "atmosphere_pa": unit.site.atmosphere_pa,
                }
            )  # fmt: skip
    return out


def _watched(draw: random.Random) -> list[dict[str, Any]]:
    """A high side that climbs, with a gap, noise and a turn back: what the stop watch says of each sample."""
    unit = unit_from({"unit": {"refrigerant": "R-410A"}}, source="pages")
    fluid, limit, out = refrigerant("R-410A"), stop_limit(unit), []
    for every in (1, 4, 20):
        guard, samples = watch.StopWatch(limit), []
        for time_s in range(0, 300, every):
            turned = 20 <= time_s < 240
            climb = 20.0 + 0.16 * max(time_s - 20, 0) + draw.uniform(-0.3, 0.3)
            pressure: float | None = fluid.dew_pressure_pa(min(climb, 60.0))
            if 90 <= time_s < 120:
                pressure = None
            read = float("nan") if pressure is None else pressure
            temp = float("nan") if pressure is None else fluid.dew_temp_c(pressure)
            danger = guard.push(float(time_s), temp, read, turned=turned)
            samples.append(
                {
                    "time_s": time_s, "pressure_pa": pressure, "turned": turned,
                    "left_s": None if danger is None else min(danger.seconds_left, 1e9),
                    "warns": danger is not None, "blind": guard.blind(float(time_s)),
                }
            )  # fmt: skip
        out.append({"samples": samples})
    return out


_EVIDENCE = (
    # standing, value, unit, expanded, low, high, chance
    ("shown", -1.728, "degC", 0.577, -6.58, 1.667, 1.0),
    ("shown", 99.0, "s", 1.2, None, 720.0, 1.0),
    ("shown", 27.9, "degC", 0.5, None, 54.444, 1.0),
    ("doubtful", 1.004, "1", 0.02, 0.9, None, 0.6),
    ("doubtful", 1.004, "1", 0.02, 0.9, None, 0.99),
    ("failed", 3.1e6, "Pa", 2.2e4, None, 3.0e6, 0.0),
    ("shown", 33.51, "A", 1.31, 2.0, None, None),
    ("shown", 3600.0, "s", 40.0, 3000.0, 4200.0, 1.0),
    ("unseen", 24.0, "V", 0.6, None, None, None),
    ("shown", 4.4, "K", None, 0.0, None, None),
    ("shown", 3.215, "Pa/Pa", 0.048, None, 9.0, 1.0),
    ("shown", 3.61, "W/W", 0.21, 2.0, None, 1.0),
    ("shown", 0.471, "m3/s", 0.047, 0.41, 0.55, 0.9),
    ("shown", 8113.0, "heat", 410.0, 7000.0, None, 1.0),
    ("failed", 2, "count", None, None, 0, 0.0),
)


def _lines() -> list[dict[str, Any]]:
    """Numbers, limits and margins as the report writes them, in both systems."""
    out = []
    for standing, value, unit, expanded, low, high, chance in _EVIDENCE:
        measured = Measured(value=value, unit=unit, expanded=expanded)
        limit = None if low is None and high is None else Limit(low=low, high=high, unit=unit, source="")
        item = Evidence(
            standing=standing,  # type: ignore[arg-type]
            start_s=0.0, end_s=1.0, channels=(), what="", measured=measured, limit=limit, probability=chance,
        )  # fmt: skip
        for system in ("us", "si"):
            held = Numbers(system, 96513.7).held(item)  # type: ignore[arg-type]
            out.append(
                {
                    "system": system, "atmosphere_pa": 96513.7, "standing": standing,
                    "measured": vars(measured),
                    "limit": None if limit is None else {"low": low, "high": high, "unit": unit},
                    "probability": chance, "number": held.number, "held": held.limit, "margin": held.margin,
                }
            )  # fmt: skip
    return out


_SHOWN = (
    ("temperature", "degF", 54.444), ("temperature", "degC", 54.444), ("pressure", "psig", 3.4e6),
    ("pressure", "kPa(g)", 3.4e6), ("pressure", "barg", 3.4e6), ("humidity", "%RH", 0.62),
    ("power", "W", 2310.0), ("power", "ton_refrigeration", 8792.13), ("flow", "cfm", 0.47),
    ("flow", "L/s", 0.47), ("length", "ft", 408.4),
    ("pressure_difference", "inH2O", 124.0), ("temperature_difference", "delta_degF", 5.0),
)  # fmt: skip


_FEATURES = {
    "superheat_k": 4.1, "subcooling_k": 9.4, "condensing_approach_k": 31.5, "discharge_temp_c": 96.2,
    "temperature_rise_k": 27.8, "power_log": -0.98, "evaporating_approach_k": 9.7,
}  # fmt: skip
_LOOKS = {"air_side": "warms", "pressures": "apart", "vapor_line": "hot", "fan_heating": "turns"}


def _ranked() -> list[dict[str, Any]]:
    """Causes of an invented visit short of indoor air, as the report words them, in both systems."""
    seen = {name: Seen(value=value, u=0.4) for name, value in _FEATURES.items()}
    seen |= {name: Seen(value=word) for name, word in _LOOKS.items()}
    seen["filter_look"] = Seen(value="dirty", typed=True)
    at = Conditions(
        outdoor_c=8.0, room_c=21.0, humidity=0.7, size_w=8800.0, fixed=0.0, forced=0.0, refrigerant="R-410A"
    )
    causes = from_features(seen, at)
    out = []
    for system in ("us", "si"):
        page = causes_page(causes, Numbers(system, 96513.7), off=True)  # type: ignore[arg-type]
        out.append(
            {
                "system": system, "atmosphere_pa": 96513.7, "causes": causes_json(causes),
                "rows": [
                    {
                        "title": row.title, "probability": row.probability, "odds": row.odds,
                        "speaks_for": row.speaks_for, "against": row.against,
                    }
                    for row in page.rows
                ],
            }
        )  # fmt: skip
    return out


_TYPED_IN = (
    ("superheat", "12 delta_degF"), ("superheat", "90 delta_degC"), ("subcooling", "300 delta_degF"),
    ("discharge_temp", "195 degF"), ("discharge_temp", "400 degF"), ("airflow", "980 cfm"),
    ("airflow", "5000 cfm"), ("airflow", "5001 cfm"), ("airflow", "460 L/s"), ("airflow", "9 L/s"),
    ("capacity", "30000 Btu/h"), ("capacity", "2.5 ton_refrigeration"), ("capacity", "90 kW"),
    ("power", "2310 W"), ("power", "2.3 kW"), ("power", "49 W"), ("compressor_current", "11.5 A"),
    ("fan_current", "0.05 A"), ("backup_power", "9.6 kW"), ("line_voltage", "238 V"),
    ("line_voltage", "24 V"), ("filter_drop", "0.5 inH2O"), ("filter_drop", "1001 Pa"),
    ("coil_drop", "60 Pa"), ("temperature_rise", "-3 delta_degF"),
)  # fmt: skip


def _looked() -> list[dict[str, Any]]:
    """Numbers typed for the causes, in memory units; null where they lie outside what makes sense."""
    out = []
    for name, text in _TYPED_IN:
        try:
            value: float | str | None = state(name, text, name).value
        except InputError:
            value = None
        out.append({"name": name, "text": text, "value": value})
    return out


def cases() -> dict[str, Any]:
    """What the pages' own arithmetic must give as well."""
    draw = random.Random(SEED)
    return {
        "saturation": _points(draw),
        "stop": _stops(draw),
        "watch": _watched(draw),
        "lines": _lines(),
        "causes": _ranked(),
        "looked": _looked(),
        "units": [
            {
                "kind": kind, "unit": name, "si": si, "atmosphere_pa": 96513.7,
                "value": float(from_si(si, name, kind, atmosphere_pa=96513.7)),  # type: ignore[call-overload]
            }
            for kind, name, si in _SHOWN
        ],
        "atmosphere": [
            {"altitude_m": z, "pressure_pa": pressure_at_altitude_pa(z)}
            for z in (-300.0, 0.0, 408.432, 2800.0)
        ],
    }  # fmt: skip


def demo_result() -> dict[str, Any]:
    """The demo visit's result, as `firstfrost demo` writes it."""
    import argparse

    from firstfrost.cli import check_command
    from firstfrost.cli.demo_command import DATA as FOLDER
    from firstfrost.visit.as_json import as_json

    args = argparse.Namespace(
        trace=[str(FOLDER / "trace.csv")], unit=str(FOLDER / "unit.toml"), marks=str(FOLDER / "marks.csv"),
        columns=None, zone=None, json=None, report=[], units="us", reading=[], causes=False,
    )  # fmt: skip
    result = as_json(check_command.judge(args))
    # What the machine did and where its files lie is no part of what the pages show.
    return {name: value for name, value in result.items() if name != "input"}


def files() -> dict[Path, str]:
    """Each file and what it must hold."""
    dense = {"ensure_ascii": False, "separators": (",", ":")}
    return {
        DATA / "saturation.json": json.dumps(saturation(), **dense) + "\n",
        DATA / "library.json": json.dumps(library(), ensure_ascii=False, indent=1) + "\n",
        CASES: json.dumps(cases(), **dense) + "\n",
        DEMO: json.dumps(demo_result(), **dense) + "\n",
    }  # fmt: skip


if __name__ == "__main__":
    for path, text in files().items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        print(f"{path.relative_to(ROOT)}: {len(text) / 1000:.1f} kB")
