/** Photos, logs and signatures: on the device until the service has them, and not a moment less; and a device that is full. */

import "fake-indexeddb/auto";
import { openDB } from "idb";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Http } from "../src/api/http.ts";
import { App } from "../src/model/app.ts";
import { NotSaved, StorageFull, type Entry } from "../src/model/journal.ts";
import { drain } from "../src/model/outbox.ts";
import { Shelf } from "../src/store/db.ts";
import { FakeNet } from "./fetch.ts";
import { error, FakeService } from "./service.ts";

let shelf: Shelf;
let service: FakeService;
let names = 0;
const NO_SIGNAL = { status: null, body: null, retryAfterS: null };
const PATH = "/api/visits/v/attachments/p";
const photo = (path = PATH, size = 300_000) => ({ kind: "bytes" as const, path, name: "plate.jpg", type: "image/jpeg", bytes: filled(size) });
const send = () => drain(shelf, service.transport("c"), () => 9);

function filled(size: number): ArrayBuffer {
  return Uint8Array.from({ length: size }, (_, i) => (i * 31) % 251).buffer;
}

beforeEach(async () => {
  shelf = await Shelf.open(`bytes-${names++}`);
  service = new FakeService();
});
afterEach(() => vi.restoreAllMocks());

describe("the bytes of a photo", () => {
  it("stay until the service has acknowledged them, and go with that", async () => {
    const { n } = await shelf.append(photo(), 7);
    service.weather = () => NO_SIGNAL;
    await send();
    expect((await shelf.bytesOf(n))?.byteLength).toBe(300_000);
    // It arrived, and the answer was lost: that is no acknowledgement.
    service.weather = () => "lost";
    await send();
    expect((await shelf.bytesOf(n))?.byteLength).toBe(300_000);
    service.weather = () => null;
    await send();
    expect(service.files.get(PATH)).toEqual(new Uint8Array(filled(300_000)));
    expect(await shelf.bytesOf(n)).toBeUndefined();
    expect(await shelf.entry(n)).toEqual({ kind: "bytes", path: PATH, name: "plate.jpg", type: "image/jpeg", size: 300_000, at_s: 7, n, about: "v" });
    expect((await shelf.fates()).get(n)).toEqual({ n, state: "sent", at_s: 9 });
  });

  it("go in the transaction of the fate: where that fails, both are as they were", async () => {
    const { n } = await shelf.append(photo(), 7);
    const real = IDBObjectStore.prototype.delete;
    vi.spyOn(IDBObjectStore.prototype, "delete").mockImplementation(function (this: IDBObjectStore, key) {
      const asked = real.call(this, key);
      if (this.name === "bytes") this.transaction.abort();
      return asked;
    });
    await expect(send()).rejects.toThrow();
    vi.restoreAllMocks();
    expect((await shelf.bytesOf(n))?.byteLength).toBe(300_000);
    expect((await shelf.fates()).size).toBe(0);
    expect(await shelf.count()).toBe(1);
    await send();
    expect(await shelf.bytesOf(n)).toBeUndefined();
  });

  it("stay with a refused one until it is sent again", async () => {
    const { n } = await shelf.append(photo(), 7);
    service.weather = () => error(415, "media-type");
    await send();
    expect((await shelf.fates()).get(n)?.state).toBe("refused");
    expect((await shelf.bytesOf(n))?.byteLength).toBe(300_000);
    await shelf.again((await shelf.entry(n)) as Entry);
    service.weather = () => null;
    await send();
    expect(service.files.get(PATH)?.length).toBe(300_000);
    expect(await shelf.bytesOf(n)).toBeUndefined();
  });

  it("stay with a refused one until it is dropped", async () => {
    const net = new FakeNet();
    const app = new App(shelf, new Http(net.fetch as typeof fetch));
    await app.load();
    net.service.weather = () => error(415, "media-type");
    const { n } = await app.add(photo());
    await app.sync();
    expect(app.troubles.value.length).toBe(1);
    expect((await shelf.bytesOf(n))?.byteLength).toBe(300_000);
    const [trouble] = app.troubles.value;
    if (trouble) await app.keepTheirs(trouble);
    expect(await shelf.bytesOf(n)).toBeUndefined();
    expect(await shelf.entry(n)).toMatchObject({ name: "plate.jpg", size: 300_000 });
  });

  it("are never sent as nothing", async () => {
    const { n } = await shelf.append(photo(), 7);
    const db = await openDB(`bytes-${names - 1}`);
    await db.delete("bytes", n);
    db.close();
    await send();
    expect(service.taken).toEqual([]);
    expect((await shelf.fates()).get(n)).toMatchObject({ state: "refused", code: "no-bytes" });
  });

  it("are found by their unit and their visit, and are not read with what waits", async () => {
    await shelf.append(photo("/api/units/u/attachments/a"), 1);
    await shelf.append(photo("/api/visits/v/attachments/b"), 2);
    await shelf.append({ kind: "put", path: "/api/units/u", base: 0, body: { name: "A" } }, 3);
    expect((await shelf.journalOf("u")).map((entry) => entry.n)).toEqual([1]);
    expect((await shelf.journalOf("v")).map((entry) => entry.n)).toEqual([2]);
    const waiting = await shelf.waiting();
    expect(waiting.length).toBe(3);
    expect(waiting.every((entry) => !("bytes" in entry))).toBe(true);
  });
});

