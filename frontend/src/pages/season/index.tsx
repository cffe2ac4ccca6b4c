/** A winter of a unit: choose the weather, move the setting, see the months move. */

import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Unit } from "../../api/types.ts";
import { askSeason, REGIONS, type Asked, type Kept } from "../../model/season.ts";
import { show } from "../../model/show.ts";
import { useApp } from "../../parts/context.ts";
import { Quantity } from "../../parts/quantity.tsx";
import { Link } from "../../parts/router.tsx";
import { Choice, Fault, Field, Icon, Title } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";
import { Winter } from "./winter.tsx";
import "../units/style.css";
import "./style.css";

const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

function Weather({ onAsk, busy }: { onAsk: (asked: Asked) => void; busy: boolean }): JSX.Element {
  const { system } = useApp().prefs.value;
  const [from, setFrom] = useState<"region" | "file">("region");
  const [region, setRegion] = useState("IV");
  const [file, setFile] = useState<File | null>(null);
  const [humidity, setHumidity] = useState<string | null>(null);
  const ask = async (): Promise<void> => {
    if (from === "region") onAsk({ weather: `region:${region}`, humidity: null });
    else if (file) onAsk({ bytes: await file.arrayBuffer(), name: file.name, humidity });
  };
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
      <button type="button" class="button main wide" disabled={busy || (from === "file" && !file)} onClick={() => void ask()}>
        {t.season.go}
      </button>
    </section>
  );
}

export function SeasonPage({ id }: { id: string }): JSX.Element {
  const app = useApp();
  const path = `/api/units/${id}/season`;
  const unit = app.record<Unit>("units", id);
  const { system } = app.prefs.value;
  const [answer, setAnswer] = useState<Kept | null>(null);
  const [other, setOther] = useState(false);
  const [busy, setBusy] = useState(false);
  const [fault, setFault] = useState("");
  const gone = useRef(false);
  useEffect(() => {
    void app.shelf.copy<Kept>(path).then((copy) => copy && setAnswer((before) => before ?? copy));
    return () => void (gone.current = true);
  }, [id]);
  useEffect(() => {
    // The sentences name temperatures: in the other units they come anew, if the service still has this winter at hand.
    if (!answer || answer.system === system || busy) return;
    const { weather, humidity } = answer;
    askSeason(app.http, id, { weather, humidity }, system, pause).then(setAnswer, () => {});
  }, [answer, system]);
  const ask = async (asked: Asked): Promise<void> => {
    setBusy(true);
    setFault("");
    try {
      const found = await askSeason(app.http, id, asked, system, async (ms) => {
        await pause(ms);
        if (gone.current) throw new ServiceError(null, null);
      });
      setAnswer(found);
      setOther(false);
      void app.shelf.keepCopy(path, found, app.clock.nowS());
    } catch (err) {
      setFault(err instanceof ServiceError && err.message ? err.message : t.season.noSignal);
    } finally {
      setBusy(false);
    }
  };
  const season = answer?.season ?? null;
  const name = unit?.name ?? season?.unit ?? t.notKnown;
  return (
    <div class="page">
      <div class="head">
        <Title plain={t.season.title(name)}>{t.season.title(name)}</Title>
        <Link to={`/unit/${id}`} class="button quiet">
          {t.visit.unitPage}
        </Link>
      </div>
      {season && !other ? (
        <div class="head">
          <p class="soft">{t.season.kept(season.weather.place || season.weather.source)}</p>
          <button type="button" class="button" onClick={() => setOther(true)}>
            {t.season.again}
          </button>
        </div>
      ) : (
        <Weather onAsk={(asked) => void ask(asked)} busy={busy} />
      )}
      <div role="status">{busy && <p class="note">{t.season.working}</p>}</div>
      {fault && <Fault>{fault}</Fault>}
      {season && <Winter key={`${answer?.weather}`} season={season} />}
    </div>
  );
}
