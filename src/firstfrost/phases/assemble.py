"""From the fold's events to phases and defrosts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from firstfrost.phases import fold
from firstfrost.phases.board import QUIET_S, Window, board_end, windows
from firstfrost.phases.edges import Edge, refine
from firstfrost.phases.events import Events, Stretch
from firstfrost.phases.phase import Phase, PhaseName
from firstfrost.phases.seen import below_the_room, fell, runs, warmed
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]
Cut = tuple[float, float, PhaseName, float, tuple[str, ...]]
"""Start and end [s], name, how sure, and which channels decided."""

HELD_OFF_S = 300.0
"""A compressor held off no longer than this at the end of a defrost is part of its end."""
LONGEST_S = 1800.0
"""No defrost lasts longer: a circuit turned for longer cools the house."""
SHORTEST_S = 20.0
FLICKER_S = 45.0
ALREADY_S = 60.0
"""A circuit turned for longer before the board's start did not turn by it."""
RECOVERY_S = 600.0
SUMMER_C = 28.0
"""Nobody heats above this outdoor temperature; common practice, no source."""
SHORT_S = 60.0
"""In a shorter defrost by the board alone, the circuit may not have had time to turn."""


@dataclass(frozen=True, kw_only=True)
class Turned:
    """A defrost as found, before its peak and its cause of end are known."""

    start: Edge
    end: Edge
    cut: str
    sure: float
    decided_by: tuple[str, ...]
    shifted: bool | None
    """The circuit really turned; False where only the outputs say so; None where it was too short to tell."""
    returned: bool | None
    """The circuit turned back afterwards; None where the record does not say."""
    stops: bool
    """The compressor stopped at the end, for long."""
    already: bool = False
    """The circuit was turned for a while before the start."""
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
            if (
                mid.mode in (fold.HEAT, fold.TURNED)
                and one.mode == two.mode != fold.OFF
                and (mid.end_s - mid.start_s < short)
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
    """Find the defrosts by the board's outputs where they were read, else by the circuit."""
    step_s = trace.sampling_s if len(trace) > 1 else 1.0
    shown = windows(events, stretches, marks, purpose, step_s)
    found = [by_board(window, samples, events, stretches) for window in shown]
    for i, stretch in enumerate(stretches):
        if stretch.mode != fold.TURNED or any(_overlap(one, stretch) for one in found):
            continue
        earlier = [one.end.time_s for one in found if one.end.time_s <= stretch.start_s]
        one = by_circuit(
            trace, samples, events, stretches, i, purpose, step_s, max(earlier, default=-math.inf)
        )
        if one is not None:
            found.append(one)
    found.sort(key=lambda turned: turned.start.time_s)
    return found


def _overlap(one: Turned, stretch: Stretch) -> bool:
    return one.start.time_s < stretch.end_s and max(one.end.time_s, one.back_s) + 120.0 > stretch.start_s


def by_board(window: Window, samples: Floats, events: Events, stretches: list[Stretch]) -> Turned:
    """A defrost as the board's outputs show it, with what the circuit did in it and after it."""
    last_s = events.end_s
    start_s = window.start.time_s
    end = window.end or Edge(time_s=last_s, half_width_s=math.inf, channels=())
    inside = [s for s in stretches if s.mode == fold.TURNED and s.start_s < end.time_s and s.end_s > start_s]
    turned_s = sum(min(s.end_s, end.time_s) - max(s.start_s, start_s) for s in inside)
    shifted: bool | None = turned_s > 0.0 and turned_s >= min(15.0, 0.3 * (end.time_s - start_s))
    if not shifted:
        short_s = SHORT_S + 2.0 * window.start.half_width_s
        blind = end.time_s - start_s < short_s or events.gap_in(start_s, end.time_s)
        run_s = max(
            (s.end_s for s in stretches if s.mode == fold.OFF and s.end_s <= start_s + 15.0),
            default=-math.inf,
        )
        # Right after a start the fold waits before it believes a turn.
        blind = blind or end.time_s < run_s + fold.START_S
        turned = fell(samples, start_s, end.time_s) or warmed(samples, start_s, end.time_s)
        shifted = turned or (None if blind else False)
    best = max(inside, key=lambda s: s.end_s - s.start_s, default=None)
    channels = best.decided_by if best else window.channels
    if shifted and best is None:
        channels = ("high_pressure", "suction_pressure", *window.channels)
    if shifted and "outdoor_coil_temp" not in channels and warmed(samples, start_s, end.time_s):
        channels = ("outdoor_coil_temp", "outdoor_air_temp", *(channels or window.channels))
    returned, stops, back_s = _afterwards(
        stretches, samples, events, start_s, end.time_s, weak=best is not None and _weak(best)
    )
    if window.end is None or shifted is not True:
        returned = None
    return Turned(
        start=window.start, end=end, cut="" if window.end else "end",
        sure=max(0.95, best.sure if best else 0.0),
        decided_by=channels, shifted=shifted, returned=returned, stops=stops, back_s=back_s,
        already=any(s.start_s < start_s - ALREADY_S for s in inside),
    )  # fmt: skip


def _weak(stretch: Stretch) -> bool:
    """Tell whether no pressure spoke for the turn."""
    return stretch.by_sign[fold.SIGN_HIGH] == 0.0 and stretch.by_sign[fold.SIGN_BETWEEN] == 0.0


def _afterwards(
    stretches: list[Stretch], samples: Floats, events: Events, start_s: float, end_s: float, *, weak: bool
) -> tuple[bool | None, bool, float]:
    """What came after a defrost: whether the circuit went back, whether it stopped, when it heated again."""
    after = [s for s in stretches if s.end_s > end_s + 1e-9]
    for k, stretch in enumerate(after):
        length = stretch.end_s - max(stretch.start_s, end_s)
        if stretch.mode == fold.TURNED and length > (240.0 if weak else 180.0):
            if not runs(samples, events, end_s + 60.0, min(stretch.end_s, end_s + 240.0)):
                return None, True, end_s
            if _gauges_alone(stretch) and not below_the_room(samples, end_s + 90.0, stretch.end_s):
                return None, False, end_s
            return False, False, end_s
        since = end_s - 45.0 if weak else end_s - 25.0
        if stretch.mode == fold.HEAT and (
            stretch.start_s > max(since, start_s) or length > 200.0 or k + 1 == len(after)
        ):
            clear = sum(stretch.by_sign) < -0.6 or not any(stretch.by_sign)
            return (True if clear else None), False, max(stretch.start_s, end_s)
        if stretch.mode == fold.OFF and (length > HELD_OFF_S or k + 1 == len(after)):
            return None, True, max(stretch.start_s, end_s)
    return None, False, events.end_s


def _gauges_alone(stretch: Stretch) -> bool:
    """Tell whether nothing but pressures, and maybe the fan, spoke for the turn."""
    others = (fold.SIGN_VAPOR, fold.SIGN_BETWEEN, fold.SIGN_COIL, fold.SIGN_AIR)
    return not any(stretch.by_sign[k] for k in others)


def by_circuit(
    trace: Trace, samples: Floats, events: Events, stretches: list[Stretch], i: int,
    purpose: list[tuple[float, float]], step_s: float, taken_s: float,
) -> Turned | None:  # fmt: skip
    """A defrost as the circuit's turn shows it; None where the turn is none."""
    stretch = stretches[i]
    before = stretches[i - 1] if i else None
    after = stretches[i + 1] if i + 1 < len(stretches) else None
    last_s = events.end_s
    cut = ""
    if _too_warm(samples, stretch):
        return None
    start = Edge(time_s=float(trace.time_s[0]), half_width_s=math.inf, channels=())
    if before is None:
        if not _starts_inside(stretches, i, events):
            return None
        cut = "start"
    elif before.mode == fold.OFF:
        if not (before.end_s - before.start_s <= QUIET_S and i > 1 and stretches[i - 2].mode == fold.HEAT):
            return None
        start = Edge(time_s=before.start_s, half_width_s=step_s, channels=("compressor_current",))
    elif i == 1 and before.end_s - before.start_s < FLICKER_S and stretch.end_s - stretch.start_s > LONGEST_S:
        return None
    elif _by_power(stretch):
        start = Edge(time_s=stretch.start_s, half_width_s=max(60.0, step_s), channels=("power",))
    else:
        start = refine(
            samples,
            events,
            stretch.start_s,
            to_turned=True,
            purpose=purpose,
            earliest_s=max(taken_s, before.start_s),
        )
    gap = _gap_edge(events, stretch.start_s, step_s)
    if gap and not cut and not start.channels:
        start = gap
    returned, stops, back_s = _afterwards(
        stretches, samples, events, stretch.start_s, stretch.end_s, weak=_weak(stretch)
    )
    board = _stuck_end(events, start.time_s, stretch, step_s)
    if board is not None:
        end, returned, back_s = board, False, board.time_s
    elif after is None:
        if stretch.end_s - start.time_s > LONGEST_S:
            return None
        late = board_end(events, start.time_s + 45.0, stretch.end_s, step_s)
        end = late or Edge(time_s=last_s, half_width_s=math.inf, channels=())
        if late is None:
            cut = "both" if cut else "end"
    elif after.mode == fold.OFF:
        end = Edge(time_s=after.start_s, half_width_s=step_s, channels=("compressor_current",))
        if events.first[fold.SW_COMPRESSOR] is None:
            # Only the pressures tell of the stop, and late: it lies where the high side began to fall.
            stop = stop_s(samples, start.time_s + SHORTEST_S, after.start_s)
            if stop is not None:
                end = Edge(time_s=stop, half_width_s=2 * step_s, channels=("high_pressure",))
    elif _by_power(stretch):
        end = Edge(
            time_s=after.start_s, half_width_s=max(120.0, step_s), channels=("power", "supply_air_temp")
        )
    else:
        end = refine(
            samples,
            events,
            after.start_s,
            to_turned=False,
            purpose=purpose,
            earliest_s=start.time_s + SHORTEST_S,
        )
        gap = _gap_edge(events, after.start_s, step_s)
        if gap and (not end.channels or gap.time_s - end.time_s < 150):
            end = gap
    if not cut and end.time_s - start.time_s < SHORTEST_S:
        return None
    if end.time_s - start.time_s > LONGEST_S and returned is not False:
        return None
    return Turned(
        start=start, end=end, cut=cut, sure=stretch.sure, decided_by=stretch.decided_by, shifted=True,
        returned=returned, stops=stops, back_s=back_s,
    )  # fmt: skip


def stop_s(samples: Floats, after_s: float, before_s: float) -> float | None:
    """Where the high side was last at its height between two times, before it fell away as after a stop."""
    t, high = samples[:, fold.T], samples[:, fold.HIGH]
    inside = (t >= after_s) & (t <= before_s) & np.isfinite(high)
    if inside.sum() < 4:
        return None
    tt, v = t[inside], high[inside]
    top = float(v.max())
    scatter = 1.4826 * float(np.median(np.abs(np.diff(v))))
    if top - float(v[-1]) < 5.0:
        return None
    return float(tt[np.flatnonzero(v >= top - 2.0 * scatter - 0.2)[-1]])


def rests_from_their_start(samples: Floats, events: Events, stretches: list[Stretch]) -> None:
    """Move the start of each rest back to where it began, where only the pressures told of it, and late.

    The fan's own stop gives it to the sample, else the break of the high side. Changes the stretches in
    place.
    """
    if events.first[fold.SW_COMPRESSOR] is not None or np.isfinite(samples[:, fold.POWER]).any():
        return
    for before, rest in pairwise(stretches):
        if rest.mode != fold.OFF or before.mode != fold.HEAT:
            continue
        earliest = max(before.start_s + 30.0, rest.start_s - 600.0)
        stops = [
            c.time_s for c in events.of(fold.SW_FAN, on=False) if earliest <= c.time_s <= rest.start_s + 15.0
        ]
        at = stops[-1] if stops else stop_s(samples, earliest, rest.start_s)
        if at is not None:
            before.end_s = rest.start_s = at


def hidden_in_rests(samples: Floats, events: Events, stretches: list[Stretch]) -> None:
    """Find the defrosts that look like rests because their pressures lay together.

    While frost melts the lift can be 3 K only. A rest that ends in a circuit turned with its coil well
    above outdoor air was the first part of a defrost; one that began with the contact closed and ended as
    the contact opened was a defrost too, for no thermostat waits for that. Changes the stretches in place.
    """
    if events.first[fold.SW_COMPRESSOR] is not None or np.isfinite(samples[:, fold.POWER]).any():
        return
    for i in range(len(stretches) - 1, 0, -1):
        rest, before = stretches[i], stretches[i - 1]
        if rest.mode != fold.OFF or before.mode != fold.HEAT or before.end_s - before.start_s < 120.0:
            continue
        after = stretches[i + 1] if i + 1 < len(stretches) else None
        length = rest.end_s - rest.start_s
        if (
            after is not None
            and after.mode == fold.TURNED
            and length < 600.0
            and after.by_sign[fold.SIGN_COIL] > 2.0
        ):
            stretches[i : i + 2] = [replace(after, start_s=rest.start_s)]
            continue
        opened = [
            c.time_s
            for c in events.of(fold.SW_CONTACT, on=True)
            if rest.end_s - 25.0 <= c.time_s <= rest.end_s + 45.0 and c.time_s > rest.start_s + SHORTEST_S
        ]
        closed = events.state_at(fold.SW_CONTACT, rest.start_s) is False
        if after is not None and after.mode == fold.HEAT and opened and closed and length < LONGEST_S / 2:
            rest.mode, rest.sure = fold.TURNED, 0.9
            rest.decided_by = ("high_pressure", "suction_pressure", "sensor_voltage")
            rest.end_s = after.start_s = max(rest.end_s, opened[-1])


def _too_warm(samples: Floats, stretch: Stretch) -> bool:
    """Tell whether it is too warm outdoors for anything but cooling."""
    t = samples[:, fold.T]
    air = samples[(t >= stretch.start_s) & (t <= stretch.end_s), fold.OUT]
    air = air[np.isfinite(air)]
    return len(air) > 0 and float(np.median(air)) > SUMMER_C


def _stuck_end(events: Events, start_s: float, stretch: Stretch, step_s: float) -> Edge | None:
    """Where the board ended a defrost that the circuit did not leave."""
    long_s = 240.0 if _weak(stretch) else 180.0
    board = board_end(events, start_s + 45.0, stretch.end_s, step_s)
    if board is not None and stretch.end_s - board.time_s > long_s:
        return board
    for change in events.of(fold.SW_CONTACT, on=True):
        if start_s + 20.0 < change.time_s < stretch.end_s - 240.0:
            return Edge(time_s=change.time_s, half_width_s=step_s, channels=("sensor_voltage",))
    return None


def _by_power(stretch: Stretch) -> bool:
    direct = [abs(v) for k, v in enumerate(stretch.by_sign) if k not in (fold.SIGN_POWER, fold.SIGN_AIR)]
    return max(direct) == 0.0 and stretch.by_sign[fold.SIGN_POWER] > 0.0


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
    later = [s for s in stretches[i + 1 :] if s.mode != fold.OFF]
    if not later or later[0].mode != fold.HEAT or later[0].end_s - later[0].start_s < 120.0:
        return False
    at = stretch.start_s + 1e-9
    controls = (
        (events.first[fold.SW_FAN] is False and any(events.of(fold.SW_FAN, on=True)))
        or (events.first[fold.SW_BACKUP] is True and events.first[fold.SW_CONTACT] is False)
        or (
            events.first[fold.SW_VALVE] is not None
            and any(abs(c.time_s - stretch.end_s) < 60 for c in events.of(fold.SW_VALVE))
        )
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
    cuts: list[Cut] = []
    for stretch in stretches:
        name: PhaseName = {fold.OFF: "off", fold.HEAT: "heating", fold.TURNED: "cooling"}.get(
            stretch.mode, "unknown"
        )  # type: ignore[assignment]
        cuts.append((stretch.start_s, stretch.end_s, name, stretch.sure, stretch.decided_by))
    for start, end in purpose:
        cuts = _overlay(
            cuts, max(start, stretches[0].start_s), min(end, events.end_s), "chilldown", only=("heating",)
        )
    for turned in found:
        cuts = _overlay(
            cuts,
            turned.start.time_s,
            turned.end.time_s,
            "defrost",
            sure=turned.sure,
            channels=turned.decided_by,
        )
        if turned.cut in ("end", "both") or turned.returned is False or turned.stops:
            continue
        until = recovery_end(trace, samples, turned, stretches)
        cuts = _overlay(
            cuts, turned.end.time_s, until, "recovery", only=("heating", "chilldown", "off", "cooling")
        )
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
    cuts: list[Cut], start: float, end: float, name: PhaseName, *,
    only: tuple[str, ...] = (), sure: float | None = None, channels: tuple[str, ...] = (),
) -> list[Cut]:  # fmt: skip
    out: list[Cut] = []
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
