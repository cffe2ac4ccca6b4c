/** The next readings answered where one stands, more of them, and what was typed. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Looked } from "../../api/types.ts";
import type { NextLine } from "../../model/causes.ts";
import { channelOf } from "../../model/channels.ts";
import { answersOf, counting, grouped, isNumber, lookText, lookTitle, stateOf, unitsOf, type LookRow } from "../../model/looked.ts";
import { show } from "../../model/show.ts";
import { unitOf, type System } from "../../model/units.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Icon } from "../../parts/small.tsx";
import { Link } from "../../parts/router.tsx";
import { ago, clockTime } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { LookPad, Words } from "./look-pad.tsx";
import { Pad } from "./pad.tsx";

interface Asking {
  model: VisitModel;
  counts: ReadonlyMap<string, Looked>;
  onLook: (row: LookRow) => void;
}

function Answers({ model, act, counts, onLook, onChannel }: Asking & { act: string; onChannel: (name: string) => void }): JSX.Element {
  const { rows, channels } = answersOf(act);
  const { system } = model.numbers.value;
  const value = (name: string, before: Looked | undefined): string => (before ? t.looked.again(name, lookText(before)) : t.looked.type(name));
  const read = (name: string): string => {
    const row = channelOf(name);
    const found = model.latest.value.get(name);
    return found && row ? show(found.value, row.kind, system, model.atmospherePa.value) : t.looked.notRead;
  };
  if (!rows.length && !channels.length) {
    const tab = act === "defrost" ? "next" : "readings";
    return (
      <Link to={`/visit/${model.id}/${tab}`} class="button wide">
        {t.looked.elsewhere[tab]}
      </Link>
    );
  }
  return (
    <div class="look-answers">
      {rows.map((row) =>
        isNumber(row) ? (
          <button key={row.name} type="button" class="button wide" data-look={row.name} onClick={() => onLook(row)}>
            {value(row.title, counts.get(row.name))}
          </button>
        ) : (
          <div key={row.name} data-look={row.name}>
            <p class="look-title">{row.title}</p>
            <Words model={model} row={row} now={counts.get(row.name)?.text} />
          </div>
        ),
      )}
      {channels.map((name) => (
        <button key={name} type="button" class="button wide" data-read={name} onClick={() => onChannel(name)}>
          {t.looked.read(channelOf(name)?.title ?? name, read(name))}
        </button>
      ))}
    </div>
  );
}

/** What is typed there: two readings of one name differ by it. */
function hint(row: LookRow, system: System): string {
  return isNumber(row) ? unitOf(unitsOf(row, system)[0] ?? "1").label : row.words.join(" / ");
}

function More({ model, counts, onLook }: Asking): JSX.Element {
  const { system } = model.numbers.value;
  return (
    <details class="sheet" data-testid="more-looks">
      <summary>{t.looked.more}</summary>
      <p class="soft small">{t.looked.moreHelp}</p>
      {grouped().map(([group, rows]) => (
        <section key={group} aria-label={t.looked.groups[group]}>
          <h3>{t.looked.groups[group]}</h3>
          <div class="tiles">
            {rows.map((row) => {
              const found = counts.get(row.name);
              return (
                <button key={row.name} type="button" class={`tile ${found ? "" : "blank"}`} data-look={row.name} onClick={() => onLook(row)}>
                  <span>{row.title}</span>
                  <b class="num">{found ? lookText(found) : t.readings.notRead}</b>
                  <span class="soft small num">{found ? ago(found.time_s, model.nowS.value, model.zone.value) : hint(row, system)}</span>
                </button>
              );
            })}
          </div>
        </section>
      ))}
    </details>
  );
}

/** Everything that was typed for the causes, the latest first, and how it stands. */
export function LookList({ model, taken }: { model: VisitModel; taken: readonly { text: string }[] }): JSX.Element | null {
  const rows = model.looked.value;
  if (!rows.length) return null;
  const unsent = model.unsent.value;
  return (
    <section class="sheet" data-testid="looked">
      <h2>{t.looked.title}</h2>
      <ul class="rows">
        {[...rows].reverse().map((row) => {
          const state = stateOf(row, rows, unsent, taken);
          return (
            <li key={row.id} class="typed-row look-row">
              <span class="num soft">{clockTime(row.time_s, model.zone.value)}</span>
              <span class={`grow ${row.withdrawn ? "gone" : ""}`}>
                {lookTitle(row.name)} <b class="num">{lookText(row)}</b>
              </span>
              <span class="look-end">
                <span class={`tag look-${state}`} data-state={state}>
                  {t.looked.states[state]}
                </span>
                {!row.withdrawn && model.open.value && (
                  <button type="button" class="button quiet" onClick={() => void model.withdraw(row.id, t.readings.why)}>
                    {t.readings.withdraw}
                  </button>
                )}
              </span>
            </li>
          );
        })}
      </ul>
      {model.open.value && rows.some((row) => unsent.has(row.id) && !row.withdrawn) && model.app.reached.value === false && (
        <p class="note offline-note">
          <Icon name="nosignal" /> {t.looked.offline}
        </p>
      )}
    </section>
  );
}

/** What to read next, answered here, and all else that can be typed. */
export function Asked({ model, lines }: { model: VisitModel; lines: NextLine[] }): JSX.Element {
  const [row, setRow] = useState<LookRow | null>(null);
  const [channel, setChannel] = useState<string | null>(null);
  const counts = counting(model.looked.value);
  const open = model.open.value;
  return (
    <>
      {lines.length > 0 && (
        <section class="sheet">
          <h2>{t.causes.next}</h2>
          {lines.map((one) => (
            <div key={one.key} class="next-reading" data-ask={one.key}>
              <h3>{one.title}</h3>
              <p>{one.how}</p>
              <p class="small soft num">{one.worth}</p>
              <p>
                <b>{one.caution}</b>
              </p>
              {open && <Answers model={model} act={one.key} counts={counts} onLook={setRow} onChannel={setChannel} />}
            </div>
          ))}
        </section>
      )}
      {open && <More model={model} counts={counts} onLook={setRow} />}
      {row && <LookPad key={row.name} model={model} row={row} now={counts.get(row.name)?.text} onClose={() => setRow(null)} />}
      {channel && <Pad model={model} channel={channel} next={null} onMove={setChannel} />}
    </>
  );
}
