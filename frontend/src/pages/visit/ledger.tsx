/** The ledger: thirteen functions, one line each: sign and word, number, margin. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { HistoryVisit } from "../../api/types.ts";
import { channelOf, ENDED_BY, standingOf, STANDINGS } from "../../model/channels.ts";
import { countsOf, type Line } from "../../model/ledger.ts";
import { showTime, type Evidence } from "../../model/show.ts";
import { epochS } from "../../model/strip.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Sign } from "../../parts/small.tsx";
import { clockTime } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

function EvidenceList({ model, line }: { model: VisitModel; line: Line }): JSX.Element {
  const numbers = model.numbers.value;
  return (
    <ul class="evidence">
      {line.evidence.map((item: Evidence & { start?: string | number; end?: string | number }, i) => {
        const held = numbers.held(item);
        return (
          <li key={i}>
            <Sign standing={item.standing} />
            <div>
              <p>
                <span class="num soft">
                  {item.start !== undefined && item.end !== undefined && `${clockTime(epochS(item.start), model.zone.value)}–${clockTime(epochS(item.end), model.zone.value)} `}
                </span>
                {item.what}
              </p>
              {held.number && (
                <p class="num">
                  <b>{held.number}</b> {held.limit && `· ${t.ledger.limit} ${held.limit}`} {held.margin && `· ${held.margin}`}
                </p>
              )}
              {item.limit?.source && (
                <p class="small soft">
                  {t.ledger.from}: {item.limit.source}
                </p>
              )}
              {item.channels.length > 0 && <p class="small soft">{item.channels.map((name) => channelOf(name)?.title ?? name).join(", ")}</p>}
            </div>
          </li>
        );
      })}
    </ul>
  );
}

function LedgerLine({ model, line, last }: { model: VisitModel; line: Line; last: string | null }): JSX.Element {
  const lit = model.lit.value === line.name;
  const word = standingOf(line.standing).name;
  const judged = model.answer.value !== null;
  const changed = judged && last && last !== line.standing;
  return (
    <li class={`line ${lit ? "lit" : ""}`}>
      <button
        type="button"
        class="line-main"
        aria-expanded={lit}
        aria-controls={`ev-${line.name}`}
        data-function={line.name}
        onClick={() => (model.lit.value = lit ? null : line.name)}
      >
        {judged ? <Sign standing={line.standing} /> : <span aria-hidden="true">·</span>}
        <span class={judged ? `word st-${line.standing}` : "word soft"}>{judged ? word : t.ledger.notJudged}</span>
        <span class="line-title">{line.title}</span>
        {line.number && (
          <span class="line-held">
            <span class="line-number num">{line.number}</span>
            <span class="line-margin num soft">{line.margin}</span>
          </span>
        )}
        {changed && (
          <span class="line-last small">
            <Sign standing={last} /> <span class="hide">{t.ledger.againstLast}: </span>
            {last}
          </span>
        )}
      </button>
      <div id={`ev-${line.name}`} class="line-more" hidden={!lit}>
        <p>{line.sentence}</p>
        {line.limit && (
          <p class="num">
            <b>{t.ledger.limit}</b> {line.limit}
          </p>
        )}
        {line.settle && line.standing !== "shown" && (
          <p>
            <b>{t.ledger.settle}:</b> {line.settle}
          </p>
        )}
        {line.remedy && line.standing === "failed" && (
          <p>
            <b>{t.ledger.remedy}:</b> {line.remedy}
          </p>
        )}
        <EvidenceList model={model} line={line} />
      </div>
    </li>
  );
}

/** Standings of the visit before this one, from the unit's history. */
function useLast(model: VisitModel): Record<string, string> {
  const [last, setLast] = useState<Record<string, string>>({});
  const unitId = model.visit.value?.unit_id;
  const reached = model.app.reached.value;
  useEffect(() => {
    if (!unitId) return;
    const path = `/api/units/${unitId}/history`;
    const pick = (history: { visits: HistoryVisit[] } | undefined): void => {
      const started = model.visit.value?.started_s ?? Infinity;
      const before = (history?.visits ?? []).filter((row) => row.visit_id !== model.id && (row.started_s ?? 0) < started);
      before.sort((a, b) => (b.started_s ?? 0) - (a.started_s ?? 0));
      setLast(before[0]?.standings ?? {});
    };
    void model.app.shelf.copy<{ visits: HistoryVisit[] }>(path).then(pick);
    model.app.http.get<{ visits: HistoryVisit[] }>(path).then(
      (history) => {
        pick(history);
        void model.app.shelf.keepCopy(path, history, model.app.clock.nowS());
      },
      () => {},
    );
  }, [unitId, reached]);
  return last;
}

