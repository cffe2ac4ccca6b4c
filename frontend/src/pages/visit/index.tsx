/** A visit at the unit: the stop limit always in sight, the strip, and the parts one works through. */

import type { JSX } from "preact";
import { useEffect, useMemo, useState } from "preact/hooks";
import { Strip } from "../../chart/strip.tsx";
import type { Conflict } from "../../api/types.ts";
import { channelOf } from "../../model/channels.ts";
import { lookText, lookTitle } from "../../model/looked.ts";
import { show } from "../../model/show.ts";
import { VisitModel } from "../../model/visit.ts";
import { AlarmScreen } from "../../parts/alarm.tsx";
import { useApp } from "../../parts/context.ts";
import { Link } from "../../parts/router.tsx";
import { readySound, stopSiren } from "../../parts/siren.ts";
import { Caution, Icon, Title } from "../../parts/small.tsx";
import { clockTime, day, elapsed } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { markWith } from "./acts.tsx";
import { Causes } from "./causes.tsx";
import { Finish } from "./finish.tsx";
import { Heating } from "./heating.tsx";
import { Ledger } from "./ledger.tsx";
import { Next } from "./next.tsx";
import { Readings } from "./readings.tsx";
import "./style.css";

const TABS = ["next", "readings", "ledger", "heating", "causes", "finish"] as const;

function StopBar({ model }: { model: VisitModel }): JSX.Element {
  const stop = model.stop.value;
  const { system } = model.app.prefs.value;
  if (!stop) return <p class="stop-bar none">{t.stop.noPlate}</p>;
  const high = model.high.value;
  const gas = model.gas.value;
  const temp = high && gas ? gas.dewC(high.value) : NaN;
  const below = stop.tempC - temp;
  const share = Number.isNaN(temp) ? 0 : Math.min(1, Math.max(0, 1 - below / 50));
  const state = Number.isNaN(below) ? "" : below <= 0 ? "over" : below < 5 ? "near" : "";
  const margin = show(Math.abs(below), "temperature_difference", system, 0, 0);
  return (
    <div class={`stop-bar ${state} ${model.open.value ? "" : "past"}`} data-testid="stop-bar">
      <p class="stop-limit">
        <b class="num">{t.stop.limit(show(stop.pressurePa, "pressure", system, stop.atmospherePa))}</b> <span>{t.stop.onGauge}</span>
      </p>
      <p class="stop-now">
        {t.stop.high}{" "}
        {high ? (
          <>
            <b class="num">{show(high.value, "pressure", system, stop.atmospherePa)}</b>
            {!Number.isNaN(below) && <> · {below > 0 ? t.stop.below(margin) : t.stop.above(margin)}</>}
            {model.open.value && model.nowS.value - high.timeS > 15 && <span class="num"> · {model.nowS.value - high.timeS < 6 * 3600 ? t.stop.ago(elapsed(model.nowS.value - high.timeS)) : day(high.timeS, model.zone.value)}</span>}
          </>
        ) : (
          t.stop.notRead
        )}
      </p>
      <div class="stop-meter" aria-hidden="true">
        <i style={{ width: `${100 * share}%` }} />
      </div>
    </div>
  );
}

function Head({ model }: { model: VisitModel }): JSX.Element {
  const visit = model.visit.value;
  const unit = model.unit.value;
  const started = visit?.started_s ?? null;
  const course = model.course.value;
  const name = unit?.name ?? t.notKnown;
  return (
    <div class="visit-head">
      <Title plain={name}>{name}</Title>
      <p class="soft num">
        <Link to="/" class="back">
          ‹ {t.menu.today}
        </Link>{" "}
        · {String(model.plate.value.unit?.refrigerant ?? "")} ·{" "}
        {!model.open.value ? t.today.state.closed : started ? (model.nowS.value - started < 24 * 3600 ? t.visit.elapsed(elapsed(model.nowS.value - started)) : day(started, model.zone.value)) : t.visit.notStarted}
        {model.live.value && (
          <>
            {" "}
            · <b class="live">● {t.visit.live}</b>
            {course && ` ${t.course[course] ?? course}`}
          </>
        )}
        {unit && (
          <>
            {" "}
            · <Link to={`/unit/${unit.id}`}>{t.visit.unitPage}</Link>
          </>
        )}
      </p>
    </div>
  );
}

