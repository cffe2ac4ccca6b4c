/** Readings: typed first of all; live and from files beside them. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import { CHANNELS, channelOf } from "../../model/channels.ts";
import { NotSaved } from "../../model/journal.ts";
import { show } from "../../model/show.ts";
import type { VisitModel } from "../../model/visit.ts";
import { useApp } from "../../parts/context.ts";
import { Fault, Icon } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { ago, clockTime } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { Derived } from "./derived.tsx";
import { Pad } from "./pad.tsx";

const GROUPS: readonly (readonly [string, readonly string[]])[] = [
  ["pressures", ["suction_pressure", "liquid_pressure", "discharge_pressure"]],
  ["lines", ["suction_line_temp", "vapor_line_temp", "liquid_line_temp", "discharge_temp"]],
  ["coil", ["outdoor_coil_temp", "outdoor_air_temp", "outdoor_humidity", "sensor_voltage"]],
  ["air", ["return_air_temp", "return_air_humidity", "supply_air_temp", "airflow", "external_static_pressure"]],
  ["electric", ["heating_call", "valve_voltage", "fan_current", "backup_current", "compressor_current", "line_voltage", "power"]],
];
const ROUND = GROUPS.flatMap(([, names]) => names);

function Files({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const [fault, setFault] = useState("");
  const files = model.visit.value?.files ?? [];
  const add = async (list: FileList | null): Promise<void> => {
    const unsaved: string[] = [];
    for (const file of list ?? []) {
      try {
        await model.addBytes("files", file.name, file.type || "text/csv", await file.arrayBuffer());
        say({ text: t.saved }, 3000);
      } catch (err) {
        if (!(err instanceof NotSaved)) throw err;
        unsaved.push(file.name);
      }
    }
    setFault(unsaved.length ? t.readings.notAdded(unsaved.join(", ")) : "");
  };
  const use = async (id: string, aside: boolean): Promise<void> => {
    try {
      await app.http.post(`/api/visits/${model.id}/files/${id}/use`, { aside, columns: null }, "PUT");
      setFault("");
      await model.refresh();
    } catch (err) {
      setFault(err instanceof ServiceError && err.message ? err.message : t.signal.none);
    }
  };
  return (
    <section class="sheet">
      <h2>{t.readings.files}</h2>
      <p class="soft small">
        {t.readings.fileHelp} {t.readings.recorder}
      </p>
      {fault && <Fault>{fault}</Fault>}
      {files.length > 0 && (
        <ul class="rows">
          {files.map((file) => (
            <li key={file.id} class="file-row">
              <Icon name="file" />
              <span class="grow">
                <b>{file.name}</b>
                {file.aside && <span class="tag">{t.readings.aside}</span>}
                {file.problem && <span class="small st-failed pre">{file.problem}</span>}
              </span>
              {model.open.value && (
                <button type="button" class="button quiet" onClick={() => void use(file.id, !file.aside)}>
                  {file.aside ? t.readings.useAgain : t.readings.setAside}
                </button>
              )}
            </li>
          ))}
        </ul>
      )}
      {model.open.value && (
        <label class="button file-button">
          <Icon name="file" />
          {t.readings.file}
          <input
            type="file"
            accept=".csv,.txt,.parquet,.jsonl,.json,.senml,text/csv"
            multiple
            onChange={(event) => {
              const input = event.currentTarget;
              void add(input.files).finally(() => (input.value = ""));
            }}
          />
        </label>
      )}
    </section>
  );
}

export function Readings({ model }: { model: VisitModel }): JSX.Element {
  const [channel, setChannel] = useState<string | null>(null);
  const [round, setRound] = useState(false);
  const { system } = model.numbers.value;
  const latest = model.latest.value;
  const typed = model.typed.value;
  const after = (name: string): string | null => {
    if (!round) return null;
    const known = ROUND.filter((one) => latest.has(one));
    // A second round asks for what the first one had.
    const list = known.length >= 3 ? known : ROUND.slice(0, 9);
    return list[list.indexOf(name) + 1] ?? null;
  };
  const open = (name: string, all: boolean): void => {
    setRound(all);
    setChannel(name);
  };
  return (
    <div class="page">
      {model.open.value && (
        <button type="button" class="button main big wide" onClick={() => open(ROUND.find((one) => latest.has(one)) ?? ROUND[0] ?? "", true)} data-testid="round">
          {t.readings.round}
        </button>
      )}
      <Derived model={model} />
      {GROUPS.map(([group, names]) => (
        <section key={group} class="sheet" aria-label={t.readings.groups[group]}>
          <h2>{t.readings.groups[group]}</h2>
          <div class="tiles">
            {names.map((name) => {
              const row = channelOf(name);
              const found = latest.get(name);
              if (!row) return null;
              return (
                <button key={name} type="button" class={`tile ${found ? "" : "blank"}`} disabled={!model.open.value} onClick={() => open(name, false)} data-channel={name}>
                  <span>{row.title}</span>
                  <b class="num">{found ? show(found.value, row.kind, system, model.atmospherePa.value) : t.readings.notRead}</b>
                  <span class="soft small num">{found ? (model.open.value ? ago(found.timeS, model.nowS.value, model.zone.value) : clockTime(found.timeS, model.zone.value)) : ""}</span>
                </button>
              );
            })}
          </div>
        </section>
      ))}
      <Files model={model} />
      {typed.length > 0 && (
        <details class="sheet">
          <summary>{t.readings.log}</summary>
          <ul class="rows">
            {[...typed].reverse().map((row) => (
              <li key={row.id} class="typed-row">
                <span class="num soft">{clockTime(row.time_s, model.zone.value)}</span>
                <span class={`grow ${row.withdrawn ? "gone" : ""}`}>
                  {CHANNELS.find((one) => one.name === row.channel)?.title ?? row.channel} <b class="num">{row.text}</b>
                </span>
                {row.withdrawn ? (
                  <span class="tag">{t.readings.withdrawn}</span>
                ) : (
                  model.open.value && (
                    <button type="button" class="button quiet" onClick={() => void model.withdraw(row.id, t.readings.why)}>
                      {t.readings.withdraw}
                    </button>
                  )
                )}
              </li>
            ))}
          </ul>
        </details>
      )}
      {channel && <Pad model={model} channel={channel} next={after(channel)} onMove={setChannel} />}
    </div>
  );
}
