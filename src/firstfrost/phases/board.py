"""What the board's own outputs tell of a defrost.

At the start of a defrost the board stops the outdoor fan, calls backup heat and switches the valve coil,
and some boards hold the compressor off for half a minute; at its end it takes all that back. Two such
outputs that change together are a start, or an end, by the controls, whatever the circuit then does: a
reversing valve that sticks leaves the pressures as they were. A unit that simply stops drops its outputs
together too, so a stop is told apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from firstfrost.phases import fold
from firstfrost.phases.edges import NEAR_S, Edge
from firstfrost.phases.events import Change, Events, Stretch
from firstfrost.trace.marks import Marks, spans

QUIET_S: Final = 100.0
"""A compressor held off no longer than this at the start of a defrost is part of it (quiet-shift boards)."""
FOLLOW_S: Final = 100.0
"""A single output that goes back is an end if another follows within this: boards delay the fan."""
FAN_SOON_S: Final = 60.0
"""A fan that heats starts within this of the compressor."""
Span = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Window:
    """A defrost by the board's outputs; `end` is None where the record does not hold it."""

    start: Edge
    end: Edge | None
    channels: tuple[str, ...]


def clusters(changes: list[Change], near_s: float) -> list[list[Change]]:
    """Changes in groups that lie within `near_s` of their first."""
    out: list[list[Change]] = []
    for change in sorted(changes, key=lambda c: c.time_s):
        if out and change.time_s - out[-1][0].time_s <= near_s:
            out[-1].append(change)
        else:
            out.append([change])
    return out


def edge_of(cluster: list[Change], step_s: float) -> Edge:
    """The edge that a group of changes gives: its first."""
    names = tuple(dict.fromkeys(fold.SWITCH_CHANNELS[c.switch] for c in cluster))
    return Edge(time_s=cluster[0].time_s, half_width_s=step_s, channels=names)


def into(change: Change) -> bool:
    """Tell whether a change fits the start of a defrost."""
    return (
        (change.switch == fold.SW_FAN and not change.on)
        or (change.switch == fold.SW_BACKUP and change.on)
        or change.switch == fold.SW_VALVE
    )


def out_of(change: Change) -> bool:
    """Tell whether a change fits the end of a defrost."""
    return (
        (change.switch == fold.SW_FAN and change.on)
        or (change.switch in (fold.SW_BACKUP, fold.SW_COMPRESSOR, fold.SW_CALL) and not change.on)
        or (change.switch == fold.SW_CONTACT and change.on)
        or change.switch == fold.SW_VALVE
    )


def windows(
    events: Events, stretches: list[Stretch], marks: Marks | None, purpose: list[Span], step_s: float
) -> list[Window]:
    """The defrosts that the board's outputs show, in order of time."""
    near = NEAR_S + 2 * step_s
    pins = spans(marks, "pins-bridged") if marks else []

    def by_hand(change: Change) -> bool:
        """A fan that changes where a person moved its lead was not moved by the board."""
        return change.switch == fold.SW_FAN and any(
            min(abs(change.time_s - a), abs(change.time_s - b)) <= 5.0 + 2 * step_s for a, b in purpose
        )

    board = [change for change in events.changes if not by_hand(change)]
    found: list[Window] = []
    free_s = float("-inf")
    for cluster in clusters([c for c in board if into(c)], near):
        at = cluster[0].time_s
        kinds = {c.switch for c in cluster}
        held = _held_off(stretches, at, near)
        resumed = held is None and _resumed(events, stretches, cluster, near)
        if held is not None and any(
            abs(c.time_s - held.start_s) <= near for c in events.of(fold.SW_FAN, on=False)
        ):
            kinds.add(fold.SW_FAN)
        if at <= free_s + near or not (resumed or held or _in_heating(stretches, at, near)):
            continue
        prompted = any(a <= at <= b + near for a, b in pins) and events.state_at(fold.SW_CONTACT, at) is False
        if (
            (len(kinds) < 2 and not prompted and not resumed)
            or kinds == {fold.SW_FAN}
            or _stops(events, stretches, cluster, near)
        ):
            continue
        end = _end(board, at, near, step_s)
        free_s = end.time_s if end else float("inf")
        channels = tuple(dict.fromkeys(fold.SWITCH_CHANNELS[c.switch] for c in cluster))
        start = edge_of(cluster, step_s)
        if held is not None:
            start = Edge(time_s=held.start_s, half_width_s=step_s, channels=("compressor_current",))
        found.append(Window(start=start, end=end, channels=channels))
    return found


