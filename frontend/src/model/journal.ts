/** The journal: what this device did, in order, append-only. What was sent of it is kept apart. */

import type { Looked, Mark, Typed, Withdrawn } from "../api/types.ts";

export interface BatchParts {
  typed?: Typed[];
  looked?: Looked[];
  marks?: Mark[];
  withdrawn?: Withdrawn[];
}

/** Something to bring to the service.
 *
 * put    a record, whole; `base` is the version it was made from, `chained` that it follows an unsent put of ours
 * batch  readings and marks of a visit under this device's next sequence for it
 * bytes  a photo, a signature or a log; the bytes themselves lie apart, and are let go once they are acknowledged
 * post   an act such as closing
 */
export type Work =
  | { kind: "put"; path: string; base: number; chained: boolean; body: Record<string, unknown> }
  | { kind: "batch"; visit: string; sequence: number; body: BatchParts }
  | { kind: "bytes"; path: string; name: string; type: string; size: number }
  | { kind: "post"; path: string; body: Record<string, unknown> };

export type Entry = Work & { n: number; at_s: number };

/** What became of an entry: `sent`, `refused` by the service with its words, or `dropped` by the person. */
export interface Fate {
  n: number;
  state: "sent" | "refused" | "dropped";
  /** Null where there was no room to write it down. */
  at_s: number | null;
  code?: string;
  message?: string;
  /** The store's record where another device changed it first. */
  current?: unknown;
}

/** The device has no room left: what was to be written is not, and nothing of what was there before is lost. */
export class StorageFull extends Error {
  override name = "StorageFull";
}

/** Work that could not be put in the journal. The page says so by itself; who asked for it keeps what was typed. */
export class NotSaved extends Error {
  override name = "NotSaved";
}

/** What to ask of a journal before it is written: work without the numbers that the journal gives. */
export type NewWork =
  | { kind: "put"; path: string; base: number; body: Record<string, unknown> }
  | { kind: "batch"; visit: string; body: BatchParts }
  | { kind: "bytes"; path: string; name: string; type: string; bytes: ArrayBuffer }
  | { kind: "post"; path: string; body: Record<string, unknown> };

/** Rows of one kind from several sources as one list: by id, withdrawn ones told, in order of time.
 *
 * The same row may come from the journal and back from the service; it is one. A withdrawal counts whichever comes
 * first.
 */
export function mergeRows<Row extends { id: string; time_s: number; withdrawn?: boolean }>(
  sources: readonly (readonly Row[])[],
  withdrawn: ReadonlySet<string>,
): Row[] {
  const byId = new Map<string, Row>();
  for (const rows of sources) {
    for (const row of rows) {
      const before = byId.get(row.id);
      byId.set(row.id, before ? { ...before, ...row, withdrawn: !!(before.withdrawn || row.withdrawn) } : row);
    }
  }
  const out = [...byId.values()].map((row) => (withdrawn.has(row.id) ? { ...row, withdrawn: true } : row));
  return out.sort((a, b) => a.time_s - b.time_s);
}

/** Fields in which two versions of a record differ, for a person to choose: [field, mine, theirs]. */
export function differences(
  mine: Record<string, unknown>,
  theirs: Record<string, unknown>,
): [string, string, string][] {
  const out: [string, string, string][] = [];
  const walk = (a: unknown, b: unknown, where: string): void => {
    if (isObject(a) && isObject(b)) {
      for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) walk(a[key], b[key], where ? `${where}.${key}` : key);
    } else if (JSON.stringify(a ?? null) !== JSON.stringify(b ?? null)) {
      out.push([where, plain(a), plain(b)]);
    }
  };
  const shared = Object.keys(mine).filter((key) => key !== "version");
  for (const key of shared) walk(mine[key], theirs[key], key);
  return out;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function plain(value: unknown): string {
  if (value === null || value === undefined || value === "") return "—";
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}
