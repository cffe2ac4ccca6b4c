/** Next: the one thing to do now, with its caution, its stop limit and its marks. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Band, Method, PlanStep } from "../../api/types.ts";
import { actTitle, cautionsOf, NUMBERS } from "../../model/channels.ts";
import type { StepState } from "../../model/next.ts";
import { show, showTime } from "../../model/show.ts";
import type { VisitModel } from "../../model/visit.ts";
import { useApp } from "../../parts/context.ts";
import { Quantity } from "../../parts/quantity.tsx";
import { Caution, Fault } from "../../parts/small.tsx";
import { clockTime, elapsed } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { ActButton, OtherMarks } from "./acts.tsx";

type AnyMethod = Pick<Method, "way" | "title" | "steps"> & Partial<Method>;
const NUMBER = new Map(NUMBERS.map((row) => [row.key, row]));

/** One number that the plan foretells, in the reader's units: [title, usual, span, saturation]. */
export function expectRow(method: AnyMethod, key: string, model: VisitModel): { title: string; usual: string; span: string; saturation: string } | null {
  const number = NUMBER.get(key);
  const found = method.expect?.[key.replace(/_pa$/, "")];
  if (!number || !found) return null;
  const { system } = model.numbers.value;
  const band = ("gauge_pa" in found ? found.gauge_pa : found) as Band;
  const one = (value: number): string => {
    if (number.unit === "s") return showTime(Math.round(value / 5) * 5);
    if (number.unit === "degC") return show(value, "temperature", system, 0, 0);
    if (number.unit === "kg") return system === "us" ? `${(value / 0.45359237).toFixed(1)} lb` : `${value.toFixed(2)} kg`;
    return show(value, "pressure", system, 0);
  };
  const bare = (text: string): string => text.split(" ")[0] ?? text;
  const low = one(band.low);
  const high = one(band.high);
  const same = low.split(" ").slice(1).join(" ") === high.split(" ").slice(1).join(" ") && number.unit !== "s";
  return {
    title: number.title,
    usual: one(band.middle),
    span: t.next.span(same ? bare(low) : low, high),
    saturation: "saturation_c" in found ? show(found.saturation_c.middle, "temperature", system, 0, 0) : "",
  };
}

function StopHere({ model }: { model: VisitModel }): JSX.Element | null {
  const stop = model.stop.value;
  if (!stop) return null;
  const { system } = model.numbers.value;
  const why = stop.by === "ceiling" ? t.stop.why.ceiling(show(stop.tempC, "temperature", system, 0, 0), stop.given) : t.stop.why.cutout(stop.given);
  return (
    <p class="stop-here">
      <b class="num">{t.stop.limit(show(stop.pressurePa, "pressure", system, stop.atmospherePa))}</b>
      <span>
        {t.stop.onGauge}: {why}
      </span>
    </p>
  );
}

function Expect({ model, method, step }: { model: VisitModel; method: AnyMethod; step: PlanStep }): JSX.Element | null {
  const rows = step.expect.map((key) => expectRow(method, key, model)).filter((row) => row !== null);
  const at = step.at && step.at !== "call" ? (method.expect?.[step.at] as Band | undefined) : undefined;
  if (!rows.length && !at && step.at !== "call") return null;
  return (
    <div class="expect">
      {(at || step.at === "call") && <p class="soft">{step.at === "call" ? t.next.atCall : at && t.next.after(showTime(Math.round(at.middle / 5) * 5))}</p>}
      {rows.length > 0 && (
        <dl>
          {rows.map((row) => (
            <div key={row.title}>
              <dt>{row.title}</dt>
              <dd class="num">
                <b>{row.usual}</b> <span class="soft">{row.span}{row.saturation && ` · ${row.saturation} ${t.next.saturation}`}</span>
              </dd>
            </div>
          ))}
        </dl>
      )}
    </div>
  );
}

function StepCard({ model, method, state, of }: { model: VisitModel; method: AnyMethod; state: StepState; of: number }): JSX.Element {
  const { step, index, left, set } = state;
  return (
    <section class="sheet now" aria-labelledby="now-title" data-testid="next">
      <p class="step-count soft">{t.next.step(index + 1, of)}</p>
      <h2 id="now-title" class="step-text">
        {step.text}
      </h2>
      {step.stop_limit_applies && <StopHere model={model} />}
      {step.caution && <Caution>{step.caution}</Caution>}
      <Expect model={model} method={method} step={step} />
      {set.map((row) => (
        <p key={row.act + row.timeS} class="num set-mark">
          ✓ {actTitle(row.act)} <span class="soft">{clockTime(row.timeS, model.zone.value)}</span>
        </p>
      ))}
      {left.map((act, i) => (
        <ActButton key={`${act}${i}`} model={model} act={act} main={i === 0} />
      ))}
      <div class="bar">
        {model.ticked.value.has(index - 1) && (
          <button type="button" class="button quiet" onClick={() => void model.tick(index - 1, false)}>
            {t.next.back}
          </button>
        )}
        <button type="button" class={`button grow ${left.length ? "quiet" : "main big"}`} onClick={() => void model.tick(index, true)}>
          {t.next.done}
        </button>
      </div>
    </section>
  );
}

