# ruff: noqa: E501
"""Make docs/bench.md and its figure from the scenario files, the rows of their keys, and the faults.

Run from the repository's root: `python scripts/make_bench_docs.py`, or `make docs`.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.bench.faults import FAULTS  # noqa: E402
from firstfrost.bench.scenario import rows  # noqa: E402
from firstfrost.bench.scenario.build import PROBES, SIMULATED, USUAL  # noqa: E402
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS  # noqa: E402
from firstfrost.bench.scenario.read import find, read_scenario, shipped  # noqa: E402
from firstfrost.bench.scenario.scenario import Scenario  # noqa: E402
from firstfrost.trace.channels import SI_UNIT  # noqa: E402
from firstfrost.trace.marks import ACTS  # noqa: E402

PAGE = ROOT / "docs" / "bench.md"
FIGURE = ROOT / "docs" / "figures" / "bench-first-frost.svg"
HEAD = """\
# The practice bench: a heat pump on the desk

<!-- Made by `make docs` from src/firstfrost/bench/scenario and the scenario files. Change those, not this. -->

A class has no frost when it needs it, and no machine that may be broken on purpose. The bench is a heat pump that
frosts, defrosts and breaks in a file: it gives the record that a technician would bring home, and the truth that
no probe shows. [The physics behind it](bench-physics.md).

    firstfrost bench list                                   # the course
    firstfrost bench run first-frost -o lesson              # trace.csv, marks.csv, unit.toml, truth.json
    firstfrost check lesson/trace.csv --unit lesson/unit.toml --marks lesson/marks.csv
    firstfrost bench plot first-frost -o lesson/plot.svg    # what a teacher projects

`run` takes a shipped name, with or without its number, or a file of your own. The same file gives the same bytes
each time. `plot` writes SVG or PNG; `--from "80 min" --until "95 min"` draws a part, `--units si` in degC.

The bench shows what readings look like and what they can and cannot prove. It is no substitute for the equipment
maker's instructions, local codes and licensed practice, and a scenario in which somebody lays a jumper or stops a
fan is no advice to do so.

![Frost, coil, charge and valve over a defrost that nobody touched](figures/bench-first-frost.svg)

*The second defrost of `first-frost`: the coil's metal stands near melting until the frost is gone, then climbs; the
sensor's body follows late; the charge moves out and back. Made by the bench itself.*

## The truth

`truth.json` holds what was so, on the time base of the record:

| key | what |
|---|---|
| `faults` | each fault, its severity, and what severity 1 would be |
| `phases` | name, start, end, from the board, the valve's place and the fan |
| `defrosts` | start, end, what ended it, true peak of saturation and pressure, frost at both ends, heat taken from the house |
| `sensor` | each move of the contact, with the temperature of its body and of the coil |
| `functions` | the true standing of the thirteen functions, why, and `also`: standings that this record cannot tell from it |
| `numbers` | charge, capacity, power, superheat and subcooling over plain heating, most frost, energy, water drained |
| `instruments` | the systematic error that the seed gave each probe, in standard uncertainties of its stated accuracy |
| `balances` | what energy, water and refrigerant do not close by, as a part of what was moved |

True standings come from hidden states (frost mass, the valve's place, contacts, the board's clock, a person's
hand), and share no formula with the rules that judge a visit ([how those judge](standings.md)). That `check` is
right about the bench's own runs is a test of both, and no check against the outside.

"""
FILE = """\
## A scenario file

TOML; every quantity is text with its unit, as in [a unit file](unit-file.md). All mistakes in a file are told at once.
The tables `[unit]`, `[coil_sensor]`, `[board]`, `[limits]`, `[site]` and `[instruments]`, and for the heating check
`[ratings]`, `[targets]`, `[compressor]`, `[supply]`, `[backup]`, `[blower]` and `[airflow]`, are those of a unit file:
they say what stands there, and become `unit.toml`. An accuracy under `[instruments]` is also what the probe truly
errs by: the seed picks each one's error within it. The first lesson as an example:

```toml
"""


def page() -> str:
    """The whole page."""
    parts = [HEAD, course(), "\n", FILE, find(shipped()[0]).read_text(encoding="utf-8"), "```\n\n", keys()]
    return "".join(parts) + acts() + recording() + faults()


def course() -> str:
    """The shipped scenarios."""
    lines = ["## The course", ""]
    for name in shipped():
        scenario = read_scenario(name)
        lines += [f"**`{name}`** {scenario.title}. *{weather(scenario)}.* {scenario.lesson}", ""]
        lines += [f"- {line}" for line in scenario.look_for] + [""]
    return "\n".join(lines)


def weather(scenario: Scenario) -> str:
    """Unit and outdoor air in a few words."""
    temps = [
        round(float(t) * 1.8 + 32.0) for t in (min(scenario.weather.temps_c), max(scenario.weather.temps_c))
    ]
    span = f"{temps[0]} °F" if temps[0] == temps[1] else f"{temps[0]} to {temps[1]} °F"
    return f"{scenario.unit.name}, {scenario.unit.refrigerant}, {span}, {scenario.duration_s / 60:g} min"


