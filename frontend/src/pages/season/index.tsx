/** A winter of a unit: choose the weather, move the setting, see the months move. */

import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Unit } from "../../api/types.ts";
import { askSeason, type Asked, type Kept } from "../../model/season.ts";
import { useApp } from "../../parts/context.ts";
import { Link } from "../../parts/router.tsx";
import { Fault, Title } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";
import { Ask } from "./ask.tsx";
import { Winter } from "./winter.tsx";
import "../units/style.css";
import "./style.css";

const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

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
    void app.shelf.copy<Kept>(path).then((copy) => copy?.season?.measured && setAnswer((before) => before ?? copy));
    return () => void (gone.current = true);
  }, [id]);
  useEffect(() => {
    // The sentences name temperatures: in the other units they come anew, if the service still has this winter at hand.
    if (!answer || answer.system === system || busy) return;
    askSeason(app.http, id, answer, system, pause).then(setAnswer, () => {});
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
        <Ask id={id} before={answer} onAsk={(asked) => void ask(asked)} busy={busy} />
      )}
      <div role="status">{busy && <p class="note">{t.season.working}</p>}</div>
      {fault && <Fault>{fault}</Fault>}
      {season && <Winter key={`${answer?.weather}${answer?.visit}`} season={season} />}
    </div>
  );
}