def _held_off(stretches: list[Stretch], at: float, near: float) -> Stretch | None:
    """The short rest up to `at` for which a board holds the compressor off before it shifts the valve."""
    return next(
        (
            rest
            for before, rest in pairwise(stretches)
            if rest.mode == fold.OFF
            and before.mode == fold.HEAT
            and abs(rest.end_s - at) <= near
            and near < at - rest.start_s <= QUIET_S + near
        ),
        None,
    )


def _resumed(events: Events, stretches: list[Stretch], cluster: list[Change], near: float) -> bool:
    """Tell whether a run begins in a defrost that was broken off: backup heat on with it, the fan left off.

    Its fan must have been read as running before, and must not have come by `FAN_SOON_S`.
    """
    at = cluster[0].time_s
    heats = any(c.switch == fold.SW_BACKUP and c.on for c in cluster)
    begins = any(abs(c.time_s - at) <= near for c in events.of(fold.SW_COMPRESSOR, on=True))
    rested = any(s.mode == fold.OFF and abs(s.end_s - at) <= near for s in stretches)
    ran = any(c.time_s < at for c in events.of(fold.SW_FAN, on=False))
    still = (
        events.state_at(fold.SW_FAN, at) is False and events.state_at(fold.SW_FAN, at + FAN_SOON_S) is False
    )
    return heats and begins and rested and ran and still


def _in_heating(stretches: list[Stretch], at: float, near: float) -> bool:
    """Tell whether the unit heated up to `at`, or had just been started."""
    last = next((s for s in reversed(stretches) if s.start_s <= at - 1e-9), None)
    if last is None:
        return False
    if last.mode == fold.HEAT:
        return True
    i = stretches.index(last)
    before = stretches[i - 1] if i else None
    if last.mode == fold.OFF:
        return before is not None and before.mode == fold.HEAT and at - last.start_s <= near
    # The fold may have seen the turn a moment before the outputs' own sample, or have started out on it.
    return (
        before is None or (before.mode == fold.HEAT and at - last.start_s <= near) or before.mode == fold.OFF
    )


def _stops(events: Events, stretches: list[Stretch], cluster: list[Change], near: float) -> bool:
    """Tell whether the whole unit stopped: outputs that only go off say nothing else."""
    at = cluster[0].time_s
    if any(c.switch == fold.SW_BACKUP for c in cluster):
        return False
    if any(abs(c.time_s - at) <= near for c in events.of(fold.SW_CALL, on=False)):
        return True
    if any(c.switch == fold.SW_VALVE and c.on for c in cluster):
        return False
    stopped = any(s.mode == fold.OFF and abs(at - s.start_s) <= near for s in stretches)
    again = any(at < c.time_s <= at + QUIET_S for c in events.of(fold.SW_COMPRESSOR, on=True))
    known = events.first[fold.SW_COMPRESSOR] is not None
    return (stopped and not again) or (not stopped and not known)


def _end(board: list[Change], start_s: float, near: float, step_s: float) -> Edge | None:
    later = [c for c in board if c.time_s > start_s + min(near, 20.0) and out_of(c)]
    single: list[Change] | None = None
    groups = clusters(later, near)
    for i, cluster in enumerate(groups):
        outputs = [c for c in cluster if c.switch not in (fold.SW_CONTACT, fold.SW_CALL)]
        if not outputs:
            continue
        kinds = {c.switch for c in cluster}
        soon = i + 1 < len(groups) and groups[i + 1][0].time_s - cluster[0].time_s <= FOLLOW_S
        if len(kinds) >= 2 or kinds & {fold.SW_VALVE, fold.SW_COMPRESSOR} or soon:
            return edge_of(outputs, step_s)
        single = single or outputs
    return edge_of(single, step_s) if single else None


def board_end(events: Events, after_s: float, before_s: float, step_s: float) -> Edge | None:
    """The first moment in [after_s, before_s] at which two signs of a defrost's end come together."""
    changes = [c for c in events.changes if after_s <= c.time_s <= before_s and out_of(c)]
    for cluster in clusters(changes, NEAR_S + 2 * step_s):
        if len({c.switch for c in cluster}) >= 2:
            outputs = [c for c in cluster if c.switch not in (fold.SW_CONTACT, fold.SW_CALL)]
            return edge_of(outputs or cluster, step_s)
    return None
