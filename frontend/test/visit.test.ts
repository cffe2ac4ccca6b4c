/** The app without a browser: a visit made without signal, sent when it is back, and two devices on one unit. */

import "fake-indexeddb/auto";
import { afterEach, describe, expect, it, vi } from "vitest";
import { Http } from "../src/api/http.ts";
import { App } from "../src/model/app.ts";
import { Clock } from "../src/model/clock.ts";
import { NotSaved } from "../src/model/journal.ts";
import { VisitModel } from "../src/model/visit.ts";
import { Shelf } from "../src/store/db.ts";
import { FakeNet } from "./fetch.ts";

let names = 0;
const running: VisitModel[] = [];
const UNIT = { site_id: null, name: "Cabin 4", serial: "", practice: false, note: "", plate: { unit: { refrigerant: "R-410A" } } };
const VISIT = {
  unit_id: "u", planned_on: null, started_s: null, technician: "", purpose: "", note: "", instruments: [], outdoor: null, humidity: null, indoor: null, marks_complete: false,
};

async function device(net: FakeNet, name = `app-${names++}`, clock = new Clock()): Promise<App> {
  const app = new App(await Shelf.open(name), new Http(net.fetch as typeof fetch), (task) => task(), clock);
  await app.load();
  return app;
}

async function opened(app: App, id = "v"): Promise<VisitModel> {
  const model = new VisitModel(app, id);
  running.push(model);
  await model.start();
  return model;
}

afterEach(() => {
  while (running.length) running.pop()?.leave();
});

describe("a visit without signal", () => {
  it("is made whole on the device, survives a reload, and arrives once and in order", async () => {
    const net = new FakeNet();
    net.up = false;
    const name = `kept-${names++}`;
    let app = await device(net, name);
    await app.put("units", "u", UNIT);
    await app.put("visits", "v", VISIT);
    let model = await opened(app);
    expect(model.stop.value?.tempC).toBeCloseTo(54.44, 1);
    await model.choose("fan-stopped");
    await model.tick(0, true);
    await model.mark("call-on");
    await model.type("suction_pressure", "105 psig");
    await model.type("suction_line_temp", "45 degF");
    expect(model.visit.value?.started_s).toBeGreaterThan(0);
    expect(app.waiting.value).toBe(6);

    // The battery dies: nothing is closed, another start of the page finds all.
    model.leave();
    app = await device(net, name);
    model = await opened(app);
    expect(app.waiting.value).toBe(6);
    expect(model.typed.value.map((row) => row.text)).toEqual(["105 psig", "45 degF"]);
    expect(model.marks.value.map((row) => row.act)).toEqual(["call-on"]);
    expect(model.steps.value.find((row) => row.state === "now")?.index).toBe(3);
    // 105 psig of R-410A at sea level boils near 33.6 degF.
    const superheat = model.gas.value?.superheatK(model.latestValues.value.get("suction_line_temp") ?? NaN, model.latestValues.value.get("suction_pressure") ?? NaN);
    expect(superheat).toBeCloseTo((45 - 33.6) / 1.8, 0);

    const typo = model.typed.value[1];
    await model.withdraw(typo?.id ?? "", "mistyped");
    expect(model.latestValues.value.has("suction_line_temp")).toBe(false);

    net.up = true;
    await app.sync();
    expect(app.waiting.value).toBe(0);
    expect(app.troubles.value).toEqual([]);
    expect(net.service.taken).toEqual([
      "put /api/units/u 1", "put /api/visits/v 1", "put /api/visits/v 2", "batch 0", "batch 1", "batch 2", "batch 3",
    ]);
    expect(new Set(net.service.rows.map((row) => row.id)).size).toBe(3);
    expect(app.record<{ version: number }>("visits", "v")?.version).toBe(2);
  });

  it("warns on the device before the ceiling is met", async () => {
    const net = new FakeNet();
    net.up = false;
    let steady = 0;
    const app = await device(net, undefined, new Clock(() => 1e12, () => steady));
    await app.put("units", "u", UNIT);
    await app.put("visits", "v", VISIT);
    const model = await opened(app);
    await model.type("liquid_pressure", "391 psig");
    expect(model.alarm.value).toBeNull();
    // Typed a minute apart, as a person does.
    steady += 60_000;
    await model.type("liquid_pressure", "465 psig");
    expect(model.alarm.value?.by).toBe("device");
    expect(model.alarm.value?.belowK).toBeGreaterThan(0);
    expect(model.alarm.value?.belowK).toBeLessThan(3);
    steady += 60_000;
    await model.type("liquid_pressure", "300 psig");
    expect(model.alarm.value).toBeNull();
  });

  it("closes on the device, and is judged when the signal is back", async () => {
    const net = new FakeNet();
    net.up = false;
    const app = await device(net);
    await app.put("units", "u", UNIT);
    await app.put("visits", "v", VISIT);
    const model = await opened(app);
    await model.type("liquid_pressure", "391 psig");
    await model.close(true);
    await model.sign("A. Field", "technician", new ArrayBuffer(8));
    expect(model.open.value).toBe(false);
    net.up = true;
    await app.sync();
    expect(net.service.taken.slice(-3)).toEqual(["post /api/visits/v/close", expect.stringMatching(/^bytes .*attachments/), "post /api/visits/v/sign"]);
  });
});

