/** IndexedDB: the journal, what became of it, and copies of what the service has. */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Entry, Fate, NewWork } from "../model/journal.ts";

interface Shape extends DBSchema {
  journal: { key: number; value: Entry & { about?: string }; indexes: { about: string } };
  /** Numbers of the entries that wait, so that finding the next does not read every photo. */
  queue: { key: number; value: { n: number; path: string } };
  fates: { key: number; value: Fate };
  /** Next sequence of this device for each visit. */
  sequences: { key: string; value: number };
  /** Copies: a path of the service, and what it last said. */
  copies: { key: string; value: { path: string; at_s: number; body: unknown } };
  settings: { key: string; value: unknown };
}

const SAFE = { durability: "strict" } as const;

/** What the outbox and the pages need of storage. */
export class Shelf {
  private constructor(private readonly db: IDBPDatabase<Shape>) {}

  static async open(name = "firstfrost"): Promise<Shelf> {
    const db = await openDB<Shape>(name, 1, {
      upgrade(base) {
        base.createObjectStore("journal", { keyPath: "n", autoIncrement: true }).createIndex("about", "about");
        base.createObjectStore("queue", { keyPath: "n" });
        base.createObjectStore("fates", { keyPath: "n" });
        base.createObjectStore("sequences");
        base.createObjectStore("copies", { keyPath: "path" });
        base.createObjectStore("settings");
      },
    });
    return new Shelf(db);
  }

  /** Append to the journal; resolves once it is on the disk, which is what "saved" means on the pages. */
  async append(work: NewWork, atS: number): Promise<Entry> {
    const tx = this.db.transaction(["journal", "queue", "sequences"], "readwrite", SAFE);
    let whole: Omit<Entry, "n">;
    if (work.kind === "batch") {
      const sequence = (await tx.objectStore("sequences").get(work.visit)) ?? 0;
      await tx.objectStore("sequences").put(sequence + 1, work.visit);
      whole = { ...work, sequence, at_s: atS } as Omit<Entry, "n">;
    } else if (work.kind === "put") {
      const chained = (await tx.objectStore("queue").getAll()).some((row) => row.path === `put ${work.path}`);
      whole = { ...work, chained, at_s: atS } as Omit<Entry, "n">;
    } else {
      whole = { ...work, at_s: atS } as Omit<Entry, "n">;
    }
    const n = await tx.objectStore("journal").add({ ...whole, ...about(work) } as Entry & { about?: string });
    await tx.objectStore("queue").put({ n, path: `${work.kind} ${"path" in work ? work.path : work.visit}` });
    await tx.done;
    return { ...whole, n } as Entry;
  }

  async journal(): Promise<Entry[]> {
    return this.db.getAll("journal");
  }

  /** Entries about one visit, in order. */
  async journalOf(visit: string): Promise<Entry[]> {
    return this.db.getAllFromIndex("journal", "about", visit);
  }

  async entry(n: number): Promise<Entry | undefined> {
    return this.db.get("journal", n);
  }

  async fates(): Promise<Map<number, Fate>> {
    return new Map((await this.db.getAll("fates")).map((fate) => [fate.n, fate]));
  }

  /** How many entries wait. */
  async count(): Promise<number> {
    return this.db.count("queue");
  }

  /** The oldest entry that waits. */
  async next(): Promise<Entry | undefined> {
    const tx = this.db.transaction(["journal", "queue"]);
    const first = await tx.objectStore("queue").openCursor();
    return first ? tx.objectStore("journal").get(first.key) : undefined;
  }

  /** Entries that wait, in order. */
  async waiting(): Promise<Entry[]> {
    const tx = this.db.transaction(["journal", "queue"]);
    const keys = await tx.objectStore("queue").getAllKeys();
    const found = await Promise.all(keys.map((n) => tx.objectStore("journal").get(n)));
    return found.filter((entry) => entry !== undefined);
  }

  async setFate(fate: Fate): Promise<void> {
    const tx = this.db.transaction(["fates", "queue"], "readwrite", SAFE);
    await tx.objectStore("fates").put(fate);
    await tx.objectStore("queue").delete(fate.n);
    await tx.done;
  }

  /** Put a refused entry back in the queue. */
  async again(entry: Entry): Promise<void> {
    const tx = this.db.transaction(["fates", "queue"], "readwrite", SAFE);
    await tx.objectStore("fates").delete(entry.n);
    await tx.objectStore("queue").put({ n: entry.n, path: `${entry.kind} ${"path" in entry ? entry.path : entry.visit}` });
    await tx.done;
  }

  async copy<T>(path: string): Promise<T | undefined> {
    return (await this.db.get("copies", path))?.body as T | undefined;
  }

  async copies(prefix: string): Promise<{ path: string; body: unknown }[]> {
    return this.db.getAll("copies", IDBKeyRange.bound(prefix, `${prefix}\uffff`));
  }

  async keepCopy(path: string, body: unknown, atS: number): Promise<void> {
    await this.db.put("copies", { path, at_s: atS, body });
  }

  async dropCopy(path: string): Promise<void> {
    await this.db.delete("copies", path);
  }

  async setting<T>(key: string): Promise<T | undefined> {
    return (await this.db.get("settings", key)) as T | undefined;
  }

  async keepSetting(key: string, value: unknown): Promise<void> {
    await this.db.put("settings", value, key);
  }

  close(): void {
    this.db.close();
  }
}

/** The visit that work is about, for the index. */
function about(work: NewWork): { about?: string } {
  const visit = work.kind === "batch" ? work.visit : /^\/api\/visits\/([^/]+)/.exec(work.path)?.[1];
  return visit ? { about: visit } : {};
}
