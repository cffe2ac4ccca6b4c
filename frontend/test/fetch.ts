/** A `fetch` that leads to the stand-in service, for tests of the whole app without a browser. */

import type { Answer } from "../src/model/outbox.ts";
import { FakeService, ok } from "./service.ts";

export class FakeNet {
  readonly service = new FakeService();
  up = true;
  /** Answers of GET by path; a function is called each time. */
  gets: Record<string, unknown> = {};
  session: Record<string, unknown> = {
    mode: "alone", account: { id: "a", name: "this machine", role: "lead" }, csrf: "t", setup_needed: false, version: "0", now_s: 1000, limits: {},
  };
  calls: string[] = [];
  /** The token that counts; another gets 403 `csrf`. */
  csrf = "t";

  readonly fetch = async (input: RequestInfo | URL, init: RequestInit = {}): Promise<Response> => {
    const [path = ""] = String(input).split("?");
    const method = init.method ?? "GET";
    this.calls.push(`${method} ${path}`);
    if (!this.up) throw new TypeError("no signal");
    const headers = init.headers as Record<string, string>;
    if (method === "GET") {
      if (path === "/api/session") return this.answer(ok({ ...this.session, csrf: this.csrf }));
      const found = this.gets[path];
      if (found !== undefined) return this.answer(ok(typeof found === "function" ? (found as () => unknown)() : found));
      const record = this.service.records.get(path);
      if (record) return this.answer(ok({ id: path.split("/").at(-1), state: "open", ...record }));
      const list = /^\/api\/(sites|units|visits)$/.exec(path)?.[1];
      if (list) {
        const rows = [...this.service.records].filter(([key]) => key.startsWith(`${path}/`)).map(([key, row]) => ({ id: key.split("/").at(-1), ...row }));
        return this.answer(ok({ [list]: rows }));
      }
      return this.answer({ status: 404, body: { error: { code: "not-found", message: "no", details: [], current: null, retry_after_s: null } }, retryAfterS: null });
    }
    if (headers["X-CSRF-Token"] !== this.csrf) {
      return this.answer({ status: 403, body: { error: { code: "csrf", message: "old", details: [], current: null, retry_after_s: null } }, retryAfterS: null });
    }
    const transport = this.service.transport("");
    if (init.body instanceof ArrayBuffer) return this.answer(await transport.sendBytes(path, "", init.body));
    return this.answer(await transport.send(method as "PUT", path, JSON.parse(String(init.body))));
  };

  private answer(found: Answer): Response {
    return new Response(JSON.stringify(found.body), { status: found.status ?? 500 });
  }
}