describe("two devices", () => {
  it("keep both words on a plate and let a person choose", async () => {
    const net = new FakeNet();
    const [one, two] = [await device(net), await device(net)];
    await one.put("units", "u", UNIT);
    await one.sync();
    await two.sync();
    expect(two.units.value.map((unit) => unit.name)).toEqual(["Cabin 4"]);
    await one.put("units", "u", { ...UNIT, note: "from one" });
    await one.sync();
    net.up = false;
    await two.put("units", "u", { ...UNIT, note: "from two" });
    expect(two.record<{ note: string }>("units", "u")?.note).toBe("from two");
    net.up = true;
    await two.sync();
    expect(net.service.records.get("/api/units/u")).toMatchObject({ note: "from one", version: 2 });
    expect(two.troubles.value.length).toBe(1);
    // Still this device's own words on its screen, until somebody chooses.
    expect(two.record<{ note: string }>("units", "u")?.note).toBe("from two");
    await two.keepMine(two.troubles.value[0]!);
    await two.sync();
    expect(net.service.records.get("/api/units/u")).toMatchObject({ note: "from two", version: 3 });
    expect(two.troubles.value).toEqual([]);
  });

  it("take the other's word when asked to, and keep their own in the journal", async () => {
    const net = new FakeNet();
    const [one, two] = [await device(net), await device(net)];
    await one.put("units", "u", UNIT);
    await one.sync();
    await two.sync();
    await one.put("units", "u", { ...UNIT, note: "from one" });
    await one.sync();
    await two.put("units", "u", { ...UNIT, note: "from two" });
    await two.sync();
    await two.keepTheirs(two.troubles.value[0]!);
    expect(two.record<{ note: string }>("units", "u")?.note).toBe("from one");
    expect((await two.shelf.journal()).length).toBe(1);
  });
});

describe("the session", () => {
  it("gets a new token by itself when the old one has gone", async () => {
    const net = new FakeNet();
    const app = await device(net);
    await app.hello();
    net.csrf = "newer";
    await app.put("units", "u", UNIT);
    await app.send();
    expect(net.service.records.has("/api/units/u")).toBe(true);
    expect(net.calls.filter((call) => call === "GET /api/session").length).toBe(2);
  });

  it("keeps all that waits while nobody is signed in", async () => {
    const net = new FakeNet();
    net.session = { ...net.session, mode: "shop", account: null };
    const app = await device(net);
    await app.put("units", "u", UNIT);
    await app.sync();
    expect(app.mustSignIn.value).toBe(true);
    expect(app.waiting.value).toBe(1);
    expect(net.service.records.size).toBe(0);
  });
});

describe("the device's storage", () => {
  it("says loudly when something cannot be saved", async () => {
    const net = new FakeNet();
    const app = await device(net);
    vi.spyOn(app.shelf, "append").mockRejectedValue(new Error("the disk is gone"));
    await expect(app.put("units", "u", UNIT)).rejects.toThrow(NotSaved);
    expect(app.storageFault.value).toEqual({ full: false, why: "the disk is gone" });
  });
});
