/** The shop's list: what asks for attention comes first. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Attention } from "../../api/types.ts";
import { useApp } from "../../parts/context.ts";
import { Link } from "../../parts/router.tsx";
import { Choice, Icon, Title } from "../../parts/small.tsx";
import { day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

type By = "score" | "name" | "last";
const ORDERS: Record<By, (a: Attention, b: Attention) => number> = {
  score: (a, b) => b.score - a.score,
  name: (a, b) => a.name.localeCompare(b.name, undefined, { numeric: true }),
  last: (a, b) => (a.last_visit_s ?? 0) - (b.last_visit_s ?? 0),
};

export function Shop(): JSX.Element {
  const app = useApp();
  const [rows, setRows] = useState<Attention[] | null>(null);
  const [by, setBy] = useState<By>("score");
  const reached = app.reached.value;
  useEffect(() => {
    const path = "/api/attention";
    void app.shelf.copy<{ units: Attention[] }>(path).then((copy) => copy && setRows((before) => before ?? copy.units));
    app.http.get<{ units: Attention[] }>(path).then(
      (found) => {
        setRows(found.units);
        void app.shelf.keepCopy(path, found, app.clock.nowS());
      },
      () => {},
    );
  }, [reached]);
  const sorted = [...(rows ?? [])].sort(ORDERS[by]);
  const shop = app.session.value?.mode === "shop";
  return (
    <div class="page narrow">
      <div class="head">
        <Title plain={t.shop.title}>{t.shop.title}</Title>
        <div class="bar">
          <Link to="/instruments" class="button">
            {t.shop.instruments}
          </Link>
          {shop && app.isLead.value && (
            <Link to="/people" class="button">
              {t.shop.accounts}
            </Link>
          )}
        </div>
      </div>
      {reached === false && <p class="note">{t.shop.noSignal}</p>}
      {rows && !rows.length && <p class="note">{t.shop.none}</p>}
      {sorted.length > 0 && (
        <section class="sheet">
          <Choice legend={t.shop.sort} name="sort" value={by} options={[["score", t.shop.by.score ?? ""], ["name", t.shop.by.name ?? ""], ["last", t.shop.by.last ?? ""]]} onChoose={setBy} />
          <ol class="rows">
            {sorted.map((row) => (
              <li key={row.unit_id}>
                <Link to={`/unit/${row.unit_id}`} class="row-link">
                  <span class="grow">
                    <b>{row.name}</b>
                    <span class="soft small">
                      {[row.site, `${t.shop.last}: ${row.last_visit_s ? day(row.last_visit_s) : t.never}`].filter(Boolean).join(" · ")}
                    </span>
                    {row.reasons.map((reason, i) => (
                      <span key={i} class="reason">
                        <Icon name="warn" /> {reason.sentence}
                      </span>
                    ))}
                  </span>
                  <Icon name="go" />
                </Link>
              </li>
            ))}
          </ol>
        </section>
      )}
    </div>
  );
}
