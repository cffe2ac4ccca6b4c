/** Start or plan a visit: choose the unit, and go. Works without signal. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { useApp } from "../../parts/context.ts";
import { go, Link } from "../../parts/router.tsx";
import { Choice, Icon, TextField, Title } from "../../parts/small.tsx";
import { isoDay } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { UnitList } from "../units/index.tsx";

export async function startVisit(
  app: ReturnType<typeof useApp>,
  unitId: string,
  more: { planned_on?: string | null; started_s?: number | null; purpose?: string },
): Promise<string> {
  const id = crypto.randomUUID();
  await app.put("visits", id, {
    unit_id: unitId,
    planned_on: more.planned_on ?? null,
    started_s: more.started_s ?? null,
    technician: app.session.value?.mode === "shop" ? (app.session.value.account?.name ?? app.prefs.value.name) : app.prefs.value.name,
    purpose: more.purpose ?? "",
    note: "",
    instruments: [],
    outdoor: null,
    humidity: null,
    indoor: null,
    marks_complete: false,
  });
  return id;
}

export function Start({ id }: { id: string }): JSX.Element {
  const app = useApp();
  const [unit, setUnit] = useState(id);
  const [purpose, setPurpose] = useState(t.start.purposes[0] ?? "");
  const [day, setDay] = useState(isoDay(app.clock.nowS()));
  const chosen = app.units.value.find((row) => row.id === unit);
  const begin = async (plan: boolean): Promise<void> => {
    if (!chosen) return;
    const made = await startVisit(app, chosen.id, plan ? { planned_on: day, purpose } : { started_s: app.clock.nowS(), purpose });
    go(plan ? "/" : `/visit/${made}`);
  };
  return (
    <div class="page narrow">
      <Title plain={t.start.title}>{t.start.title}</Title>
      {chosen ? (
        <>
          <div class="sheet">
            <div class="head">
              <div>
                <h2>{chosen.name}</h2>
                <p class="soft">{String(chosen.plate.unit?.refrigerant ?? "")}</p>
              </div>
              <button type="button" class="button quiet" onClick={() => setUnit("")}>
                {t.unit.edit}
              </button>
            </div>
            <Choice legend={t.start.purpose} name="purpose" value={purpose} options={t.start.purposes.map((word) => [word, word] as const)} onChoose={setPurpose} />
            <button type="button" class="button main big wide" onClick={() => void begin(false)}>
              {t.start.begin}
            </button>
          </div>
          <details class="sheet">
            <summary>{t.start.plan}</summary>
            <TextField id="day" label={t.start.day} type="date" value={day} onInput={setDay} />
            <button type="button" class="button wide" onClick={() => void begin(true)}>
              {t.start.plan}
            </button>
          </details>
        </>
      ) : (
        <>
          <p>{t.start.choose}</p>
          <UnitList onChoose={setUnit} />
          <Link to="/unit/new" class="button wide">
            <Icon name="plus" />
            {t.start.make}
          </Link>
        </>
      )}
    </div>
  );
}
