/** A stand-in for the service in tests: keeps the rules of docs/service.md on versions, sequences and answers. */

import type { Answer, Transport } from "../src/model/outbox.ts";

type Body = Record<string, unknown>;

export class FakeService {
  records = new Map<string, Body>();
  batches = new Map<string, string>();
  /** Every request that was taken, in order. */
  taken: string[] = [];
  rows: { client: string; id: string }[] = [];
  /** Photos and files by their path, as they came. */
  files = new Map<string, Uint8Array>();
  conflicts = 0;
  /** Called before each request: return an answer to fail it, "lost" to take it and lose the answer. */
  weather: (path: string) => Answer | "lost" | null = () => null;

  transport(client: string): Transport {
    return {
      client,
      send: async (method, path, body) => this.weathered(path, () => (method === "PUT" ? this.put(path, body as Body) : this.post(path, body as Body))),
      sendBytes: async (path, _type, bytes) =>
        this.weathered(path, () => {
          this.taken.push(`bytes ${path}`);
          this.files.set(path.split("?")[0] ?? "", new Uint8Array(bytes.slice(0)));
          return ok({ attachment: { id: "a", name: "p" } });
        }),
    };
  }

  private weathered(path: string, act: () => Answer): Answer {
    const weather = this.weather(path);
    if (weather === "lost") {
      act();
      return { status: null, body: null, retryAfterS: null };
    }
    return weather ?? act();
  }

  private put(path: string, body: Body): Answer {
    const before = this.records.get(path);
    const { version, ...content } = body;
    const { version: has, ...current } = before ?? { version: 0 };
    if (before && JSON.stringify(current) === JSON.stringify(content)) return ok(before);
    if (version !== has) return error(409, "changed", { current: before });
    const record = { ...content, version: (has as number) + 1 };
    this.records.set(path, record);
    this.taken.push(`put ${path} ${record.version}`);
    return ok(record);
  }

  private post(path: string, body: Body): Answer {
    if (!path.endsWith("/batches")) {
      this.taken.push(`post ${path}`);
      return ok({});
    }
    const key = `${path} ${body.client} ${body.sequence}`;
    const text = JSON.stringify(body);
    const before = this.batches.get(key);
    if (before === text) return ok({ n: this.rows.length, again: true, late: false, problems: [] });
    if (before !== undefined) {
      this.conflicts++;
      return error(409, "sequence");
    }
    this.batches.set(key, text);
    this.taken.push(`batch ${body.sequence}`);
    for (const row of [...((body.typed as Body[]) ?? []), ...((body.marks as Body[]) ?? [])]) {
      this.rows.push({ client: body.client as string, id: row.id as string });
    }
    return ok({ n: this.rows.length, again: false, late: false, problems: [] });
  }
}

export function ok(body: unknown): Answer {
  return { status: 200, body, retryAfterS: null };
}

export function error(status: number, code: string, more: Body = {}): Answer {
  return {
    status,
    body: { error: { code, message: `It was ${code}.`, details: [], current: null, retry_after_s: null, ...more } },
    retryAfterS: null,
  };
}
