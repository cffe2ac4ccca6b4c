/** The library's rows: channels, functions, standings, acts, cautions. */

import library from "../data/library.json";
import type { PlanStep } from "../api/types.ts";
import type { Kind } from "./units.ts";

export interface Channel {
  name: string;
  kind: Kind;
  title: string;
  low: number;
  high: number;
}
export interface Act {
  name: string;
  title: string;
  undone_by: string | null;
}
export interface StandingRow {
  name: string;
  means: string;
  counted: string;
  sign: string;
}

export const CHANNELS = library.channels as Channel[];
export const ACTS = library.acts as Act[];
export const FUNCTIONS = library.functions as { name: string; title: string; part: string }[];
export const STANDINGS = library.standings as StandingRow[];
export const USUAL = library.usual as { channel: string; low: number; high: number; running: boolean }[];
export const PHASES = library.phases as Record<string, string>;
export const ENDED_BY = library.ended_by as Record<string, string>;
export const WAYS = library.ways as { way: string; title: string; steps: PlanStep[] }[];
export const NUMBERS = library.numbers as { key: string; unit: string; title: string; saturation: boolean }[];
export const SETTINGS = library.settings as {
  name: string;
  kind: string;
  meaning: string;
  lowest: string;
  highest: string;
  default: string | null;
  why: string;
}[];
export const CHOICES = library.choices as { name: string; meaning: string; words: string[]; default: string | null }[];
export const HEATING = library.heating as { name: string; title: string; heat: boolean }[];
export const FEATURES = library.features as { name: string; title: string; unit: string }[];
export const DANGERS = library.dangers as string[];
export const SAFETY = library.safety;

const CHANNEL = new Map(CHANNELS.map((row) => [row.name, row]));
const ACT = new Map(ACTS.map((row) => [row.name, row]));
const STANDING = new Map(STANDINGS.map((row) => [row.name, row]));

export function channelOf(name: string): Channel | undefined {
  return CHANNEL.get(name);
}
export function actTitle(name: string): string {
  return ACT.get(name)?.title ?? name;
}
export function undoOf(name: string): string | null {
  return ACT.get(name)?.undone_by ?? null;
}
export function standingOf(name: string): StandingRow {
  return STANDING.get(name) ?? (STANDINGS[4] as StandingRow);
}
/** The cautions for a refrigerant of this safety class. */
export function cautionsOf(safetyClass: string): { code: string; text: string }[] {
  const all = library.cautions as Record<string, { code: string; text: string }[]>;
  return all[safetyClass] ?? all.A1 ?? [];
}
