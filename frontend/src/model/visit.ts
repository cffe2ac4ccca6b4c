/** One visit on this device: its readings and marks from here and from elsewhere, and what they come to. */

import { batch, computed, signal, type ReadonlySignal } from "@preact/signals";
import type {
  BatchEvent, Conflict, Course, Danger, Looked, Mark, Method, Plan, Problem, Readings, ResultAnswer, Samples, StopLimit, Typed, Unit, Visit,
} from "../api/types.ts";
import type { App } from "./app.ts";
import { channelOf, WAYS } from "./channels.ts";
import { mergeRows, type Entry } from "./journal.ts";
import { linesOf, type Line } from "./ledger.ts";
import { follow, openActs, type Open, type StepState } from "./next.ts";
import { withSite, zoneOf } from "./plate.ts";
import { fluid, knownRefrigerant, type Fluid } from "./saturation.ts";
import { Numbers } from "./show.ts";
import { atmosphereOf, stopOf, StopWatch, type Danger as OwnDanger, type Plate, type Stop } from "./stop.ts";
import { columnsOf, wholeOf, type Columns, type View } from "./strip.ts";
import { parse } from "./units.ts";

export interface Alarm {
  secondsLeft: number;
  belowK: number;
  tempC: number;
  pressurePa: number;
  /** Whether the service or this device saw it. */
  by: "service" | "device";
}
const NOTHING: Readings = { n: 0, samples: [], typed: [], looked: [], marks: [], conflicts: [], problems: [] };
/** Live data are called so for this long after the last. [s] */
const LIVE_S = 20;
/** Readings of one round belong together for so long. [s] */
const TOGETHER_S = 900;
/** After so long without a reading or a mark the strip no longer runs on. [s] */
const IDLE_S = 3600;
/** A typed reading says how things stand now for so long. [s] */
const FRESH_S = 120;

export class VisitModel {
  readonly server = signal<Readings>(NOTHING);
  private readonly own = signal<Entry[]>([]);
  readonly answer = signal<ResultAnswer | null>(null);
  readonly resultFault = signal("");
  readonly plan = signal<Plan | null>(null);
  readonly planState = signal<"none" | "working" | "ready" | "failed">("none");
  readonly planFault = signal("");
  readonly way = signal<string | null>(null);
  readonly ticked = signal<ReadonlySet<number>>(new Set());
  readonly course = signal<Course | null>(null);
  readonly liveStop = signal<StopLimit | null>(null);
  private readonly danger = signal<Danger | null>(null);
  private readonly seen = signal<Alarm | null>(null);
  readonly blind = signal(false);
  readonly liveAtS = signal<number | null>(null);
  readonly nowS = signal(0);
  /** Lit on the strip: the function whose line was touched. */
  readonly lit = signal<string | null>(null);
  readonly silencedS = signal(-Infinity);
  readonly connected = signal(false);

  private source: EventSource | null = null;
  private stopListening: () => void = () => {};
  private ticker: ReturnType<typeof setInterval> | null = null;
  private due: ReturnType<typeof setTimeout> | null = null;
  private planAgain: ReturnType<typeof setTimeout> | null = null;
  private watch: StopWatch | null = null;
  private watchedS = -Infinity;

  constructor(
    readonly app: App,
    readonly id: string,
  ) {
    this.nowS.value = app.clock.nowS();
  }

  readonly visit: ReadonlySignal<Visit | null> = computed(() => this.app.record<Visit>("visits", this.id));
  readonly unit: ReadonlySignal<Unit | null> = computed(() => {
    const visit = this.visit.value as (Visit & { unit?: Unit }) | null;
    if (!visit) return null;
    return this.app.record<Unit>("units", visit.unit_id) ?? visit.unit ?? null;
  });
  /** The unit file with the site's height and zone where the plate has none, as the service reads it. */
  readonly plate: ReadonlySignal<Plate> = computed(() => {
    const unit = this.unit.value;
    return unit ? withSite(unit, this.app.sites.value.find((row) => row.id === unit.site_id)) : {};
  });
  readonly gas: ReadonlySignal<Fluid | null> = computed(() => {
    const name = knownRefrigerant(String(this.plate.value.unit?.refrigerant ?? ""));
    return name ? fluid(name) : null;
  });
  readonly stop: ReadonlySignal<Stop | null> = computed(() => stopOf(this.plate.value));
  readonly atmospherePa = computed(() => atmosphereOf(this.plate.value));
  readonly numbers = computed(() => new Numbers(this.app.prefs.value.system, this.atmospherePa.value));
  readonly zone = computed(() => zoneOf(this.plate.value));

