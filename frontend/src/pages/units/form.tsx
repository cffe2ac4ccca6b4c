/** The unit file as a form. What is left empty gets the library's default, and says so. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Unit } from "../../api/types.ts";
import { CHOICES, SETTINGS } from "../../model/channels.ts";
import { fluid, REFRIGERANTS } from "../../model/saturation.ts";
import type { Plate } from "../../model/stop.ts";
import { parse, type Kind } from "../../model/units.ts";
import { unitBody } from "../../model/visit.ts";
import { useApp } from "../../parts/context.ts";
import { Quantity } from "../../parts/quantity.tsx";
import { Choice, Fault, Field, TextField } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";
import { tableIn, Tables } from "./tables.tsx";

const ZONES = "supportedValuesOf" in Intl ? Intl.supportedValuesOf("timeZone") : [];
const GROUPS: readonly (readonly [string, string, readonly string[]])[] = [
  ["sensor", t.unit.sensor, ["coil_sensor.closes_at", "coil_sensor.opens_at", "coil_sensor.tolerance"]],
  ["board", t.unit.board, ["board.interval", "board.longest_defrost", "board.pins_time"]],
  ["limits", t.unit.limits, ["limits.saturation_ceiling", "limits.high_pressure_cutout"]],
  ["place", t.unit.place, ["site.altitude"]],
];

export interface UnitDraft {
  site_id: string | null;
  name: string;
  serial: string;
  practice: boolean;
  note: string;
  plate: Plate;
}

function put(plate: Plate, name: string, value: unknown): Plate {
  const [table = "", key = ""] = name.split(".");
  const rows = { ...plate[table] };
  if (value === null || value === "") delete rows[key];
  else rows[key] = value;
  const out = { ...plate, [table]: rows };
  if (!Object.keys(rows).length) delete out[table];
  return out;
}

function at(plate: Plate, name: string): string {
  const [table = "", key = ""] = name.split(".");
  const value = plate[table]?.[key];
  return typeof value === "string" ? value : "";
}

export function UnitForm({ unit, onSave }: { unit: Unit | null; onSave: (id: string) => void }): JSX.Element {
  const app = useApp();
  const [draft, setDraft] = useState<UnitDraft>(() =>
    unit ? (unitBody(unit) as unknown as UnitDraft) : { site_id: null, name: "", serial: "", practice: false, note: "", plate: {} },
  );
  const [faults, setFaults] = useState<Record<string, string>>({});
  const [tried, setTried] = useState(false);
  const [newSite, setNewSite] = useState<{ name: string; address: string; altitude: string | null; zone: string } | null>(null);
  // The same at each try: what was saved of it before is not made twice.
  const [own] = useState(() => ({ unit: unit?.id ?? crypto.randomUUID(), site: crypto.randomUUID() }));
  const { system } = app.prefs.value;
  const change = (more: Partial<UnitDraft>): void => setDraft((before) => ({ ...before, ...more }));
  const setting = (name: string, value: unknown, fault = ""): void => {
    setDraft((before) => ({ ...before, plate: put(before.plate, name, value) }));
    setFaults((before) => ({ ...before, [name]: fault }));
  };
  const refrigerant = at(draft.plate, "unit.refrigerant");
  const closes = parse(at(draft.plate, "coil_sensor.closes_at") || "30 degF", "temperature");
  const opens = parse(at(draft.plate, "coil_sensor.opens_at") || "60 degF", "temperature");
  const wrong = [
    ...(draft.name.trim() ? [] : [t.unit.need.name]),
    ...(refrigerant ? [] : [t.unit.need.refrigerant]),
    ...(closes !== null && opens !== null && closes >= opens ? [t.unit.order] : []),
    ...Object.entries(faults).filter(([, fault]) => fault).map(([name, fault]) => `${t.unit.fieldNames[name] ?? name}: ${fault}`),
  ];
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    setTried(true);
    if (wrong.length) return;
    let siteId = draft.site_id;
    if (newSite?.name.trim()) {
      siteId = own.site;
      await app.put("sites", siteId, {
        name: newSite.name.trim(), address: newSite.address, contact: "", note: "", altitude: newSite.altitude, zone: newSite.zone || null,
      });
    }
    await app.put("units", own.unit, { ...draft, name: draft.name.trim(), site_id: siteId });
    onSave(own.unit);
  };
  const defaultOf = (name: string): string => {
    const row = SETTINGS.find((one) => one.name === name);
    if (name === "limits.high_pressure_cutout" && refrigerant) return t.unit.defaultIs(fluid(refrigerant).cutout);
    return row?.default ? t.unit.defaultIs(row.default.replace("delta_", "").replace("degF", "°F")) : t.unit.noDefault;
  };
  const quantity = (name: string): JSX.Element | null => {
    const row = SETTINGS.find((one) => one.name === name);
    if (!row) return null;
    return (
      <Quantity
        key={name}
        id={name.replace(".", "-")}
        label={t.unit.fieldNames[name] ?? row.meaning}
        kind={row.kind as Kind}
        system={system}
        value={at(draft.plate, name)}
        help={defaultOf(name)}
        lowest={row.lowest}
        highest={row.highest}
        {...(name === "unit.nominal_capacity" ? { units: system === "us" ? ["ton_refrigeration", "Btu/h", "kW"] : ["kW", "ton_refrigeration"] } : {})}
        {...(row.kind === "pressure_gauge" ? { units: system === "us" ? ["psig"] : ["kPa(g)", "barg", "psig"] } : {})}
        onChange={(text, fault) => setting(name, text?.replace("psig", "psi") ?? null, fault)}
      />
    );
  };
  const words = (name: string): string[] => CHOICES.find((row) => row.name === name)?.words ?? [];
  return (
    <form class="page" onSubmit={(event) => void save(event)} noValidate>
      {tried && wrong.length > 0 && <Fault>{wrong.join(" ")}</Fault>}
      <section class="sheet">
        <div class="grid2">
          <TextField id="unit-name" label={t.unit.name} value={draft.name} onInput={(name) => change({ name })} />
          <Field id="refrigerant" label={t.unit.refrigerant} help={t.unit.fromPlate}>
            {(ids) => (
              <select class="input" id={ids.id} aria-describedby={ids.describedBy} value={refrigerant} onChange={(e) => setting("unit.refrigerant", e.currentTarget.value)}>
                <option value="">{t.unit.choose}</option>
                {REFRIGERANTS.map((name) => (
                  <option key={name} value={name}>
                    {name} ({fluid(name).safetyClass})
                  </option>
                ))}
              </select>
            )}
          </Field>
          {quantity("unit.nominal_capacity")}
          <TextField id="serial" label={t.unit.serial} value={draft.serial} onInput={(serial) => change({ serial })} />
        </div>
        <Choice
          legend={t.unit.metering}
          name="metering"
          value={at(draft.plate, "unit.metering")}
          options={[...words("unit.metering").map((word) => [word, word] as const), ["", t.unit.unknown] as const]}
          onChoose={(word) => setting("unit.metering", word || null)}
        />
      </section>
      {GROUPS.map(([key, title, names]) => (
        <section key={key} class="sheet">
          <h2>{title}</h2>
          {key === "board" && (
            <Choice
              legend={t.unit.kind}
              name="board-kind"
              value={at(draft.plate, "board.kind") || "time-temperature"}
              options={words("board.kind").map((word) => [word, word] as const)}
              onChoose={(word) => setting("board.kind", word)}
            />
          )}
          {key === "place" && (
            <>
              <Field id="site" label={t.unit.site}>
                {(ids) => (
                  <select
                    class="input"
                    id={ids.id}
                    value={newSite ? "new" : (draft.site_id ?? "")}
                    onChange={(e) => {
                      const value = e.currentTarget.value;
                      setNewSite(value === "new" ? { name: "", address: "", altitude: null, zone: Intl.DateTimeFormat().resolvedOptions().timeZone } : null);
                      change({ site_id: value && value !== "new" ? value : null });
                    }}
                  >
                    <option value="">{t.unit.noSite}</option>
                    {app.sites.value.map((site) => (
                      <option key={site.id} value={site.id}>
                        {site.name}
                      </option>
                    ))}
                    <option value="new">{t.unit.newSite}</option>
                  </select>
                )}
              </Field>
              {newSite && (
                <div class="grid2">
                  <TextField id="site-name" label={t.unit.siteName} value={newSite.name} onInput={(name) => setNewSite({ ...newSite, name })} />
                  <TextField id="site-address" label={t.unit.address} value={newSite.address} onInput={(address) => setNewSite({ ...newSite, address })} />
                </div>
              )}
            </>
          )}
          <div class="grid2">
            {names.map(quantity)}
            {key === "place" && (
              <Field id="zone" label={t.unit.zone}>
                {(ids) => (
                  <select class="input" id={ids.id} value={at(draft.plate, "site.zone")} onChange={(e) => setting("site.zone", e.currentTarget.value || null)}>
                    <option value="">{t.unit.unknown}</option>
                    {ZONES.map((zone) => (
                      <option key={zone} value={zone}>
                        {zone}
                      </option>
                    ))}
                  </select>
                )}
              </Field>
            )}
          </div>
        </section>
      ))}
      <section class="sheet">
        <h2>{t.unit.tables}</h2>
        <Tables plate={draft.plate} onChange={(name, table) => setting(name, table)} />
        {tableIn(draft.plate.maker?.performance) && (
          <Choice
            legend={t.unit.fieldNames["maker.performance_is"] ?? ""}
            name="performance-is"
            value={at(draft.plate, "maker.performance_is")}
            options={[...words("maker.performance_is").map((word) => [word, word] as const), ["", t.unit.unknown] as const]}
            onChoose={(word) => setting("maker.performance_is", word || null)}
          />
        )}
        {tableIn(draft.plate.maker?.blower) && (
          <TextField id="blower-tap" label={t.unit.fieldNames["blower.tap"] ?? ""} value={at(draft.plate, "blower.tap")} onInput={(tap) => setting("blower.tap", tap)} />
        )}
      </section>
      <section class="sheet">
        <TextField id="unit-note" label={t.unit.note} lines value={draft.note} onInput={(note) => change({ note })} />
        <label class="check">
          <input type="checkbox" checked={draft.practice} onChange={(e) => change({ practice: e.currentTarget.checked })} />
          <span>{t.unit.practiceUnit}</span>
        </label>
      </section>
      <button type="submit" class="button main big wide">
        {t.save}
      </button>
    </form>
  );
}
