/** The frame of every page: where one is, and whether what was done has been sent. */

import type { ComponentChildren, JSX } from "preact";
import { t } from "../text/en.ts";
import { useApp } from "./context.ts";
import { Link, path } from "./router.tsx";
import { Icon, Mark, StorageFault } from "./small.tsx";
import { ToastPlace } from "./toast.tsx";

const MENU: readonly (readonly [string, string, readonly string[]])[] = [
  ["/", t.menu.today, ["", "visit", "start"]],
  ["/units", t.menu.units, ["units", "unit", "history"]],
  ["/shop", t.menu.shop, ["shop", "instruments", "people"]],
  ["/settings", t.menu.settings, ["settings"]],
];

function Signal(): JSX.Element {
  const app = useApp();
  const waiting = app.waiting.value;
  const troubles = app.troubles.value.length;
  const reached = app.reached.value;
  const words = [
    app.mustSignIn.value ? t.signal.signIn : reached === null ? t.signal.trying : reached ? t.signal.live : t.signal.none,
    ...(waiting ? [t.signal.waiting(waiting)] : []),
    ...(troubles ? [t.signal.trouble(troubles)] : []),
  ];
  return (
    <Link to={app.mustSignIn.value ? "/sign-in" : "/waiting"} class="signal" aria-label={`${t.signal.label}: ${words.join(", ")}`}>
      <Icon name={troubles ? "warn" : reached === false ? "nosignal" : waiting ? "wait" : "signal"} />
      <span data-testid="signal">{words.join(" · ")}</span>
    </Link>
  );
}

export function Shell({ children }: { children: ComponentChildren }): JSX.Element {
  const place = path.value.split("/")[1] ?? "";
  return (
    <>
      <a class="skip" href="#main">
        {t.skip}
      </a>
      <header class={`top on-${place || "today"}`}>
        <div class="top-row">
          <Link to="/" class="brand" aria-label={t.name}>
            <Mark />
            <span>{t.name}</span>
          </Link>
          <nav class="menu" aria-label={t.menu.label}>
            {MENU.map(([to, word, places]) => (
              <Link key={to} to={to} {...(places.includes(place) ? { "aria-current": "page" as const } : {})}>
                {word}
              </Link>
            ))}
          </nav>
          <Signal />
        </div>
      </header>
      <main id="main" tabIndex={-1}>
        {children}
      </main>
      <div class="foot">
        <StorageFault />
        <ToastPlace />
      </div>
    </>
  );
}
