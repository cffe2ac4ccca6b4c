/** Finish: nothing left undone, close, sign, report. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Report } from "../../api/types.ts";
import { actTitle, SAFETY } from "../../model/channels.ts";
import type { VisitModel } from "../../model/visit.ts";
import { useApp } from "../../parts/context.ts";
import { Caution, Fault, Icon, TextField } from "../../parts/small.tsx";
import { clockTime, day, elapsed } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { Photos } from "../units/photos.tsx";
import { ActButton } from "./acts.tsx";
import { SignForm } from "./signature.tsx";
import "../units/style.css";

interface Instrument {
  id: string;
  name: string;
  serial: string;
  due_on: string | null;
  retired: boolean;
}

function Instruments({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const [rows, setRows] = useState<Instrument[]>([]);
  useEffect(() => {
    const path = "/api/instruments";
    void app.shelf.copy<{ instruments: Instrument[] }>(path).then((copy) => copy && setRows(copy.instruments));
    app.http.get<{ instruments: Instrument[] }>(path).then(
      (answer) => {
        setRows(answer.instruments);
        void app.shelf.keepCopy(path, answer, app.clock.nowS());
      },
      () => {},
    );
  }, []);
  const used = model.visit.value?.instruments ?? [];
  const today = new Date().toISOString().slice(0, 10);
  return (
    <fieldset>
      <legend class="legend">{t.finish.instruments}</legend>
      {!rows.length && <p class="soft small">{t.finish.instrumentsNone}</p>}
      {rows
        .filter((row) => !row.retired || used.includes(row.id))
        .map((row) => (
          <label key={row.id} class="check">
            <input
              type="checkbox"
              checked={used.includes(row.id)}
              disabled={!model.open.value}
              onChange={(event) => void model.amend({ instruments: event.currentTarget.checked ? [...used, row.id] : used.filter((id) => id !== row.id) })}
            />
            <span>
              {row.name} <span class="soft">{row.serial}</span>
              {row.due_on && row.due_on < today && <span class="st-doubtful"> {t.finish.overdue}</span>}
            </span>
          </label>
        ))}
    </fieldset>
  );
}

function Closing({ model }: { model: VisitModel }): JSX.Element {
  const visit = model.visit.value;
  const [complete, setComplete] = useState(visit?.marks_complete ?? false);
  const [note, setNote] = useState(visit?.note ?? "");
  const [technician, setTechnician] = useState(visit?.technician ?? "");
  const left = model.open_acts.value;
  const close = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (visit && (note !== visit.note || technician !== visit.technician || complete !== visit.marks_complete)) {
      await model.amend({ note, technician, marks_complete: complete });
    }
    await model.close(complete);
  };
  return (
    <form class="page" onSubmit={(event) => void close(event)}>
      <section class="sheet">
        <h2>{t.finish.before}</h2>
        {left.length ? (
          <>
            <Caution>{t.finish.notUndone}</Caution>
            {left.map((row) => (
              <div key={row.act} class="open-act">
                <span>{t.visit.openAct(actTitle(row.act), elapsed(model.nowS.value - row.sinceS))}</span>
                <ActButton model={model} act={row.undoneBy} />
              </div>
            ))}
          </>
        ) : (
          <p>{t.finish.allUndone}</p>
        )}
        <label class="check">
          <input type="checkbox" checked={complete} onChange={(event) => setComplete(event.currentTarget.checked)} data-testid="complete" />
          <span>
            <b>{t.finish.complete}</b>
            <br />
            <span class="soft small">{t.finish.completeHelp}</span>
          </span>
        </label>
        <TextField id="technician" label={t.finish.technician} value={technician} onInput={setTechnician} autoComplete="name" />
        <TextField id="visit-note" label={t.finish.note} lines value={note} onInput={setNote} />
        <Instruments model={model} />
      </section>
      <section class="sheet">
        <p class="soft small">{t.finish.closeHelp}</p>
        <button type="submit" class="button main big wide" data-testid="close">
          {t.finish.close}
        </button>
      </section>
    </form>
  );
}

async function shareOrSave(blob: Blob, name: string, share: boolean): Promise<void> {
  const file = new File([blob], name, { type: blob.type });
  if (share && navigator.canShare?.({ files: [file] })) {
    try {
      await navigator.share({ files: [file], title: name });
    } catch (err) {
      if (!(err instanceof DOMException && err.name === "AbortError")) throw err;
    }
    return;
  }
  const url = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

function Reports({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const [busy, setBusy] = useState(false);
  const [fault, setFault] = useState("");
  const reports = model.visit.value?.reports ?? [];
  const mayShare = typeof navigator !== "undefined" && "canShare" in navigator;
  const nameOf = (report: Report): string => {
    const unit = (model.unit.value?.name ?? "visit").replace(/[^\p{L}\p{N}]+/gu, "-");
    return `${unit}-${(report.made_at ?? "").slice(0, 10)}.${report.format}`;
  };
  const doing = async (task: () => Promise<void>): Promise<void> => {
    setBusy(true);
    setFault("");
    try {
      await task();
    } catch (err) {
      setFault(err instanceof ServiceError && err.message ? err.message : err instanceof ServiceError ? t.finish.noSignal : String(err));
    } finally {
      setBusy(false);
    }
  };
  const make = (format: "pdf" | "html"): Promise<void> =>
    doing(async () => {
      await app.http.post(`/api/visits/${model.id}/reports`, { format, units: app.prefs.value.system });
      await app.fetchRecord("visits", model.id);
    });
  const give = (report: Report, share: boolean): Promise<void> =>
    doing(async () => {
      const blob = await app.http.bytes(`/api/visits/${model.id}/reports/${report.id}`);
      await shareOrSave(new Blob([blob], { type: report.format === "pdf" ? "application/pdf" : "text/html" }), nameOf(report), share);
    });
  return (
    <section class="sheet">
      <h2>{t.finish.report}</h2>
      {fault && <Fault>{fault}</Fault>}
      {app.reached.value === false && <p class="soft">{t.finish.noSignal}</p>}
      <div class="bar">
        <button type="button" class="button main grow big" disabled={busy || app.reached.value === false} onClick={() => void make("pdf")} data-testid="make-pdf">
          {busy ? t.finish.making : t.finish.make}
        </button>
        <button type="button" class="button quiet" disabled={busy || app.reached.value === false} onClick={() => void make("html")}>
          {t.finish.makeHtml}
        </button>
      </div>
      {reports.length > 0 && (
        <>
          <h3>{t.finish.kept}</h3>
          <ul class="rows" data-testid="reports">
            {reports.map((report) => (
              <li key={report.id} class="file-row">
                <Icon name="file" />
                <span class="grow">
                  <b>{report.format.toUpperCase()}</b>{" "}
                  <span class="soft small num">
                    {[t.finish.revision(report.revision), t.finish.units[report.units], report.made_at && `${day(Date.parse(report.made_at) / 1000)} ${clockTime(Date.parse(report.made_at) / 1000)}`].filter(Boolean).join(" · ")}
                  </span>
                </span>
                {mayShare && (
                  <button type="button" class="button quiet" disabled={busy} onClick={() => void give(report, true)}>
                    {t.finish.share}
                  </button>
                )}
                <button type="button" class="button quiet" disabled={busy} onClick={() => void give(report, false)} data-testid="save-report">
                  {t.finish.download}
                </button>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

function Closed({ model }: { model: VisitModel }): JSX.Element {
  const visit = model.visit.value;
  const [why, setWhy] = useState("");
  return (
    <>
      <p class="note" data-testid="closed">
        {model.closing.value ? t.finish.closing : t.finish.closed} {visit?.revision ? t.finish.revision(visit.revision) : ""}
      </p>
      {!!visit?.late && <Caution>{t.finish.late(visit.late)}</Caution>}
      <section class="sheet">
        <h2>{t.finish.sign}</h2>
        {!!visit?.signatures?.length && (
          <ul class="page" data-testid="signatures">
            {visit.signatures.map((row, i) => (
              <li key={i}>
                ✓ {t.finish.signed(row.name, t.finish.roles[row.role] ?? row.role)} <span class="soft">{t.finish.signedFor(row.revision)}</span>
              </li>
            ))}
          </ul>
        )}
        <SignForm model={model} />
      </section>
      <Reports model={model} />
      <details class="sheet">
        <summary>{t.finish.reopen}</summary>
        <form
          class="page"
          onSubmit={(event) => {
            event.preventDefault();
            if (why.trim()) void model.reopen(why.trim());
          }}
        >
          <TextField id="why" label={t.finish.reopenWhy} value={why} onInput={setWhy} />
          <button type="submit" class="button" disabled={!why.trim()}>
            {t.finish.reopen}
          </button>
        </form>
      </details>
    </>
  );
}

export function Finish({ model }: { model: VisitModel }): JSX.Element {
  return (
    <div class="page">
      {model.open.value ? <Closing model={model} /> : <Closed model={model} />}
      <section class="sheet">
        <h2>{t.finish.photos}</h2>
        <Photos of={`/api/visits/${model.id}`} attachments={model.visit.value?.attachments ?? []} button={t.finish.addPhoto} />
      </section>
      <p class="soft small">{SAFETY}</p>
    </div>
  );
}
