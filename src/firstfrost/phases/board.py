"""What the board's own outputs tell of a defrost when the circuit does not follow.

A reversing valve that sticks leaves the pressures as they were, while the board has stopped the fan, called backup
heat and switched the valve coil. Two such outputs that change together are a defrost, or its end, by the controls.
"""

from __future__ import annotations

from firstfrost.phases import fold
from firstfrost.phases.edges import NEAR_S, Edge
from firstfrost.phases.events import Change, Events, Stretch
from firstfrost.trace.marks import Marks, spans


QUIET_S = 100.0
"""A compressor held off no longer than this at the start of a defrost is part of it (quiet-shift boards)."""


def board_start(events: Events, after_s: float, before_s: float, step_s: float) -> Edge | None:
    """The first moment in [after_s, before_s] at which two of the board's outputs go into a defrost together."""
    changes = [
        c
        for c in events.changes
        if after_s <= c.time_s <= before_s
        and (
            (c.switch == fold.SW_FAN and not c.on)
            or (c.switch == fold.SW_BACKUP and c.on)
            or c.switch == fold.SW_VALVE
        )
    ]
    for cluster in _clusters(changes, NEAR_S + 2 * step_s):
        if len({c.switch for c in cluster}) >= 2:
            return _edge(cluster, step_s)
    return None


def _clusters(changes: list[Change], near_s: float) -> list[list[Change]]:
    out: list[list[Change]] = []
    for change in sorted(changes, key=lambda c: c.time_s):
        if out and change.time_s - out[-1][0].time_s <= near_s:
            out[-1].append(change)
        else:
            out.append([change])
    return out


def _edge(cluster: list[Change], step_s: float) -> Edge:
    names = tuple(dict.fromkeys(fold.SWITCH_CHANNELS[c.switch] for c in cluster))
    return Edge(time_s=cluster[0].time_s, half_width_s=step_s, channels=names)


def board_end(events: Events, after_s: float, before_s: float, step_s: float) -> Edge | None:
    """The first moment in [after_s, before_s] at which two signs of a defrost's end come together.

    Signs: fan on, backup heat off, valve coil switched, sensor contact opened.
    """
    changes = [
        c
        for c in events.changes
        if after_s <= c.time_s <= before_s
        and (
            (c.switch == fold.SW_FAN and c.on)
            or (c.switch == fold.SW_BACKUP and not c.on)
            or (c.switch == fold.SW_CONTACT and c.on)
            or c.switch == fold.SW_VALVE
        )
    ]
    for cluster in _clusters(changes, NEAR_S + 2 * step_s):
        if len({c.switch for c in cluster}) >= 2:
            outputs = [c for c in cluster if c.switch != fold.SW_CONTACT]
            return _edge(outputs or cluster, step_s)
    return None


def board_defrosts(
    events: Events, stretches: list[Stretch], marks: Marks | None, purpose: list[tuple[float, float]], step_s: float,
    found: list[tuple[float, float]],
) -> list[tuple[Edge, Edge | None, tuple[str, ...]]]:  # fmt: skip
    """Defrosts that the board ran while the circuit kept heating."""
    near = NEAR_S + 2 * step_s
    heating = [(s.start_s, s.end_s) for s in stretches if s.mode == fold.HEAT]
    stops = [s.start_s for s in stretches if s.mode == fold.OFF]
    known = events.first[fold.SW_COMPRESSOR] is not None

    def stopped(cluster: list[Change]) -> bool:
        """The whole unit stopped, and no defrost began: outputs that only go off say nothing else."""
        t = cluster[0].time_s
        if any(c.switch == fold.SW_BACKUP for c in cluster):
            return False
        if any(abs(c.time_s - t) <= near for c in events.of(fold.SW_CALL, on=False)):
            return True
        off = any(abs(t - stop) <= near for stop in stops)
        again = any(t < c.time_s <= t + QUIET_S for c in events.of(fold.SW_COMPRESSOR, on=True))
        woken = any(c.switch == fold.SW_VALVE and c.on for c in cluster)
        if off:
            return not again and not woken
        return not known and not woken
    pins = spans(marks, "pins-bridged") if marks else []

    def by_hand(change: Change) -> bool:
        return any(min(abs(change.time_s - a), abs(change.time_s - b)) <= 5.0 + 2 * step_s for a, b in purpose)

    def fits(change: Change) -> bool:
        t = change.time_s
        if not any(a + 30.0 <= t <= b + near for a, b in heating):
            return False
        if any(a - 200.0 <= t <= b + 200.0 for a, b in found):
            return False
        if change.switch == fold.SW_FAN:
            return not change.on and not by_hand(change)
        return (change.switch == fold.SW_BACKUP and change.on) or change.switch == fold.SW_VALVE

    out: list[tuple[Edge, Edge | None, tuple[str, ...]]] = []
    free_s = float("-inf")
    for cluster in _clusters([c for c in events.changes if fits(c)], near):
        start_s = cluster[0].time_s
        if start_s < free_s:
            continue
        kinds = {c.switch for c in cluster}
        prompted = any(a <= start_s <= b + near for a, b in pins) and (
            events.state_at(fold.SW_CONTACT, start_s) is False
        )
        if len(kinds) < 2 and not prompted:
            continue
        if (not kinds & {fold.SW_FAN, fold.SW_VALVE} and not prompted) or stopped(cluster):
            continue
        back = [
            c
            for c in events.changes
            if c.time_s > start_s + 30.0
            and c.switch in kinds
            and (c.switch == fold.SW_VALVE or c.on == (c.switch == fold.SW_FAN))
        ]
        stop = [c for c in events.of(fold.SW_COMPRESSOR, on=False) if c.time_s > start_s + 30.0]
        first = min((*back, *stop), key=lambda c: c.time_s, default=None)
        end = None
        if first is not None:
            end = _edge([c for c in back if c.time_s - first.time_s <= near] or [first], step_s)
            free_s = end.time_s
        else:
            free_s = float("inf")
        names = tuple(dict.fromkeys(fold.SWITCH_CHANNELS[c.switch] for c in cluster))
        out.append((_edge(cluster, step_s), end, names))
    return out