  private readonly withdrawn = computed(
    () => new Set(this.own.value.flatMap((entry) => (entry.kind === "batch" ? (entry.body.withdrawn ?? []).map((row) => row.id) : []))),
  );
  readonly typed: ReadonlySignal<Typed[]> = computed(() => {
    const own = this.own.value.flatMap((entry) => (entry.kind === "batch" ? (entry.body.typed ?? []) : []));
    return mergeRows([own, this.server.value.typed], this.withdrawn.value).map((row) => ({ ...row, value: this.valueOf(row) }));
  });
  readonly marks: ReadonlySignal<Mark[]> = computed(() => {
    const own = this.own.value.flatMap((entry) => (entry.kind === "batch" ? (entry.body.marks ?? []) : []));
    return mergeRows([own, this.server.value.marks], this.withdrawn.value);
  });
  readonly looked: ReadonlySignal<Looked[]> = computed(() => {
    const own = this.own.value.flatMap((entry) => (entry.kind === "batch" ? (entry.body.looked ?? []) : []));
    return mergeRows([own, this.server.value.looked], this.withdrawn.value);
  });
  /** Ids of what was typed for the causes here and has not been sent. */
  readonly unsent: ReadonlySignal<ReadonlySet<string>> = computed(
    () => new Set(this.own.value.flatMap((entry) => (entry.kind === "batch" && !this.sent.value.has(entry.n) ? (entry.body.looked ?? []).map((row) => row.id) : []))),
  );
  private readonly sent = signal<ReadonlySet<number>>(new Set());
  readonly conflicts: ReadonlySignal<Conflict[]> = computed(() => this.server.value.conflicts);
  readonly problems: ReadonlySignal<Problem[]> = computed(() => this.server.value.problems);
  readonly columns: ReadonlySignal<Columns> = computed(() => columnsOf(this.server.value.samples, this.typed.value, this.gas.value));
  readonly open = computed(() => this.visit.value?.state !== "closed" && !this.closing.value);
  readonly whole: ReadonlySignal<View> = computed(() => {
    const started = this.visit.value?.started_s ?? null;
    const known = wholeOf(this.columns.value, this.marks.value, started, null);
    // A visit left open days ago does not stretch to today.
    const going = this.open.value && started !== null && this.nowS.value - known.toS < IDLE_S;
    return going ? { fromS: known.fromS, toS: Math.max(known.toS, this.nowS.value) } : known;
  });
  /** The latest value of each channel and when it was read. */
  readonly latest: ReadonlySignal<ReadonlyMap<string, { value: number; timeS: number; typed: boolean }>> = computed(() => {
    const out = new Map<string, { value: number; timeS: number; typed: boolean }>();
    const put = (channel: string, value: number | null | undefined, timeS: number, typed: boolean): void => {
      if (value === null || value === undefined || Number.isNaN(value)) return;
      if (timeS >= (out.get(channel)?.timeS ?? -Infinity)) out.set(channel, { value, timeS, typed });
    };
    for (const part of this.server.value.samples) {
      for (const [name, values] of Object.entries(part.channels)) {
        for (let i = values.length - 1; i >= 0; i--) {
          if (values[i] !== null) {
            put(name, values[i], part.time_s[i] as number, false);
            break;
          }
        }
      }
    }
    for (const row of this.typed.value) if (!row.withdrawn) put(row.channel, row.value, row.time_s, true);
    return out;
  });
  readonly latestValues = computed(() => new Map([...this.latest.value].map(([name, row]) => [name, row.value])));
  /** What was read lately enough to go with a reading of now: superheat from last year's line would mislead. */
  readonly freshValues = computed(() => {
    const since = this.nowS.value - TOGETHER_S;
    return new Map([...this.latest.value].filter(([, row]) => row.timeS > since).map(([name, row]) => [name, row.value]));
  });
  readonly high = computed(() => {
    const rows = ["discharge_pressure", "liquid_pressure"].map((name) => this.latest.value.get(name)).filter((row) => row !== undefined);
    return rows.sort((a, b) => b.timeS - a.timeS)[0] ?? null;
  });
  readonly live = computed(() => this.liveAtS.value !== null && this.nowS.value - this.liveAtS.value < LIVE_S);
  readonly lines: ReadonlySignal<Line[]> = computed(() => linesOf(this.answer.value?.result ?? null, this.numbers.value));
  readonly open_acts: ReadonlySignal<Open[]> = computed(() => openActs(this.marks.value));
  readonly methods = computed<Pick<Method, "way" | "title" | "steps">[]>(() => this.plan.value?.methods.filter((row) => row.steps.length) ?? WAYS);
  readonly method = computed(() => {
    const way = this.way.value ?? this.plan.value?.best ?? null;
    return this.methods.value.find((row) => row.way === way) ?? null;
  });
  readonly steps: ReadonlySignal<StepState[]> = computed(() => follow(this.method.value?.steps ?? [], this.marks.value, this.ticked.value));
  readonly alarm: ReadonlySignal<Alarm | null> = computed(() => {
    const danger = this.danger.value;
    if (danger) {
      return {
        secondsLeft: danger.seconds_left ?? Infinity, belowK: danger.below_k, tempC: danger.temp_c, pressurePa: danger.pressure_pa, by: "service",
      };
    }
    return this.seen.value;
  });
  /** Acts that wait to be sent: the visit is closed here before the service knows. */
  readonly closing = computed(() => {
    let last = "";
    for (const entry of this.own.value) if (entry.kind === "post") last = entry.path.split("/").at(-1) ?? "";
    return last === "close" || last === "sign" ? !this.sentClose.value : false;
  });
  private readonly sentClose = signal(false);

