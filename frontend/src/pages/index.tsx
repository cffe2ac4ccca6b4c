/** Which page belongs to which path. Heavy ones come when they are asked for; the service worker keeps all of them. */

import { signal } from "@preact/signals";
import type { FunctionComponent, JSX } from "preact";
import { useApp } from "../parts/context.ts";
import { path } from "../parts/router.tsx";
import { Shell } from "../parts/shell.tsx";
import { Fault, Title } from "../parts/small.tsx";
import { t } from "../text/en.ts";
import { Start } from "./today/start.tsx";
import { Today } from "./today/index.tsx";
import { Waiting } from "./today/waiting.tsx";
import { Units } from "./units/index.tsx";

export interface PageProps {
  id: string;
  tail: string;
}

function later(load: () => Promise<FunctionComponent<PageProps>>): FunctionComponent<PageProps> {
  const found = signal<FunctionComponent<PageProps> | null>(null);
  const failed = signal("");
  let asked = false;
  return function Later(props: PageProps): JSX.Element {
    if (!asked) {
      asked = true;
      load().then(
        (page) => (found.value = page),
        (err: unknown) => {
          asked = false;
          failed.value = String(err);
        },
      );
    }
    const Page = found.value;
    if (Page) return <Page {...props} />;
    return failed.value ? <Fault>{failed.value}</Fault> : <p class="soft">{t.loading}</p>;
  };
}

const PAGES: Record<string, FunctionComponent<PageProps>> = {
  "": Today,
  start: Start,
  waiting: Waiting,
  units: Units,
  unit: later(async () => (await import("./units/unit.tsx")).UnitPage),
  visit: later(async () => (await import("./visit/index.tsx")).VisitPage),
  history: later(async () => (await import("./history/index.tsx")).HistoryPage),
  season: later(async () => (await import("./season/index.tsx")).SeasonPage),
  shop: later(async () => (await import("./shop/index.tsx")).Shop),
  instruments: later(async () => (await import("./shop/instruments.tsx")).Instruments),
  people: later(async () => (await import("./shop/people.tsx")).People),
  settings: later(async () => (await import("./settings/index.tsx")).Settings),
  "sign-in": later(async () => (await import("./settings/sign-in.tsx")).SignIn),
};

export function Pages(): JSX.Element {
  const app = useApp();
  const [, place = "", id = "", tail = ""] = path.value.split("/");
  const session = app.session.value;
  const name = session?.setup_needed ? "sign-in" : place;
  const Page = PAGES[name];
  return (
    <Shell>
      {Page ? (
        // A page of its own for each thing, so that nothing of the one before stays.
        <Page key={`${name}/${id}`} id={id} tail={tail} />
      ) : (
        <Title plain={t.notFound}>{t.notFound}</Title>
      )}
    </Shell>
  );
}
