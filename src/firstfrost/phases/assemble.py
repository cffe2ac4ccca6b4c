"""From the fold's events to phases and defrosts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstfrost.phases import fold
from firstfrost.phases.board import QUIET_S, board_defrosts, board_end, board_start
from firstfrost.phases.edges import Edge, refine
from firstfrost.phases.events import Events, Stretch
from firstfrost.phases.phase import Phase, PhaseName
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]

HELD_OFF_S = 300.0
"""A compressor held off no longer than this at the end of a defrost is part of its end."""
LONGEST_S = 1800.0
"""No defrost lasts longer: a circuit turned for longer cools the house."""
SHORTEST_S = 20.0
FLICKER_S = 45.0
RECOVERY_S = 600.0
SHORT_S = 60.0
"""In a shorter defrost by the board alone, a circuit that seems not to have turned may not have had time to."""


@dataclass(frozen=True, kw_only=True)
class Turned:
    """A defrost as found, before its peak and its cause of end are known."""

    start: Edge
    end: Edge
    cut: str
    sure: float
    decided_by: tuple[str, ...]
    shifted: bool | None
    """The circuit really turned; False where only the board's outputs say so; None where it was too short to tell."""
    returned: bool | None
    """The circuit turned back afterwards; None where the record does not say."""
    stops: bool
    """The compressor stopped at the end, for long."""
    back_s: float
    """Where heating is seen again, or the end of the record."""


def clean(events: Events) -> list[Stretch]:
    """The fold's stretches without flicker, unresolved ones given the name of what they follow."""
    work = [replace(stretch) for stretch in events.stretches if stretch.end_s > stretch.start_s]
    for i, stretch in enumerate(work):
        if stretch.mode == fold.UNKNOWN:
            before = [s.mode for s in work[:i] if s.mode in (fold.HEAT, fold.TURNED)]
            after = [s.mode for s in work[i + 1 :] if s.mode in (fold.HEAT, fold.TURNED)]
            stretch.mode = (after or before or [fold.UNKNOWN])[0 if after else -1]
            stretch.sure = 0.5
    for stretch in work:
        # Right after a start the signs lag: what they said on the whole counts.
        mean = sum(stretch.by_sign)
        if stretch.mode == fold.HEAT and mean > 1.0:
            stretch.mode = fold.TURNED
        elif stretch.mode == fold.TURNED and mean < -1.0:
            stretch.mode = fold.HEAT
    changed = True
    while changed:
        changed = False
        for i in range(1, len(work) - 1):
            one, mid, two = work[i - 1 : i + 2]
            short = SHORTEST_S if mid.mode == fold.TURNED else FLICKER_S
            if mid.mode in (fold.HEAT, fold.TURNED) and one.mode == two.mode != fold.OFF and (
                mid.end_s - mid.start_s < short
            ):
                _join(work, i - 1, i + 1)
                changed = True
                break
        for i in range(len(work) - 1):
            if not changed and work[i].mode == work[i + 1].mode:
                _join(work, i, i + 1)
                changed = True
                break
    return work


def _join(work: list[Stretch], i: int, j: int) -> None:
    longest = max(work[i : j + 1], key=lambda s: s.end_s - s.start_s if s.mode == work[i].mode else -1.0)
    work[i : j + 1] = [replace(longest, mode=work[i].mode, start_s=work[i].start_s, end_s=work[j].end_s)]


