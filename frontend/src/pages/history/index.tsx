/** A unit over the years: each quantity with its uncertainty, whether it drifts, and this visit beside the last. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Drift, History, Unit } from "../../api/types.ts";
import { FUNCTIONS } from "../../model/channels.ts";
import { frameOf, pointsOf, QUANTITIES, UNIT_OF, valued, type Point, type QuantityName } from "../../model/history.ts";
import { Numbers } from "../../model/show.ts";
import { atmosphereOf } from "../../model/stop.ts";
import { useApp } from "../../parts/context.ts";
import { go, Link } from "../../parts/router.tsx";
import { Sign, Title } from "../../parts/small.tsx";
import { day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import "./style.css";

const WIDTH = 320;
const HEIGHT = 110;

function Years({ points, name, numbers }: { points: readonly Point[]; name: QuantityName; numbers: Numbers }): JSX.Element {
  const frame = frameOf(points, WIDTH, HEIGHT);
  const said = points.map((point) => `${day(point.timeS)}: ${numbers.value(point.value, UNIT_OF[name], point.expanded)}`).join("; ");
  return (
    <svg class="years" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${t.history.plot(t.history.names[name] ?? name)}: ${said}`}>
      <path class="years-frame" d={`M0 ${HEIGHT - 0.5} H${WIDTH} M0 0.5 H${WIDTH}`} />
      <path class="years-line" d={points.map((point, i) => `${i ? "L" : "M"}${frame.x(point.timeS).toFixed(1)} ${frame.y(point.value).toFixed(1)}`).join(" ")} />
      {points.map((point) => {
        const x = frame.x(point.timeS);
        const wide = point.expanded ?? 0;
        return (
          <g key={point.visitId}>
            {wide > 0 && <path class="years-bar" d={`M${x} ${frame.y(point.value - wide)} V${frame.y(point.value + wide)} M${x - 5} ${frame.y(point.value - wide)} h10 M${x - 5} ${frame.y(point.value + wide)} h10`} />}
            <circle class="years-dot" cx={x} cy={frame.y(point.value)} r="5" />
          </g>
        );
      })}
    </svg>
  );
}

function DriftLine({ drift }: { drift: Drift | undefined }): JSX.Element | null {
  if (!drift) return null;
  const word = t.history.drift[String(drift.drifts)] ?? "";
  return (
    <p class={drift.drifts ? "st-failed" : "soft"}>
      <b>{drift.drifts ? "⚠ " : ""}{word}.</b> {drift.sentence}
    </p>
  );
}

export function HistoryPage({ id }: { id: string }): JSX.Element {
  const app = useApp();
  const path = `/api/units/${id}/history`;
  const unit = app.record<Unit>("units", id);
  const [history, setHistory] = useState<History | null>(null);
  const reached = app.reached.value;
  useEffect(() => {
    void app.shelf.copy<History>(path).then((copy) => copy && setHistory((before) => before ?? copy));
    app.http.get<History>(path).then(
      (found) => {
        setHistory(found);
        void app.shelf.keepCopy(path, found, app.clock.nowS());
      },
      () => {},
    );
  }, [id, reached]);
  const numbers = new Numbers(app.prefs.value.system, unit?.read?.site.atmosphere_pa ?? atmosphereOf(unit?.plate ?? {}));
  const visits = [...(history?.visits ?? [])].filter((row) => row.started_s !== null).sort((a, b) => (b.started_s ?? 0) - (a.started_s ?? 0));
  const [now, last] = visits;
  const name = unit?.name ?? t.notKnown;
  return (
    <div class="page">
      <div class="head">
        <Title plain={t.history.title(name)}>{t.history.title(name)}</Title>
        <Link to={`/unit/${id}`} class="button quiet">
          {t.visit.unitPage}
        </Link>
      </div>
      {!history && <p class="note">{reached ? t.loading : t.history.noSignal}</p>}
      {history && !visits.length && <p class="note">{t.history.none}</p>}
      <div class="history-grid">
        {QUANTITIES.map((quantity) => {
          const points = pointsOf(history, quantity);
          if (!points.length) return null;
          return (
            <section key={quantity} class="sheet">
              <h2>{t.history.names[quantity]}</h2>
              <Years points={points} name={quantity} numbers={numbers} />
              <DriftLine drift={history?.drift[quantity]} />
              <details>
                <summary>{t.history.value}</summary>
                <table>
                  <tbody>
                    {[...points].reverse().map((point) => (
                      <tr key={point.visitId}>
                        <td>
                          <a
                            href={`/visit/${point.visitId}`}
                            onClick={(event) => {
                              event.preventDefault();
                              go(`/visit/${point.visitId}`);
                            }}
                          >
                            {day(point.timeS)}
                          </a>
                        </td>
                        <td>{numbers.value(point.value, UNIT_OF[quantity], point.expanded)}</td>
                      </tr>
                    ))}
                  </tbody>
                </table>
              </details>
            </section>
          );
        })}
      </div>
      {now && last && (
        <section class="sheet">
          <h2>{t.history.thisAndLast}</h2>
          <div class="scroll" tabIndex={0}>
            <table class="beside">
              <thead>
                <tr>
                  <th scope="col">
                    <span class="hide">{t.history.value}</span>
                  </th>
                  {[now, last].map((row) => (
                    <th key={row.visit_id} scope="col">
                      <Link to={`/visit/${row.visit_id}`}>{day(row.started_s ?? 0)}</Link>
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {QUANTITIES.map((quantity) => (
                  <tr key={quantity}>
                    <th scope="row">{t.history.names[quantity]}</th>
                    {[now, last].map((row) => {
                      const found = valued(row[quantity]);
                      return <td key={row.visit_id}>{found ? numbers.value(found.value, UNIT_OF[quantity], found.expanded) : "—"}</td>;
                    })}
                  </tr>
                ))}
                {FUNCTIONS.map((row) => {
                  const [a, b] = [now.standings?.[row.name], last.standings?.[row.name]];
                  return (
                    <tr key={row.name} class={a !== b ? "differs" : ""}>
                      <th scope="row">{row.title}</th>
                      {[a, b].map((standing, i) => (
                        <td key={i}>
                          {standing ? (
                            <span class={`stood st-${standing}`}>
                              <Sign standing={standing} /> {standing}
                            </span>
                          ) : (
                            "—"
                          )}
                        </td>
                      ))}
                    </tr>
                  );
                })}
              </tbody>
            </table>
          </div>
        </section>
      )}
    </div>
  );
}
