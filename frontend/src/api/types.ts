/** What the service says, as docs/service.md has it. Only the parts that the pages use. */

import type { Evidence, Limit } from "../model/show.ts";
import type { Plate } from "../model/stop.ts";

export type Role = "technician" | "teacher" | "lead" | "read-only";
export interface Account {
  id: string;
  name: string;
  role: Role;
}
export interface Session {
  mode: "alone" | "shop";
  account: Account | null;
  csrf: string | null;
  setup_needed: boolean;
  version: string;
  now_s: number;
  limits: Record<string, number>;
}

export interface Site {
  id: string;
  version: number;
  name: string;
  address: string;
  contact: string;
  note: string;
  altitude: string | null;
  zone: string | null;
}
export interface StopLimit {
  temp_c: number;
  pressure_pa: number;
  gauge_pa: number;
  by: "ceiling" | "cutout";
}
export interface Attachment {
  id: string;
  name: string;
  media_type?: string;
  size?: number;
}
export interface Unit {
  id: string;
  version: number;
  site_id: string | null;
  name: string;
  serial: string;
  practice: boolean;
  note: string;
  plate: Plate;
  read?: {
    site: { atmosphere_pa: number; zone: string | null; altitude_m: number };
    assumptions: { setting: string; value: string; why: string }[];
    stop: StopLimit;
  };
  attachments?: Attachment[];
  last_visit?: { id: string; started_s: number | null } | string | null;
}
export type VisitState = "planned" | "open" | "closed";
export interface Signature {
  name: string;
  role: "technician" | "customer";
  revision: number;
  at?: string;
  signed_at?: string;
}
export interface Report {
  id: string;
  format: "pdf" | "html";
  units: "us" | "si";
  revision: number;
  made_at: string;
  sha256: string;
  size: number;
}
export interface LogFile {
  id: string;
  name: string;
  problem?: string | null;
  aside?: boolean;
}
export interface Visit {
  id: string;
  version: number;
  unit_id: string;
  planned_on: string | null;
  started_s: number | null;
  technician: string;
  purpose: string;
  note: string;
  instruments: string[];
  outdoor: string | null;
  humidity: string | null;
  indoor: string | null;
  marks_complete: boolean;
  state?: VisitState;
  revision?: number | null;
  n?: number;
  conflicts?: number;
  late?: number;
  signatures?: Signature[];
  files?: LogFile[];
  attachments?: Attachment[];
  reports?: Report[];
  instruments_overdue?: { id: string; name: string; due_on?: string | null }[] | string[];
}

export interface Typed {
  id: string;
  time_s: number;
  channel: string;
  text: string;
  client?: string;
  value?: number | null;
  unit?: string;
  withdrawn?: boolean;
}
/** A further reading for the causes. */
export interface Looked {
  id: string;
  time_s: number;
  name: string;
  text: string;
  client?: string;
  /** In memory units, or the word; null where it cannot be read. */
  value?: number | string | null;
  withdrawn?: boolean;
}
export interface Mark {
  id: string;
  time_s: number;
  act: string;
  note: string;
  client?: string;
  withdrawn?: boolean;
}
export interface Withdrawn {
  id: string;
  time_s: number;
  why: string;
}
export interface Samples {
  client?: string;
  time_s: number[];
  channels: Record<string, (number | null)[]>;
}
export interface Conflict {
  kind: "value" | "looked" | "entry" | "sequence";
  client: string;
  other: string;
  time_s: number;
  channel: string;
  values: (number | string | null)[];
}
export interface Problem {
  where: string;
  message: string;
}
export interface Readings {
  n: number;
  samples: Samples[];
  typed: Typed[];
  looked: Looked[];
  marks: Mark[];
  conflicts: Conflict[];
  problems: Problem[];
}
export interface BatchEvent {
  n: number;
  client: string;
  sequence: number;
  received_s: number;
  samples: Samples | null;
  typed: Typed[];
  looked: Looked[];
  marks: Mark[];
  withdrawn: Withdrawn[];
  problems: Problem[];
}

