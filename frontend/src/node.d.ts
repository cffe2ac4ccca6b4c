/** The few names of Node that vite.config.ts takes, so that no package of types is needed for them. */
declare module "node:crypto" {
  export function createHash(name: string): { update(data: string | Uint8Array): unknown; digest(encoding: "hex"): string };
}
declare module "node:fs" {
  export function readFileSync(path: string): Uint8Array;
  export function readFileSync(path: string, encoding: "utf8"): string;
}
declare const process: { env: Record<string, string | undefined> };