def defrosts(
    trace: Trace, samples: Floats, events: Events, stretches: list[Stretch], marks: Marks | None,
    purpose: list[tuple[float, float]],
) -> list[Turned]:  # fmt: skip
    """Find the defrosts among the stretches, with their edges."""
    found: list[Turned] = []
    step_s = trace.sampling_s if len(trace) > 1 else 1.0
    last_s = events.end_s
    taken = -math.inf
    for i, stretch in enumerate(stretches):
        if stretch.mode != fold.TURNED:
            continue
        before = stretches[i - 1] if i else None
        cut = ""
        quiet = False
        if before is None:
            if not _starts_inside(stretches, i, events):
                continue
            cut = "start"
        elif before.mode == fold.OFF:
            quiet = before.end_s - before.start_s <= QUIET_S and i > 1 and stretches[i - 2].mode == fold.HEAT
            if not quiet:
                # Run time that was nearly out may run out right after a rest.
                late = board_start(events, stretch.start_s + step_s, stretch.start_s + 200.0, step_s)
                if late is None:
                    continue
                stretch.start_s = late.time_s
                stretches[i - 1].end_s = min(stretches[i - 1].end_s, late.time_s)
        elif i == 1 and before.end_s - before.start_s < FLICKER_S and stretch.end_s - stretch.start_s > LONGEST_S:
            continue
        start_s = before.start_s if quiet and before is not None else stretch.start_s
        # Where it ended.
        after = stretches[i + 1] if i + 1 < len(stretches) else None
        stops = False
        back_s = stretch.end_s
        if cut:
            start = Edge(time_s=float(trace.time_s[0]), half_width_s=math.inf, channels=())
        elif before.mode == fold.OFF and not quiet:
            start = Edge(time_s=start_s, half_width_s=step_s, channels=("fan_current", "valve_voltage"))
        elif quiet:
            start = Edge(time_s=start_s, half_width_s=step_s, channels=("compressor_current",))
        elif _by_power(stretch):
            start = Edge(time_s=start_s, half_width_s=max(60.0, step_s), channels=("power",))
        else:
            start = refine(
                samples, events, start_s, to_turned=True, purpose=purpose, earliest_s=max(taken, _heat_start(before))
            )
        gap_start = _gap_edge(events, start_s, step_s)
        if gap_start and not cut and not start.channels:
            start = gap_start
        board = board_end(events, start.time_s + 45.0, stretch.end_s, step_s)
        if board is None:
            opened = [
                c.time_s
                for c in events.of(fold.SW_CONTACT, on=True)
                if start.time_s + 20.0 < c.time_s < stretch.end_s - 200.0
            ]
            if opened:
                board = Edge(time_s=opened[0], half_width_s=step_s, channels=("sensor_voltage",))
        weak = stretch.by_sign[fold.SIGN_HIGH] == 0.0 and stretch.by_sign[fold.SIGN_BETWEEN] == 0.0
        returned: bool | None
        if board is not None and stretch.end_s - board.time_s > (200.0 if weak else 120.0):
            end, returned = board, False
            back_s = board.time_s
        elif after is None:
            end, returned = (board, None) if board is not None else (None, None)
            if end is None:
                if stretch.end_s - start.time_s > LONGEST_S:
                    continue
                end = Edge(time_s=last_s, half_width_s=math.inf, channels=())
                cut = "both" if cut else "end"
        elif after.mode == fold.OFF:
            later = stretches[i + 2] if i + 2 < len(stretches) else None
            stops = later is None or after.end_s - after.start_s > HELD_OFF_S
            returned = None if later is None or stops else later.mode == fold.HEAT
            end = Edge(time_s=after.start_s, half_width_s=step_s, channels=("compressor_current",))
            if board is not None and after.start_s - 60.0 < board.time_s < after.start_s:
                end = board
            back_s = later.start_s if later is not None else last_s
        else:
            returned = True
            if _by_power(stretch):
                end = Edge(time_s=after.start_s, half_width_s=max(120.0, step_s), channels=("power", "supply_air_temp"))
            else:
                end = refine(
                    samples, events, after.start_s, to_turned=False, purpose=purpose, earliest_s=start.time_s + SHORTEST_S
                )
            gap_end = _gap_edge(events, after.start_s, step_s)
            if gap_end:
                end = gap_end if not end.channels or gap_end.time_s - end.time_s < 150 else end
        if not cut and end.time_s - start.time_s < SHORTEST_S:
            continue
        if end.time_s - start.time_s > LONGEST_S and returned is not False:
            continue
        taken = end.time_s
        found.append(
            Turned(
                start=start, end=end, cut=cut, sure=stretch.sure, decided_by=stretch.decided_by, shifted=True,
                returned=returned, stops=stops, back_s=back_s,
            )
        )  # fmt: skip
    for span in board_defrosts(events, stretches, marks, purpose, step_s, found_spans(found)):
        found.append(span_to_turned(span, samples, last_s))
    found.sort(key=lambda turned: turned.start.time_s)
    return found