  private valueOf(row: Typed): number | null {
    if (row.value !== undefined && row.value !== null) return row.value;
    const channel = channelOf(row.channel);
    return channel ? parse(row.text, channel.kind, this.atmospherePa.value) : null;
  }

  // Coming and going -----------------------------------------------------------------------------

  async start(): Promise<void> {
    const { shelf } = this.app;
    const [journal, readings, answer, plan, way, ticked, fates] = await Promise.all([
      shelf.journalOf(this.id),
      shelf.copy<Readings>(this.path("readings")),
      shelf.copy<ResultAnswer>(this.path("result")),
      shelf.copy<Plan>(`plan:${this.id}`),
      shelf.setting<string>(`way:${this.id}`),
      shelf.setting<number[]>(`ticked:${this.id}`),
      shelf.fates(),
    ]);
    batch(() => {
      this.own.value = journal;
      this.server.value = { ...NOTHING, ...readings };
      this.answer.value = answer ?? null;
      this.plan.value = plan ?? null;
      this.planState.value = plan ? "ready" : "none";
      this.way.value = way ?? null;
      this.ticked.value = new Set(ticked ?? []);
      this.sent.value = new Set([...fates.values()].filter((fate) => fate.state === "sent").map((fate) => fate.n));
      this.sentClose.value = journal.filter((entry) => entry.kind === "post").every((entry) => fates.has(entry.n));
    });
    this.watchOver();
    this.stopListening = this.app.onEntry((entry, fate) => this.onEntry(entry, fate));
    this.ticker = setInterval(() => {
      this.nowS.value = this.app.clock.nowS();
      if (this.seen.value && this.high.value && this.nowS.value - this.high.value.timeS > FRESH_S) this.seen.value = null;
    }, 1000);
    await this.refresh();
    this.connect();
  }

  leave(): void {
    this.source?.close();
    this.stopListening();
    for (const timer of [this.due, this.planAgain]) if (timer) clearTimeout(timer);
    if (this.ticker) clearInterval(this.ticker);
    this.source = null;
  }

  private path(tail: string): string {
    return `/api/visits/${this.id}/${tail}`;
  }

  async refresh(): Promise<void> {
    await this.app.fetchRecord("visits", this.id);
    const visit = this.visit.value;
    if (visit && !this.unit.value?.read) await this.app.fetchRecord("units", visit.unit_id);
    try {
      await this.takeReadings(await this.app.http.get<Readings>(this.path("readings")));
    } catch {
      return;
    }
    await this.judge();
  }

  private async takeReadings(readings: Readings): Promise<void> {
    this.server.value = { ...NOTHING, ...readings };
    this.watchOver();
    await this.app.shelf.keepCopy(this.path("readings"), this.server.value, this.app.clock.nowS());
  }

