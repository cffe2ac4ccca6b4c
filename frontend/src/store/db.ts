/** IndexedDB: the journal, what became of it, and copies of what the service has. */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import { StorageFull, type Entry, type Fate, type NewWork } from "../model/journal.ts";

/** As it lies in the journal. Before version 2 of the shape, bytes lay in their entry and its size did not. */
type Row = Entry & { about?: string; bytes?: ArrayBuffer };

interface Shape extends DBSchema {
  journal: { key: number; value: Row; indexes: { about: string } };
  /** Numbers of the entries that wait, so that finding the next does not read what was sent. */
  queue: { key: number; value: { n: number; path: string } };
  fates: { key: number; value: Fate };
  /** Photos, signatures and logs by the number of their entry, until the service has them. */
  bytes: { key: number; value: ArrayBuffer };
  /** Next sequence of this device for each visit. */
  sequences: { key: string; value: number };
  /** Copies: a path of the service, and what it last said. */
  copies: { key: string; value: { path: string; at_s: number; body: unknown } };
  settings: { key: string; value: unknown };
}

const SAFE = { durability: "strict" } as const;
/** Entries gone over in one transaction when old bytes are let go. */
const FEW = 5;
const LET_GO = "bytes-let-go";

/** What the outbox and the pages need of storage. */
export class Shelf {
  /** Copies that found no room: there as long as the page is open. */
  private readonly unkept = new Map<string, unknown>();

  private constructor(private readonly db: IDBPDatabase<Shape>) {}

  /** `onBlocked` is told when another tab still holds the shape of before. */
  static async open(name = "firstfrost", onBlocked: () => void = () => {}): Promise<Shelf> {
    const db = await openDB<Shape>(name, 2, {
      upgrade(base, before) {
        if (before < 1) {
          base.createObjectStore("journal", { keyPath: "n", autoIncrement: true }).createIndex("about", "about");
          base.createObjectStore("queue", { keyPath: "n" });
          base.createObjectStore("fates", { keyPath: "n" });
          base.createObjectStore("sequences");
          base.createObjectStore("copies", { keyPath: "path" });
          base.createObjectStore("settings");
        }
        base.createObjectStore("bytes");
      },
      blocked: onBlocked,
    });
    return new Shelf(db);
  }

  /** Append to the journal; resolves once it is on the disk, which is what "saved" means on the pages.
   *
   * Throws StorageFull where there is no room: then nothing of it is there, and no sequence is used up.
   */
  async append(work: NewWork, atS: number): Promise<Entry> {
    const tx = this.db.transaction(["journal", "queue", "sequences", "bytes"], "readwrite", SAFE);
    return whole(tx, async () => {
      let row: Omit<Entry, "n">;
      if (work.kind === "batch") {
        const sequence = (await tx.objectStore("sequences").get(work.visit)) ?? 0;
        await tx.objectStore("sequences").put(sequence + 1, work.visit);
        row = { ...work, sequence, at_s: atS } as Omit<Entry, "n">;
      } else if (work.kind === "put") {
        const chained = (await tx.objectStore("queue").getAll()).some((waits) => waits.path === `put ${work.path}`);
        row = { ...work, chained, at_s: atS } as Omit<Entry, "n">;
      } else if (work.kind === "bytes") {
        const { bytes, ...rest } = work;
        row = { ...rest, size: bytes.byteLength, at_s: atS } as Omit<Entry, "n">;
      } else {
        row = { ...work, at_s: atS } as Omit<Entry, "n">;
      }
      const n = await tx.objectStore("journal").add({ ...row, ...about(work) } as Row);
      if (work.kind === "bytes") await tx.objectStore("bytes").add(work.bytes, n);
      await tx.objectStore("queue").put({ n, path: `${work.kind} ${"path" in work ? work.path : work.visit}` });
      return { ...row, n } as Entry;
    });
  }

  async journal(): Promise<Entry[]> {
    return (await this.db.getAll("journal")).map(light);
  }

  /** Entries about one visit, or photos of one unit, in order. */
  async journalOf(id: string): Promise<Entry[]> {
    return (await this.db.getAllFromIndex("journal", "about", id)).map(light);
  }

  async entry(n: number): Promise<Entry | undefined> {
    const row = await this.db.get("journal", n);
    return row && light(row);
  }

  /** The bytes of an entry, as long as they are here. */
  async bytesOf(n: number): Promise<ArrayBuffer | undefined> {
    return (await this.db.get("bytes", n)) ?? (await this.db.get("journal", n))?.bytes;
  }

  /** What became of each entry that does not wait. */
  async fates(): Promise<Map<number, Fate>> {
    const tx = this.db.transaction(["journal", "queue", "fates"]);
    const [numbers, waiting, told] = await Promise.all([
      tx.objectStore("journal").getAllKeys(), tx.objectStore("queue").getAllKeys(), tx.objectStore("fates").getAll(),
    ]);
    const fates = new Map(told.map((fate) => [fate.n, fate]));
    const waits = new Set(waiting);
    for (const n of numbers) if (!waits.has(n) && !fates.has(n)) fates.set(n, { n, state: "sent", at_s: null });
    return fates;
  }

  /** How many entries wait. */
  async count(): Promise<number> {
    return this.db.count("queue");
  }

  /** The oldest entry that waits. */
  async next(): Promise<Entry | undefined> {
    const tx = this.db.transaction(["journal", "queue"]);
    const first = await tx.objectStore("queue").openCursor();
    const row = first && (await tx.objectStore("journal").get(first.key));
    return row ? light(row) : undefined;
  }