def found_spans(found: list[Turned]) -> list[tuple[float, float]]:
    """The spans of the defrosts found so far, [s]."""
    return [(turned.start.time_s, turned.end.time_s) for turned in found]


def span_to_turned(span: tuple[Edge, Edge | None, tuple[str, ...]], samples: Floats, last_s: float) -> Turned:
    """A defrost that only the board's outputs show; a short one may have turned the circuit all the same."""
    start, end, channels = span
    until = end.time_s if end else last_s
    shifted = fell(samples, start.time_s, until)
    if not shifted and until - start.time_s < SHORT_S:
        shifted = None
    return Turned(
        start=start,
        end=end or Edge(time_s=last_s, half_width_s=math.inf, channels=()),
        cut="" if end else "end",
        sure=0.95,
        decided_by=(*channels, "high_pressure", "suction_pressure") if shifted else channels,
        shifted=shifted,
        returned=True if shifted and end else None,
        stops=False,
        back_s=until,
    )


def fell(samples: Floats, start_s: float, end_s: float) -> bool | None:
    """Tell whether the high side fell away and the low side rose between two times, as at a turn of the circuit."""
    t = samples[:, fold.T]
    was, now = (t >= start_s - 60.0) & (t < start_s), (t >= start_s) & (t <= end_s)
    if not was.any() or not now.any():
        return False
    high = np.nanmedian(samples[was, fold.HIGH]) if np.isfinite(samples[was, fold.HIGH]).any() else np.nan
    low = np.nanmedian(samples[was, fold.LOW]) if np.isfinite(samples[was, fold.LOW]).any() else np.nan
    if not (np.isfinite(high) and np.isfinite(low) and np.isfinite(samples[now, fold.HIGH]).any()):
        return False
    fall = float(high - np.nanmin(samples[now, fold.HIGH]))
    rise = float(np.nanmax(samples[now, fold.LOW]) - low)
    return fall > 8.0 and rise > 3.0


def _by_power(stretch: Stretch) -> bool:
    direct = [abs(v) for k, v in enumerate(stretch.by_sign) if k not in (fold.SIGN_POWER, fold.SIGN_AIR)]
    return max(direct) == 0.0 and stretch.by_sign[fold.SIGN_POWER] > 0.0


def _heat_start(before: Stretch | None) -> float:
    return before.start_s if before is not None else -math.inf


def _gap_edge(events: Events, at_s: float, step_s: float) -> Edge | None:
    """An edge that fell into missing readings: their middle."""
    for a, b in events.gaps:
        if b - 1e-9 <= at_s <= b + max(30.0, 6 * step_s):
            return Edge(time_s=(a + b) / 2, half_width_s=(b - a) / 2, channels=())
    return None


def _starts_inside(stretches: list[Stretch], i: int, events: Events) -> bool:
    """Tell whether a record that opens with a turned circuit opens inside a defrost."""
    stretch = stretches[i]
    if stretch.end_s - stretch.start_s > LONGEST_S:
        return False
    later = [s.mode for s in stretches[i + 1 :] if s.mode != fold.OFF]
    if not later or later[0] != fold.HEAT:
        return False
    at = stretch.start_s + 1e-9
    controls = (
        (events.first[fold.SW_FAN] is False and any(events.of(fold.SW_FAN, on=True)))
        or (events.first[fold.SW_BACKUP] is True and events.first[fold.SW_CONTACT] is False)
        or events.first[fold.SW_VALVE] is not None
        and any(abs(c.time_s - stretch.end_s) < 60 for c in events.of(fold.SW_VALVE))
    )
    coil = stretch.by_sign[fold.SIGN_COIL] > 0.3 or stretch.by_sign[fold.SIGN_BETWEEN] > 0.8
    return bool((controls or coil) and (stretch.end_s - at >= SHORTEST_S or controls))