export function Ledger({ model, large, onLarge }: { model: VisitModel; large: boolean; onLarge: (large: boolean) => void }): JSX.Element {
  const lines = model.lines.value;
  const answer = model.answer.value;
  const last = useLast(model);
  const numbers = model.numbers.value;
  const result = answer?.result;
  const hasLast = Object.keys(last).length > 0;
  return (
    <div class="page">
      <section class="sheet ledger-sheet" aria-labelledby="ledger-title">
        <div class="head">
          <div>
            <h2 id="ledger-title">{t.ledger.title}</h2>
            <p class="soft small">{answer ? t.ledger.help : t.ledger.waiting}</p>
          </div>
          <div class="bar">
            <button type="button" class="button quiet only-phone" aria-pressed={large} onClick={() => onLarge(!large)}>
              {large ? t.strip.smaller : t.strip.larger}
            </button>
            <button type="button" class="button quiet" onClick={() => void model.judge()}>
              {t.ledger.refresh}
            </button>
          </div>
        </div>
        {model.resultFault.value && <p class="fault">{model.resultFault.value}</p>}
        {answer && (
          <p class="counts" data-testid="counts">
            {countsOf(lines).map(([standing, count]) => (
              <span key={standing} class="count">
                <Sign standing={standing} /> <b class="num">{count}</b> {count ? standingOf(standing).counted : standingOf(standing).counted.toLowerCase()}
              </span>
            ))}
          </p>
        )}
        <ol class="ledger">
          {lines.map((line) => (
            <LedgerLine key={line.name} model={model} line={line} last={hasLast ? (last[line.name] ?? null) : null} />
          ))}
        </ol>
      </section>
      {!!result?.defrosts.length && (
        <section class="sheet">
          <h2>{t.ledger.defrosts}</h2>
          <ol class="rows">
            {result.defrosts.map((row, i) => (
              <li key={i} class="num defrost-row">
                <b>{t.ledger.defrost(i + 1)}</b> {clockTime(epochS(row.start), model.zone.value)}
                {row.duration_s !== null && `, ${showTime(row.duration_s)}`}
                {row.peak_saturation_c !== null && ` · ${t.ledger.peak} ${numbers.value(row.peak_saturation_c, "degC", row.peak_saturation_u_k)}`}
                {row.saturation_margin_k !== null && `, ${row.saturation_margin_k >= 0 ? t.stop.below(numbers.apart(row.saturation_margin_k, "K")) : t.stop.above(numbers.apart(row.saturation_margin_k, "K"))}`}
                {` · ${t.ledger.endedBy(ENDED_BY[row.ended_by] ?? row.ended_by)}`}
              </li>
            ))}
          </ol>
        </section>
      )}
      {!!result?.warnings.length && (
        <section class="sheet">
          <h2>{t.ledger.warnings}</h2>
          <ul class="page">
            {result.warnings.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </section>
      )}
      <details class="sheet">
        <summary>{t.ledger.means}</summary>
        <ul class="means">
          {STANDINGS.map((row) => (
            <li key={row.name}>
              <Sign standing={row.name} />
              <span>
                <b>{row.name}</b>: {row.means}
              </span>
            </li>
          ))}
        </ul>
      </details>
    </div>
  );
}