describe("a journal of before, with the bytes in its entries", () => {
  /** Sixteen photos as they were written then: nine sent, one dropped, one refused, five that wait. */
  const STATES = ["sent", "refused", "dropped", ...Array.from({ length: 8 }, () => "sent"), ...Array.from({ length: 5 }, () => null)];

  async function before(): Promise<string> {
    const name = `before-${names++}`;
    const db = await openDB(name, 1, {
      upgrade(base) {
        base.createObjectStore("journal", { keyPath: "n", autoIncrement: true }).createIndex("about", "about");
        base.createObjectStore("queue", { keyPath: "n" });
        base.createObjectStore("fates", { keyPath: "n" });
        base.createObjectStore("sequences");
        base.createObjectStore("copies", { keyPath: "path" });
        base.createObjectStore("settings");
      },
    });
    for (const [i, state] of STATES.entries()) {
      const n = await db.add("journal", { ...photo(`/api/visits/v/attachments/p${i}`, 1000 + i), at_s: i, about: "v" });
      if (state) await db.put("fates", { n, state, at_s: i });
      else await db.put("queue", { n, path: `bytes /api/visits/v/attachments/p${i}` });
    }
    db.close();
    return name;
  }

  const held = async (): Promise<number[]> => {
    const sizes = await Promise.all(STATES.map(async (_, i) => (await shelf.bytesOf(i + 1))?.byteLength ?? 0));
    return sizes;
  };

  it("lets go of what was sent, a few at a time, and of nothing else", async () => {
    shelf = await Shelf.open(await before());
    const read = vi.spyOn(IDBObjectStore.prototype, "getAll");
    expect(await shelf.letGo()).toBe(10);
    expect(read.mock.calls.filter(([range]) => range !== undefined).map(([, most]) => most)).toEqual([5, 5, 5, 5]);
    expect(await held()).toEqual(STATES.map((state, i) => (state === "refused" || state === null ? 1000 + i : 0)));
    expect((await shelf.journal()).map((entry) => (entry.kind === "bytes" ? entry.size : 0))).toEqual(STATES.map((_, i) => 1000 + i));
    // Once: the next start reads nothing of it.
    read.mockClear();
    expect(await shelf.letGo()).toBe(0);
    expect(read).not.toHaveBeenCalled();
    // What waited then is sent whole, and let go with that.
    await send();
    expect(service.files.size).toBe(5);
    expect(service.files.get("/api/visits/v/attachments/p15")).toEqual(new Uint8Array(filled(1015)));
    expect((await held()).filter(Boolean)).toEqual([1001]);
  });

  it("waits for the tab that still holds it as it was, and says so", async () => {
    const name = await before();
    const old = await openDB(name, 1);
    const blocked = vi.fn(() => old.close());
    shelf = await Shelf.open(name, blocked);
    expect(blocked).toHaveBeenCalledOnce();
    expect((await shelf.journal()).length).toBe(STATES.length);
  });

  it("goes on where it was broken off", async () => {
    const name = await before();
    shelf = await Shelf.open(name);
    let puts = 0;
    const real = IDBObjectStore.prototype.put;
    vi.spyOn(IDBObjectStore.prototype, "put").mockImplementation(function (this: IDBObjectStore, ...args) {
      if (this.name === "journal" && ++puts === 6) throw new DOMException("gone", "InvalidStateError");
      return real.apply(this, args as [unknown]);
    });
    await expect(shelf.letGo()).rejects.toThrow("gone");
    vi.restoreAllMocks();
    shelf.close();
    shelf = await Shelf.open(name);
    expect(await shelf.letGo()).toBe(6);
    expect((await held()).filter(Boolean).length).toBe(6);
  });
});