  /** Entries that wait, in order; the first so many. */
  async waiting(most?: number): Promise<Entry[]> {
    const tx = this.db.transaction(["journal", "queue"]);
    const keys = await tx.objectStore("queue").getAllKeys(undefined, most);
    const found = await Promise.all(keys.map((n) => tx.objectStore("journal").get(n)));
    return found.filter((row) => row !== undefined).map(light);
  }

  /** Write down what became of an entry; in the same transaction its bytes go, unless the service refused them.
   *
   * On a device without any room what was sent still goes off the queue, as taking away needs none: else nothing
   * could be sent there, and no room made.
   */
  async setFate(fate: Fate): Promise<void> {
    try {
      await this.settle(fate, true);
    } catch (err) {
      if (!(err instanceof StorageFull) || fate.state !== "sent") throw err;
      await this.settle(fate, false);
    }
  }

  private async settle(fate: Fate, tell: boolean): Promise<void> {
    const tx = this.db.transaction(["journal", "bytes", "fates", "queue"], "readwrite", SAFE);
    await whole(tx, async () => {
      if (tell) await tx.objectStore("fates").put(fate);
      await tx.objectStore("queue").delete(fate.n);
      if (fate.state === "refused") return;
      await tx.objectStore("bytes").delete(fate.n);
      const row = tell ? await tx.objectStore("journal").get(fate.n) : undefined;
      if (row?.bytes) await tx.objectStore("journal").put(light(row));
    });
  }

  /** Let go of bytes that lie in entries of before and that the service has: once, a few at a time. Tells how many. */
  async letGo(): Promise<number> {
    let gone = 0;
    let after = (await this.setting<number>(LET_GO)) ?? 0;
    while (after < Infinity) {
      const tx = this.db.transaction(["journal", "fates", "queue", "settings"], "readwrite", SAFE);
      after = await whole(tx, async () => {
        const rows = await tx.objectStore("journal").getAll(IDBKeyRange.lowerBound(after, true), FEW);
        for (const row of rows) {
          if (!row.bytes || (await tx.objectStore("queue").get(row.n))) continue;
          if ((await tx.objectStore("fates").get(row.n))?.state === "refused") continue;
          await tx.objectStore("journal").put(light(row));
          gone++;
        }
        // What waits in this shape still is let go with its fate.
        const next = rows.length < FEW ? Infinity : (rows.at(-1)?.n ?? Infinity);
        await tx.objectStore("settings").put(next, LET_GO);
        return next;
      });
    }
    return gone;
  }

  /** Put a refused entry back in the queue. */
  async again(entry: Entry): Promise<void> {
    const tx = this.db.transaction(["fates", "queue"], "readwrite", SAFE);
    await whole(tx, async () => {
      await tx.objectStore("fates").delete(entry.n);
      await tx.objectStore("queue").put({ n: entry.n, path: `${entry.kind} ${"path" in entry ? entry.path : entry.visit}` });
    });
  }

  async copy<T>(path: string): Promise<T | undefined> {
    return (this.unkept.get(path) ?? (await this.db.get("copies", path))?.body) as T | undefined;
  }

  async copies(prefix: string): Promise<{ path: string; body: unknown }[]> {
    return this.db.getAll("copies", IDBKeyRange.bound(prefix, `${prefix}\uffff`));
  }

  /** Keep a copy, or hold it in memory where there is no room: the service has it, and room is for what it has not. */
  async keepCopy(path: string, body: unknown, atS: number): Promise<void> {
    const tx = this.db.transaction("copies", "readwrite");
    try {
      await whole(tx, () => tx.store.put({ path, at_s: atS, body }));
      this.unkept.delete(path);
    } catch (err) {
      if (!(err instanceof StorageFull)) throw err;
      this.unkept.set(path, body);
    }
  }

  async dropCopy(path: string): Promise<void> {
    this.unkept.delete(path);
    await this.db.delete("copies", path);
  }

  async setting<T>(key: string): Promise<T | undefined> {
    return (await this.db.get("settings", key)) as T | undefined;
  }

  async keepSetting(key: string, value: unknown): Promise<void> {
    const tx = this.db.transaction("settings", "readwrite");
    await whole(tx, () => tx.store.put(value, key));
  }

  close(): void {
    this.db.close();
  }
}

interface Transaction {
  done: Promise<void>;
  error: DOMException | null;
  abort(): void;
}

/** All of a transaction or nothing, and StorageFull where there was no room: browsers tell it at the write or at the end. */
async function whole<T>(tx: Transaction, work: () => Promise<T>): Promise<T> {
  try {
    const result = await work();
    await tx.done;
    return result;
  } catch (err) {
    try {
      tx.abort();
    } catch {
      // It has ended already.
    }
    await tx.done.catch(() => {});
    if ([err, tx.error].some((one) => (one as Error | null)?.name === "QuotaExceededError")) {
      throw new StorageFull("no room", { cause: err });
    }
    throw err;
  }
}

/** An entry without the bytes that entries of before carry. */
function light({ bytes, ...rest }: Row): Row {
  return bytes && rest.kind === "bytes" ? { ...rest, size: bytes.byteLength } : (rest as Row);
}

/** The visit that work is about, or the unit that a photo is of, for the index. */
function about(work: NewWork): { about?: string } {
  const id = work.kind === "batch" ? work.visit : /^\/api\/(?:visits\/([^/]+)|units\/([^/]+)\/attachments\/)/.exec(work.path)?.slice(1).find(Boolean);
  return id ? { about: id } : {};
}
