/** What can be worked out on the device from the latest readings. */

import type { JSX } from "preact";
import { show } from "../../model/show.ts";
import type { VisitModel } from "../../model/visit.ts";
import { t } from "../../text/en.ts";

export function derivedRows(model: VisitModel): [string, string][] {
  const gas = model.gas.value;
  const latest = model.latestValues.value;
  const { system } = model.numbers.value;
  const at = (name: string): number => latest.get(name) ?? NaN;
  const temp = (value: number): string => show(value, "temperature", system, 0);
  const apart = (value: number): string => show(value, "temperature_difference", system, 0);
  const high = model.high.value?.value ?? NaN;
  const rows: [string, number, (value: number) => string][] = [
    [t.readings.rise, at("supply_air_temp") - at("return_air_temp"), apart],
  ];
  if (gas) {
    const dew = gas.dewC(high);
    const bubble = gas.bubbleC(high);
    rows.unshift(
      [t.readings.suctionSat, gas.dewC(at("suction_pressure")), temp],
      [t.readings.highSat, dew, temp],
      ...(gas.isBlend && Math.abs(dew - bubble) > 0.25 ? [[t.readings.bubble, bubble, temp] as [string, number, (value: number) => string]] : []),
      [t.readings.superheat, gas.superheatK(at("suction_line_temp"), at("suction_pressure")), apart],
      [t.readings.subcooling, gas.subcoolingK(at("liquid_line_temp"), at("liquid_pressure")), apart],
    );
  }
  return rows.filter(([, value]) => !Number.isNaN(value)).map(([name, value, say]) => [name, say(value)]);
}

export function Derived({ model }: { model: VisitModel }): JSX.Element | null {
  const rows = derivedRows(model);
  if (!rows.length) return null;
  return (
    <section class="sheet" aria-label={t.readings.derived}>
      <h2>{t.readings.derived}</h2>
      <dl class="derived">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd class="num">{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
