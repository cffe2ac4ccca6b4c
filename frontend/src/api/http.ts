/** Talks to the service: one way for all requests, with the token and the error body of docs/service.md. */

import type { ErrorBody, Session } from "./types.ts";
import type { Answer, Transport } from "../model/outbox.ts";

const PATIENCE_MS = 20_000;

export class ServiceError extends Error {
  constructor(
    readonly status: number | null,
    readonly error: ErrorBody | null,
  ) {
    super(error?.message ?? "");
  }
}

export class Http {
  csrf: string | null = null;
  /** Told of each answer: whether the service could be reached. */
  onReach: (reached: boolean) => void = () => {};

  constructor(private readonly fetcher: typeof fetch = (...args) => fetch(...args)) {}

  private async raw(method: string, path: string, body?: BodyInit, type?: string): Promise<Response | null> {
    const headers: Record<string, string> = { Accept: "application/json" };
    if (type) headers["Content-Type"] = type;
    if (method !== "GET" && this.csrf) headers["X-CSRF-Token"] = this.csrf;
    try {
      const answer = await this.fetcher(path, {
        method,
        headers,
        credentials: "same-origin",
        cache: "no-store",
        signal: AbortSignal.timeout(PATIENCE_MS),
        ...(body === undefined ? {} : { body }),
      });
      this.onReach(true);
      return answer;
    } catch {
      this.onReach(false);
      return null;
    }
  }

  private async answer(method: string, path: string, body?: BodyInit, type?: string): Promise<Answer> {
    let found = await this.raw(method, path, body, type);
    if (found?.status === 403 && method !== "GET") {
      // The token may be old: get the session anew and try once more.
      const told = (await readJson(found.clone())) as { error?: ErrorBody } | null;
      if (told?.error?.code === "csrf" && (await this.session())) found = await this.raw(method, path, body, type);
    }
    if (!found) return { status: null, body: null, retryAfterS: null };
    const after = Number(found.headers.get("Retry-After"));
    return { status: found.status, body: await readJson(found), retryAfterS: after > 0 ? after : null };
  }

  async session(): Promise<Session | null> {
    const found = await this.answer("GET", "/api/session");
    if (found.status !== 200) return null;
    const session = found.body as Session;
    this.csrf = session.csrf;
    return session;
  }

  async get<T>(path: string): Promise<T> {
    return this.want<T>(await this.answer("GET", path));
  }

  async post<T>(path: string, body: unknown, method: "POST" | "PUT" | "DELETE" = "POST"): Promise<T> {
    return this.want<T>(await this.answer(method, path, JSON.stringify(body ?? {}), "application/json"));
  }

  /** A question with the bytes of a file, or with none. */
  async ask<T>(path: string, bytes?: ArrayBuffer): Promise<T> {
    return this.want<T>(await this.answer("POST", path, bytes, bytes && "application/octet-stream"));
  }

  async bytes(path: string): Promise<Blob> {
    const found = await this.raw("GET", path);
    if (!found?.ok) throw new ServiceError(found?.status ?? null, errorIn(found ? await readJson(found) : null));
    return found.blob();
  }

  private want<T>(answer: Answer): T {
    if (answer.status !== null && answer.status < 300) return answer.body as T;
    throw new ServiceError(answer.status, errorIn(answer.body));
  }

  transport(client: string): Transport {
    return {
      client,
      send: (method, path, body) => this.answer(method, path, JSON.stringify(body), "application/json"),
      sendBytes: (path, type, bytes) => this.answer("PUT", path, bytes, type || "application/octet-stream"),
    };
  }
}

async function readJson(answer: Response): Promise<unknown> {
  try {
    return (await answer.json()) as unknown;
  } catch {
    return null;
  }
}

function errorIn(body: unknown): ErrorBody | null {
  return (body as { error?: ErrorBody } | null)?.error ?? null;
}