def keys() -> str:
    """Tables of keys."""
    lines = ["### Above the tables", "", "| key | what |", "|---|---|"]
    lines += [f"| `{key}` | {text} |" for key, text in rows.TEXTS.items()]
    lines += [
        f"| `{row.key}` | {row.meaning}, {row.lowest} to {row.highest} |"
        for row in rows.KEYS
        if not row.table
    ]
    for table in ("start", "controls", "house", "weather", "recording"):
        lines += ["", f"### `[{table}]`", "", "| key | what | range | default |", "|---|---|---|---|"]
        for row in rows.KEYS:
            if row.table == table:
                default = f"`{row.default}`" if row.default else ""
                lines.append(f"| `{row.key}` | {row.meaning} | {row.lowest} to {row.highest} | {default} |")
        for word in rows.WORDS:
            if word.table == table:
                lines.append(
                    f"| `{word.key}` | {word.meaning} | {', '.join(f'`{w}`' for w in word.words)} | "
                    f"`{word.default}` |"
                )
        lines += EXTRA.get(table, [])
    return "\n".join(lines) + "\n\n"


EXTRA = {
    "house": [
        f"| {', '.join(f'`{key}`' for key in rows.HOUSE_KEYS)} | what the unit file is to say of the house: "
        "[unit-file.md](unit-file.md) | | |"
    ],
    "weather": [
        (
            '| `points` | instead: points to run straight between, `[{ at = "0 min", temperature = "40 '
            'degF", humidity = "80 %" }, ...]` | | |'
        ),
        (
            "| `epw`, `from` | instead: an EPW file beside the scenario, and the month, day and time in "
            "its own (standard) time to start at, "
            '`"01-15 06:00"` | | |'
        ),
    ],
    "recording": [
        "| `starts` | date and time of the first sample with its offset, without quotes | | bare seconds |",
        "| `channels` | which channels are recorded | see below | the usual ones |",
        (
            '| `gaps` | stretches without readings, of one channel or of all: `[{ from = "28 min", until '
            '= "31 min", channel = "power" }]` | | none |'
        ),
        '| `clock_jump` | the logger\'s clock is put on: `{ at = "30 min", by = "10 min" }` | | none |',
    ],
}


def acts() -> str:
    """What a person does."""
    lines = [
        "### `[[acts]]`",
        "",
        "What a person does, in order; the same words as in a marks file: "
        + ", ".join(f"`{act}`" for act in ACTS)
        + ". Each has `act`, maybe a `note`, and either `at` (a time of the run) or `when`: then the person waits, from "
        "the act before on, until something is so, `wait` longer, and no longer than `latest` (30 "
        "min) before that.",
        "",
        "| `when` | until |",
        "|---|---|",
        *(f"| `{name}` | {text} |" for name, text in rows.CONDITIONS.items()),
    ]
    return "\n".join(lines) + "\n\n"


def recording() -> str:
    """Channels and probes."""
    more = ", ".join(f"`{name}`" for name in SIMULATED if name not in USUAL)
    lines = [
        "### `[probes]`",
        "",
        (
            "How probes err beyond their accuracy: a channel, or a kind of channels, with `noise` "
            "(standard deviation), "
            '`lag` and `resolution`: `pressure = { noise = "0.2 psi", resolution = "1 psi" }`. Defaults '
            "are common practice, "
            f"no source. Recorded unless named otherwise: all that the bench has but {more}."
        ),
        "",
        "| kind | noise | resolution | unit |",
        "|---|---|---|---|",
        *(
            f"| `{kind}` | {probe.noise:.3g} | {probe.resolution:.3g} | "
            f"{SI_UNIT[kind] if kind != 'temperature' else 'K'} |"
            for kind, probe in PROBES.items()
        ),
    ]
    return "\n".join(lines) + "\n\n"


def faults() -> str:
    """Machine and instrument."""
    lines = [
        "### `[faults]`",
        "",
        (
            '`charge-low = 0.25`, or `{ severity = 0.25, at = "30 min", until = "50 min" }` for one '
            "that comes and goes. Several "
            "go together. Severity 0 is sound."
        ),
        "",
        "| fault | what | at severity 1 | usual |",
        "|---|---|---|---|",
        *(f"| `{row.name}` | {row.title} | {row.at_one} | {row.usual:g} |" for row in FAULTS.values()),
        "",
        "Of instruments, for the whole run:",
        "",
        "| fault | what | at severity 1 | usual |",
        "|---|---|---|---|",
        *(
            f"| `{row.name}` | {row.title} | {row.at_one} | {row.usual:g} |"
            for row in INSTRUMENT_FAULTS.values()
        ),
    ]
    return "\n".join(lines) + "\n"


def figure() -> None:
    """The figure of the page."""
    from firstfrost.bench.scenario.write import run_scenario
    from firstfrost.report.run_plot import write_run_plot

    done = run_scenario(read_scenario("first-frost"))
    start = done.look.defrosts[-1].start_s
    write_run_plot(done, FIGURE, from_s=start - 240.0, until_s=start + 480.0)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    FIGURE.parent.mkdir(exist_ok=True)
    figure()
    print(f"Wrote {PAGE.relative_to(ROOT)} and {FIGURE.relative_to(ROOT)}")