  async judge(): Promise<void> {
    try {
      const answer = await this.app.http.get<ResultAnswer>(this.path("result"));
      batch(() => {
        this.answer.value = answer;
        this.resultFault.value = "";
      });
      await this.app.shelf.keepCopy(this.path("result"), answer, this.app.clock.nowS());
    } catch (err) {
      if (err instanceof Error && err.message) this.resultFault.value = err.message;
    }
  }

  private judgeSoon(afterMs = 3000): void {
    this.due ??= setTimeout(() => {
      this.due = null;
      void this.judge();
    }, afterMs);
  }

  private onEntry(entry: Entry, fate: { state: string } | null): void {
    const mine = entry.kind === "batch" ? entry.visit === this.id : "path" in entry && entry.path.includes(this.id);
    if (!mine) return;
    if (!fate) {
      this.own.value = [...this.own.value, entry];
      if (entry.kind === "post") this.sentClose.value = false;
      this.watchOver();
      return;
    }
    if (fate.state !== "sent") return;
    this.sent.value = new Set(this.sent.value).add(entry.n);
    if (entry.kind === "batch") this.judgeSoon(1500);
    if (entry.kind === "post") {
      this.sentClose.value = true;
      void this.refresh();
    }
    if (entry.kind === "bytes" || entry.kind === "put") {
      void this.app.fetchRecord("visits", this.id);
      if (!this.source) this.connect();
      this.judgeSoon();
    }
  }

  // Live -----------------------------------------------------------------------------------------

  connect(): void {
    if (this.source || typeof EventSource === "undefined" || this.app.reached.value !== true || !this.visit.value?.version) return;
    const source = new EventSource(`${this.path("events")}?after=${this.server.value.n}`);
    this.source = source;
    const on = <T>(name: string, act: (data: T) => void): void => {
      source.addEventListener(name, (event) => act(JSON.parse((event as MessageEvent<string>).data) as T));
    };
    source.onopen = () => (this.connected.value = true);
    source.onerror = () => {
      this.connected.value = false;
      if (source.readyState === EventSource.CLOSED) this.source = null;
    };
    on<{ course: Course | null; stop: StopLimit | null; danger: Danger | null }>("hello", (data) =>
      batch(() => {
        this.course.value = data.course;
        this.liveStop.value = data.stop;
        this.danger.value = data.danger;
      }),
    );
    on<BatchEvent>("batch", (data) => this.onBatch(data));
    on<{ course: Course }>("course", (data) => {
      this.course.value = data.course;
      this.judgeSoon();
    });
    on("standing", () => this.judgeSoon(500));
    on<Danger>("stop", (data) => (this.danger.value = data));
    on("clear", () => batch(() => {
      this.danger.value = null;
      this.blind.value = false;
    }));
    on("blind", () => (this.blind.value = true));
    on<Conflict>("conflict", (data) => {
      this.server.value = { ...this.server.value, conflicts: [...this.server.value.conflicts, data] };
    });
    on("visit", () => {
      void this.app.fetchRecord("visits", this.id);
      this.judgeSoon(500);
    });
    on("gone", () => source.close());
  }

  private onBatch(data: BatchEvent): void {
    const before = this.server.value;
    if (data.n <= before.n) return;
    const gone = new Set((data.withdrawn ?? []).map((row) => row.id));
    const fold = <Row extends { id: string; withdrawn?: boolean }>(rows: Row[], more: Row[]): Row[] =>
      [...rows, ...(more ?? []).map((row) => ({ ...row, client: data.client }))].map((row) => (gone.has(row.id) ? { ...row, withdrawn: true } : row));
    const samples: Samples[] = data.samples?.time_s.length ? appended(before.samples, { ...data.samples, client: data.client }) : before.samples;
    batch(() => {
      this.server.value = {
        ...before, n: data.n, samples, typed: fold(before.typed, data.typed), looked: fold(before.looked, data.looked), marks: fold(before.marks, data.marks),
        problems: [...before.problems, ...(data.problems ?? [])],
      };
      if (data.samples?.time_s.length) this.liveAtS.value = this.app.clock.nowS();
    });
    this.watchOver();
    // Whether two devices can both be right is the service's to say.
    if (data.looked?.length || gone.size) void this.hearConflicts(data.n);
    if (data.client !== this.app.client) this.judgeSoon(data.samples ? 10_000 : 2000);
  }

  private async hearConflicts(after: number): Promise<void> {
    try {
      const { conflicts } = await this.app.http.get<Readings>(this.path(`readings?after=${after}`));
      this.server.value = { ...this.server.value, conflicts };
    } catch {
      // With the next refresh.
    }
  }

