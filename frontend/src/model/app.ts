/** The state of the whole: session, records, what waits to be sent. Signals only; no DOM. */

import { batch, computed, signal, type ReadonlySignal } from "@preact/signals";
import { Http, ServiceError } from "../api/http.ts";
import type { Session, Site, Unit, Visit } from "../api/types.ts";
import type { Shelf } from "../store/db.ts";
import { Clock } from "./clock.ts";
import { NotSaved, StorageFull, type Entry, type Fate, type NewWork } from "./journal.ts";
import { drain, recordIn, type Transport } from "./outbox.ts";
import type { System } from "./units.ts";

export interface Prefs {
  system: System;
  theme: "auto" | "light" | "dark";
  sound: boolean;
  vibrate: boolean;
  name: string;
}
const DEFAULT_PREFS: Prefs = { system: "us", theme: "auto", sound: true, vibrate: true, name: "" };

export type Thing = "sites" | "units" | "visits";
export interface Trouble {
  entry: Entry;
  fate: Fate;
}
/** Runs the sender in one tab at a time. */
export type Lock = (task: () => Promise<void>) => Promise<void>;

const RETRY_S = [2, 5, 10, 20, 30];

export class App {
  readonly session = signal<Session | null>(null);
  /** Whether the service answered last; null before the first try. */
  readonly reached = signal<boolean | null>(null);
  readonly waiting = signal(0);
  readonly sending = signal(false);
  readonly mustSignIn = signal(false);
  readonly troubles = signal<Trouble[]>([]);
  readonly prefs = signal<Prefs>(DEFAULT_PREFS);
  readonly ready = signal(false);
  /** Something that could not be written to the device's own storage: the one thing that must never be missed. */
  readonly storageFault = signal<{ full: boolean; why: string } | null>(null);
  client = "";

  private readonly stored = signal<ReadonlyMap<string, Record<string, unknown>>>(new Map());
  /** What this device has put and not sent yet, by path. */
  private readonly pending = signal<ReadonlyMap<string, Record<string, unknown>>>(new Map());
  private readonly listeners = new Set<(entry: Entry, fate: Fate | null) => void>();
  private tries = 0;
  private round: Promise<void> = Promise.resolve();
  private queued: Promise<void> | null = null;
  private timer: ReturnType<typeof setTimeout> | null = null;
  private transport: Transport | null = null;

  readonly sites: ReadonlySignal<Site[]> = computed(() => this.all<Site>("sites", (a, b) => compare(a.name, b.name)));
  readonly units: ReadonlySignal<Unit[]> = computed(() => this.all<Unit>("units", (a, b) => compare(a.name, b.name)));
  readonly visits: ReadonlySignal<Visit[]> = computed(() =>
    this.all<Visit>("visits", (a, b) => (b.started_s ?? Infinity) - (a.started_s ?? Infinity)),
  );
  readonly mayWrite = computed(() => {
    const account = this.session.value?.account;
    return account ? account.role !== "read-only" : true;
  });
  readonly isLead = computed(() => this.session.value?.account?.role === "lead");

  constructor(
    readonly shelf: Shelf,
    readonly http: Http,
    private readonly lock: Lock = (task) => task(),
    readonly clock: Clock = new Clock(),
  ) {
    http.onReach = (reached) => {
      const back = reached && this.reached.value === false;
      this.reached.value = reached;
      if (back) this.soon(0);
    };
  }

  /** Load what the device holds; then the pages work, with signal or without. */
  async load(): Promise<void> {
    const [prefs, session, copies, waiting, fates, client] = await Promise.all([
      this.shelf.setting<Prefs>("prefs"),
      this.shelf.setting<Session>("session"),
      this.shelf.copies("/api/"),
      this.shelf.waiting(),
      this.shelf.fates(),
      this.shelf.setting<string>("client"),
    ]);
    this.client = client ?? crypto.randomUUID();
    if (!client) await this.shelf.keepSetting("client", this.client);
    this.transport = this.http.transport(this.client);
    const stored = new Map<string, Record<string, unknown>>();
    for (const { path, body } of copies) if (isRecordPath(path)) stored.set(path, body as Record<string, unknown>);
    const pending = new Map<string, Record<string, unknown>>();
    for (const entry of waiting) if (entry.kind === "put") pending.set(entry.path, entry.body);
    const troubles: Trouble[] = [];
    for (const fate of fates.values()) {
      if (fate.state !== "refused") continue;
      const entry = await this.shelf.entry(fate.n);
      if (entry) troubles.push({ entry, fate });
    }
    batch(() => {
      this.prefs.value = { ...DEFAULT_PREFS, ...prefs };
      this.session.value = session ?? null;
      this.stored.value = stored;
      this.pending.value = pending;
      this.waiting.value = waiting.length;
      this.troubles.value = troubles;
      this.ready.value = true;
    });
  }

