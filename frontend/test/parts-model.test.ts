import { describe, expect, it } from "vitest";
import type { Mark, Result } from "../src/api/types.ts";
import { WAYS } from "../src/model/channels.ts";
import { countsOf, linesOf } from "../src/model/ledger.ts";
import { heatingLines, heatingOf } from "../src/model/heating.ts";
import { follow, openActs } from "../src/model/next.ts";
import { doubtOf } from "../src/model/plausible.ts";
import { fluid } from "../src/model/saturation.ts";
import { Numbers } from "../src/model/show.ts";
import { around, bandsOf, columnsOf, drag, pinch, wholeOf, within, zoom } from "../src/model/strip.ts";
import { toSi } from "../src/model/units.ts";
import demo from "./demo-result.json";

const ATMOSPHERE = 101325;
const WHOLE = { fromS: 0, toS: 3600 };
const mark = (time_s: number, act: string, more = {}): Mark => ({ id: `${time_s}${act}`, time_s, act, note: "", ...more });

describe("plausibility", () => {
  const gas = fluid("R-410A");
  const psig = (value: number) => toSi(value, "psig", "pressure", ATMOSPHERE);
  const doubt = (channel: string, si: number, unit: string, latest: [string, number][] = []) =>
    doubtOf(channel, si, unit, new Map(latest), gas, ATMOSPHERE);

  it("says nothing of what a sound unit shows", () => {
    expect(doubt("suction_pressure", psig(105), "psig")).toBeNull();
    expect(doubt("liquid_pressure", psig(391), "psig", [["suction_pressure", psig(105)]])).toBeNull();
    expect(doubt("outdoor_coil_temp", -3, "degC")).toBeNull();
  });

  it("refuses what no probe reads, and names the unit that would fit", () => {
    const found = doubt("suction_pressure", toSi(118, "barg", "pressure", ATMOSPHERE), "barg");
    expect(found).toMatchObject({ level: "no", code: "bounds" });
    expect(found?.fits).toContain("psig");
  });

  it("asks about gauges that look swapped, and about temperatures that do not fit the pressure", () => {
    expect(doubt("suction_pressure", psig(390), "psig", [["liquid_pressure", psig(105)]])).toMatchObject({ code: "swapped" });
    expect(doubt("liquid_line_temp", 70, "degC", [["liquid_pressure", psig(390)]])).toMatchObject({ code: "subcooling" });
    expect(doubt("suction_line_temp", -25, "degC", [["suction_pressure", psig(105)]])).toMatchObject({ code: "superheat" });
    // 105 psig of R-410A boils near 33 degF: a line at 41 degF is in order.
    expect(doubt("suction_line_temp", 5, "degC", [["suction_pressure", psig(105)]])).toBeNull();
    expect(doubt("return_air_temp", 70, "degC")).toMatchObject({ level: "no", fits: ["degF"] });
    expect(doubt("return_air_temp", 50, "degC")).toMatchObject({ code: "usual", side: "high", fits: ["degF"] });
  });
});

describe("the strip", () => {
  it("keeps the time under each finger", () => {
    const view = pinch({ fromS: 1000, toS: 2000 }, 0.4, 0.6, 0.2, 0.8, WHOLE);
    const span = view.toS - view.fromS;
    expect(view.fromS + 0.2 * span).toBeCloseTo(1400, 6);
    expect(view.fromS + 0.8 * span).toBeCloseTo(1600, 6);
  });

  it("does not leave the record, nor come nearer than twenty seconds", () => {
    expect(drag({ fromS: 0, toS: 600 }, 99999, WHOLE).fromS).toBe(-144);
    expect(drag({ fromS: 0, toS: 600 }, -99999, WHOLE).toS).toBe(3744);
    const near = zoom({ fromS: 0, toS: 600 }, 1000, 300, WHOLE);
    expect(near.toS - near.fromS).toBeCloseTo(20, 6);
    expect(0.5 * (near.fromS + near.toS)).toBeCloseTo(300, 6);
    const far = zoom({ fromS: 0, toS: 600 }, 0.001, 300, WHOLE);
    expect(far).toEqual(within({ fromS: -1e9, toS: 1e9 }, WHOLE));
    expect(around([{ fromS: 900, toS: 910 }, { fromS: 950, toS: 1000 }], WHOLE)).toEqual({ fromS: 850, toS: 1050 });
  });

  it("joins samples and typed readings on one time base, with gaps where nothing was read", () => {
    const gas = fluid("R-410A");
    const samples = [
      { time_s: [10, 11], channels: { suction_pressure: [8e5, null], sensor_voltage: [24, 0] } },
      { time_s: [12], channels: { outdoor_coil_temp: [-2], sensor_voltage: [0] } },
    ];
    const typed = [
      { id: "a", time_s: 11.5, channel: "liquid_pressure", text: "318 psig", value: 2.3e6 },
      { id: "b", time_s: 11.6, channel: "liquid_pressure", text: "9 psig", value: 2.9e6, withdrawn: true },
    ];
    const columns = columnsOf(samples, typed, gas);
    expect(columns.timeS).toEqual([10, 11, 11.5, 12]);
    expect(columns.lines.low[0]).toBeCloseTo(gas.dewC(8e5), 9);
    expect(columns.lines.low.slice(1)).toEqual([null, null, null]);
    expect(columns.lines.high[2]).toBeCloseTo(gas.dewC(2.3e6), 9);
    expect(columns.lines.coil[3]).toBe(-2);
    expect(columns.lanes).toEqual([{ channel: "sensor_voltage", spans: [{ fromS: 11, toS: 12 }] }]);
    expect(wholeOf(columns, [mark(5, "call-on"), mark(0, "call-off", { withdrawn: true })], null, null)).toEqual({ fromS: 5, toS: 65 });
  });
});

