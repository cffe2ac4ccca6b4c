/** Numbers as text, as the report writes them; `test/library.test.ts` holds the two equal. */

import { firstUnit, fromSi, placesOf, unitOf, type Kind, type System } from "./units.ts";

export const NOT_KNOWN = "not known";

/** Round half to even, as Python does, so that the screen and the report never differ in a last digit. */
function fixed(value: number, places: number): string {
  if (!Number.isFinite(value)) return value > 0 ? "inf" : "-inf";
  let text: string;
  if (places < 0) {
    const tens = 10 ** -places;
    text = (Math.round(value / tens) * tens).toFixed(0);
  } else {
    text = value.toFixed(places);
    // toFixed takes the value as it is in binary, as Python does, but a true tie (2.5) away from zero.
    const scaled = value * 10 ** places;
    if (Number.isInteger(value * 2 ** (places + 1)) && Math.abs(scaled % 1) === 0.5) {
      const low = Math.floor(scaled);
      text = ((low % 2 === 0 ? low : low + 1) / 10 ** places).toFixed(places);
    }
  }
  return /^-[0.]+$/.test(text) ? text.slice(1) : text;
}

function join(number: string, name: string): string {
  return `${number} ${unitOf(name).label}`.trimEnd();
}

/** A value in memory in the unit of that name. */
export function showIn(si: number | null, name: string, kind: Kind, atmospherePa: number, places = placesOf(name)): string {
  if (si === null || Number.isNaN(si)) return NOT_KNOWN;
  return join(fixed(fromSi(si, name, kind, atmospherePa), places), name);
}

/** A value in memory in the usual unit of a system. */
export function show(si: number | null, kind: Kind, system: System, atmospherePa: number, places?: number): string {
  if (si === null || Number.isNaN(si)) return NOT_KNOWN;
  if (kind === "time") return showTime(si);
  if (kind === "switch") return si >= 0.5 ? "on" : "off";
  return showIn(si, firstUnit(kind, system), kind, atmospherePa, places);
}

/** "8.5 s", "42 s", "4 min 10 s", "1 h 12 min". */
export function showTime(valueS: number): string {
  if (Number.isNaN(valueS)) return NOT_KNOWN;
  if (!Number.isFinite(valueS)) return "without end";
  const sign = valueS < 0 ? "-" : "";
  const span = Math.abs(valueS);
  if (span < 9.95) return span % 1 > 0.05 ? `${fixed(valueS, 1)} s` : `${fixed(valueS, 0)} s`;
  const whole = Math.round(span);
  if (whole < 60) return `${sign}${whole} s`;
  if (whole < 3600) {
    const seconds = whole % 60;
    return `${sign}${Math.floor(whole / 60)} min${seconds ? ` ${seconds} s` : ""}`;
  }
  const minutes = Math.round(span / 60);
  return `${sign}${Math.floor(minutes / 60)} h${minutes % 60 ? ` ${minutes % 60} min` : ""}`;
}

/** Digits after the point that an uncertainty deserves (the rule of the Particle Data Group, as in the report). */
export function placesFor(expanded: number): number {
  const exponent = expanded ? Math.floor(Math.log10(Math.abs(expanded))) : 0;
  return expanded / 10 ** exponent < 3.55 ? 1 - exponent : -exponent;
}

const KINDS: Record<string, Kind> = {
  degC: "temperature", K: "temperature_difference", Pa: "pressure", V: "voltage", A: "current", W: "power", s: "time",
  "1": "ratio", "m3/s": "flow",
};
/** Units in memory that are shown in a unit of their own, by system: bare ratios, and a power that is heat. */
const OWN: Record<string, Record<System, string>> = {
  "W/W": { us: "1", si: "1" },
  "Pa/Pa": { us: "1", si: "1" },
  count: { us: "1", si: "1" },
  heat: { us: "Btu/h", si: "W" },
};
const APART: Record<string, Record<System, [string, number]>> = {
  degC: { us: ["delta_degF", 1], si: ["delta_degC", 1] },
  K: { us: ["delta_degF", 1], si: ["delta_degC", 1] },
  Pa: { us: ["psi", 0], si: ["kPa", 0] },
  V: { us: ["V", 1], si: ["V", 1] },
  A: { us: ["A", 2], si: ["A", 2] },
  W: { us: ["W", 0], si: ["W", 0] },
  "1": { us: ["%", 1], si: ["%", 1] },
  "m3/s": { us: ["cfm", 0], si: ["L/s", 0] },
  "W/W": { us: ["1", 2], si: ["1", 2] },
  "Pa/Pa": { us: ["1", 2], si: ["1", 2] },
  count: { us: ["1", 0], si: ["1", 0] },
  heat: { us: ["Btu/h", 0], si: ["W", 0] },
};

export interface Measured {
  value: number;
  unit: string;
  expanded: number | null;
}
export interface Limit {
  low: number | null;
  high: number | null;
  unit: string;
  source?: string;
}
export interface Evidence {
  standing: string;
  start_s: number;
  end_s: number;
  channels: string[];
  what: string;
  measured: Measured | null;
  limit: Limit | null;
  probability: number | null;
}
export interface Held {
  number: string;
  limit: string;
  margin: string;
}