def phases(
    trace: Trace, samples: Floats, events: Events, stretches: list[Stretch], found: list[Turned],
    purpose: list[tuple[float, float]],
) -> list[Phase]:  # fmt: skip
    """Name every stretch of the record, without overlap, in order of time."""
    if not stretches:
        return []
    cuts: list[tuple[float, float, PhaseName, float, tuple[str, ...]]] = []
    for stretch in stretches:
        name: PhaseName = {fold.OFF: "off", fold.HEAT: "heating", fold.TURNED: "cooling"}.get(stretch.mode, "unknown")  # type: ignore[assignment]
        cuts.append((stretch.start_s, stretch.end_s, name, stretch.sure, stretch.decided_by))
    for start, end in purpose:
        cuts = _overlay(cuts, max(start, stretches[0].start_s), min(end, events.end_s), "chilldown", only=("heating",))
    for turned in found:
        cuts = _overlay(
            cuts, turned.start.time_s, turned.end.time_s, "defrost", sure=turned.sure, channels=turned.decided_by
        )
        if turned.cut in ("end", "both") or turned.returned is False or turned.stops:
            continue
        until = recovery_end(trace, samples, turned, stretches)
        cuts = _overlay(cuts, turned.end.time_s, until, "recovery", only=("heating", "chilldown", "off", "cooling"))
    done: list[Phase] = []
    for start, end, name, sure, channels in cuts:
        if end - start <= 0:
            continue
        if done and done[-1].name == name and abs(done[-1].end_s - start) < 1e-9:
            done[-1] = replace(done[-1], end_s=end, sure=min(done[-1].sure, sure))
            continue
        done.append(Phase(name=name, start_s=start, end_s=end, sure=sure, decided_by=channels))
    return [replace(phase, gap=events.gap_in(phase.start_s, phase.end_s)) for phase in done]


def _overlay(
    cuts: list[tuple[float, float, PhaseName, float, tuple[str, ...]]], start: float, end: float, name: PhaseName, *,
    only: tuple[str, ...] = (), sure: float | None = None, channels: tuple[str, ...] = (),
) -> list[tuple[float, float, PhaseName, float, tuple[str, ...]]]:  # fmt: skip
    out: list[tuple[float, float, PhaseName, float, tuple[str, ...]]] = []
    for a, b, was, how, by in cuts:
        lo, hi = max(a, start), min(b, end)
        if lo >= hi or (only and was not in only):
            out.append((a, b, was, how, by))
            continue
        if a < lo:
            out.append((a, lo, was, how, by))
        out.append((lo, hi, name, how if sure is None else sure, channels or by))
        if hi < b:
            out.append((hi, b, was, how, by))
    return out


def recovery_end(trace: Trace, samples: Floats, turned: Turned, stretches: list[Stretch]) -> float:
    """When heating is steady again after a defrost: the mean over a minute moves by less than 0.7 K a minute.

    Read on the high-side saturation, or the supply air; at most ten minutes after the end.
    """
    limit = turned.end.time_s + RECOVERY_S
    for stretch in stretches:
        if stretch.start_s > turned.back_s + 1e-9 and stretch.mode != fold.HEAT:
            limit = min(limit, stretch.start_s)
    t = samples[:, fold.T]
    for column in (fold.HIGH, fold.SUPPLY, fold.COIL):
        y = samples[:, column]
        inside = (t >= turned.end.time_s) & (t < limit) & np.isfinite(y)
        if inside.sum() < 8:
            continue
        tt, yy = t[inside], y[inside]
        at = turned.end.time_s + 120.0
        while at < limit:
            now, was = (tt > at - 60) & (tt <= at), (tt > at - 120) & (tt <= at - 60)
            if now.any() and was.any() and abs(float(yy[now].mean() - yy[was].mean())) < 0.7:
                return min(at, limit)
            at += 10.0
        return limit
    return limit
