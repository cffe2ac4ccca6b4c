import { effect } from "@preact/signals";
import { render } from "preact";
import { Http } from "./api/http.ts";
import { App } from "./model/app.ts";
import { NotSaved, StorageFull } from "./model/journal.ts";
import { AppProvider } from "./parts/context.ts";
import { Pages } from "./pages/index.tsx";
import { Shelf } from "./store/db.ts";
import { t } from "./text/en.ts";
import "./look/base.css";

/** One tab sends at a time: two senders would race for the same entry. */
async function oneTab(task: () => Promise<void>): Promise<void> {
  if (!("locks" in navigator)) return task();
  await navigator.locks.request("firstfrost-outbox", { ifAvailable: true }, async (lock) => {
    if (lock) await task();
  });
}

async function begin(place: HTMLElement | null): Promise<void> {
  const shelf = await Shelf.open("firstfrost", () => {
    if (place) render(<p class="fault">{t.otherTab}</p>, place);
  });
  const app = new App(shelf, new Http(), oneTab);
  await app.load();
  window.addEventListener("unhandledrejection", (event) => {
    // Said on the page already, or now: there is nothing else to be done about it.
    if (event.reason instanceof StorageFull) app.tellFault(event.reason);
    else if (!(event.reason instanceof NotSaved)) return;
    event.preventDefault();
  });
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const paint = (): void => {
    const { theme } = app.prefs.value;
    document.documentElement.dataset.theme = theme === "auto" ? (dark.matches ? "dark" : "light") : theme;
  };
  effect(paint);
  dark.addEventListener("change", paint);

  if (place) {
    render(
      <AppProvider value={app}>
        <Pages />
      </AppProvider>,
      place,
    );
  }

  const sync = (): void => void app.sync();
  sync();
  window.addEventListener("online", sync);
  window.addEventListener("offline", () => (app.reached.value = false));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible") return;
    app.clock.wake();
    sync();
  });
  // Signal in a yard comes and goes without the browser noticing.
  setInterval(() => {
    if (app.reached.value !== true || app.waiting.value) sync();
  }, 15_000);
  void shelf.letGo();
  void navigator.storage?.persist?.();
  if ("serviceWorker" in navigator && import.meta.env.PROD) {
    // Where it may not be had (a private window), the pages work all the same as long as there is signal.
    navigator.serviceWorker.register("/sw.js").catch(() => {});
  }
}

const place = document.getElementById("app");
begin(place).catch((err: unknown) => {
  if (place) render(<p class="fault">{t.noStart(err instanceof Error ? err.message : String(err))}</p>, place);
});