/** Text for numbers in one system of units at one site. */
export class Numbers {
  constructor(
    readonly system: System,
    readonly atmospherePa: number,
  ) {}

  value(value: number, unit: string, expanded: number | null = null): string {
    if (!Number.isFinite(value)) return NOT_KNOWN;
    if (unit === "s") return expanded ? timeWith(value, expanded) : showTime(value);
    if (unit === "count") return fixed(value, 0);
    const kind = KINDS[unit] ?? "ratio";
    const own = OWN[unit]?.[this.system];
    if (!expanded) return own ? fourFigures(value, own) : show(value, kind, this.system, this.atmospherePa);
    const name = own ?? firstUnit(kind, this.system);
    const wide = Math.abs(expanded) / unitOf(name).factor;
    const places = placesFor(wide);
    return join(`${fixed(fromSi(value, name, kind, this.atmospherePa), places)} ± ${fixed(wide, places)}`, name);
  }

  bare(value: number, unit: string): string {
    if (unit === "s") return showTime(value);
    const own = OWN[unit]?.[this.system];
    const text = own ? fourFigures(value, own) : show(value, KINDS[unit] ?? "ratio", this.system, this.atmospherePa);
    const [number = "", ...word] = text.split(" ");
    const short = number.includes(".") ? number.replace(/\.?0+$/, "") : number;
    return [short, ...word].join(" ");
  }

  limit(limit: Limit | null): string {
    if (!limit || (limit.low === null && limit.high === null)) return "";
    if (limit.low === null) return `at most ${this.bare(limit.high as number, limit.unit)}`;
    if (limit.high === null) return `at least ${this.bare(limit.low, limit.unit)}`;
    let low = this.bare(limit.low, limit.unit);
    const high = this.bare(limit.high, limit.unit);
    if (after(low) === after(high)) low = low.split(" ")[0] ?? low;
    return `${low} to ${high}`;
  }

  apart(difference: number, unit: string, expanded: number | null = null): string {
    if (unit === "s") return showTime(expanded ? Math.round(Math.abs(difference)) : Math.abs(difference));
    const row = APART[unit]?.[this.system] ?? ["1", 1];
    const places = expanded ? placesFor(expanded / unitOf(row[0]).factor) : row[1];
    return join(fixed(Math.abs(difference) / unitOf(row[0]).factor, Math.max(places, 0)), row[0]);
  }

  margin(item: Evidence): string {
    const { measured, limit } = item;
    if (!measured || !limit || measured.unit !== limit.unit || !Number.isFinite(measured.value)) return "";
    const above = limit.high === null ? Infinity : limit.high - measured.value;
    const below = limit.low === null ? Infinity : measured.value - limit.low;
    const least = Math.min(above, below);
    if (!Number.isFinite(least)) return "";
    const text = this.apart(least, measured.unit, measured.expanded);
    if (least < 0) return `${text} ${above < below ? "above" : "below"}`;
    return /^0(\.0+)? \S+$/.test(text) ? "at the limit" : `${text} to spare`;
  }

  /** What a line says of its evidence: nothing that speaks for a function which is not shown. */
  held(item: Evidence | null): Held {
    const nothing = { number: "", limit: "", margin: "" };
    if (!item?.measured || item.standing === "unseen" || item.standing === "bypassed") return nothing;
    const number = this.value(item.measured.value, item.measured.unit, item.measured.expanded);
    const limit = this.limit(item.limit);
    const margin = this.margin(item);
    if ((item.standing === "failed" || item.standing === "doubtful") && !/ (above|below)$/.test(margin)) {
      const chance = item.probability;
      if (item.standing === "failed" || chance === null || chance <= 0.02 || chance >= 0.98) {
        return { number, limit, margin: "" };
      }
    }
    return { number, limit, margin };
  }
}

/** A value in a named unit, to four figures. */
function fourFigures(value: number, name: string): string {
  const shown = value / unitOf(name).factor;
  const exponent = shown ? Math.floor(Math.log10(Math.abs(shown))) : 0;
  return join(fixed(shown, Math.max(0, 3 - exponent)), name);
}

function after(text: string): string {
  return text.split(" ").slice(1).join(" ");
}

function timeWith(valueS: number, expandedS: number): string {
  const [name, unitS, most] = Math.abs(valueS) >= 1200 ? ["min", 60, 1] as const : ["s", 1, 0] as const;
  const expanded = Math.abs(expandedS) / unitS;
  const places = Math.min(placesFor(expanded), most);
  const wide = Math.max(Math.round(expanded * 10 ** places) / 10 ** places, 10 ** -places);
  return `${fixed(valueS / unitS, places)} ± ${fixed(wide, Math.max(places, 0))} ${name}`;
}

/** The one occasion that stands for a finding: of its standing, with a number, and the least sure. */
export function keyEvidence(evidence: readonly Evidence[], standing: string): Evidence | null {
  const same = evidence.filter((item) => item.standing === standing);
  const pool = same.length ? same : [...evidence];
  const numbered = pool.filter((item) => item.measured);
  let best: Evidence | null = null;
  for (const item of numbered.length ? numbered : pool) {
    if (!best || (item.probability ?? 2) < (best.probability ?? 2)) best = item;
  }
  return best;
}
