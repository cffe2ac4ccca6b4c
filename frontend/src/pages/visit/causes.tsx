/** Causes: what was found, and of what failed, where to look first. */

import type { JSX } from "preact";
import { causeLines, causesOf, nextLines, type CauseLine } from "../../model/causes.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Sign } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";
import { Asked, LookList } from "./looked.tsx";

function Evidence({ title, lines }: { title: string; lines: string[] }): JSX.Element | null {
  if (!lines.length) return null;
  return (
    <>
      <h3>{title}</h3>
      <ul class="num">
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </>
  );
}

function Answer({ line, first }: { line: CauseLine; first: boolean }): JSX.Element {
  return (
    <li class="line">
      <details class="heat-line" open={first}>
        <summary class="cause-main">
          <span class="line-title">{line.title}</span>
          <span class="line-number num">{line.probability}</span>
        </summary>
        <div class="line-more">
          <p>{line.does}</p>
          <Evidence title={t.causes.speaksFor} lines={line.speaksFor} />
          <Evidence title={t.causes.against} lines={line.against} />
          {line.remedy && (
            <p>
              <b>{t.ledger.remedy}:</b> {line.remedy}
            </p>
          )}
          <p class="small soft num">{line.odds}</p>
        </div>
      </details>
    </li>
  );
}

export function Causes({ model }: { model: VisitModel }): JSX.Element {
  const causes = causesOf(model.answer.value?.result);
  const answers = causes ? causeLines(causes, model.numbers.value) : [];
  const nexts = causes ? nextLines(causes) : [];
  const failed = model.lines.value.filter((line) => line.standing === "failed");
  const open = model.lines.value.filter((line) => line.settle && (line.standing === "doubtful" || line.standing === "unseen"));
  return (
    <div class="page">
      <section class="sheet ledger-sheet">
        <h2>{t.causes.title}</h2>
        <p aria-live="polite" data-testid="causes-sentence">
          {causes?.sentence || t.causes.none}
        </p>
        {answers.length > 0 && (
          <ol class="ledger">
            {answers.map((line, k) => (
              <Answer key={line.key} line={line} first={k === 0 && causes?.verdict !== "sound"} />
            ))}
          </ol>
        )}
        {causes?.apart && (
          <p>
            <b>{t.causes.apart}:</b> {causes.apart}
          </p>
        )}
        {causes?.basis && (
          <details>
            <summary class="small">{t.causes.basis}</summary>
            <p class="small soft">{causes.basis}</p>
          </details>
        )}
      </section>
      <LookList model={model} taken={causes?.readings ?? []} />
      <Asked model={model} lines={nexts} />
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
