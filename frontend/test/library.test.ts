/** The pages' own arithmetic is the library's: its values, at many points, from scripts/make_page_data.py. */

import { describe, expect, it } from "vitest";
import cases from "./cases.json";
import type { Causes } from "../src/api/types.ts";
import { causeLines } from "../src/model/causes.ts";
import { fluid, knownRefrigerant } from "../src/model/saturation.ts";
import { Numbers, type Evidence } from "../src/model/show.ts";
import { stopOf, StopWatch, type Plate } from "../src/model/stop.ts";
import { atmosphereAt, fromSi, toSi, type Kind, type System } from "../src/model/units.ts";

describe("saturation", () => {
  it("is the library's to a millikelvin, from dew and from bubble, to the ends of the tables", () => {
    let worst = 0;
    for (const one of cases.saturation) {
      const gas = fluid(one.refrigerant);
      for (const [mine, its] of [
        [gas.dewC(one.pressure_pa), one.dew_c],
        [gas.bubbleC(one.pressure_pa), one.bubble_c],
        [gas.superheatK(one.beside_c, one.pressure_pa), one.superheat_k],
        [gas.subcoolingK(one.beside_c, one.pressure_pa), one.subcooling_k],
      ] as const) {
        worst = Math.max(worst, Math.abs(mine - its));
        expect(mine).not.toBeNaN();
      }
      expect(Math.abs(gas.dewPa(one.dew_c) / one.dew_pressure_pa - 1)).toBeLessThan(1e-4);
    }
    expect(cases.saturation.length).toBe(480);
    expect(worst).toBeLessThan(1e-3);
  });

  it("is not known outside the tables", () => {
    expect(fluid("R-32").dewC(9e6)).toBeNaN();
    expect(fluid("R-32").dewC(NaN)).toBeNaN();
    expect(fluid("R-32").dewPa(90)).toBeNaN();
    expect(knownRefrigerant("r410a")).toBe("R-410A");
    expect(knownRefrigerant("water")).toBeNull();
  });

  it("agrees with published saturation pressures", () => {
    // ASHRAE Handbook of Fundamentals, chapter 30, 40 degC; values from memory, to the digits given.
    for (const [name, mpa] of [["R-134a", 1.0166], ["R-22", 1.5336], ["R-32", 2.4783], ["R-290", 1.3694]] as const) {
      expect(fluid(name).dewPa(40) / 1e6).toBeCloseTo(mpa, 3);
    }
  });
});

describe("the stop limit", () => {
  it("is the library's for each refrigerant, plate and height", () => {
    for (const one of cases.stop) {
      const mine = stopOf(one.plate as unknown as Plate);
      expect(mine?.by).toBe(one.by);
      expect(Math.abs((mine?.tempC ?? NaN) - one.temp_c)).toBeLessThan(2e-3);
      expect(Math.abs((mine?.pressurePa ?? NaN) - one.pressure_pa)).toBeLessThan(150);
      expect(Math.abs((mine?.gaugePa ?? NaN) - one.gauge_pa)).toBeLessThan(150);
    }
  });

  it("is not known without a refrigerant", () => {
    expect(stopOf({})).toBeNull();
    expect(stopOf({ unit: { refrigerant: "R-1" } })).toBeNull();
  });

  it("warns at the same sample as the library, and says so when it is blind", () => {
    for (const run of cases.watch) {
      const limit = stopOf({ unit: { refrigerant: "R-410A" } });
      const guard = new StopWatch(limit!);
      const gas = fluid("R-410A");
      let warned = 0;
      for (const one of run.samples) {
        const pressure = one.pressure_pa ?? NaN;
        const danger = guard.push(one.time_s, gas.dewC(pressure), pressure, one.turned);
        expect(danger !== null, `at ${one.time_s} s`).toBe(one.warns);
        expect(guard.blind(one.time_s)).toBe(one.blind);
        if (danger && one.left_s !== null && one.left_s < 1e8) expect(danger.secondsLeft).toBeCloseTo(one.left_s, 0);
        warned += danger ? 1 : 0;
      }
      expect(warned).toBeGreaterThan(0);
    }
  });
});

describe("numbers", () => {
  it("are written as in the report", () => {
    for (const one of cases.lines) {
      const item = { ...one, start_s: 0, end_s: 1, channels: [], what: "" } as unknown as Evidence;
      const held = new Numbers(one.system as System, one.atmosphere_pa).held(item);
      expect(held).toEqual({ number: one.number, limit: one.held, margin: one.margin });
    }
  });

  it("are converted as in the library, there and back", () => {
    for (const one of cases.units) {
      const value = fromSi(one.si, one.unit, one.kind as Kind, one.atmosphere_pa);
      expect(value).toBeCloseTo(one.value, 9);
      expect(toSi(value, one.unit, one.kind as Kind, one.atmosphere_pa)).toBeCloseTo(one.si, 6);
    }
    for (const one of cases.atmosphere) expect(atmosphereAt(one.altitude_m)).toBeCloseTo(one.pressure_pa, 6);
  });
});

describe("causes", () => {
  it("are told as the report tells them, line by line, in both systems of units", () => {
    const plain = (lines: string[]) => lines.map((line) => line.replaceAll("\u00a0", " "));
    for (const one of cases.causes) {
      const numbers = new Numbers(one.system as System, one.atmosphere_pa);
      const lines = causeLines(one.causes as unknown as Causes, numbers);
      expect(lines.length).toBe(one.rows.length);
      one.rows.forEach((row, k) => {
        const mine = lines[k];
        expect([mine?.title, mine?.probability, mine?.odds]).toEqual([row.title, row.probability, row.odds]);
        expect(mine?.speaksFor).toEqual(plain(row.speaks_for));
        expect(mine?.against).toEqual(plain(row.against));
      });
      expect(lines.flatMap((line) => line.speaksFor).some((line) => line.includes("(typed in)"))).toBe(true);
    }
    expect(cases.causes.length).toBe(2);
  });
});
