/** Causes: what was found, and of what failed, where to look first. */

import type { JSX } from "preact";
import { factsOf } from "../../model/facts.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Facts } from "../../parts/facts.tsx";
import { Sign } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";

export function Causes({ model }: { model: VisitModel }): JSX.Element {
  const facts = factsOf(model.answer.value?.result.causes ?? [], model.numbers.value);
  const failed = model.lines.value.filter((line) => line.standing === "failed");
  const open = model.lines.value.filter((line) => line.settle && (line.standing === "doubtful" || line.standing === "unseen"));
  return (
    <div class="page">
      <section class="sheet">
        <h2>{t.causes.title}</h2>
        {facts.length ? <Facts facts={facts} /> : <p>{t.causes.none}</p>}
      </section>
      {failed.length > 0 && (
        <section class="sheet">
          <h2>{t.causes.failed}</h2>
          <ul class="means">
            {failed.map((line) => (
              <li key={line.name}>
                <Sign standing="failed" />
                <span>
                  <b>{line.title}</b>: {line.remedy || line.sentence}
                </span>
              </li>
            ))}
          </ul>
        </section>
      )}
      {open.length > 0 && (
        <section class="sheet">
          <h2>{t.causes.settle}</h2>
          <ul class="means">
            {open.map((line) => (
              <li key={line.name}>
                <Sign standing={line.standing} />
                <span>
                  <b>{line.title}</b>: {line.settle}
                </span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </div>
  );
}
