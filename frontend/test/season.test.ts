/** A winter: asking for it, and the picture that moves with the setting. */

import { describe, expect, it } from "vitest";
import { Http, ServiceError } from "../src/api/http.ts";
import type { Season, SeasonSetting } from "../src/api/types.ts";
import { amount, askSeason, besideBest, kwh, lostJ, monthsOf, NO_FUEL, NO_PRICES, pricesOf, topOf, type Besides } from "../src/model/season.ts";

const KWH = 3.6e6;
const BARE: Besides = { humidity: null, visit: null, closesAt: null, opensAt: null, capacity: null, prices: null };
const row = (name: string, over: Partial<SeasonSetting>): SeasonSetting => ({
  name, offered: true, set_now: false, best: false, energy_j: 7000 * KWH, above_best_j: 0, above_best_expanded_j: null, defrosts: 10, needless: 1,
  defrosts_by_month: [5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 3], lost_by_month_j: [80 * KWH, 0, 0, 0, 0, -KWH, 0, 0, 0, 0, 0, 20 * KWH], coldest_c: 17, heat_j: 0, backup_j: 0, backup_defrost_j: 0, short_j: 0, ...over,
});
const SEASON: Season = {
  unit: "u",
  weather: { source: "x", place: "", days: 177, southern: false, month_order: [7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6], notes: [] },
  advice: "", what_changes_it: "", frost_free_energy_j: 6900 * KWH, frost_risk: { says: "" }, load: { says: "" }, faults: [], assumed: [], measured: [], householder: [], money: null,
  settings: [
    row("30 min", { above_best_j: 77 * KWH, above_best_expanded_j: 351 * KWH, defrosts_by_month: [50, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 30] }),
    row("90 min", { best: true, set_now: true }),
    row("demand", { offered: false, above_best_j: -200 * KWH, above_best_expanded_j: 120 * KWH }),
  ],
};
const [half, ninety, demand] = SEASON.settings as [SeasonSetting, SeasonSetting, SeasonSetting];

describe("the picture of a winter", () => {
  it("puts the cold months in the middle and moves with the setting, on one scale", () => {
    const bars = monthsOf(SEASON, half);
    expect(bars.map((bar) => bar.month)).toEqual([12, 1]);
    expect(bars.filter((bar) => bar.defrosts).map((bar) => [bar.month, bar.defrosts])).toEqual([[12, 30], [1, 50]]);
    expect(monthsOf(SEASON, ninety).find((bar) => bar.month === 1)?.defrosts).toBe(5);
    expect(topOf(SEASON)).toEqual({ defrosts: 50, lostKwh: 80 });
    // Months between frosty ones stay; a month in which frost spares something (the model's noise) has no bar at all.
    const autumn = { ...SEASON, settings: [row("30 min", { lost_by_month_j: [KWH, 0, 0, 0, 0, -KWH, 0, 0, 0, KWH, -KWH, 0] })] };
    expect(monthsOf(autumn, autumn.settings[0] as SeasonSetting).map((bar) => [bar.month, bar.lostKwh])).toEqual([[10, 1], [11, 0], [12, 0], [1, 1]]);
    const warm = { ...SEASON, settings: [row("30 min", { defrosts_by_month: Array<number>(12).fill(0), lost_by_month_j: Array<number>(12).fill(0) })] };
    expect(monthsOf(warm, warm.settings[0] as SeasonSetting)).toHaveLength(12);
    expect(topOf(warm)).toEqual({ defrosts: 1, lostKwh: 1 });
  });

  it("says a difference with its uncertainty, and which way it goes", () => {
    expect(besideBest(SEASON, ninety)).toBeNull();
    expect(besideBest(SEASON, half)).toMatchObject({ best: "90 min", more: true, sure: false });
    expect(besideBest(SEASON, demand)).toMatchObject({ more: false, amountJ: 200 * KWH, sure: true });
    expect(lostJ(SEASON, half)).toBeCloseTo(100 * KWH);
  });

  it("writes energy as the library does", () => {
    const cases: [number, string][] = [[7047.8, "7,050 kWh"], [351, "350 kWh"], [96.4, "96 kWh"], [-0.2, "0 kWh"], [12345, "12,350 kWh"], [-77, "-77 kWh"]];
    for (const [value, text] of cases) expect(kwh(value * KWH)).toBe(text);
  });
});

