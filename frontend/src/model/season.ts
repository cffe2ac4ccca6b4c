/** A winter of a unit: how it is asked for, and what the picture of one setting shows. */

import type { Http } from "../api/http.ts";
import type { Prices, Season, SeasonAnswer, SeasonSetting } from "../api/types.ts";
import type { System } from "./units.ts";

const KWH_J = 3.6e6;

/** Regions with their outdoor design temperatures [degF], as the library has them (tests/pages holds them equal). */
export const REGIONS: readonly (readonly [string, number])[] = [
  ["I", 37],
  ["II", 27],
  ["III", 17],
  ["IV", 5],
  ["V", -10],
  ["VI", 30],
];

/** What a winter is asked with besides its weather. */
export interface Besides {
  humidity: string | null;
  visit: string | null;
  closesAt: string | null;
  opensAt: string | null;
  capacity: string | null;
  prices: Prices | null;
}

/** A winter as this device keeps it: with the units its sentences are in, and what it was asked with. */
export interface Kept extends SeasonAnswer, Besides {
  system: System;
}

export type Asked = ({ weather: string } | { bytes: ArrayBuffer; name: string }) & Besides;

/** Prices as they are typed: text as it stands in its field, so that nothing typed is lost. */
export interface TypedFuel {
  name: string;
  price: string;
  per: string;
  efficiency: string;
  carbon: string;
}
export interface TypedPrices {
  currency: string;
  kind: "none" | "flat" | "table";
  price: string;
  table: string;
  tableName: string;
  carbon: string;
  fuels: TypedFuel[];
}
export const NO_PRICES: TypedPrices = { currency: "", kind: "none", price: "", table: "", tableName: "", carbon: "", fuels: [] };
export const NO_FUEL: TypedFuel = { name: "", price: "", per: "", efficiency: "", carbon: "" };

/** A number as it is typed, with a point or a comma; null where there is none. */
export function typedNumber(text: string): number | null {
  const plain = text.trim().replace(",", ".");
  return /^\d*\.?\d+$|^\d+\.$/.test(plain) ? Number(plain) : null;
}

/** The prices to send; null where none are given; a string names the first field that is not a number. */
export function pricesOf(typed: TypedPrices): Prices | null | { wrong: string } {
  if (typed.kind === "none") return null;
  const electricity: Prices["electricity"] = {};
  if (typed.kind === "flat") {
    const price = typedNumber(typed.price);
    if (price === null) return { wrong: "price" };
    electricity.price = price;
  } else {
    if (!typed.table.trim()) return { wrong: "table" };
    electricity.table = `${typed.table.trim()}\n`;
  }
  if (typed.carbon.trim()) {
    const carbon = typedNumber(typed.carbon);
    if (carbon === null) return { wrong: "carbon" };
    electricity.carbon = carbon;
  }
  if (!typed.currency.trim()) return { wrong: "currency" };
  const fuel: Prices["fuel"] = [];
  for (const row of typed.fuels) {
    const [price, efficiency, carbon] = [typedNumber(row.price), typedNumber(row.efficiency), typedNumber(row.carbon)];
    const blank = [row.name, row.price, row.per, row.efficiency].every((text) => !text.trim());
    if (blank) continue;
    if (!row.name.trim()) return { wrong: "fuelName" };
    if (price === null) return { wrong: "fuelPrice" };
    if (efficiency === null) return { wrong: "efficiency" };
    if (row.carbon.trim() && carbon === null) return { wrong: "carbon" };
    fuel.push({ name: row.name.trim(), price, per: row.per.trim(), efficiency: efficiency / 100, ...(carbon === null ? {} : { carbon }) });
  }
  return { currency: typed.currency.trim(), electricity, fuel };
}

/** An amount as the library writes it: two figures, or tens from a hundred up. */
export function amount(value: number, currency: string): string {
  const size = Math.abs(value);
  const shown = size >= 100 ? Math.round(value / 10) * 10 : Number(value.toPrecision(2));
  return `${currency} ${Math.round(shown).toLocaleString("en-US")}`;
}

