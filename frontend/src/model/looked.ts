/** Further readings for the causes: what can be typed, what it says, and which of it counts. The rows are the library's. */

import library from "../data/library.json";
import type { Looked } from "../api/types.ts";
import { parse, UNITS, unitOf, type Kind, type System } from "./units.ts";

export interface NumberRow {
  name: string;
  title: string;
  group: string;
  kind: Kind;
  low: number;
  high: number;
  /** Standard uncertainty that is taken for it: an amount, or a share of the reading. */
  u: string;
  /** Whether it means something only beside the unit's nominal capacity. */
  sized: boolean;
}
export interface WordRow {
  name: string;
  title: string;
  group: string;
  words: string[];
}
export type LookRow = NumberRow | WordRow;

export const NUMBER_ROWS = library.typed as NumberRow[];
export const WORD_ROWS = library.looked as WordRow[];
const ROWS = new Map<string, LookRow>([...NUMBER_ROWS, ...WORD_ROWS].map((row) => [row.name, row]));
const ASKED = new Map((library.asked as { act: string; typed: string[]; channels: string[] }[]).map((row) => [row.act, row]));

export function isNumber(row: LookRow): row is NumberRow {
  return "kind" in row;
}

export function lookRow(name: string): LookRow | undefined {
  return ROWS.get(name);
}

export function lookTitle(name: string): string {
  return ROWS.get(name)?.title ?? name;
}

/** What answers an act: rows to be typed, and channels that are read into the record instead. */
export function answersOf(act: string): { rows: LookRow[]; channels: string[] } {
  const asked = ASKED.get(act);
  return { rows: (asked?.typed ?? []).flatMap((name) => ROWS.get(name) ?? []), channels: asked?.channels ?? [] };
}

/** All rows by their group, in the order of the library. */
export function grouped(): [string, LookRow[]][] {
  const out = new Map<string, LookRow[]>();
  for (const row of ROWS.values()) out.set(row.group, [...(out.get(row.group) ?? []), row]);
  return [...out];
}

/** Heat that a machine gives is told otherwise than what it draws. */
const OWN_UNITS: Record<string, Record<System, readonly string[]>> = {
  capacity: { us: ["Btu/h", "ton_refrigeration", "kW"], si: ["kW", "W"] },
  backup_power: { us: ["kW", "W"], si: ["kW", "W"] },
};

export function unitsOf(row: NumberRow, system: System): readonly string[] {
  return OWN_UNITS[row.name]?.[system] ?? UNITS[row.kind][system].slice(0, 3);
}

/** A number that no working unit shows: the ranking would leave it out. */
export function outside(row: NumberRow, si: number): boolean {
  // The bounds were converted in another program; a value typed at one of them is inside.
  const edge = 1e-9 * Math.max(Math.abs(row.low), Math.abs(row.high));
  return !(si >= row.low - edge && si <= row.high + edge);
}

/** A typed text as it is read: the unit as it stands beside a number. */
export function lookText(one: Pick<Looked, "name" | "text">): string {
  const row = ROWS.get(one.name);
  if (!row || !isNumber(row)) return one.text;
  const found = /^\s*(\S+)\s+(\S+)\s*$/.exec(one.text);
  const label = found && labelOf(found[2] ?? "");
  return found && label !== null ? `${found[1]} ${label}`.trimEnd() : one.text;
}

function labelOf(name: string): string | null {
  try {
    return unitOf(name).label;
  } catch {
    return null;
  }
}

/** Whether the ranking can read it: as the service said, else as far as the pages know. */
export function readable(one: Looked): boolean {
  if (one.value !== undefined) return one.value !== null;
  const row = ROWS.get(one.name);
  if (!row) return false;
  if (!isNumber(row)) return row.words.includes(one.text.trim());
  const si = parse(one.text.split(/±|\+\/-|\+-/)[0], row.kind);
  return si === null || !outside(row, si);
}

/** Of each name the one that counts: the latest that holds, of one time the first. */
export function counting(rows: readonly Looked[]): ReadonlyMap<string, Looked> {
  const out = new Map<string, Looked>();
  for (const row of rows) {
    if (row.withdrawn || !readable(row)) continue;
    const before = out.get(row.name);
    if (!before || row.time_s > before.time_s) out.set(row.name, row);
  }
  return out;
}

export type LookState = "withdrawn" | "unread" | "overtaken" | "waiting" | "sent" | "counts";

/** How one stands: `counts` once the ranking that is shown has taken it in. */
export function stateOf(one: Looked, rows: readonly Looked[], unsent: ReadonlySet<string>, taken: readonly { text: string }[]): LookState {
  if (one.withdrawn) return "withdrawn";
  if (unsent.has(one.id)) return "waiting";
  if (!readable(one)) return "unread";
  if (counting(rows).get(one.name)?.id !== one.id) return "overtaken";
  return taken.some((row) => row.text === `${one.name} = ${one.text.trim()}`) ? "counts" : "sent";
}
