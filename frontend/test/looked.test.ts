/** Further readings for the causes: what can be typed, what it says, and which of it counts. */

import "fake-indexeddb/auto";
import { afterEach, describe, expect, it } from "vitest";
import type { Looked } from "../src/api/types.ts";
import { Http } from "../src/api/http.ts";
import { App } from "../src/model/app.ts";
import {
  answersOf, counting, grouped, isNumber, lookRow, lookText, NUMBER_ROWS, outside, readable, stateOf, unitsOf, WORD_ROWS, type NumberRow,
} from "../src/model/looked.ts";
import { toSi } from "../src/model/units.ts";
import { VisitModel } from "../src/model/visit.ts";
import { Shelf } from "../src/store/db.ts";
import { FakeNet } from "./fetch.ts";
import cases from "./cases.json";

const look = (name: string, text: string, more: Partial<Looked> = {}): Looked => ({ id: `${name}${text}`, time_s: 1, name, text, ...more });
const row = (name: string): NumberRow => lookRow(name) as NumberRow;

describe("what can be typed", () => {
  it("answers each act by words, numbers, or channels of the record", () => {
    expect(answersOf("look-filter").rows.map((one) => one.name)).toEqual(["filter_look"]);
    expect(answersOf("static-pressure").rows.map((one) => one.name)).toEqual(["filter_drop", "coil_drop"]);
    expect(answersOf("airflow")).toMatchObject({ channels: [] });
    expect(answersOf("airflow").rows.map((one) => one.name)).toContain("airflow");
    // A gauge is read into the record: what follows from it needs another channel as well.
    expect(answersOf("suction-gauge").channels).toEqual(["suction_pressure"]);
    expect(answersOf("sensor-volts")).toEqual({ rows: [], channels: ["sensor_voltage"] });
    expect(answersOf("defrost")).toEqual({ rows: [], channels: [] });
  });

  it("holds every row once, in a group", () => {
    const all = grouped().flatMap(([, rows]) => rows);
    expect(all.length).toBe(NUMBER_ROWS.length + WORD_ROWS.length);
    expect(new Set(all.map((one) => one.name)).size).toBe(all.length);
    for (const one of WORD_ROWS) expect(one.words.length).toBeGreaterThan(1);
  });

  it("reads as the library reads: the same number, the same bounds", () => {
    for (const one of cases.looked) {
      const [amount = "", unit = ""] = one.text.split(" ");
      const found = row(one.name);
      expect(unitsOf(found, "us").concat(unitsOf(found, "si"))).toContain(unit);
      const si = toSi(Number(amount), unit, found.kind, 0);
      if (one.value === null) expect(outside(found, si), one.text).toBe(true);
      else {
        expect(outside(found, si), one.text).toBe(false);
        expect(si).toBeCloseTo(one.value, 6);
      }
      expect(readable(look(one.name, one.text)), one.text).toBe(one.value !== null);
    }
  });

  it("offers units by the system, and heat as heat", () => {
    expect(unitsOf(row("airflow"), "us")[0]).toBe("cfm");
    expect(unitsOf(row("airflow"), "si")[0]).toBe("L/s");
    expect(unitsOf(row("capacity"), "us")[0]).toBe("Btu/h");
    expect(unitsOf(row("superheat"), "us")[0]).toBe("delta_degF");
    for (const one of NUMBER_ROWS) expect(isNumber(one)).toBe(true);
  });

  it("shows what was typed with its unit as a person reads it", () => {
    expect(lookText(look("superheat", "12 delta_degF"))).toBe("12 °F");
    expect(lookText(look("airflow", "980 cfm ± 5 %"))).toBe("980 cfm ± 5 %");
    expect(lookText(look("airflow", "980 furlongs"))).toBe("980 furlongs");
    expect(lookText(look("filter_look", "dirty"))).toBe("dirty");
  });
});

describe("which counts", () => {
  it("takes the latest that holds, and the first of one time", () => {
    const rows = [look("filter_look", "dirty", { time_s: 1 }), look("filter_look", "clean", { time_s: 2 }), look("pan_look", "ice"), look("pan_look", "clear")];
    expect(counting(rows).get("filter_look")?.text).toBe("clean");
    expect(counting(rows).get("pan_look")?.text).toBe("ice");
    const gone = rows.map((one) => (one.text === "clean" ? { ...one, withdrawn: true } : one));
    expect(counting(gone).get("filter_look")?.text).toBe("dirty");
  });

  it("leaves out what cannot be read, by the service's word where it has given one", () => {
    expect(counting([look("filter_look", "dirty"), look("filter_look", "grey", { time_s: 9 })]).get("filter_look")?.text).toBe("dirty");
    expect(readable(look("airflow", "90000 cfm"))).toBe(false);
    expect(readable(look("airflow", "90000 cfm", { value: 0.4 }))).toBe(true);
    expect(readable(look("airflow", "980 cfm", { value: null }))).toBe(false);
    expect(readable(look("mood", "good"))).toBe(false);
  });

  it("says how each stands", () => {
    const rows = [look("filter_look", "dirty"), look("filter_look", "clean", { time_s: 2 }), look("pan_look", "frost"), look("clocks", "apart", { withdrawn: true })];
    const taken = [{ text: "filter_look = clean" }];
    const states = (unsent: string[], ranked = taken): string[] => rows.map((one) => stateOf(one, rows, new Set(unsent), ranked));
    expect(states([])).toEqual(["overtaken", "counts", "unread", "withdrawn"]);
    expect(states(["filter_lookclean"])).toEqual(["overtaken", "waiting", "unread", "withdrawn"]);
    expect(states([], [])[1]).toBe("sent");
  });
});

describe("a visit", () => {
  const running: VisitModel[] = [];
  let names = 0;
  const device = async (net: FakeNet, name: string): Promise<[App, VisitModel]> => {
    const app = new App(await Shelf.open(name), new Http(net.fetch as typeof fetch));
    await app.load();
    const model = new VisitModel(app, "v");
    running.push(model);
    return [app, model];
  };
  afterEach(() => {
    while (running.length) running.pop()?.leave();
  });

  it("keeps what is typed without signal, through a restart, and sends it once", async () => {
    const net = new FakeNet();
    net.up = false;
    const name = `looked-${names++}`;
    let [app, model] = await device(net, name);
    await app.put("units", "u", { site_id: null, name: "Cabin 4", serial: "", practice: false, note: "", plate: { unit: { refrigerant: "R-410A" } } });
    await app.put("visits", "v", { unit_id: "u", started_s: 1 });
    await model.start();
    await model.look("filter_look", "dirty");
    const wrong = await model.look("airflow", "98 cfm");
    await model.withdraw(wrong.id, "mistyped");
    expect(model.looked.value.map((one) => [one.text, !!one.withdrawn])).toEqual([["dirty", false], ["98 cfm", true]]);
    expect(model.unsent.value.size).toBe(2);

    model.leave();
    [app, model] = await device(net, name);
    await model.start();
    expect(model.looked.value.map((one) => one.text)).toEqual(["dirty", "98 cfm"]);
    expect(model.unsent.value.size).toBe(2);
    net.up = true;
    await app.sync();
    expect(app.waiting.value).toBe(0);
    expect(model.unsent.value.size).toBe(0);
    const sent = [...net.service.batches.values()].map((text) => JSON.parse(text) as { looked?: Looked[] });
    expect(sent.flatMap((one) => one.looked ?? []).map((one) => `${one.name} = ${one.text}`)).toEqual(["filter_look = dirty", "airflow = 98 cfm"]);
  });
});
