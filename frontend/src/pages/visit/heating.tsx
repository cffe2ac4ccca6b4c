/** The heating check of the record, and what the latest readings come to on the device. */

import type { JSX } from "preact";
import { factsOf } from "../../model/facts.ts";
import { heatingLines, heatingOf, type HeatingLine } from "../../model/heating.ts";
import { epochS } from "../../model/strip.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Facts } from "../../parts/facts.tsx";
import { Sign } from "../../parts/small.tsx";
import { clockTime } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { Derived } from "./derived.tsx";

function Line({ line }: { line: HeatingLine }): JSX.Element {
  return (
    <li class="line">
      <details class="heat-line">
        <summary class="line-main">
          <Sign standing={line.standing} />
          <span class={`word st-${line.standing}`}>{line.standing}</span>
          <span class="line-title">{line.title}</span>
          <span class="line-held">
            <span class="line-number num">{line.number}</span>
            <span class="line-margin num soft">{line.margin}</span>
          </span>
        </summary>
        <div class="line-more">
          <p>{line.sentence}</p>
          {line.limit && (
            <p class="num">
              <b>{t.ledger.limit}</b> {line.limit} <span class="soft">{line.source}</span>
            </p>
          )}
          {line.how && <p class="small soft">{line.how}</p>}
          {line.settle && (
            <p>
              <b>{t.ledger.settle}:</b> {line.settle}
            </p>
          )}
          {line.remedy && (
            <p>
              <b>{t.ledger.remedy}:</b> {line.remedy}
            </p>
          )}
        </div>
      </details>
    </li>
  );
}

export function Heating({ model }: { model: VisitModel }): JSX.Element {
  const result = model.answer.value?.result;
  const heating = heatingOf(result);
  const { measured, unseen } = heating ? heatingLines(heating, model.numbers.value) : { measured: [], unseen: [] };
  const other = heating ? [] : factsOf(result?.heating ?? {}, model.numbers.value);
  const steady = heating?.steady;
  return (
    <div class="page">
      <section class="sheet ledger-sheet">
        <h2>{t.heating.title}</h2>
        {steady && (
          <p class="soft num">
            {t.heating.steady(clockTime(epochS(steady.start), model.zone.value), clockTime(epochS(steady.end), model.zone.value))}
          </p>
        )}
        {heating?.why_not && <p>{heating.why_not}</p>}
        {measured.length > 0 && (
          <ol class="ledger">
            {measured.map((line) => (
              <Line key={line.name} line={line} />
            ))}
          </ol>
        )}
        {other.length > 0 && <Facts facts={other} />}
        {!measured.length && !other.length && !heating?.why_not && <p>{t.heating.none}</p>}
        {unseen.length > 0 && (
          <p class="soft small">
            <b>{t.heating.unseen}:</b> {unseen.join("; ")}
          </p>
        )}
      </section>
      <Derived model={model} />
    </div>
  );
}