describe("a device without room", () => {
  /** Browsers tell it at the write, or only when the transaction is to end. */
  const FULL: Record<string, () => void> = {
    "at the write": () => {
      const real = IDBObjectStore.prototype.add;
      vi.spyOn(IDBObjectStore.prototype, "add").mockImplementation(function (this: IDBObjectStore, ...args) {
        if (this.name === "journal") throw new DOMException("full", "QuotaExceededError");
        return real.apply(this, args as [unknown]);
      });
    },
    "at the end": () => {
      const real = IDBObjectStore.prototype.put;
      vi.spyOn(IDBObjectStore.prototype, "put").mockImplementation(function (this: IDBObjectStore, ...args) {
        const asked = real.apply(this, args as [unknown]);
        // The stand-in's own way to end a transaction with an error of its choice.
        if (this.name === "queue") (this.transaction as unknown as { _abort: (why: string) => void })._abort("QuotaExceededError");
        return asked;
      });
    },
  };

  it.each(Object.keys(FULL))("says so (%s), and nothing is half there", async (when) => {
    const net = new FakeNet();
    net.up = false;
    const app = new App(shelf, new Http(net.fetch as typeof fetch));
    await app.load();
    const typed = { kind: "batch" as const, visit: "v", body: { typed: [{ id: "a", time_s: 1, channel: "suction_pressure", text: "105 psig" }] } };
    FULL[when]?.();
    await expect(shelf.append(typed, 0)).rejects.toThrow(StorageFull);
    await expect(app.add(typed)).rejects.toThrow(NotSaved);
    await expect(app.add(photo())).rejects.toThrow(NotSaved);
    expect(app.storageFault.value?.full).toBe(true);
    expect(app.waiting.value).toBe(0);
    vi.restoreAllMocks();
    expect(await shelf.count()).toBe(0);
    expect(await shelf.journal()).toEqual([]);
    // With room again the first is the first: no sequence was used up.
    const entry = await app.add(typed);
    expect(entry).toMatchObject({ kind: "batch", sequence: 0 });
    expect(app.storageFault.value).toBeNull();
    expect(await shelf.count()).toBe(1);
  });

  const noFates = (): void => {
    const real = IDBObjectStore.prototype.put;
    vi.spyOn(IDBObjectStore.prototype, "put").mockImplementation(function (this: IDBObjectStore, ...args) {
      if (this.name === "fates" || this.name === "copies") throw new DOMException("full", "QuotaExceededError");
      return real.apply(this, args as [unknown]);
    });
  };

  it("sends all the same: taking off the queue needs no room, and what came back is held in memory", async () => {
    for (const name of ["A", "B"]) await shelf.append({ kind: "put", path: "/api/units/u", base: 0, body: { name } }, 0);
    const { n } = await shelf.append(photo(), 0);
    noFates();
    expect(await send()).toEqual({ why: "empty" });
    vi.restoreAllMocks();
    // The second put was made from what the first became, though no copy of that could be kept.
    expect(service.records.get("/api/units/u")).toEqual({ name: "B", version: 2 });
    expect(service.files.get(PATH)?.length).toBe(300_000);
    expect(await shelf.bytesOf(n)).toBeUndefined();
    expect([...(await shelf.fates()).values()]).toEqual([1, 2, 3].map((one) => ({ n: one, state: "sent", at_s: null })));
    expect(await shelf.copy("/api/units/u")).toEqual({ name: "B", version: 2 });
  });

  it("keeps what is refused until that can be written down, and tries again by itself", async () => {
    vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout"] });
    try {
      const net = new FakeNet();
      const app = new App(shelf, new Http(net.fetch as typeof fetch));
      await app.load();
      await shelf.append(photo(), 0);
      net.service.weather = () => error(415, "media-type");
      noFates();
      await app.hello();
      await app.send();
      expect(app.storageFault.value?.full).toBe(true);
      expect(await shelf.count()).toBe(1);
      vi.restoreAllMocks();
      await vi.advanceTimersByTimeAsync(30_000);
      await vi.waitFor(async () => expect(await shelf.count()).toBe(0));
      expect((await shelf.fates()).get(1)?.state).toBe("refused");
      expect((await shelf.bytesOf(1))?.byteLength).toBe(300_000);
    } finally {
      vi.useRealTimers();
    }
  });
});