export interface Finding {
  standing: string;
  sentence: string;
  settle: string;
  remedy: string;
  evidence: (Evidence & { start: string | number; end: string | number })[];
}
export interface Phase {
  name: string;
  start_s: number;
  end_s: number;
  start: string | number;
  end: string | number;
}
export interface Defrost {
  start: string | number;
  end: string | number;
  start_s: number;
  end_s: number;
  duration_s: number | null;
  ended_by: string;
  peak_saturation_c: number | null;
  peak_saturation_u_k: number | null;
  peak_pressure_pa: number | null;
  saturation_margin_k: number | null;
}
export interface HeatingNumber {
  standing: string;
  value: number | null;
  expanded: number | null;
  unit: string;
  limit: Limit | null;
  probability: number | null;
  start: string | number | null;
  end: string | number | null;
  channels: string[];
  how: string;
  sentence: string;
  settle: string;
  remedy: string;
}
export interface Heating {
  steady: { start: string | number; end: string | number } | null;
  why_not: string;
  numbers: Record<string, HeatingNumber>;
}
export interface CauseEvidence {
  feature: string;
  log_ratio: number;
  value: number | string;
  expected: number | string;
  spread: number | null;
  typed: boolean;
}
export interface Cause {
  names: string[];
  title: string;
  prior: number;
  log_likelihood: number;
  probability: number;
  does: string;
  remedy: string;
  speaks_for: CauseEvidence[];
  against: CauseEvidence[];
}
export interface NextReading {
  name: string;
  title: string;
  how: string;
  minutes: number;
  danger: number;
  caution: string;
}
export interface Causes {
  verdict: "sound" | "cause" | "cannot tell";
  sentence: string;
  answers: Cause[];
  apart: string;
  next_readings: NextReading[];
  readings: { text: string }[];
  basis: string;
}
export interface Result {
  made_by: { version: string; property_tables: string };
  unit: Record<string, unknown> & { name: string; refrigerant: string };
  site: { atmosphere_pa: number; zone: string | null };
  record: { start: string | number; end: string | number; start_s: number; end_s: number; samples: number; channels: string[] };
  phases: Phase[];
  defrosts: Defrost[];
  functions: Record<string, Finding>;
  heating: Heating | Record<string, never>;
  causes: Causes | null;
  cautions: { code: string; text: string }[];
  warnings: string[];
  assumptions: { setting: string; value: string; why: string }[];
}
export interface ResultAnswer {
  revision: number | null;
  made_at: string;
  version: string;
  current: boolean;
  result: Result;
}

export interface Band {
  low: number;
  middle: number;
  high: number;
}
export interface PlanStep {
  text: string;
  caution: string;
  marks: string[];
  at: string | null;
  expect: string[];
  stop_limit_applies: boolean;
}
export interface Method {
  way: string;
  title: string;
  verdict: "works" | "may fail" | "no";
  why: string;
  runs: number;
  runs_that_work: number;
  runs_over_stop_limit: number;
  expect: Record<string, Band | { gauge_pa: Band; saturation_c: Band }>;
  shows_at_best: Record<string, string>;
  steps: PlanStep[];
}
export interface Plan {
  unit: { name: string; refrigerant: string; safety_class: string };
  day: { outdoor_c: number; dew_point_c: number; indoor_c: number; atmosphere_pa: number };
  stop: { high_side_gauge_pa: number; pressure_pa: number; saturation_c: number; by: string; default: boolean };
  best: string | null;
  methods: Method[];
}

export interface Danger {
  time_s: number;
  seconds_left: number | null;
  below_k: number;
  rate_k_s: number;
  temp_c: number;
  pressure_pa: number;
}
export type Course = "off" | "heating" | "chilldown" | "turned";

export interface Valued {
  value: number;
  expanded: number | null;
}
export interface HistoryVisit {
  visit_id: string;
  started_s: number | null;
  state: VisitState;
  closes_c: Valued | null;
  opens_c: Valued | null;
  defrost_s: Valued | null;
  peak_c: Valued | null;
  peak_pa: Valued | null;
  capacity_ratio: Valued | null;
  standings: Record<string, string>;
}
export interface Drift {
  per_year: number | null;
  expanded: number | null;
  visits: number;
  drifts: boolean | null;
  sentence: string;
}
export interface History {
  visits: HistoryVisit[];
  drift: Record<string, Drift>;
}
export interface SeasonSetting {
  name: string;
  /** Whether the board of this unit can be set so. */
  offered: boolean;
  set_now: boolean;
  best: boolean;
  energy_j: number;
  above_best_j: number;
  above_best_expanded_j: number | null;
  defrosts: number;
  needless: number;
  defrosts_by_month: number[];
  lost_by_month_j: number[];
  coldest_c: number | null;
  heat_j: number;
  backup_j: number;
  backup_defrost_j: number;
  short_j: number;
}
export interface SeasonMoney {
  currency: string;
  by_setting: Record<string, number>;
  carbon_kg_by_setting: Record<string, number> | null;
  alternatives: {
    name: string | null;
    cost: number;
    carbon_kg: number | null;
    equal_cop: number | null;
    cheaper_below_c: number | null;
    cheaper: "nowhere" | "below" | "everywhere";
  }[];
}
/** As the body of `POST /api/prices`. */
export interface Prices {
  currency: string;
  electricity: { price?: number; table?: string; carbon?: number };
  fuel: { name: string; price: number; per: string; efficiency: number; carbon?: number }[];
}
export interface Season {
  unit: string;
  weather: { source: string; place: string; days: number; southern: boolean; month_order: number[]; notes: string[] };
  advice: string;
  what_changes_it: string;
  settings: SeasonSetting[];
  frost_free_energy_j: number;
  frost_risk: { says: string };
  load: { says: string };
  faults: { functions: string[]; what: string; besides: string; says: string }[];
  measured: string[];
  householder: string[];
  money: SeasonMoney | null;
  assumed: { what: string; better: string }[];
}
export interface SeasonAnswer {
  state: "ready" | "working";
  weather: string;
  season: Season | null;
  retry_after_s: number | null;
}
export interface Attention {
  unit_id: string;
  name: string;
  site: string;
  last_visit_s: number | null;
  score: number;
  reasons: { code: string; sentence: string }[];
}
export interface ErrorBody {
  code: string;
  message: string;
  details: { where: string; message: string }[];
  current: unknown;
  retry_after_s: number | null;
}
export type { Evidence, Limit };
