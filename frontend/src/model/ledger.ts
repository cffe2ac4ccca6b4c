/** The ledger's lines: a word, a number and a margin for each of the thirteen functions. */

import type { Result } from "../api/types.ts";
import { FUNCTIONS, standingOf, STANDINGS } from "./channels.ts";
import { keyEvidence, Numbers, type Evidence } from "./show.ts";
import { epochS, type View } from "./strip.ts";

export interface Line {
  name: string;
  title: string;
  standing: string;
  number: string;
  limit: string;
  margin: string;
  sentence: string;
  settle: string;
  remedy: string;
  evidence: Evidence[];
  /** Where on the strip its evidence lies. */
  spans: View[];
  channels: string[];
}

export function linesOf(result: Result | null, numbers: Numbers): Line[] {
  return FUNCTIONS.map(({ name, title }) => {
    const finding = result?.functions[name];
    const standing = finding?.standing ?? "unseen";
    const evidence = finding?.evidence ?? [];
    const held = numbers.held(keyEvidence(evidence, standing));
    const telling = evidence.filter((item) => item.standing === standing);
    const lit = telling.length ? telling : evidence;
    return {
      name,
      title,
      standing,
      ...held,
      sentence: finding?.sentence ?? "",
      settle: finding?.settle ?? "",
      remedy: finding?.remedy ?? "",
      evidence,
      spans: lit
        .map((item) => ({ fromS: epochS(item.start), toS: epochS(item.end) }))
        .filter((span) => Number.isFinite(span.fromS) && Number.isFinite(span.toS)),
      channels: [...new Set(lit.flatMap((item) => item.channels))],
    };
  });
}

/** "9 of 13 shown; 2 prompted, 1 bypassed, 1 not seen, none failed." in parts, as [standing, count]. */
export function countsOf(lines: readonly Line[]): [string, number][] {
  return STANDINGS.map(({ name }) => [name, lines.filter((line) => line.standing === name).length] as [string, number]).filter(
    ([name, count]) => count > 0 || name === "failed" || name === "shown",
  );
}

export function countedWord(standing: string): string {
  return standingOf(standing).counted;
}
