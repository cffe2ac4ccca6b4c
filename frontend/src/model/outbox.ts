/** Sends the journal: in order, each entry once, and keeps what cannot be sent. */

import type { ErrorBody } from "../api/types.ts";
import type { Entry, Fate } from "./journal.ts";

/** What comes back of one request. `null` status: no signal, or the service is away. */
export interface Answer {
  status: number | null;
  body: unknown;
  retryAfterS: number | null;
}

export interface Transport {
  client: string;
  send(method: "PUT" | "POST", path: string, body: unknown): Promise<Answer>;
  sendBytes(path: string, type: string, bytes: ArrayBuffer): Promise<Answer>;
}

export interface Queue {
  next(): Promise<Entry | undefined>;
  bytesOf(n: number): Promise<ArrayBuffer | undefined>;
  /** Tell what became of an entry. Bytes that were sent, or that the person dropped, go with it: never before. */
  setFate(fate: Fate): Promise<void>;
  copy<T>(path: string): Promise<T | undefined>;
  keepCopy(path: string, body: unknown, atS: number): Promise<void>;
}

export type Stopped = { why: "empty" } | { why: "signal"; retryAfterS: number | null } | { why: "sign-in" };

/** The body of the batch of an entry: the same at each try, so that the service can tell it came before. */
export function batchOf(entry: Extract<Entry, { kind: "batch" }>, client: string): Record<string, unknown> {
  return { client, sequence: entry.sequence, sent_s: entry.at_s, ...entry.body };
}

/** Nothing is ever sent as an empty photo: a store that lost the bytes says so. */
const NO_BYTES: { error: ErrorBody } = {
  error: {
    code: "no-bytes",
    message: "The bytes of this photo or file are no longer in this device's storage, so it cannot be sent. Expected what was added here. Take it again.",
    details: [],
    current: null,
    retry_after_s: null,
  },
};

function errorOf(body: unknown): ErrorBody | null {
  const found = (body as { error?: ErrorBody } | null)?.error;
  return found && typeof found.message === "string" ? found : null;
}

async function sendOne(entry: Entry, queue: Queue, transport: Transport): Promise<Answer> {
  if (entry.kind === "batch") {
    return transport.send("POST", `/api/visits/${entry.visit}/batches`, batchOf(entry, transport.client));
  }
  if (entry.kind === "bytes") {
    const bytes = await queue.bytesOf(entry.n);
    if (!bytes) return { status: 410, body: NO_BYTES, retryAfterS: null };
    return transport.sendBytes(`${entry.path}?name=${encodeURIComponent(entry.name)}`, entry.type, bytes);
  }
  if (entry.kind === "post") return transport.send("POST", entry.path, entry.body);
  const version = entry.chained ? ((await queue.copy<{ version: number }>(entry.path))?.version ?? entry.base) : entry.base;
  return transport.send("PUT", entry.path, { ...entry.body, version });
}

/** Send all that waits, oldest first.
 *
 * Without signal, or while the service is away or asks for patience, it stops where it is: nothing overtakes. What the
 * service refuses for good is marked with its words and shown; it does not hold up the rest.
 */
export async function drain(
  queue: Queue,
  transport: Transport,
  nowS: () => number,
  onFate?: (entry: Entry, fate: Fate, answer: Answer) => void | Promise<void>,
): Promise<Stopped> {
  for (;;) {
    const entry = await queue.next();
    if (!entry) return { why: "empty" };
    const answer = await sendOne(entry, queue, transport);
    const { status } = answer;
    if (status === null || status >= 500 || status === 429 || status === 408) {
      return { why: "signal", retryAfterS: answer.retryAfterS };
    }
    if (status === 401) return { why: "sign-in" };
    const error = errorOf(answer.body);
    const already = entry.kind === "post" && entry.path.endsWith("/close") && error?.code === "state";
    const fate: Fate =
      status < 300 || already
        ? { n: entry.n, state: "sent", at_s: nowS() }
        : {
            n: entry.n,
            state: "refused",
            at_s: nowS(),
            code: error?.code ?? String(status),
            message: error ? [error.message, ...error.details.map((d) => `${d.where}: ${d.message}`)].join(" ") : `HTTP ${status}`,
            ...(error?.current ? { current: error.current } : {}),
          };
    if (fate.state === "sent" && entry.kind === "put" && answer.body) {
      await queue.keepCopy(entry.path, recordIn(answer.body), nowS());
    }
    await queue.setFate(fate);
    await onFate?.(entry, fate, answer);
  }
}

/** A record answered bare or under its name ({"unit": {...}}). */
export function recordIn(body: unknown): Record<string, unknown> {
  const top = body as Record<string, unknown>;
  if ("version" in top || "id" in top) return top;
  for (const value of Object.values(top)) {
    if (typeof value === "object" && value !== null && "version" in value) return value as Record<string, unknown>;
  }
  return top;
}