  // The device's own stop watch ------------------------------------------------------------------

  /** Go over the readings of the high side that are new, and warn from here: with or without signal. */
  private watchOver(): void {
    const stop = this.stop.value;
    const gas = this.gas.value;
    if (!stop || !gas) return;
    if (!this.watch || this.watch.limit.pressurePa !== stop.pressurePa) {
      this.watch = new StopWatch(stop);
      this.watchedS = -Infinity;
    }
    const points = new Map<number, number>();
    for (const part of this.server.value.samples) {
      const values = part.channels.discharge_pressure ?? part.channels.liquid_pressure;
      if (!values) continue;
      for (let i = part.time_s.length - 1; i >= 0 && (part.time_s[i] as number) > this.watchedS; i--) {
        const value = values[i];
        if (value !== null && value !== undefined) points.set(part.time_s[i] as number, value);
      }
    }
    for (const row of this.typed.value) {
      const isHigh = row.channel === "discharge_pressure" || row.channel === "liquid_pressure";
      if (isHigh && !row.withdrawn && row.time_s > this.watchedS && row.value) points.set(row.time_s, row.value);
    }
    let danger: OwnDanger | null = null;
    if (!points.size) return;
    // Where the course is not known it may be turned: better warned than not.
    const course = this.live.value ? this.course.value : null;
    const turned = course === null || course === "turned";
    for (const [timeS, pressurePa] of [...points].sort((a, b) => a[0] - b[0])) {
      danger = this.watch.push(timeS, gas.dewC(pressurePa), pressurePa, turned);
      this.watchedS = timeS;
    }
    // Readings typed minutes apart foretell little: then only what is near now counts.
    const near = danger && (danger.secondsLeft < 30 || danger.belowK < 3 || course === "turned");
    const fresh = this.app.clock.nowS() - this.watchedS < FRESH_S;
    this.seen.value = danger && near && fresh
      ? { secondsLeft: danger.secondsLeft, belowK: danger.belowK, tempC: danger.tempC, pressurePa: danger.pressurePa, by: "device" }
      : null;
  }

  silence(): void {
    this.silencedS.value = this.app.clock.nowS();
  }

  // What a person does ---------------------------------------------------------------------------

  private async ensureStarted(): Promise<void> {
    const visit = this.visit.value;
    if (visit && visit.started_s === null) await this.amend({ started_s: this.app.clock.nowS() });
  }

  async type(channel: string, text: string): Promise<void> {
    await this.ensureStarted();
    const row: Typed = { id: crypto.randomUUID(), time_s: stamp(this.app.clock.nowS()), channel, text };
    await this.app.add({ kind: "batch", visit: this.id, body: { typed: [row] } });
  }

  /** Type a further reading for the causes. */
  async look(name: string, text: string): Promise<Looked> {
    await this.ensureStarted();
    const row: Looked = { id: crypto.randomUUID(), time_s: stamp(this.app.clock.nowS()), name, text };
    await this.app.add({ kind: "batch", visit: this.id, body: { looked: [row] } });
    return row;
  }

  async mark(act: string, note = "", timeS = this.app.clock.nowS()): Promise<Mark> {
    await this.ensureStarted();
    const row: Mark = { id: crypto.randomUUID(), time_s: stamp(timeS), act, note };
    await this.app.add({ kind: "batch", visit: this.id, body: { marks: [row] } });
    return row;
  }

  async withdraw(id: string, why: string): Promise<void> {
    await this.app.add({ kind: "batch", visit: this.id, body: { withdrawn: [{ id, time_s: stamp(this.app.clock.nowS()), why }] } });
  }

  /** The same mark at another time: the first is withdrawn, both stay in the record. */
  async moveMark(mark: Mark, timeS: number): Promise<Mark> {
    const row: Mark = { id: crypto.randomUUID(), time_s: stamp(timeS), act: mark.act, note: mark.note };
    await this.app.add({
      kind: "batch",
      visit: this.id,
      body: { marks: [row], withdrawn: [{ id: mark.id, time_s: stamp(this.app.clock.nowS()), why: "time corrected" }] },
    });
    return row;
  }

  async amend(change: Partial<Visit>): Promise<void> {
    const visit = this.visit.value;
    if (visit) await this.app.put("visits", this.id, visitBody({ ...visit, ...change }));
  }

