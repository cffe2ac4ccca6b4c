/** The heating check as lines: those that were measured, and the titles of those that were not. */

import type { Heating, Result } from "../api/types.ts";
import { HEATING } from "./channels.ts";
import { keyEvidence, type Evidence, type Held, type Numbers } from "./show.ts";

export interface HeatingLine extends Held {
  name: string;
  title: string;
  standing: string;
  sentence: string;
  settle: string;
  remedy: string;
  how: string;
  source: string;
}

export function heatingOf(result: Result | null | undefined): Heating | null {
  const found = result?.heating as Partial<Heating> | undefined;
  return found?.numbers ? (found as Heating) : null;
}

export function heatingLines(heating: Heating, numbers: Numbers): { measured: HeatingLine[]; unseen: string[] } {
  const measured: HeatingLine[] = [];
  const unseen: string[] = [];
  for (const { name, title, heat } of HEATING) {
    const found = heating.numbers[name];
    if (!found || found.value === null) {
      if (found) unseen.push(title);
      continue;
    }
    const unit = heat ? "heat" : found.unit;
    // That heat flows downhill is no limit to have room to.
    const limit = found.limit && !found.limit.source?.startsWith("physics: heat flows") ? { ...found.limit, unit } : null;
    const evidence: Evidence = {
      standing: found.standing, start_s: 0, end_s: 0, channels: found.channels, what: found.sentence,
      measured: { value: found.value, unit, expanded: found.expanded }, limit, probability: found.probability,
    };
    measured.push({
      name, title, standing: found.standing, ...numbers.held(keyEvidence([evidence], found.standing)),
      sentence: found.sentence, settle: found.settle, remedy: found.remedy, how: found.how, source: limit?.source ?? "",
    });
  }
  return { measured, unseen };
}
