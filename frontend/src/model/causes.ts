/** The ranked causes as lines of text, as the report has them. */

import type { Cause, CauseEvidence, Causes, NextReading, Result } from "../api/types.ts";
import { DANGERS, FEATURES } from "./channels.ts";
import type { Numbers } from "./show.ts";
import { t } from "../text/en.ts";

export interface CauseLine {
  key: string;
  title: string;
  probability: string;
  odds: string;
  does: string;
  remedy: string;
  speaksFor: string[];
  against: string[];
}
export interface NextLine {
  key: string;
  title: string;
  how: string;
  worth: string;
  caution: string;
}

const FEATURE = new Map(FEATURES.map((row) => [row.name, row]));

/** The causes of a result; none of one that was made before there were any. */
export function causesOf(result: Result | null | undefined): Causes | null {
  const found = result?.causes as Partial<Causes> | null | undefined;
  return found && Array.isArray(found.answers) ? (found as Causes) : null;
}

/** None is given as certain. */
export function percent(p: number): string {
  if (p > 0.985) return t.causes.over;
  if (p < 0.015) return t.causes.under;
  return `${Math.round(100 * p)} %`;
}

export function odds(one: Cause): string {
  const prior = one.prior < 0.1 ? `${(100 * one.prior).toFixed(1)} %` : `${Math.round(100 * one.prior)} %`;
  const log = one.log_likelihood;
  if (Math.abs(log) < 0.05) return t.causes.alike(prior);
  const size = Math.exp(Math.min(Math.abs(log), 20));
  const rounded = Number(size.toPrecision(2));
  const much = size > 1e6 ? t.causes.million : rounded >= 10 ? rounded.toLocaleString("en-US") : rounded.toFixed(1);
  return log > 0 ? t.causes.better(prior, much) : t.causes.worse(prior, much);
}

export function evidenceLine(one: CauseEvidence, numbers: Numbers): string {
  const row = FEATURE.get(one.feature);
  const name = `${row?.title ?? one.feature}${one.typed ? ` (${t.causes.typed})` : ""}`;
  const size = Math.abs(one.log_ratio);
  const much = size > 3 ? t.causes.strongly : size > 1.2 ? t.causes.clearly : t.causes.little;
  const strength = t.causes.says(much, one.log_ratio > 0);
  if (typeof one.value === "string" || typeof one.expected === "string") {
    return t.causes.evidence(name, String(one.value), String(one.expected), strength);
  }
  const spread = one.spread ?? 0;
  if (row?.unit === "log") {
    const part = Math.exp(Math.min(Math.max(one.value - one.expected, -5), 5));
    const wide = 200 * (Math.exp(Math.min(spread, 2)) - 1);
    return t.causes.share(name, `${Math.round(100 * part)} %`, `${Math.round(wide)} %`, strength);
  }
  const unit = row?.unit ?? "1";
  return t.causes.evidence(name, numbers.value(one.value, unit), numbers.value(one.expected, unit, 2 * spread), strength);
}

export function causeLines(causes: Causes, numbers: Numbers): CauseLine[] {
  return causes.answers.map((one) => ({
    key: one.names.join("+"), title: one.title, probability: percent(one.probability), odds: odds(one),
    does: one.does, remedy: one.remedy,
    speaksFor: one.speaks_for.map((item) => evidenceLine(item, numbers)),
    against: one.against.map((item) => evidenceLine(item, numbers)),
  }));
}

export function nextLines(causes: Causes): NextLine[] {
  return causes.next_readings.map((one: NextReading) => ({
    key: one.name, title: one.title, how: one.how, caution: one.caution,
    worth: t.causes.worth(Math.round(one.minutes), DANGERS[one.danger] ?? String(one.danger)),
  }));
}
