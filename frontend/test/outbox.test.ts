import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";
import { differences, mergeRows } from "../src/model/journal.ts";
import { Clock } from "../src/model/clock.ts";
import { drain } from "../src/model/outbox.ts";
import { Shelf } from "../src/store/db.ts";
import { error, FakeService } from "./service.ts";

let shelf: Shelf;
let names = 0;
const NO_SIGNAL = { status: null, body: null, retryAfterS: null };
const typed = (id: string) => ({ typed: [{ id, time_s: 1, channel: "liquid_pressure", text: "318 psig" }] });

beforeEach(async () => {
  shelf = await Shelf.open(`test-${names++}`);
});

describe("the journal", () => {
  it("numbers the batches of each visit without a gap, and survives closing the tab", async () => {
    const name = `kept-${names++}`;
    let kept = await Shelf.open(name);
    for (let i = 0; i < 3; i++) await kept.append({ kind: "batch", visit: "v", body: typed(`a${i}`) }, i);
    kept.close();
    kept = await Shelf.open(name);
    await kept.append({ kind: "batch", visit: "v", body: typed("a3") }, 3);
    await kept.append({ kind: "batch", visit: "w", body: typed("b0") }, 4);
    const all = await kept.waiting();
    expect(all.map((e) => (e.kind === "batch" ? `${e.visit}${e.sequence}` : ""))).toEqual(["v0", "v1", "v2", "v3", "w0"]);
  });
});

describe("sending", () => {
  it("goes in order, once each, whatever the signal does", async () => {
    const service = new FakeService();
    await shelf.append({ kind: "put", path: "/api/units/u", base: 0, body: { name: "A" } }, 0);
    await shelf.append({ kind: "put", path: "/api/visits/v", base: 0, body: { unit_id: "u" } }, 0);
    for (let i = 0; i < 40; i++) await shelf.append({ kind: "batch", visit: "v", body: typed(`r${i}`) }, i);
    await shelf.append({ kind: "post", path: "/api/visits/v/close", body: {} }, 50);
    let calls = 0;
    // Each third request never arrives; each fifth arrives and its answer is lost.
    service.weather = () => (++calls % 3 === 0 ? NO_SIGNAL : calls % 5 === 0 ? "lost" : null);
    let tries = 0;
    while ((await drain(shelf, service.transport("client-1"), () => 1)).why !== "empty") expect(++tries).toBeLessThan(200);
    expect(tries).toBeGreaterThan(10);
    expect(service.rows.map((row) => row.id)).toEqual(Array.from({ length: 40 }, (_, i) => `r${i}`));
    expect(service.conflicts).toBe(0);
    expect(service.taken.filter((text) => text.startsWith("batch"))).toEqual(Array.from({ length: 40 }, (_, i) => `batch ${i}`));
    expect(service.taken.at(0)).toBe("put /api/units/u 1");
    expect(service.taken.at(-1)).toBe("post /api/visits/v/close");
    expect(await shelf.count()).toBe(0);
    expect((await shelf.journal()).length).toBe(43);
  });

  it("joins two devices on one visit", async () => {
    const service = new FakeService();
    const other = await Shelf.open(`test-${names++}`);
    await shelf.append({ kind: "batch", visit: "v", body: typed("mine") }, 0);
    await other.append({ kind: "batch", visit: "v", body: typed("theirs") }, 0);
    await drain(shelf, service.transport("client-1"), () => 1);
    await drain(other, service.transport("client-2"), () => 1);
    expect(service.rows.map((row) => row.id).sort()).toEqual(["mine", "theirs"]);
  });

  it("brings several edits made without signal as versions of one record", async () => {
    const service = new FakeService();
    for (const name of ["A", "B", "C"]) await shelf.append({ kind: "put", path: "/api/units/u", base: 0, body: { name } }, 0);
    await drain(shelf, service.transport("client-1"), () => 1);
    expect(service.records.get("/api/units/u")).toEqual({ name: "C", version: 3 });
  });

  it("never overwrites what another device changed: it keeps both and goes on with the rest", async () => {
    const service = new FakeService();
    service.records.set("/api/units/u", { name: "theirs", version: 5 });
    await shelf.append({ kind: "put", path: "/api/units/u", base: 4, body: { name: "mine" } }, 0);
    await shelf.append({ kind: "batch", visit: "v", body: typed("r") }, 1);
    await drain(shelf, service.transport("client-1"), () => 2);
    expect(service.records.get("/api/units/u")).toEqual({ name: "theirs", version: 5 });
    expect(service.rows.length).toBe(1);
    const [fate] = [...(await shelf.fates()).values()];
    expect(fate).toMatchObject({ state: "refused", code: "changed", current: { name: "theirs", version: 5 } });
    expect((await shelf.journal())[0]).toMatchObject({ body: { name: "mine" } });
  });

  it("stops for a sign-in and keeps all that waits", async () => {
    const service = new FakeService();
    service.weather = () => error(401, "sign-in");
    await shelf.append({ kind: "batch", visit: "v", body: typed("r") }, 0);
    expect(await drain(shelf, service.transport("client-1"), () => 1)).toEqual({ why: "sign-in" });
    service.weather = () => ({ ...error(503, "store"), retryAfterS: 7 });
    expect(await drain(shelf, service.transport("client-1"), () => 1)).toEqual({ why: "signal", retryAfterS: 7 });
    expect(await shelf.count()).toBe(1);
  });

  it("counts a closing whose answer was lost as done", async () => {
    const service = new FakeService();
    service.weather = () => error(409, "state");
    await shelf.append({ kind: "post", path: "/api/visits/v/close", body: {} }, 0);
    await drain(shelf, service.transport("client-1"), () => 1);
    expect([...(await shelf.fates()).values()][0]?.state).toBe("sent");
  });

  it("can send a refused entry again", async () => {
    const service = new FakeService();
    const entry = await shelf.append({ kind: "batch", visit: "v", body: typed("r") }, 0);
    service.weather = () => error(403, "not-allowed");
    await drain(shelf, service.transport("client-1"), () => 1);
    expect(await shelf.count()).toBe(0);
    await shelf.again(entry);
    service.weather = () => null;
    await drain(shelf, service.transport("client-1"), () => 1);
    expect(service.rows.length).toBe(1);
  });
});

