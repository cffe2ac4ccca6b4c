/** The units of the shop, found by name, site, serial number or refrigerant. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Unit } from "../../api/types.ts";
import { withSite, zoneOf } from "../../model/plate.ts";
import { useApp } from "../../parts/context.ts";
import { go, Link } from "../../parts/router.tsx";
import { Icon, TextField, Title } from "../../parts/small.tsx";
import { day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

export function UnitList({ onChoose }: { onChoose: (id: string) => void }): JSX.Element {
  const app = useApp();
  const [wanted, setWanted] = useState("");
  const units = app.units.value;
  const sites = new Map(app.sites.value.map((site) => [site.id, site]));
  const words = wanted.toLowerCase().split(/\s+/).filter(Boolean);
  const rows = units.filter((unit) => {
    const site = sites.get(unit.site_id ?? "");
    const text = [unit.name, unit.serial, site?.name, site?.address, unit.plate?.unit?.refrigerant].join(" ").toLowerCase();
    return words.every((word) => text.includes(word));
  });
  const lastOf = (unit: Unit): string => {
    const last = app.visits.value.find((visit) => visit.unit_id === unit.id && visit.started_s);
    return last?.started_s ? t.units.last(day(last.started_s, zoneOf(withSite(unit, sites.get(unit.site_id ?? ""))))) : "";
  };
  return (
    <div class="sheet">
      {units.length > 4 && <TextField id="find-unit" label={t.search} type="search" value={wanted} onInput={setWanted} />}
      {!units.length && <p>{t.units.nothing}</p>}
      {units.length > 0 && !rows.length && <p>{t.units.none}</p>}
      <ul class="rows">
        {rows.slice(0, 200).map((unit) => (
          <li key={unit.id}>
            <button type="button" class="row-link" onClick={() => onChoose(unit.id)}>
              <span class="grow">
                <b>{unit.name}</b>
                <span class="soft small">
                  {[sites.get(unit.site_id ?? "")?.name, String(unit.plate?.unit?.refrigerant ?? ""), lastOf(unit)].filter(Boolean).join(" · ")}
                </span>
              </span>
              {unit.practice && <span class="tag">{t.units.practice}</span>}
              <Icon name="go" />
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

export function Units(): JSX.Element {
  return (
    <div class="page narrow">
      <div class="head">
        <Title plain={t.units.title}>{t.units.title}</Title>
        <Link to="/unit/new" class="button">
          <Icon name="plus" />
          {t.units.add}
        </Link>
      </div>
      <UnitList onChoose={(id) => go(`/unit/${id}`)} />
    </div>
  );
}