describe("asking for a winter", () => {
  const asker = (answers: [number, unknown][]): { http: Http; asked: { path: string; bytes: number }[] } => {
    const asked: { path: string; bytes: number }[] = [];
    const http = new Http(async (path, init) => {
      asked.push({ path: String(path), bytes: init?.body instanceof ArrayBuffer ? init.body.byteLength : 0 });
      const [status, body] = answers.shift() ?? [500, null];
      return new Response(JSON.stringify(body), { status });
    });
    return { http, asked };
  };

  it("sends a file once, then asks by its hash until it is ready", async () => {
    const weather = `sha256:${"a".repeat(64)}`;
    const working = { state: "working", weather, season: null, retry_after_s: 2 };
    const { http, asked } = asker([[202, working], [202, working], [200, { ...working, state: "ready", season: SEASON }]]);
    const waits: number[] = [];
    const found = await askSeason(http, "u", { ...BARE, bytes: new ArrayBuffer(9), name: "yard & co.epw", humidity: "80 %RH" }, "si", async (ms) => void waits.push(ms));
    expect(found).toMatchObject({ weather, system: "si", humidity: "80 %RH", season: { unit: "u" } });
    expect(asked.map((one) => one.bytes)).toEqual([9, 0, 0]);
    const queries = asked.map((one) => Object.fromEntries(new URLSearchParams(one.path.split("?")[1])));
    expect(queries[0]).toEqual({ units: "si", name: "yard & co.epw", humidity: "80 %RH" });
    expect(queries[1]).toMatchObject({ units: "si", weather, humidity: "80 %RH" });
    expect(waits).toEqual([2000, 2000]);
  });

  it("hands on what the service refuses", async () => {
    const { http } = asker([[422, { error: { code: "invalid", message: "no humidity", details: [], current: null, retry_after_s: null } }]]);
    await expect(askSeason(http, "u", { ...BARE, weather: "region:IV" }, "us", async () => {})).rejects.toThrow("no humidity");
    const { http: away } = asker([]);
    await expect(askSeason(away, "u", { ...BARE, weather: "region:IV" }, "us", async () => {})).rejects.toBeInstanceOf(ServiceError);
  });

  it("sends prices first, then their key with what was measured", async () => {
    const prices = { currency: "USD", electricity: { price: 0.2 }, fuel: [] };
    const key = `sha256:${"b".repeat(64)}`;
    const { http, asked } = asker([[200, { prices: key, currency: "USD", flat: true }], [200, { state: "ready", weather: "region:IV", season: SEASON, retry_after_s: null }]]);
    const found = await askSeason(http, "u", { ...BARE, weather: "region:IV", prices, visit: "v", opensAt: "60 degF", capacity: "92 %" }, "us", async () => {});
    expect(asked.map((one) => one.path.split("?")[0])).toEqual(["/api/prices", "/api/units/u/season"]);
    const query = Object.fromEntries(new URLSearchParams(asked[1]?.path.split("?")[1]));
    expect(query).toEqual({ units: "us", weather: "region:IV", prices: key, visit: "v", opens_at: "60 degF", capacity: "92 %" });
    expect(found).toMatchObject({ prices, visit: "v", opensAt: "60 degF" });
  });
});

describe("prices as they are typed", () => {
  const flat = { ...NO_PRICES, kind: "flat" as const, currency: " EUR ", price: "0,31" };

  it("has none until a kind is chosen, and no default", () => {
    expect(pricesOf(NO_PRICES)).toBeNull();
    expect(pricesOf({ ...NO_PRICES, kind: "flat" })).toEqual({ wrong: "price" });
    expect(pricesOf({ ...flat, currency: " " })).toEqual({ wrong: "currency" });
    expect(pricesOf({ ...flat, kind: "table" })).toEqual({ wrong: "table" });
  });

  it("takes a comma, a carbon, and fuels in percent; an empty fuel is left out", () => {
    const oil = { ...NO_FUEL, name: "oil", price: "1.1", per: "10 kWh", efficiency: "92" };
    expect(pricesOf({ ...flat, carbon: "0.4", fuels: [NO_FUEL, oil] })).toEqual({
      currency: "EUR", electricity: { price: 0.31, carbon: 0.4 }, fuel: [{ name: "oil", price: 1.1, per: "10 kWh", efficiency: 0.92 }],
    });
    expect(pricesOf({ ...flat, fuels: [{ ...oil, efficiency: "good" }] })).toEqual({ wrong: "efficiency" });
    expect(pricesOf({ ...flat, fuels: [{ ...oil, name: "" }] })).toEqual({ wrong: "fuelName" });
    expect(pricesOf({ ...flat, carbon: "green" })).toEqual({ wrong: "carbon" });
  });

  it("gives a table a line of its own at the end, so that the service reads it as one", () => {
    expect(pricesOf({ ...flat, kind: "table", table: "month,hour,price\nall,all,0.1" })).toMatchObject({ electricity: { table: "month,hour,price\nall,all,0.1\n" } });
  });

  it("writes an amount as the library does", () => {
    const cases: [number, string][] = [[1234.4, "USD 1,230"], [99.4, "USD 99"], [3.6, "USD 4"]];
    for (const [value, text] of cases) expect(amount(value, "USD")).toBe(text);
  });
});
