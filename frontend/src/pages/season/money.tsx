/** What a setting costs, beside other ways to heat; and where its heat comes from. */

import type { JSX } from "preact";
import type { Season, SeasonSetting } from "../../api/types.ts";
import { amount, kwh } from "../../model/season.ts";
import { show } from "../../model/show.ts";
import { useApp } from "../../parts/context.ts";
import { t } from "../../text/en.ts";

export function Money({ season, setting }: { season: Season; setting: SeasonSetting }): JSX.Element | null {
  const { system } = useApp().prefs.value;
  const money = season.money;
  if (!money) return null;
  const carbon = (kg: number | null | undefined): string => (kg === null || kg === undefined ? "" : `, ${(kg >= 100 ? Math.round(kg / 10) * 10 : Math.round(kg)).toLocaleString("en-US")} kg CO₂`);
  const own = money.by_setting[setting.name] ?? 0;
  return (
    <>
      <h3>{t.season.moneyTitle}</h3>
      <dl class="season-facts">
        <div>
          <dt>{t.season.thisUnit}</dt>
          <dd class="num">
            {amount(own, money.currency)}
            {carbon(money.carbon_kg_by_setting?.[setting.name])}
          </dd>
        </div>
        {money.alternatives.map((row) => (
          <div key={row.name ?? ""}>
            <dt>{row.name === null ? t.season.resistance : t.season.sameHeat(row.name)}</dt>
            <dd class="num">
              {amount(row.cost, money.currency)}
              {carbon(row.carbon_kg)}
            </dd>
            {row.name !== null && (
              <dd class="season-aside">
                {row.cheaper === "below" && row.cheaper_below_c !== null ? t.season.cheaperBelow(show(row.cheaper_below_c, "temperature", system, 0, 0)) : t.season.cheaper[row.cheaper === "everywhere" ? "everywhere" : "nowhere"]}
              </dd>
            )}
          </div>
        ))}
      </dl>
    </>
  );
}

/** The heat of the winter as one bar: unit, backup heat, backup heat in defrosts, and what is short. */
export function Split({ setting }: { setting: SeasonSetting }): JSX.Element {
  const parts = [
    ["unit", t.season.fromUnit, setting.heat_j],
    ["backup", t.season.fromBackup, setting.backup_j],
    ["defrost", t.season.fromDefrost, setting.backup_defrost_j],
    ["short", t.season.short, setting.short_j],
  ] as const;
  const all = parts.reduce((sum, part) => sum + Math.max(part[2], 0), 0) || 1;
  const shown = parts.filter(([name, , value]) => name !== "short" || value > 0.001 * all);
  let from = 0;
  return (
    <>
      <h3>{t.season.heatTitle}</h3>
      <svg class="season-split" viewBox="0 0 336 24" preserveAspectRatio="none" aria-hidden="true">
        {shown.map(([name, , value]) => {
          const wide = (336 * Math.max(value, 0)) / all;
          const x = from;
          from += wide;
          return <rect key={name} class={`season-${name}`} x={x} width={wide} y={0} height={24} />;
        })}
      </svg>
      <dl class="season-facts">
        {shown.map(([name, title, value]) => (
          <div key={name}>
            <dt>
              <i class={`season-key season-${name}`} aria-hidden="true" /> {title}
            </dt>
            <dd class="num">
              {kwh(value)} ({Math.round((100 * value) / all)} %)
            </dd>
          </div>
        ))}
      </dl>
    </>
  );
}