function Weather({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const visit = model.visit.value;
  const [outdoor, setOutdoor] = useState<string | null>(visit?.outdoor ?? null);
  const [humidity, setHumidity] = useState<string | null>(visit?.humidity ?? null);
  const [indoor, setIndoor] = useState<string | null>(visit?.indoor ?? null);
  const [wrong, setWrong] = useState(false);
  const { system } = app.prefs.value;
  const working = model.planState.value === "working";
  const ask = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (!outdoor || wrong) return;
    await model.amend({ outdoor, humidity: humidity?.replace("%RH", "%RH") ?? null, indoor });
    await model.askPlan();
  };
  const keep = (set: (value: string | null) => void) => (text: string | null, fault: string) => {
    set(text);
    setWrong(!!fault);
  };
  return (
    <form class="sheet" onSubmit={(event) => void ask(event)} noValidate>
      <h2>{t.next.weather}</h2>
      <div class="grid3">
        <Quantity id="outdoor" label={t.next.outdoor} kind="temperature" system={system} value={outdoor} onChange={keep(setOutdoor)} lowest="-60 degF" highest="130 degF" />
        <Quantity id="humidity" label={t.next.humidity} kind="humidity" system={system} value={humidity} onChange={keep(setHumidity)} lowest="1 %RH" highest="100 %RH" />
        <Quantity id="indoor" label={t.next.indoor} kind="temperature" system={system} value={indoor} onChange={keep(setIndoor)} lowest="40 degF" highest="95 degF" />
      </div>
      {app.reached.value === false && <p class="soft">{t.next.noSignal}</p>}
      {model.planState.value === "failed" && model.planFault.value && <Fault>{model.planFault.value}</Fault>}
      <button type="submit" class="button wide" disabled={working || !outdoor}>
        {working ? t.next.working : t.next.ask}
      </button>
    </form>
  );
}

function Ways({ model }: { model: VisitModel }): JSX.Element {
  const plan = model.plan.value;
  const chosen = model.method.value?.way ?? null;
  const rows: AnyMethod[] = plan?.methods ?? model.methods.value;
  return (
    <section class="sheet">
      <h2>{plan ? t.next.way : t.next.generic}</h2>
      <ul class="ways">
        {rows.map((method) => (
          <li key={method.way}>
            <button type="button" class={`way ${chosen === method.way ? "chosen" : ""}`} aria-pressed={chosen === method.way} disabled={!method.steps.length} onClick={() => void model.choose(method.way)} data-way={method.way}>
              <b>{method.title}</b>
              {method.verdict && <span class={`tag v-${method.verdict.replace(" ", "-")}`}>{t.next.verdict[method.verdict]}</span>}
              {method.why && <span class="small">{method.why}</span>}
              {!!method.runs_over_stop_limit && <span class="small">{t.next.over(method.runs_over_stop_limit, method.runs_that_work ?? method.runs ?? 0)}</span>}
            </button>
          </li>
        ))}
      </ul>
      <p class="soft small">{t.next.makerFirst}</p>
    </section>
  );
}

export function Next({ model }: { model: VisitModel }): JSX.Element {
  const steps = model.steps.value;
  const method = model.method.value as AnyMethod | null;
  const now = steps.find((row) => row.state === "now");
  const [choosing, setChoosing] = useState(false);
  const gas = model.gas.value;
  const way = method?.way;
  useEffect(() => setChoosing(false), [way]);
  return (
    <div class="page">
      {model.open_acts.value.map((row) => (
        <div key={row.act} class="open-act">
          <span>{t.visit.openAct(actTitle(row.act), elapsed(model.nowS.value - row.sinceS))}</span>
          {!now?.left.includes(row.undoneBy) && <ActButton model={model} act={row.undoneBy} />}
        </div>
      ))}
      {method && !choosing ? (
        <>
          {now ? <StepCard model={model} method={method} state={now} of={steps.length} /> : <p class="note">{t.next.allDone}</p>}
          <details class="sheet">
            <summary>
              {t.next.allSteps}: {method.title}
            </summary>
            <ol class="steps">
              {steps.map((row) => (
                <li key={row.index} class={row.state} {...(row.state === "now" ? { "aria-current": "step" as const } : {})}>
                  <span class="step-n num">{row.state === "done" ? "✓" : row.index + 1}</span>
                  <div>
                    <span class="hide">{t.next.states[row.state]}: </span>
                    {row.step.text}
                    {row.step.caution && <p class="small soft">⚠ {row.step.caution}</p>}
                    {row.set.map((mark) => (
                      <p key={mark.timeS} class="small num">
                        ✓ {actTitle(mark.act)} {clockTime(mark.timeS, model.zone.value)}
                      </p>
                    ))}
                  </div>
                </li>
              ))}
            </ol>
            <button type="button" class="button quiet" onClick={() => setChoosing(true)}>
              {t.next.change}
            </button>
          </details>
        </>
      ) : (
        <>
          {model.open.value && <Weather model={model} />}
          <Ways model={model} />
        </>
      )}
      {method && !choosing && !model.plan.value && model.open.value && <Weather model={model} />}
      {model.open.value && <OtherMarks model={model} />}
      <details class="sheet">
        <summary>{t.visit.cautions}</summary>
        <ul class="page">
          {cautionsOf(gas?.safetyClass ?? "A1").map((row) => (
            <li key={row.code}>
              <Caution>{row.text}</Caution>
            </li>
          ))}
        </ul>
      </details>
    </div>
  );
}