  async tick(index: number, on: boolean): Promise<void> {
    const ticked = new Set(this.ticked.value);
    if (on) ticked.add(index);
    else ticked.delete(index);
    this.ticked.value = ticked;
    await this.app.shelf.keepSetting(`ticked:${this.id}`, [...ticked]);
  }

  async choose(way: string): Promise<void> {
    this.way.value = way;
    await this.app.shelf.keepSetting(`way:${this.id}`, way);
  }

  /** Ask for a plan for today's weather; asks again while it is being worked out. */
  async askPlan(): Promise<void> {
    const visit = this.visit.value;
    if (!visit?.outdoor) return;
    if (this.planAgain) clearTimeout(this.planAgain);
    this.planState.value = "working";
    try {
      const answer = await this.app.http.post<{ state: string; plan?: Plan; retry_after_s?: number }>(
        `/api/units/${visit.unit_id}/plan`,
        { outdoor: visit.outdoor, humidity: visit.humidity, indoor: visit.indoor ?? "70 degF" },
      );
      if (answer.plan) {
        batch(() => {
          this.plan.value = answer.plan ?? null;
          this.planState.value = "ready";
          this.planFault.value = "";
        });
        await this.app.shelf.keepCopy(`plan:${this.id}`, answer.plan, this.app.clock.nowS());
      } else {
        this.planAgain = setTimeout(() => void this.askPlan(), (answer.retry_after_s ?? 2) * 1000);
      }
    } catch (err) {
      batch(() => {
        this.planState.value = "failed";
        this.planFault.value = err instanceof Error ? err.message : "";
      });
    }
  }

  async addBytes(what: "files" | "attachments", name: string, type: string, bytes: ArrayBuffer): Promise<string> {
    if (what === "files") await this.ensureStarted();
    const id = crypto.randomUUID();
    await this.app.add({ kind: "bytes", path: this.path(`${what}/${id}`), name, type, bytes });
    return id;
  }

  async close(marksComplete: boolean): Promise<void> {
    if (this.visit.value?.marks_complete !== marksComplete) await this.amend({ marks_complete: marksComplete });
    await this.app.add({ kind: "post", path: this.path("close"), body: { marks_complete: marksComplete } });
  }

  async reopen(why: string): Promise<void> {
    await this.app.add({ kind: "post", path: this.path("reopen"), body: { why } });
  }

  async sign(name: string, role: "technician" | "customer", drawing: ArrayBuffer | null): Promise<void> {
    const attachment = drawing ? await this.addBytes("attachments", `signature-${role}.png`, "image/png", drawing) : null;
    await this.app.add({ kind: "post", path: this.path("sign"), body: { name, role, attachment_id: attachment } });
  }
}

/** What a PUT of a visit takes: the record without what the service adds. */
export function visitBody(visit: Visit): Record<string, unknown> {
  return {
    unit_id: visit.unit_id,
    planned_on: visit.planned_on ?? null,
    started_s: visit.started_s ?? null,
    technician: visit.technician ?? "",
    purpose: visit.purpose ?? "",
    note: visit.note ?? "",
    instruments: visit.instruments ?? [],
    outdoor: visit.outdoor ?? null,
    humidity: visit.humidity ?? null,
    indoor: visit.indoor ?? null,
    marks_complete: visit.marks_complete ?? false,
  };
}

export function unitBody(unit: Unit): Record<string, unknown> {
  const { site_id, name, serial, practice, note, plate } = unit;
  return { site_id: site_id ?? null, name, serial: serial ?? "", practice: practice ?? false, note: note ?? "", plate };
}

function stamp(timeS: number): number {
  return Math.round(timeS * 1000) / 1000;
}

/** Add samples to those of the same source, so that an hour of batches is one part and not a thousand. */
function appended(parts: Samples[], more: Samples): Samples[] {
  const at = parts.findIndex((part) => part.client === more.client);
  const before = parts[at];
  if (!before) return [...parts, more];
  const n = before.time_s.length;
  const channels: Samples["channels"] = {};
  for (const name of new Set([...Object.keys(before.channels), ...Object.keys(more.channels)])) {
    channels[name] = [
      ...(before.channels[name] ?? new Array<null>(n).fill(null)),
      ...(more.channels[name] ?? new Array<null>(more.time_s.length).fill(null)),
    ];
  }
  const part: Samples = { ...before, time_s: [...before.time_s, ...more.time_s], channels };
  return parts.map((row, i) => (i === at ? part : row));
}
