/** The strip's arithmetic: which part of time is in view, and what lies on it. No drawing here. */

import type { Mark, Phase, Result, Samples, Typed } from "../api/types.ts";
import type { Fluid } from "./saturation.ts";

export interface View {
  fromS: number;
  toS: number;
}
export const SHORTEST_S = 20;

/** Keep a view within the record, with some air at both ends. */
export function within(view: View, whole: View): View {
  const air = Math.max(30, 0.04 * (whole.toS - whole.fromS));
  const low = whole.fromS - air;
  const high = whole.toS + air;
  const span = Math.min(Math.max(view.toS - view.fromS, SHORTEST_S), high - low);
  const fromS = Math.min(Math.max(view.fromS, low), high - span);
  return { fromS, toS: fromS + span };
}

export function drag(view: View, byS: number, whole: View): View {
  return within({ fromS: view.fromS - byS, toS: view.toS - byS }, whole);
}

/** Zoom about a time that stays where it is; a factor above 1 comes nearer. */
export function zoom(view: View, factor: number, atS: number, whole: View): View {
  const span = (view.toS - view.fromS) / factor;
  const clipped = Math.max(span, SHORTEST_S);
  const share = (atS - view.fromS) / (view.toS - view.fromS);
  return within({ fromS: atS - share * clipped, toS: atS + (1 - share) * clipped }, whole);
}

/** Two fingers: the times under both at the start stay under both. `a`, `b` are shares of the width, 0 to 1. */
export function pinch(start: View, a0: number, b0: number, a1: number, b1: number, whole: View): View {
  const span = start.toS - start.fromS;
  const ta = start.fromS + a0 * span;
  const tb = start.fromS + b0 * span;
  const apart = b1 - a1;
  if (Math.abs(apart) < 1e-3) return start;
  const next = Math.max((tb - ta) / apart, SHORTEST_S);
  if (!(next > 0)) return start;
  return within({ fromS: ta - a1 * next, toS: ta + (1 - a1) * next }, whole);
}

/** A window of evidence with room around it. */
export function around(spans: readonly View[], whole: View): View {
  const fromS = Math.min(...spans.map((span) => span.fromS));
  const toS = Math.max(...spans.map((span) => span.toS));
  const room = Math.max(15, 0.5 * (toS - fromS));
  return within({ fromS: fromS - room, toS: toS + room }, whole);
}

/** Seconds since 1970 of a time in a result; NaN where the record has no date. */
export function epochS(moment: string | number): number {
  return typeof moment === "number" ? moment : Date.parse(moment) / 1000;
}

export interface Span extends View {
  name: string;
}

export function bandsOf(result: Result | null): Span[] {
  return (result?.phases ?? []).map((phase: Phase) => ({
    name: phase.name,
    fromS: epochS(phase.start),
    toS: epochS(phase.end),
  }));
}

/** The lines of temperature that the strip shows, in the order of the report's plot. */
export const LINES = ["high", "low", "coil", "air", "supply"] as const;
export type LineName = (typeof LINES)[number];
/** Which channels each line is drawn from. */
export const DRAWN_FROM: Record<LineName, readonly string[]> = {
  high: ["discharge_pressure", "liquid_pressure"],
  low: ["suction_pressure"],
  coil: ["outdoor_coil_temp"],
  air: ["outdoor_air_temp"],
  supply: ["supply_air_temp"],
};
/** Channels that are on or off, shown as lanes: at which value each counts as on. Common practice, no source. */
export const LANES: readonly { channel: string; on: (value: number) => boolean }[] = [
  { channel: "sensor_voltage", on: (v) => Math.abs(v) < 8 },
  { channel: "fan_current", on: (v) => v > 0.3 },
  { channel: "valve_voltage", on: (v) => Math.abs(v) > 12 },
  { channel: "backup_current", on: (v) => v > 2 },
  { channel: "heating_call", on: (v) => v >= 0.5 },
];

export interface Columns {
  timeS: number[];
  lines: Record<LineName, (number | null)[]>;
  lanes: { channel: string; spans: View[] }[];
}

/** Readings of all sources on one rising time base; where nothing was read there is a gap (null). */
export function columnsOf(samples: readonly Samples[], typed: readonly Typed[], gas: Fluid | null): Columns {
  const rows = new Map<number, Map<string, number>>();
  const put = (timeS: number, channel: string, value: number | null | undefined): void => {
    if (value === null || value === undefined || Number.isNaN(value)) return;
    const at = Math.round(timeS * 10) / 10;
    let row = rows.get(at);
    if (!row) rows.set(at, (row = new Map()));
    if (!row.has(channel)) row.set(channel, value);
  };
  for (const part of samples) {
    const entries = Object.entries(part.channels);
    part.time_s.forEach((timeS, i) => entries.forEach(([name, values]) => put(timeS, name, values[i])));
  }
  for (const row of typed) if (!row.withdrawn) put(row.time_s, row.channel, row.value);
  const timeS = [...rows.keys()].sort((a, b) => a - b);
  const lines = Object.fromEntries(LINES.map((name) => [name, [] as (number | null)[]])) as Columns["lines"];
  const first = (row: Map<string, number>, names: readonly string[]): number | undefined => {
    for (const name of names) if (row.has(name)) return row.get(name);
    return undefined;
  };
  for (const at of timeS) {
    const row = rows.get(at) as Map<string, number>;
    for (const name of LINES) {
      const value = first(row, DRAWN_FROM[name]);
      const temp = value === undefined ? NaN : name === "high" || name === "low" ? (gas?.dewC(value) ?? NaN) : value;
      lines[name].push(Number.isNaN(temp) ? null : temp);
    }
  }
  const lanes = LANES.flatMap(({ channel, on }) => {
    const spans: View[] = [];
    let start: number | null = null;
    let last: number | null = null;
    let seen = false;
    for (const at of timeS) {
      const value = rows.get(at)?.get(channel);
      if (value === undefined) continue;
      seen = true;
      if (on(value)) {
        start ??= at;
      } else if (start !== null) {
        spans.push({ fromS: start, toS: at });
        start = null;
      }
      last = at;
    }
    if (start !== null && last !== null) spans.push({ fromS: start, toS: last });
    return seen ? [{ channel, spans }] : [];
  });
  return { timeS, lines, lanes };
}

/** The whole of what is known of a visit, in time. */
export function wholeOf(columns: Columns, marks: readonly Mark[], startedS: number | null, nowS: number | null): View {
  const times = [
    ...(columns.timeS.length ? [columns.timeS[0] as number, columns.timeS.at(-1) as number] : []),
    ...marks.filter((mark) => !mark.withdrawn).map((mark) => mark.time_s),
    ...(startedS === null || columns.timeS.length ? [] : [startedS]),
    ...(nowS === null ? [] : [nowS]),
  ];
  if (!times.length) return { fromS: 0, toS: 60 };
  const fromS = Math.min(...times);
  return { fromS, toS: Math.max(...times, fromS + 60) };
}