describe("merging", () => {
  it("takes a row that comes twice as one, and a withdrawal whenever it comes", () => {
    const row: { id: string; time_s: number; act: string; client?: string; withdrawn?: boolean } = { id: "a", time_s: 5, act: "call-on" };
    const late = { id: "b", time_s: 3, act: "call-off" };
    const merged = mergeRows<typeof row>([[row, late], [{ ...row, client: "x" }]], new Set(["b"]));
    expect(merged).toEqual([
      { id: "b", time_s: 3, act: "call-off", withdrawn: true },
      { id: "a", time_s: 5, act: "call-on", client: "x", withdrawn: false },
    ]);
  });

  it("names each field in which two devices differ", () => {
    const mine = { version: 1, name: "A", plate: { unit: { refrigerant: "R-32" }, board: { interval: "60 min" } } };
    const theirs = { version: 2, name: "A", plate: { unit: { refrigerant: "R-410A" } }, extra: 1 };
    expect(differences(mine, theirs)).toEqual([
      ["plate.unit.refrigerant", "R-32", "R-410A"],
      ["plate.board", '{"interval":"60 min"}', "—"],
    ]);
  });
});

describe("the clock", () => {
  it("does not jump with the device's clock, and takes the service's", () => {
    let wall = 1_000_000;
    let steady = 0;
    const clock = new Clock(() => wall, () => steady);
    wall += 2_000;
    steady += 2_000;
    expect(clock.nowS()).toBeCloseTo(1002, 6);
    wall -= 3_600_000;
    steady += 1_000;
    expect(clock.nowS()).toBeCloseTo(1003, 6);
    clock.hear(5000, 0.2);
    expect(clock.nowS()).toBeCloseTo(5000.1, 6);
    clock.hear(5000.4, 0);
    expect(clock.nowS()).toBeCloseTo(5000.1, 6);
  });

  it("goes by the wall clock after a sleep", () => {
    let wall = 1_000_000;
    let steady = 0;
    const clock = new Clock(() => wall, () => steady);
    clock.hear(1010, 0);
    wall += 600_000;
    steady += 1_000;
    clock.wake();
    expect(clock.nowS()).toBeCloseTo(1610, 3);
  });
});
