import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { defineConfig, type Plugin } from "vite";

const OUT = "../src/firstfrost/web/pages";
/** What the service worker keeps beside the bundle. */
const PUBLIC = ["manifest.webmanifest", "icons/icon.svg", "icons/icon-192.png", "icons/icon-512.png"];

/** Packages of which code goes into the pages. */
const SHIPPED = ["preact", "@preact/signals", "@preact/signals-core", "idb", "uplot"];

/** Write sw.js with the list of all files that the pages are made of, so that they open without signal. */
function serviceWorker(): Plugin {
  return {
    name: "service-worker",
    apply: "build",
    enforce: "post",
    generateBundle(_, bundle) {
      const files = Object.keys(bundle).filter((name) => !name.endsWith(".map") && name !== "index.html");
      const hash = createHash("sha256");
      for (const name of files.sort()) hash.update(name);
      const page = bundle["index.html"];
      if (page?.type === "asset") hash.update(page.source);
      for (const name of PUBLIC) hash.update(readFileSync(`public/${name}`));
      const worker = readFileSync("src/sw.js", "utf8")
        .replace("__VERSION__", hash.digest("hex").slice(0, 12))
        .replace('["__FILES__"]', JSON.stringify(["/", ...[...files, ...PUBLIC].map((name) => `/${name}`)]));
      this.emitFile({ type: "asset", fileName: "sw.js", source: worker });
      // What is shipped carries the licences of what it is made of.
      const licences = SHIPPED.map((name) => `${name}\n\n${readFileSync(`node_modules/${name}/LICENSE`, "utf8")}`);
      this.emitFile({ type: "asset", fileName: "licences.txt", source: licences.join("\n\n") });
    },
  };
}

export default defineConfig({
  base: "/",
  plugins: [serviceWorker()],
  build: {
    outDir: OUT,
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: true,
  },
  server: { proxy: { "/api": process.env.FIRSTFROST_URL ?? "http://127.0.0.1:8137" } },
});
