/** The shop's instruments with their calibration dates. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import { useApp } from "../../parts/context.ts";
import { Dialog, Fault, Icon, TextField, Title } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";
import "../units/style.css";

interface Instrument {
  id: string;
  version: number;
  name: string;
  serial: string;
  reads: Record<string, string>;
  calibrated_on: string | null;
  due_on: string | null;
  retired: boolean;
  note: string;
}
const BLANK: Instrument = { id: "", version: 0, name: "", serial: "", reads: {}, calibrated_on: null, due_on: null, retired: false, note: "" };

/** "suction_pressure = 1 %" a line, there and back. */
export function readsText(reads: Record<string, string>): string {
  return Object.entries(reads).map(([channel, worth]) => `${channel} = ${worth}`).join("\n");
}

export function readsOf(text: string): Record<string, string> {
  return Object.fromEntries(
    text
      .split("\n")
      .map((line) => line.split("="))
      .filter((parts) => parts.length === 2 && parts[0]?.trim())
      .map(([channel = "", worth = ""]) => [channel.trim(), worth.trim()]),
  );
}

function Form({ start, onDone }: { start: Instrument; onDone: () => void }): JSX.Element {
  const app = useApp();
  const [row, setRow] = useState(start);
  const [reads, setReads] = useState(readsText(start.reads));
  const [fault, setFault] = useState("");
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    const { id, name, serial, calibrated_on, due_on, retired, note, version } = row;
    try {
      const body = { version, name, serial, reads: readsOf(reads), calibrated_on: calibrated_on || null, due_on: due_on || null, retired, note };
      await app.http.post(`/api/instruments/${id || crypto.randomUUID()}`, body, "PUT");
      onDone();
    } catch (err) {
      setFault(err instanceof ServiceError && err.error ? [err.error.message, ...err.error.details.map((d) => d.message)].join(" ") : t.signal.none);
    }
  };
  return (
    <form class="page" onSubmit={(event) => void save(event)}>
      <h2>{row.id ? row.name : t.instruments.add}</h2>
      {fault && <Fault>{fault}</Fault>}
      <TextField id="i-name" label={t.instruments.name} value={row.name} onInput={(name) => setRow({ ...row, name })} />
      <TextField id="i-serial" label={t.instruments.serial} value={row.serial} onInput={(serial) => setRow({ ...row, serial })} />
      <TextField id="i-reads" label={t.instruments.reads} help={t.instruments.readsHelp} lines value={reads} onInput={setReads} />
      <TextField id="i-cal" label={t.instruments.calibrated} type="date" value={row.calibrated_on ?? ""} onInput={(calibrated_on) => setRow({ ...row, calibrated_on })} />
      <TextField id="i-due" label={t.instruments.due} type="date" value={row.due_on ?? ""} onInput={(due_on) => setRow({ ...row, due_on })} />
      <label class="check">
        <input type="checkbox" checked={row.retired} onChange={(event) => setRow({ ...row, retired: event.currentTarget.checked })} />
        <span>{t.instruments.retired}</span>
      </label>
      <div class="bar">
        <button type="submit" class="button main grow" disabled={!row.name.trim()}>
          {t.save}
        </button>
        <button type="button" class="button quiet grow" onClick={onDone}>
          {t.cancel}
        </button>
      </div>
    </form>
  );
}

export function Instruments(): JSX.Element {
  const app = useApp();
  const [rows, setRows] = useState<Instrument[]>([]);
  const [editing, setEditing] = useState<Instrument | null>(null);
  const load = (): void => {
    const path = "/api/instruments";
    void app.shelf.copy<{ instruments: Instrument[] }>(path).then((copy) => copy && setRows(copy.instruments));
    app.http.get<{ instruments: Instrument[] }>(path).then(
      (found) => {
        setRows(found.instruments);
        void app.shelf.keepCopy(path, found, app.clock.nowS());
      },
      () => {},
    );
  };
  useEffect(load, [app.reached.value]);
  const today = new Date().toISOString().slice(0, 10);
  return (
    <div class="page narrow">
      <div class="head">
        <Title plain={t.instruments.title}>{t.instruments.title}</Title>
        <button type="button" class="button" onClick={() => setEditing(BLANK)}>
          <Icon name="plus" />
          {t.instruments.add}
        </button>
      </div>
      <section class="sheet">
        {!rows.length && <p>{t.instruments.none}</p>}
        <ul class="rows">
          {rows.map((row) => (
            <li key={row.id}>
              <button type="button" class="row-link" onClick={() => setEditing(row)}>
                <span class="grow">
                  <b>{row.name}</b>
                  <span class="soft small">
                    {[row.serial, readsText(row.reads).replaceAll("\n", ", ").replaceAll("_", " "), row.due_on && `${t.instruments.due} ${row.due_on}`].filter(Boolean).join(" · ")}
                  </span>
                </span>
                {row.retired ? <span class="tag">{t.instruments.retired}</span> : row.due_on && row.due_on < today && <span class="tag st-failed">{t.instruments.overdue}</span>}
              </button>
            </li>
          ))}
        </ul>
      </section>
      {editing && (
        <Dialog label={t.instruments.title} class="sheet-dialog" onClose={() => setEditing(null)}>
          <Form
            key={editing.id}
            start={editing}
            onDone={() => {
              setEditing(null);
              load();
            }}
          />
        </Dialog>
      )}
    </div>
  );
}