  async setPrefs(change: Partial<Prefs>): Promise<void> {
    this.prefs.value = { ...this.prefs.value, ...change };
    await this.shelf.keepSetting("prefs", this.prefs.value);
  }

  // Session --------------------------------------------------------------------------------------

  async hello(): Promise<void> {
    const began = performance.now();
    const session = await this.http.session();
    if (!session) return;
    this.clock.hear(session.now_s, (performance.now() - began) / 1000);
    this.take(session);
  }

  take(session: Session): void {
    this.http.csrf = session.csrf;
    batch(() => {
      this.session.value = session;
      this.mustSignIn.value = session.mode === "shop" && !session.account;
    });
    // The service tells it anew at each start: room is for what it does not have.
    this.shelf.keepSetting("session", session).catch((err: unknown) => {
      if (!(err instanceof StorageFull)) throw err;
    });
  }

  /** Go to the service: session, what waits, the lists. Safe at any time. */
  async sync(): Promise<void> {
    await this.hello();
    if (!this.session.value || this.reached.value !== true || this.mustSignIn.value || this.session.value.setup_needed) return;
    await this.send();
    await Promise.all([this.list("sites"), this.list("units"), this.listVisits()]);
  }

  // Records --------------------------------------------------------------------------------------

  record<T>(thing: Thing, id: string): T | null {
    return (this.merged(`/api/${thing}/${id}`, id) as T | null) ?? null;
  }

  private merged(path: string, id: string): Record<string, unknown> | null {
    const stored = this.stored.value.get(path);
    const mine = this.pending.value.get(path);
    if (!stored && !mine) return null;
    return { id, version: 0, ...stored, ...mine };
  }

  private all<T>(thing: Thing, order: (a: T, b: T) => number): T[] {
    const prefix = `/api/${thing}/`;
    const paths = new Set([...this.stored.value.keys(), ...this.pending.value.keys()].filter((path) => path.startsWith(prefix)));
    return [...paths].map((path) => this.merged(path, path.slice(prefix.length)) as T).sort(order);
  }

  /** Write a record here at once, and to the service when it can be reached. */
  async put(thing: Thing, id: string, body: Record<string, unknown>): Promise<void> {
    const path = `/api/${thing}/${id}`;
    const base = (this.stored.value.get(path)?.version as number | undefined) ?? 0;
    await this.add({ kind: "put", path, base, body });
  }

  async fetchRecord(thing: Thing, id: string): Promise<void> {
    const path = `/api/${thing}/${id}`;
    try {
      await this.store(path, recordIn(await this.http.get<unknown>(path)));
    } catch (err) {
      if (err instanceof ServiceError && err.status === 410) await this.forget(path);
      if (err instanceof ServiceError && err.status === 401) this.mustSignIn.value = true;
    }
  }

  private async list(thing: "sites" | "units"): Promise<void> {
    try {
      const answer = await this.http.get<Record<string, Record<string, unknown>[]>>(`/api/${thing}`);
      const rows = answer[thing] ?? [];
      const there = new Set(rows.map((row) => `/api/${thing}/${String(row.id)}`));
      for (const path of this.stored.value.keys()) {
        if (path.startsWith(`/api/${thing}/`) && !there.has(path)) await this.forget(path);
      }
      await this.storeAll(rows.map((row) => [`/api/${thing}/${String(row.id)}`, row]));
    } catch (err) {
      if (err instanceof ServiceError && err.status === 401) this.mustSignIn.value = true;
    }
  }

  private async listVisits(): Promise<void> {
    const since = Math.floor(this.clock.nowS() - 30 * 86400);
    try {
      const answers = await Promise.all(
        ["state=planned", "state=open", `state=closed&from_s=${since}`].map((query) =>
          this.http.get<{ visits: Record<string, unknown>[] }>(`/api/visits?${query}`),
        ),
      );
      await this.storeAll(answers.flatMap(({ visits }) => visits.map((row): [string, Record<string, unknown>] => [`/api/visits/${String(row.id)}`, row])));
    } catch (err) {
      if (err instanceof ServiceError && err.status === 401) this.mustSignIn.value = true;
    }
  }

  async store(path: string, body: Record<string, unknown>): Promise<void> {
    await this.storeAll([[path, body]]);
  }

  private async storeAll(rows: [string, Record<string, unknown>][]): Promise<void> {
    const stored = new Map(this.stored.value);
    // A list may tell less of a record than its own route: what is known beside it stays.
    for (const [path, body] of rows) stored.set(path, { ...stored.get(path), ...body });
    this.stored.value = stored;
    for (const [path] of rows) await this.shelf.keepCopy(path, stored.get(path), this.clock.nowS());
  }

  private async forget(path: string): Promise<void> {
    const stored = new Map(this.stored.value);
    stored.delete(path);
    this.stored.value = stored;
    await this.shelf.dropCopy(path);
  }

  // The journal ----------------------------------------------------------------------------------