describe("the ledger of the demo visit", () => {
  const result = demo as unknown as Result;
  const lines = linesOf(result, new Numbers("us", result.site.atmosphere_pa));

  it("says of each function what the terminal says", () => {
    // As `firstfrost demo` prints it.
    const closes = lines.find((line) => line.name === "sensor_closes");
    expect(closes).toMatchObject({ standing: "shown", number: "27.8 ± 1.0 °F", limit: "19.9 to 35 °F", margin: "7.2 °F to spare" });
    const ends = lines.find((line) => line.name === "ends_by_sensor");
    expect(ends).toMatchObject({ number: "33 ± 1 s", margin: "11 min 27 s to spare" });
    expect(lines.find((line) => line.name === "fan_stops")).toMatchObject({ standing: "bypassed", number: "", margin: "" });
    expect(lines.length).toBe(13);
    expect(countsOf(lines)).toEqual([["shown", 9], ["prompted", 2], ["bypassed", 1], ["unseen", 1], ["failed", 0]]);
  });

  it("knows where on the strip the evidence lies", () => {
    const closes = lines.find((line) => line.name === "sensor_closes");
    expect(closes?.spans).toEqual([{ fromS: Date.UTC(2025, 9, 14, 15, 18, 12) / 1000, toS: Date.UTC(2025, 9, 14, 15, 18, 19) / 1000 }]);
    expect(closes?.channels).toEqual(["sensor_voltage", "outdoor_coil_temp"]);
    expect(bandsOf(result).map((band) => band.name)).toEqual(["heating", "chilldown", "defrost", "recovery", "heating"]);
  });

  it("has thirteen unseen lines before anything was judged", () => {
    expect(linesOf(null, new Numbers("si", ATMOSPHERE)).map((line) => line.standing)).toEqual(Array(13).fill("unseen"));
  });
});

describe("the heating check of the demo visit", () => {
  const heating = heatingOf(demo as unknown as Result);
  const { measured, unseen } = heatingLines(heating!, new Numbers("us", (demo as unknown as Result).site.atmosphere_pa));

  it("gives each number that was measured with its limit and room, and names the rest", () => {
    const subcooling = measured.find((line) => line.name === "subcooling_k");
    expect(subcooling).toMatchObject({ standing: "shown", title: "Subcooling of the liquid", number: "4.9 ± 1.4 °F", limit: "1 to 7 °F" });
    expect(measured.find((line) => line.name === "superheat_k")).toMatchObject({ standing: "doubtful", limit: "", margin: "" });
    // Heat that flows downhill has no room to a limit.
    expect(measured.find((line) => line.name === "evaporating_approach_k")?.margin).toBe("");
    expect(measured.length + unseen.length).toBe(Object.keys(heating?.numbers ?? {}).length);
  });
});

describe("next", () => {
  const steps = WAYS.find((row) => row.way === "fan-stopped")?.steps ?? [];
  const now = (marks: Mark[], ticked: number[] = []) => follow(steps, marks, new Set(ticked)).find((row) => row.state === "now")?.index;

  it("goes through the plan by the marks, and by what is ticked off", () => {
    expect(now([])).toBe(0);
    expect(now([], [0])).toBe(1);
    expect(now([mark(1, "call-on")])).toBe(3);
    expect(now([mark(1, "call-on"), mark(2, "call-off")])).toBe(3);
    const half = follow(steps, [mark(1, "call-on"), mark(2, "call-off")], new Set())[3];
    expect(half?.left).toEqual(["fan-lead-off"]);
    const on = [mark(1, "call-on"), mark(2, "call-off"), mark(3, "fan-lead-off"), mark(4, "call-on")];
    expect(now(on)).toBe(5);
    expect(now([...on, mark(5, "pins-bridged"), mark(6, "pins-released")])).toBe(7);
    expect(now([...on, mark(5, "pins-bridged"), mark(6, "pins-released"), mark(7, "call-off"), mark(8, "fan-lead-on")])).toBe(9);
    expect(now([...on, mark(5, "pins-bridged"), mark(6, "pins-released"), mark(7, "call-off"), mark(8, "fan-lead-on"), mark(9, "call-on")])).toBeUndefined();
  });

  it("goes back when a mark is withdrawn", () => {
    expect(now([mark(1, "call-on", { withdrawn: true })])).toBe(0);
  });

  it("keeps in mind what has not been undone", () => {
    expect(openActs([mark(1, "fan-lead-off"), mark(2, "pins-bridged"), mark(3, "pins-released")])).toEqual([
      { act: "fan-lead-off", sinceS: 1, undoneBy: "fan-lead-on" },
    ]);
    expect(openActs([mark(1, "fan-lead-off"), mark(4, "fan-lead-on")])).toEqual([]);
  });
});
