/** A unit: plate, photos, visits, history. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Unit } from "../../api/types.ts";
import { channelOf } from "../../model/channels.ts";
import { plateName, pretty, withSite, zoneOf } from "../../model/plate.ts";
import { show } from "../../model/show.ts";
import { stopOf, type Plate } from "../../model/stop.ts";
import { useApp } from "../../parts/context.ts";
import { go, Link } from "../../parts/router.tsx";
import { Dialog, Fault, Icon, TextField, Title } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { clockTime, day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { UnitForm } from "./form.tsx";
import { Photos } from "./photos.tsx";
import { rowsIn, tableIn } from "./tables.tsx";
import "./style.css";

function asText(value: unknown): string {
  const held = tableIn(value);
  if (held) return t.unit.tableIs(held.name, rowsIn(held.text));
  if (Array.isArray(value)) return value.map(asText).join(", ");
  return typeof value === "string" ? value : JSON.stringify(value);
}

function PlateTable({ plate }: { plate: Plate }): JSX.Element {
  const { instruments, ...rest } = plate;
  const rows = Object.entries(rest).flatMap(([table, keys]) =>
    Object.entries(keys ?? {}).map(([key, value]) => [`${table}.${key}`, asText(value)] as const),
  );
  return (
    <>
      <dl class="plate">
        {rows
          .filter(([name]) => name !== "unit.name")
          .map(([name, value]) => (
            <div key={name}>
              <dt>{plateName(name)}</dt>
              <dd>{name.endsWith("table") || name.startsWith("maker.") || name === "house.run_time" ? value : pretty(value)}</dd>
            </div>
          ))}
      </dl>
      {instruments && (
        <details>
          <summary>{t.finish.instruments}</summary>
          <dl class="plate">
            {Object.entries(instruments).map(([name, value]) => (
              <div key={name}>
                <dt>{channelOf(name)?.title ?? name}</dt>
                <dd>{pretty(typeof value === "string" ? value : JSON.stringify(value))}</dd>
              </div>
            ))}
          </dl>
        </details>
      )}
    </>
  );
}

function Delete({ unit, onClose }: { unit: Unit; onClose: () => void }): JSX.Element {
  const app = useApp();
  const [typed, setTyped] = useState("");
  const [fault, setFault] = useState("");
  const remove = async (): Promise<void> => {
    try {
      await app.http.post(`/api/units/${unit.id}?confirm=${encodeURIComponent(typed)}`, {}, "DELETE");
      await app.fetchRecord("units", unit.id);
      say({ text: t.unit.deleteDone });
      go("/units", true);
      void app.sync();
    } catch (err) {
      setFault(err instanceof ServiceError && err.message ? err.message : t.signal.none);
    }
  };
  return (
    <Dialog label={t.unit.delete} class="sheet-dialog" onClose={onClose}>
      <div class="page">
        <h2>{t.unit.delete}</h2>
        <TextField id="confirm" label={t.unit.deleteAsk(unit.name)} value={typed} onInput={setTyped} />
        {fault && <Fault>{fault}</Fault>}
        <div class="bar">
          <button type="button" class="button danger grow" disabled={typed !== unit.name} onClick={() => void remove()}>
            {t.remove}
          </button>
          <button type="button" class="button quiet grow" onClick={onClose}>
            {t.cancel}
          </button>
        </div>
      </div>
    </Dialog>
  );
}

export function UnitPage({ id, tail }: { id: string; tail: string }): JSX.Element {
  const app = useApp();
  const isNew = id === "new";
  const unit = isNew ? null : app.record<Unit>("units", id);
  const [deleting, setDeleting] = useState(false);
  useEffect(() => {
    if (!isNew) void app.fetchRecord("units", id);
  }, [id]);
  if (isNew) {
    return (
      <div class="page narrow">
        <Title plain={t.unit.newTitle}>{t.unit.newTitle}</Title>
        <UnitForm unit={null} onSave={(made) => go(`/unit/${made}`, true)} />
      </div>
    );
  }
  if (!unit) {
    return (
      <div class="page narrow">
        <Title plain={t.units.title}>{t.notHere}</Title>
      </div>
    );
  }
  if (tail === "edit") {
    return (
      <div class="page narrow">
        <Title plain={unit.name}>{unit.name}</Title>
        <UnitForm
          unit={unit}
          onSave={() => {
            say({ text: t.saved }, 3000);
            go(`/unit/${id}`, true);
          }}
        />
      </div>
    );
  }
  const site = app.sites.value.find((row) => row.id === unit.site_id);
  const plate = withSite(unit, site);
  const stop = stopOf(plate);
  const visits = app.visits.value.filter((visit) => visit.unit_id === id);
  const { system } = app.prefs.value;
  return (
    <div class="page narrow">
      <div class="head">
        <div>
          <Title plain={unit.name}>{unit.name}</Title>
          <p class="soft">{[site?.name, site?.address, unit.serial].filter(Boolean).join(" · ")}</p>
        </div>
        <div class="bar">
          <Link to={`/history/${id}`} class="button">
            {t.unit.history}
          </Link>
          <Link to={`/season/${id}`} class="button">
            {t.unit.season}
          </Link>
        </div>
      </div>
      <Link to={`/start/${id}`} class="button main big wide">
        <Icon name="plus" />
        {t.unit.visit}
      </Link>
      <section class="sheet">
        <div class="head">
          <h2>{t.unit.plate}</h2>
          <Link to={`/unit/${id}/edit`} class="button">
            {t.unit.edit}
          </Link>
        </div>
        <PlateTable plate={unit.plate} />
        {stop && (
          <p>
            {t.unit.stop}: <b class="num">{show(stop.pressurePa, "pressure", system, stop.atmospherePa)}</b>
            <span class="soft"> ({stop.by === "ceiling" ? t.stop.why.ceiling(show(stop.tempC, "temperature", system, 0, 0), stop.given) : t.stop.why.cutout(stop.given)})</span>
          </p>
        )}
        {unit.note && <p class="note">{unit.note}</p>}
        {!!unit.read?.assumptions?.length && (
          <details>
            <summary>{t.unit.assumed}</summary>
            <ul>
              {unit.read.assumptions.map((row) => (
                <li key={row.setting}>
                  <b>{row.setting}</b> {row.value} <span class="soft">{row.why}</span>
                </li>
              ))}
            </ul>
          </details>
        )}
      </section>
      <section class="sheet">
        <h2>{t.unit.photos}</h2>
        <Photos of={`/api/units/${id}`} attachments={unit.attachments ?? []} button={t.unit.addPhoto} help={t.unit.photoHelp} />
      </section>
      <section class="sheet">
        <h2>{t.unit.visits}</h2>
        {!visits.length && <p class="soft">{t.none}</p>}
        <ul class="rows">
          {visits.map((visit) => (
            <li key={visit.id}>
              <Link to={`/visit/${visit.id}`} class="row-link">
                <span class="grow">
                  <b class="num">{visit.started_s ? `${day(visit.started_s, zoneOf(plate))}, ${clockTime(visit.started_s, zoneOf(plate), false)}` : visit.planned_on}</b>
                  <span class="soft small">{[visit.technician, visit.purpose].filter(Boolean).join(" · ")}</span>
                </span>
                <span class={`tag ${visit.state ?? "open"}`}>{t.today.state[visit.state ?? (visit.started_s ? "open" : "planned")]}</span>
              </Link>
            </li>
          ))}
        </ul>
      </section>
      {app.isLead.value && (
        <p>
          <button type="button" class="button danger" onClick={() => setDeleting(true)}>
            {t.unit.delete}
          </button>
        </p>
      )}
      {deleting && <Delete unit={unit} onClose={() => setDeleting(false)} />}
    </div>
  );
}