  /** Told of each new entry, and again when its fate is known. */
  onEntry(listener: (entry: Entry, fate: Fate | null) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Append to the journal. Resolves when it is on the device's disk; throws NotSaved, and says why on every page. */
  async add(work: NewWork): Promise<Entry> {
    let entry: Entry;
    try {
      entry = await this.shelf.append(work, this.clock.nowS());
    } catch (err) {
      this.tellFault(err);
      throw new NotSaved("not saved", { cause: err });
    }
    batch(() => {
      this.storageFault.value = null;
      this.waiting.value++;
      if (entry.kind === "put") this.pending.value = new Map(this.pending.value).set(entry.path, entry.body);
    });
    for (const listener of this.listeners) listener(entry, null);
    this.soon(0);
    return entry;
  }

  /** Say on every page that something could not be written down here. */
  tellFault(err: unknown): void {
    this.storageFault.value = { full: err instanceof StorageFull, why: err instanceof Error ? err.message : String(err) };
  }

  /** Send what waits: now, or after the round that is under way. Many calls in between make one round. */
  send(): Promise<void> {
    if (this.queued) return this.queued;
    const round = this.round
      .catch(() => {})
      .then(() => {
        this.queued = null;
        return this.sendRound();
      });
    this.queued = round;
    this.round = round;
    return round;
  }

  private async sendRound(): Promise<void> {
    const transport = this.transport;
    if (!transport) return;
    this.sending.value = true;
    try {
      await this.lock(async () => {
        const stopped = await drain(this.shelf, transport, () => this.clock.nowS(), (entry, fate, answer) => this.fated(entry, fate, answer.body));
        if (stopped.why === "sign-in") this.mustSignIn.value = true;
        if (stopped.why === "signal") {
          const after = stopped.retryAfterS ?? RETRY_S[Math.min(this.tries++, RETRY_S.length - 1)] ?? 30;
          this.soon(after);
        } else {
          this.tries = 0;
        }
      });
    } catch (err) {
      // What could not be written down is sent again: the service takes it once.
      if (!(err instanceof StorageFull)) throw err;
      this.tellFault(err);
      this.soon(30);
    } finally {
      const waiting = await this.shelf.count();
      batch(() => {
        this.sending.value = false;
        this.waiting.value = waiting;
      });
    }
  }

  private soon(afterS: number): void {
    if (this.timer) clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.send(), afterS * 1000);
  }

  private async fated(entry: Entry, fate: Fate, body: unknown): Promise<void> {
    if (entry.kind === "put") {
      const still = (await this.shelf.waiting()).findLast((row) => row.kind === "put" && row.path === entry.path);
      const pending = new Map(this.pending.value);
      if (still?.kind === "put") pending.set(entry.path, still.body);
      else if (fate.state === "sent") pending.delete(entry.path);
      const stored = new Map(this.stored.value);
      if (fate.state === "sent" && body) stored.set(entry.path, { ...stored.get(entry.path), ...recordIn(body) });
      batch(() => {
        this.stored.value = stored;
        this.pending.value = pending;
      });
    }
    batch(() => {
      this.waiting.value = Math.max(0, this.waiting.value - 1);
      if (fate.state === "refused") this.troubles.value = [...this.troubles.value, { entry, fate }];
    });
    for (const listener of this.listeners) listener(entry, fate);
  }

  /** Try a refused entry again. */
  async retry(trouble: Trouble): Promise<void> {
    await this.shelf.again(trouble.entry);
    this.troubles.value = this.troubles.value.filter((row) => row.entry.n !== trouble.entry.n);
    this.waiting.value++;
    this.soon(0);
  }

  /** Of a record that another device changed: keep this device's words, made from the store's version. */
  async keepMine(trouble: Trouble): Promise<void> {
    const { entry, fate } = trouble;
    if (entry.kind !== "put") return;
    const current = fate.current as { version: number } | undefined;
    if (current) await this.store(entry.path, current as unknown as Record<string, unknown>);
    await this.settle(trouble);
    await this.add({ kind: "put", path: entry.path, base: current?.version ?? entry.base, body: entry.body });
  }

  /** Keep the store's words. This device's stay in the journal. */
  async keepTheirs(trouble: Trouble): Promise<void> {
    const { entry, fate } = trouble;
    if (entry.kind === "put") {
      const pending = new Map(this.pending.value);
      pending.delete(entry.path);
      this.pending.value = pending;
      if (fate.current) await this.store(entry.path, fate.current as Record<string, unknown>);
    }
    await this.settle(trouble);
  }

  private async settle({ entry, fate }: Trouble): Promise<void> {
    await this.shelf.setFate({ ...fate, state: "dropped" });
    this.troubles.value = this.troubles.value.filter((row) => row.entry.n !== entry.n);
  }
}

function compare(a: string, b: string): number {
  return a.localeCompare(b, undefined, { numeric: true });
}

function isRecordPath(path: string): boolean {
  return /^\/api\/(sites|units|visits)\/[^/]+$/.test(path);
}
