/** Next: where in the plan the visit is, told by the marks and by what the person ticked off. */

import type { Mark, PlanStep } from "../api/types.ts";
import { ACTS, undoOf } from "./channels.ts";

export interface StepState {
  step: PlanStep;
  index: number;
  state: "done" | "now" | "ahead";
  /** Acts of the step whose mark is still to be set. */
  left: string[];
  /** Acts of the step with the time of their mark. */
  set: { act: string; timeS: number }[];
}

/** Each step's state.
 *
 * Marks are matched in order of time: each goes to the first step, from the last one matched on, that waits for its act.
 * A step counts as done when all its marks are set, when it was ticked off, or when a later one has begun.
 */
export function follow(steps: readonly PlanStep[], marks: readonly Mark[], ticked: ReadonlySet<number>): StepState[] {
  const set = steps.map(() => [] as { act: string; timeS: number }[]);
  let at = 0;
  for (const mark of [...marks].filter((row) => !row.withdrawn && row.act !== "note").sort((a, b) => a.time_s - b.time_s)) {
    for (let i = at; i < steps.length; i++) {
      const waits = (steps[i]?.marks ?? [])[set[i]?.length ?? 0];
      if (waits === mark.act) {
        set[i]?.push({ act: mark.act, timeS: mark.time_s });
        at = i;
        break;
      }
    }
  }
  const full = (i: number): boolean => {
    const needs = steps[i]?.marks.length ?? 0;
    return needs > 0 && (set[i]?.length ?? 0) >= needs;
  };
  let reached = -1;
  steps.forEach((_, i) => {
    if (ticked.has(i) || full(i)) reached = i;
    else if ((set[i]?.length ?? 0) > 0) reached = Math.max(reached, i - 1);
  });
  return steps.map((step, index) => ({
    step,
    index,
    state: index <= reached ? "done" : index === reached + 1 ? "now" : "ahead",
    left: step.marks.slice(set[index]?.length ?? 0),
    set: set[index] ?? [],
  }));
}

export interface Open {
  act: string;
  sinceS: number;
  undoneBy: string;
}

/** What a person did to the machine and has not undone yet. */
export function openActs(marks: readonly Mark[]): Open[] {
  const out = new Map<string, Open>();
  for (const mark of [...marks].filter((row) => !row.withdrawn).sort((a, b) => a.time_s - b.time_s)) {
    const undone = undoOf(mark.act);
    if (undone) {
      if (!out.has(mark.act)) out.set(mark.act, { act: mark.act, sinceS: mark.time_s, undoneBy: undone });
    } else {
      for (const row of ACTS) if (row.undone_by === mark.act) out.delete(row.name);
    }
  }
  return [...out.values()];
}
