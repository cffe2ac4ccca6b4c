/** What a winter says: the setting that is looked at, its months, and the rest below. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Season, SeasonSetting } from "../../api/types.ts";
import { FUNCTIONS } from "../../model/channels.ts";
import { besideBest, kwh, lostJ, monthsOf, topOf } from "../../model/season.ts";
import { show } from "../../model/show.ts";
import { useApp } from "../../parts/context.ts";
import { Caution, Choice } from "../../parts/small.tsx";
import { Money, Split } from "./money.tsx";
import { t } from "../../text/en.ts";

const WIDTH = 336;
const HEIGHT = 140;
const TOP = 18;
const BASE = HEIGHT - 20;

interface BarsProps {
  title: string;
  kind: "" | "lost";
  months: readonly string[];
  values: readonly number[];
  now: readonly number[] | null;
  top: number;
}

function Bars({ title, kind, months, values, now, top }: BarsProps): JSX.Element {
  const step = WIDTH / months.length;
  const tall = (value: number): number => ((BASE - TOP) * value) / top;
  const said = months.flatMap((month, i) => (values[i] ? [`${month} ${values[i]}`] : [])).join(", ");
  return (
    <figure>
      <figcaption>{title}</figcaption>
      <svg class="season-plot" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${title}: ${said || t.none}`}>
        {months.map((month, i) => {
          const value = values[i] ?? 0;
          const high = tall(value);
          const was = tall(now?.[i] ?? 0);
          const outline = `M${i * step + 2} ${BASE} V${BASE - was} h${step - 4} V${BASE}`;
          return (
            <g key={month}>
              <rect class={`season-bar ${kind}`} x={i * step + 4} width={step - 8} y={BASE - high} height={high} />
              {was > 0 && <path class="season-halo" d={outline} />}
              {was > 0 && <path class="season-now" d={outline} />}
              {value > 0 && (
                <text x={(i + 0.5) * step} y={BASE - Math.max(high, was) - 3}>
                  {value}
                </text>
              )}
              <text class="month-name" x={(i + 0.5) * step} y={HEIGHT - 5}>
                {month}
              </text>
            </g>
          );
        })}
        <path class="season-base" d={`M0 ${BASE} H${WIDTH}`} />
      </svg>
    </figure>
  );
}

function word(row: SeasonSetting): string {
  const tags = [row.set_now ? t.season.now : "", row.best ? t.season.best : "", row.offered ? "" : t.season.notOffered].filter(Boolean);
  const name = row.name === "demand" ? t.season.demand : row.name;
  return tags.length ? `${name} (${tags.join(", ")})` : name;
}

function Looked({ season, setting }: { season: Season; setting: SeasonSetting }): JSX.Element {
  const { system } = useApp().prefs.value;
  const top = topOf(season);
  const bars = monthsOf(season, setting);
  const present = season.settings.find((row) => row.set_now);
  const now = present && present !== setting ? monthsOf(season, present) : null;
  const months = bars.map((bar) => t.season.monthNames[bar.month - 1] ?? "");
  const beside = besideBest(season, setting);
  return (
    <>
      <div role="status">
        <p class="season-says">
          {t.season.total}: <span class="num">{kwh(setting.energy_j)}</span>.{" "}
          {beside ? t.season.than(kwh(beside.amountJ), beside.more, beside.best) : t.season.least}
          {beside && beside.expandedJ !== null && ` (${t.season.sure(kwh(beside.expandedJ), beside.sure)})`}
        </p>
      </div>
      <div class="season-grid">
        <Bars title={t.season.defrostsMonth} kind="" months={months} values={bars.map((bar) => bar.defrosts)} now={now && now.map((bar) => bar.defrosts)} top={top.defrosts} />
        <Bars title={t.season.lostMonth} kind="lost" months={months} values={bars.map((bar) => bar.lostKwh)} now={now && now.map((bar) => bar.lostKwh)} top={top.lostKwh} />
      </div>
      {now && <p class="soft small">{t.season.outline}</p>}
      <dl class="season-facts">
        {[
          [t.season.lost, kwh(lostJ(season, setting))],
          [t.season.defrosts, Math.round(setting.defrosts).toLocaleString("en-US")],
          [t.season.needless, Math.round(setting.needless).toLocaleString("en-US")],
          [t.season.supply, setting.coldest_c === null ? t.notKnown : show(setting.coldest_c, "temperature", system, 0, 0)],
        ].map(([title, value]) => (
          <div key={title}>
            <dt>{title}</dt>
            <dd class="num">{value}</dd>
          </div>
        ))}
      </dl>
      <Split setting={setting} />
      <Money season={season} setting={setting} />
      <details>
        <summary>{t.season.table}</summary>
        <table>
          <thead>
            <tr>
              <th scope="col">{t.season.month}</th>
              <th scope="col">{t.season.defrosts}</th>
              <th scope="col">{t.season.lostMonth}</th>
            </tr>
          </thead>
          <tbody>
            {bars.map((bar, i) => (
              <tr key={bar.month}>
                <th scope="row">{months[i]}</th>
                <td>{bar.defrosts}</td>
                <td>{bar.lostKwh}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </>
  );
}

export function Winter({ season }: { season: Season }): JSX.Element {
  const present = season.settings.find((row) => row.set_now) ?? season.settings[0];
  const [name, setName] = useState(present?.name ?? "");
  const setting = season.settings.find((row) => row.name === name) ?? present;
  const titles = new Map<string, string>(FUNCTIONS.map((row) => [row.name, row.title]));
  return (
    <>
      <section class="sheet">
        <Choice legend={t.season.setting} name="setting" value={name} options={season.settings.map((row) => [row.name, word(row)] as const)} onChoose={setName} />
        {setting && <Looked season={season} setting={setting} />}
      </section>
      <section class="sheet">
        <h2>{t.season.advice}</h2>
        <p class="season-says">{season.advice}</p>
        <p>{season.what_changes_it}</p>
        <Caution>{t.season.caution}</Caution>
      </section>
      <section class="sheet">
        <h2>{t.season.carries}</h2>
        <p>{season.load.says}</p>
        <p>{season.frost_risk.says}</p>
      </section>
      {season.measured.length > 0 && (
        <section class="sheet">
          <h2>{t.season.measured}</h2>
          <ul>
            {season.measured.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        </section>
      )}
      {season.householder.length > 0 && (
        <section class="sheet">
          <h2>{t.season.householder}</h2>
          {season.householder.map((line) => (
            <p key={line}>{line}</p>
          ))}
        </section>
      )}
      <section class="sheet">
        <h2>{t.season.faults}</h2>
        <table class="season-faults">
          <thead>
            <tr>
              <th scope="col">{t.season.fault}</th>
              <th scope="col">{t.season.what}</th>
              <th scope="col">{t.season.costs}</th>
            </tr>
          </thead>
          <tbody>
            {season.faults.map((row) => (
              <tr key={row.functions.join()}>
                <th scope="row">{row.functions.map((one) => titles.get(one) ?? one).join(", ")}</th>
                <td>
                  {row.what}
                  {row.besides && <span class="soft season-besides"> {t.season.besides(row.besides)}</span>}
                </td>
                <td class="num">{row.says}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <section class="sheet">
        <details>
          <summary>{t.season.assumed}</summary>
          <ul>
            {season.assumed.map((row) => (
              <li key={row.what}>
                {row.what} <span class="soft">{row.better}</span>
              </li>
            ))}
            {season.weather.notes.map((note) => (
              <li key={note}>{note}</li>
            ))}
          </ul>
        </details>
        <p class="soft small">{t.season.model}</p>
      </section>
    </>
  );
}
