/** What is sent and what waits; what two devices told differently, for a person to choose. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Trouble } from "../../model/app.ts";
import { actTitle, channelOf } from "../../model/channels.ts";
import { lookText, lookTitle } from "../../model/looked.ts";
import { differences, type Entry } from "../../model/journal.ts";
import { useApp } from "../../parts/context.ts";
import { Title } from "../../parts/small.tsx";
import { clockTime, day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

function describe(entry: Entry): string {
  const kind = t.waiting.kinds[entry.kind] ?? entry.kind;
  if (entry.kind === "batch") {
    const parts = [
      ...(entry.body.typed ?? []).map((row) => `${channelOf(row.channel)?.title ?? row.channel} ${row.text}`),
      ...(entry.body.looked ?? []).map((row) => `${lookTitle(row.name)} ${lookText(row)}`),
      ...(entry.body.marks ?? []).map((row) => actTitle(row.act)),
      ...(entry.body.withdrawn ?? []).map(() => t.readings.withdrawn),
    ];
    return parts.join(", ") || kind;
  }
  if (entry.kind === "put") return `${entry.path.split("/")[2] ?? ""}: ${String(entry.body.name ?? entry.body.purpose ?? "")}`;
  if (entry.kind === "bytes") return entry.name;
  return entry.path.split("/").at(-1) ?? kind;
}

function TroubleCard({ trouble }: { trouble: Trouble }): JSX.Element {
  const app = useApp();
  const { entry, fate } = trouble;
  const changed = fate.code === "changed" && entry.kind === "put" && typeof fate.current === "object" && fate.current !== null;
  const rows = changed ? differences(entry.body, fate.current as Record<string, unknown>) : [];
  return (
    <li class="sheet" data-testid="trouble">
      <h3>{describe(entry)}</h3>
      <p class="soft small">
        {day(entry.at_s)} {clockTime(entry.at_s)}
      </p>
      {changed ? (
        <>
          <p>{t.waiting.changed}</p>
          <div class="scroll" tabIndex={0}>
            <table>
              <thead>
                <tr>
                  <th scope="col">{t.waiting.field}</th>
                  <th scope="col">{t.waiting.mine}</th>
                  <th scope="col">{t.waiting.theirs}</th>
                </tr>
              </thead>
              <tbody>
                {rows.map(([field, mine, theirs]) => (
                  <tr key={field}>
                    <td>{field.replace(/^plate\./, "")}</td>
                    <td>{mine}</td>
                    <td>{theirs}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          <div class="bar">
            <button type="button" class="button grow" onClick={() => void app.keepMine(trouble)}>
              {t.waiting.keepMine}
            </button>
            <button type="button" class="button grow" onClick={() => void app.keepTheirs(trouble)}>
              {t.waiting.keepTheirs}
            </button>
          </div>
        </>
      ) : (
        <>
          <p class="fault">{fate.message}</p>
          <div class="bar">
            <button type="button" class="button grow" onClick={() => void app.retry(trouble)}>
              {t.waiting.again}
            </button>
            <button type="button" class="button quiet grow" onClick={() => void app.keepTheirs(trouble)}>
              {t.waiting.leave}
            </button>
          </div>
          <p class="soft small">{entry.kind === "bytes" ? t.waiting.keptNot : t.waiting.kept}</p>
        </>
      )}
    </li>
  );
}

/** Rows shown: after a day without signal, all of them would be read anew with each that is sent. */
const MOST = 50;

export function Waiting(): JSX.Element {
  const app = useApp();
  const [queue, setQueue] = useState<Entry[]>([]);
  const waiting = app.waiting.value;
  useEffect(() => void app.shelf.waiting(MOST).then(setQueue), [waiting]);
  const troubles = app.troubles.value;
  return (
    <div class="page narrow">
      <Title plain={t.waiting.title}>{t.waiting.title}</Title>
      {!waiting && !troubles.length && <p class="note">{t.waiting.all}</p>}
      {troubles.length > 0 && (
        <section>
          <h2>{t.waiting.troubles}</h2>
          <ul class="page">
            {troubles.map((trouble) => (
              <TroubleCard key={trouble.entry.n} trouble={trouble} />
            ))}
          </ul>
        </section>
      )}
      {queue.length > 0 && (
        <section class="sheet">
          <h2>{t.waiting.queue}</h2>
          <button type="button" class="button" onClick={() => void app.sync()}>
            {t.waiting.now}
          </button>
          <ol class="rows">
            {queue.map((entry) => (
              <li key={entry.n}>
                <p class="num">
                  <span class="soft">{clockTime(entry.at_s)}</span> {describe(entry)}
                </p>
              </li>
            ))}
          </ol>
          {waiting > queue.length && <p class="soft">{t.waiting.more(waiting - queue.length)}</p>}
        </section>
      )}
    </div>
  );
}
