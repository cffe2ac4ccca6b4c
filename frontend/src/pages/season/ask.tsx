/** What a winter is asked with: the weather, what was measured at a visit, prices. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { NO_FUEL, NO_PRICES, pricesOf, REGIONS, type Asked, type Kept, type TypedFuel, type TypedPrices } from "../../model/season.ts";
import { show } from "../../model/show.ts";
import { useApp } from "../../parts/context.ts";
import { Quantity } from "../../parts/quantity.tsx";
import { Choice, Fault, Field, Icon, TextField } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";

function Fuel({ n, fuel, currency, onChange, onDrop }: { n: number; fuel: TypedFuel; currency: string; onChange: (fuel: TypedFuel) => void; onDrop: () => void }): JSX.Element {
  const field = (key: keyof TypedFuel, label: string, help?: string): JSX.Element => (
    <TextField id={`fuel-${n}-${key}`} label={label} value={fuel[key]} onInput={(text) => onChange({ ...fuel, [key]: text })} {...(help ? { help } : {})} />
  );
  return (
    <fieldset class="season-fuel">
      <legend class="legend">{fuel.name.trim() || t.season.fuelNumber(n + 1)}</legend>
      {field("name", t.season.fuelName)}
      <div class="season-pair">
        {field("price", t.season.fuelPrice(currency))}
        {field("per", t.season.fuelPer, t.season.fuelPerHelp)}
        {field("efficiency", t.season.efficiency)}
        {field("carbon", t.season.fuelCarbon)}
      </div>
      <button type="button" class="button quiet" onClick={onDrop}>
        {t.season.fuelDrop}
      </button>
    </fieldset>
  );
}

function PriceFields({ typed, onChange }: { typed: TypedPrices; onChange: (typed: TypedPrices) => void }): JSX.Element {
  const change = (part: Partial<TypedPrices>): void => onChange({ ...typed, ...part });
  return (
    <div class="season-stack">
      <p class="soft small">{t.season.pricesHelp}</p>
      <Choice legend={t.season.electricity} name="prices" value={typed.kind} options={[["none", t.season.prices.none], ["flat", t.season.prices.flat], ["table", t.season.prices.table]]} onChoose={(kind) => change({ kind })} />
      {typed.kind !== "none" && (
        <>
          <div class="season-pair">
            <TextField id="currency" label={t.season.currency} value={typed.currency} onInput={(currency) => change({ currency })} />
            {typed.kind === "flat" && <TextField id="price" label={t.season.price} value={typed.price} onInput={(price) => change({ price })} />}
            <TextField id="carbon" label={t.season.carbon} value={typed.carbon} onInput={(carbon) => change({ carbon })} />
          </div>
          {typed.kind === "table" && (
            <>
              <label class="button file-button">
                <Icon name="file" />
                {typed.tableName || t.season.tariffChoose}
                <input
                  type="file"
                  accept=".csv,.txt"
                  onChange={(e) => {
                    const file = e.currentTarget.files?.[0];
                    if (file) void file.text().then((table) => change({ table, tableName: file.name }));
                  }}
                />
              </label>
              <TextField id="tariff" label={t.season.tariff} help={t.season.tariffHelp} value={typed.table} lines onInput={(table) => change({ table })} />
            </>
          )}
          {typed.fuels.map((fuel, n) => (
            <Fuel
              key={n}
              n={n}
              fuel={fuel}
              currency={typed.currency}
              onChange={(next) => change({ fuels: typed.fuels.map((one, i) => (i === n ? next : one)) })}
              onDrop={() => change({ fuels: typed.fuels.filter((_, i) => i !== n) })}
            />
          ))}
          <button type="button" class="button quiet" onClick={() => change({ fuels: [...typed.fuels, NO_FUEL] })}>
            <Icon name="plus" />
            {t.season.fuelAdd}
          </button>
        </>
      )}
    </div>
  );
}

interface LastVisit {
  visit_id: string;
  started_s: number | null;
}

export function Ask({ id, before, onAsk, busy }: { id: string; before: Kept | null; onAsk: (asked: Asked) => void; busy: boolean }): JSX.Element {
  const app = useApp();
  const { system } = app.prefs.value;
  const [from, setFrom] = useState<"region" | "file">("region");
  const [region, setRegion] = useState("IV");
  const [file, setFile] = useState<File | null>(null);
  const [humidity, setHumidity] = useState<string | null>(null);
  const [last, setLast] = useState<LastVisit | null>(null);
  const [take, setTake] = useState(before ? before.visit !== null : true);
  const [closesAt, setCloses] = useState<string | null>(before?.closesAt ?? null);
  const [opensAt, setOpens] = useState<string | null>(before?.opensAt ?? null);
  const [capacity, setCapacity] = useState<string | null>(before?.capacity ?? null);
  const [typed, setTyped] = useState<TypedPrices>(NO_PRICES);
  const [wrong, setWrong] = useState("");
  useEffect(() => {
    void app.shelf.setting<TypedPrices>("prices").then((kept) => kept && setTyped(kept));
    app.http.get<{ last_visit: LastVisit | null }>(`/api/units/${id}`).then((unit) => setLast(unit.last_visit), () => {});
  }, [id]);
  const price = (next: TypedPrices): void => {
    setTyped(next);
    setWrong("");
    void app.shelf.keepSetting("prices", next);
  };
  const ask = async (): Promise<void> => {
    const prices = pricesOf(typed);
    if (prices && "wrong" in prices) {
      setWrong(t.season.wrong[prices.wrong] ?? prices.wrong);
      return;
    }
    const besides = { humidity: from === "file" ? humidity : null, visit: take ? (last?.visit_id ?? null) : null, closesAt, opensAt, capacity, prices };
    if (from === "region") onAsk({ weather: `region:${region}`, ...besides });
    else if (file) onAsk({ bytes: await file.arrayBuffer(), name: file.name, ...besides });
  };
  const day = last?.started_s ? new Date(last.started_s * 1000).toLocaleDateString(undefined, { dateStyle: "medium" }) : "";
  return (
    <section class="sheet">
      <Choice legend={t.season.weather} name="from" value={from} options={[["region", t.season.from.region], ["file", t.season.from.file]]} onChoose={setFrom} />
      {from === "region" ? (
        <Field id="region" label={t.season.region} help={t.season.regionHelp}>
          {(ids) => (
            <select class="input" id={ids.id} aria-describedby={ids.describedBy} value={region} onChange={(e) => setRegion(e.currentTarget.value)}>
              {REGIONS.map(([name, designF]) => (
                <option key={name} value={name}>
                  {t.season.regionOf(name, show((designF - 32) / 1.8, "temperature", system, 0, 0))}
                </option>
              ))}
            </select>
          )}
        </Field>
      ) : (
        <>
          <label class="button file-button">
            <Icon name="file" />
            {file?.name ?? t.season.choose}
            <input type="file" accept=".epw,.csv,.tmy3,.txt" onChange={(e) => setFile(e.currentTarget.files?.[0] ?? null)} />
          </label>
          <p class="soft small">{t.season.fileHelp}</p>
          <Quantity id="humidity" label={t.season.humidity} kind="humidity" system={system} value={humidity} onChange={(text) => setHumidity(text)} />
        </>
      )}
      <details>
        <summary>{t.season.atVisit}</summary>
        <div class="season-stack">
          {last && (
            <label class="season-check">
              <input type="checkbox" checked={take} onChange={(e) => setTake(e.currentTarget.checked)} />
              <span>{t.season.take(day)}</span>
            </label>
          )}
          <p class="soft small">{last ? t.season.takeHelp : t.season.noVisit}</p>
          <Quantity id="closes" label={t.season.closes} kind="temperature" system={system} value={closesAt} onChange={(text) => setCloses(text)} />
          <Quantity id="opens" label={t.season.opens} kind="temperature" system={system} value={opensAt} onChange={(text) => setOpens(text)} />
          <Quantity id="capacity" label={t.season.capacity} kind="ratio" system={system} value={capacity} onChange={(text) => setCapacity(text)} />
        </div>
      </details>
      <details open={typed.kind !== "none"}>
        <summary>{t.season.pricesTitle}</summary>
        <PriceFields typed={typed} onChange={price} />
      </details>
      {wrong && <Fault>{wrong}</Fault>}
      <button type="button" class="button main wide" disabled={busy || (from === "file" && !file)} onClick={() => void ask()}>
        {t.season.go}
      </button>
    </section>
  );
}