function Notices({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const { system } = app.prefs.value;
  const conflicts = model.conflicts.value;
  const problems = model.problems.value;
  const looked = conflicts.some((row) => row.kind === "looked");
  const clash = (row: Conflict, i: number): string => {
    const value = row.values?.[i];
    const channel = channelOf(row.channel);
    if (value === null || value === undefined) return "—";
    if (typeof value === "string") return lookText({ name: row.channel, text: value });
    return channel ? show(value, channel.kind, system, model.atmospherePa.value) : String(value);
  };
  const named = (row: Conflict): string =>
    row.kind === "looked" ? lookTitle(row.channel) : (channelOf(row.channel)?.title ?? (row.channel || t.visit.conflictKinds[row.kind] || row.kind));
  return (
    <>
      {app.reached.value === false && model.open.value && (
        <p class="note offline-note">
          <Icon name="nosignal" /> {t.visit.offline}
        </p>
      )}
      {model.blind.value && <Caution>{t.stop.alarm.blind}</Caution>}
      {conflicts.length > 0 && (
        <details class="sheet" data-testid="conflicts">
          <summary>
            <Icon name="warn" /> {t.visit.conflicts(conflicts.length)}
          </summary>
          <ul>
            {conflicts.map((row, i) => (
              <li key={i}>
                {t.visit.conflictRow(named(row), clockTime(row.time_s, model.zone.value), clash(row, 0), clash(row, 1))}
              </li>
            ))}
          </ul>
          {looked && <p class="small soft">{t.looked.conflict}</p>}
        </details>
      )}
      {problems.length > 0 && (
        <details class="sheet">
          <summary>{t.visit.problems}</summary>
          <ul>
            {problems.map((row, i) => (
              <li key={i}>
                <b>{row.where}</b> {row.message}
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

function Tab({ model, tab, large, onLarge }: { model: VisitModel; tab: string; large: boolean; onLarge: (large: boolean) => void }): JSX.Element {
  switch (tab) {
    case "readings":
      return <Readings model={model} />;
    case "ledger":
      return <Ledger model={model} large={large} onLarge={onLarge} />;
    case "heating":
      return <Heating model={model} />;
    case "causes":
      return <Causes model={model} />;
    case "finish":
      return <Finish model={model} />;
    default:
      return <Next model={model} />;
  }
}

export function VisitPage({ id, tail }: { id: string; tail: string }): JSX.Element {
  const app = useApp();
  const model = useMemo(() => new VisitModel(app, id), [id]);
  useEffect(() => {
    readySound();
    void model.start();
    // A screen that goes dark in the middle of a defrost shows no warning.
    let lock: WakeLockSentinel | null = null;
    const stay = (): void => {
      if (document.visibilityState === "visible") navigator.wakeLock?.request("screen").then((got) => (lock = got), () => {});
    };
    stay();
    document.addEventListener("visibilitychange", stay);
    return () => {
      model.leave();
      stopSiren();
      document.removeEventListener("visibilitychange", stay);
      void lock?.release();
    };
  }, [model]);
  const [large, setLarge] = useState(false);
  const reached = app.reached.value;
  useEffect(() => {
    if (reached) void model.refresh().then(() => model.connect());
  }, [reached]);

  if (!model.visit.value) {
    return (
      <div class="page narrow">
        <Title plain={t.menu.today}>{t.notHere}</Title>
      </div>
    );
  }
  const tab = (TABS as readonly string[]).includes(tail) ? tail : model.visit.value.state === "closed" ? "ledger" : "next";
  const alarm = model.alarm.value;
  const stop = model.stop.value;
  const silenced = model.nowS.value - model.silencedS.value < 20;
  return (
    <div class="visit">
      <Head model={model} />
      <StopBar model={model} />
      <nav class="tabs" aria-label={t.visit.tabsLabel}>
        {TABS.map((name) => (
          <Link key={name} to={`/visit/${id}/${name}`} {...(tab === name ? { "aria-current": "page" as const } : {})}>
            {t.visit.tabs[name]}
          </Link>
        ))}
      </nav>
      <div class="visit-notes">
        <Notices model={model} />
      </div>
      <div class={`visit-strip on-${tab} ${tab === "ledger" && !large ? "compact" : ""}`}>
        <Strip model={model} compact={tab === "ledger" && !large} />
      </div>
      <div class="visit-tab">
        <Tab model={model} tab={tab} large={large} onLarge={setLarge} />
      </div>
      {alarm && stop && !silenced && model.open.value && (
        <AlarmScreen
          alarm={alarm}
          stop={stop}
          onOff={() => {
            model.silence();
            void markWith(model, "call-off");
          }}
          onSilence={() => model.silence()}
        />
      )}
    </div>
  );
}

