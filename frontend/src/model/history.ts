/** A unit's history as points that can be plotted, each with its uncertainty. */

import type { History, HistoryVisit, Valued } from "../api/types.ts";

export const QUANTITIES = ["closes_c", "opens_c", "defrost_s", "peak_c", "peak_pa", "capacity_ratio"] as const;
export type QuantityName = (typeof QUANTITIES)[number];
/** Units in memory, as `Numbers` takes them. */
export const UNIT_OF: Record<QuantityName, string> = {
  closes_c: "degC", opens_c: "degC", defrost_s: "s", peak_c: "degC", peak_pa: "Pa", capacity_ratio: "1",
};

export interface Point {
  visitId: string;
  timeS: number;
  value: number;
  expanded: number | null;
}

/** The service may give a bare number where an uncertainty is not known. */
export function valued(found: Valued | number | null | undefined): Valued | null {
  if (found === null || found === undefined) return null;
  return typeof found === "number" ? { value: found, expanded: null } : found;
}

export function pointsOf(history: History | null, name: QuantityName): Point[] {
  return (history?.visits ?? [])
    .flatMap((visit: HistoryVisit) => {
      const found = valued(visit[name]);
      return found && visit.started_s !== null ? [{ visitId: visit.visit_id, timeS: visit.started_s, value: found.value, expanded: found.expanded }] : [];
    })
    .sort((a, b) => a.timeS - b.timeS);
}

export interface Frame {
  x: (timeS: number) => number;
  y: (value: number) => number;
  low: number;
  high: number;
}

/** Where points fall in a box of `width` by `height`, with room for their uncertainty. */
export function frameOf(points: readonly Point[], width: number, height: number): Frame {
  const times = points.map((point) => point.timeS);
  const lows = points.map((point) => point.value - (point.expanded ?? 0));
  const highs = points.map((point) => point.value + (point.expanded ?? 0));
  const from = Math.min(...times);
  const to = Math.max(...times);
  let low = Math.min(...lows);
  let high = Math.max(...highs);
  const least = Math.max(1e-9, 0.02 * Math.abs(high));
  if (high - low < least) {
    low -= least;
    high += least;
  }
  const room = 0.15 * (high - low);
  return {
    x: (timeS) => (to === from ? width / 2 : 14 + ((timeS - from) / (to - from)) * (width - 28)),
    y: (value) => height - ((value - (low - room)) / (high - low + 2 * room)) * height,
    low: low - room,
    high: high + room,
  };
}