/** Ask until it is worked out; the file goes over the line once, then its hash. */
export async function askSeason(http: Http, unitId: string, asked: Asked, system: System, pause: (ms: number) => Promise<void>): Promise<Kept> {
  const path = `/api/units/${unitId}/season`;
  const query: Record<string, string> = { units: system };
  let bytes: ArrayBuffer | undefined;
  if ("weather" in asked) {
    query.weather = asked.weather;
  } else {
    bytes = asked.bytes;
    query.name = asked.name;
  }
  if (asked.humidity) query.humidity = asked.humidity;
  if (asked.visit) query.visit = asked.visit;
  if (asked.closesAt) query.closes_at = asked.closesAt;
  if (asked.opensAt) query.opens_at = asked.opensAt;
  if (asked.capacity) query.capacity = asked.capacity;
  if (asked.prices) query.prices = (await http.post<{ prices: string }>("/api/prices", asked.prices)).prices;
  const { humidity, visit, closesAt, opensAt, capacity, prices } = asked;
  const besides: Besides = { humidity, visit, closesAt, opensAt, capacity, prices };
  for (;;) {
    const answer = await http.ask<SeasonAnswer>(`${path}?${new URLSearchParams(query).toString()}`, bytes);
    if (answer.state === "ready") return { ...answer, ...besides, system };
    query.weather = answer.weather;
    bytes = undefined;
    await pause(1000 * (answer.retry_after_s ?? 2));
  }
}

/** Energy as the library writes it: two figures, or three from a thousand up. */
export function kwh(energyJ: number): string {
  const value = energyJ / KWH_J;
  const size = Math.abs(value);
  const shown = size >= 1000 ? Math.round(value / 10) * 10 : size >= 100 ? Number(value.toPrecision(2)) : Math.round(value);
  return `${(shown === 0 ? 0 : shown).toLocaleString("en-US")} kWh`;
}

export interface MonthBar {
  month: number;
  defrosts: number;
  lostKwh: number;
}

/** Months in which any setting defrosts or loses something, with those between them; all, where there is none. */
function wintry(season: Season): number[] {
  const order = season.weather.month_order;
  const some = order.map((month) => season.settings.some((row) => row.defrosts_by_month[month - 1] || (row.lost_by_month_j[month - 1] ?? 0) > KWH_J / 2));
  return some.includes(true) ? order.slice(some.indexOf(true), some.lastIndexOf(true) + 1) : order;
}

/** The months of one setting, in the order in which the winter lies in the middle; the same months for each setting. */
export function monthsOf(season: Season, setting: SeasonSetting): MonthBar[] {
  return wintry(season).map((month) => ({
    month,
    defrosts: setting.defrosts_by_month[month - 1] ?? 0,
    lostKwh: Math.max(0, Math.round((setting.lost_by_month_j[month - 1] ?? 0) / KWH_J)),
  }));
}

/** The top of each picture: one scale for all settings, so that moving the setting moves the bars. */
export function topOf(season: Season): { defrosts: number; lostKwh: number } {
  const all = season.settings.flatMap((setting) => monthsOf(season, setting));
  return { defrosts: Math.max(1, ...all.map((bar) => bar.defrosts)), lostKwh: Math.max(1, ...all.map((bar) => bar.lostKwh)) };
}

export interface Beside {
  best: string;
  amountJ: number;
  more: boolean;
  expandedJ: number | null;
  /** Whether the difference is greater than its uncertainty. */
  sure: boolean;
}

/** A setting beside the best; null for the best itself. */
export function besideBest(season: Season, setting: SeasonSetting): Beside | null {
  const best = season.settings.find((row) => row.best);
  if (!best || setting.best) return null;
  const apart = setting.above_best_j;
  const wide = setting.above_best_expanded_j;
  return { best: best.name, amountJ: Math.abs(apart), more: apart >= 0, expandedJ: wide, sure: wide !== null && Math.abs(apart) > wide };
}

export function lostJ(season: Season, setting: SeasonSetting): number {
  return setting.energy_j - season.frost_free_energy_j;
}
