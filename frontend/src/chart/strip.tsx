/** The strip: time runs across; phases, marks, lines and lanes; what is lit is the evidence of a standing. */

import { computed, signal, type ReadonlySignal } from "@preact/signals";
import type { JSX } from "preact";
import { useEffect, useMemo, useRef } from "preact/hooks";
import { actTitle, PHASES } from "../model/channels.ts";
import { show } from "../model/show.ts";
import { around, bandsOf, DRAWN_FROM, LINES, within, zoom, type LineName, type Span, type View } from "../model/strip.ts";
import type { VisitModel } from "../model/visit.ts";
import { clockTime } from "../parts/when.ts";
import { t } from "../text/en.ts";
import { bindGestures } from "./gestures.ts";
import { GUTTER_PX, Plot, RIGHT_PX, STYLES, type Drawing } from "./plot.ts";
import "./strip.css";

function height(compact: boolean): number {
  if (compact && window.innerWidth < 700) return 118;
  return window.innerWidth < 700 ? 176 : window.innerWidth < 1100 ? 230 : 290;
}

function Key({ line }: { line: LineName }): JSX.Element {
  const { width, dash } = STYLES[line];
  return (
    <svg class="key" viewBox="0 0 28 8" width="28" height="8" aria-hidden="true">
      <path class={`stroke-${line}`} d="M0 4 H28" fill="none" stroke-width={width} stroke-dasharray={dash.join(" ")} />
    </svg>
  );
}

export function Strip({ model, compact }: { model: VisitModel; compact: boolean }): JSX.Element {
  const place = useRef<HTMLDivElement>(null);
  const field = useRef<HTMLDivElement>(null);
  const plot = useRef<Plot | null>(null);
  const small = useRef(compact);
  const chosen = useMemo(() => signal<View | null>(null), []);
  const cursor = useMemo(() => signal<number | null>(null), []);
  const view: ReadonlySignal<View> = useMemo(() => computed(() => within(chosen.value ?? model.whole.value, model.whole.value)), []);
  const lit = model.lines.value.find((line) => line.name === model.lit.value) ?? null;
  const marks = model.marks.value.filter((mark) => !mark.withdrawn);
  const columns = model.columns.value;
  const bands = bandsOf(model.answer.value?.result ?? null);
  const numbers = model.numbers.value;
  const { system } = numbers;
  const theme = model.app.prefs.value.theme;
  const now = view.value;

  const drawing: Drawing = {
    columns,
    bands,
    marks: marks.map((mark, i) => ({ timeS: mark.time_s, label: String(i + 1) })),
    lit: lit?.spans ?? [],
    litLines: new Set(lit ? LINES.filter((name) => DRAWN_FROM[name].some((channel) => lit.channels.includes(channel))) : []),
    limitC: model.stop.value && columns.lines.high.some((value) => value !== null) ? model.stop.value.tempC : null,
    view: now,
    system,
    zone: model.zone.value,
  };

  useEffect(() => {
    const element = place.current;
    const touch = field.current;
    if (!element || !touch) return;
    const made = new Plot(element, drawing, height(compact), (index) => (cursor.value = index));
    plot.current = made;
    const unbind = bindGestures(touch, {
      place: () => made.place(),
      view: () => view.value,
      whole: () => model.whole.value,
      move: (next) => (chosen.value = next),
      all: () => (chosen.value = null),
      touch: (share) => made.touch(share),
    });
    const observer = new ResizeObserver(() => made.resize(element.clientWidth, height(small.current)));
    observer.observe(element);
    return () => {
      unbind();
      observer.disconnect();
      made.destroy();
      plot.current = null;
    };
  }, []);

  useEffect(() => {
    small.current = compact;
    if (place.current) plot.current?.resize(place.current.clientWidth, height(compact));
  }, [compact]);

  useEffect(() => plot.current?.update(drawing), [columns, now.fromS, now.toS, lit, marks.length, bands.length, system, theme, model.stop.value]);

  useEffect(() => {
    if (lit?.spans.length) chosen.value = around(lit.spans, model.whole.value);
  }, [model.lit.value, lit?.spans.length]);

  const percent = (timeS: number): number => (100 * (timeS - now.fromS)) / (now.toS - now.fromS);
  const clip = (span: View): { left: string; width: string } => {
    const left = Math.max(0, percent(span.fromS));
    return { left: `${left}%`, width: `${Math.max(0.4, Math.min(100, percent(span.toS)) - left)}%` };
  };
  /** Whether a band is wide enough for its name; the table below has all of them. */
  const roomFor = (band: Span): boolean => {
    const px = ((Math.min(band.toS, now.toS) - Math.max(band.fromS, now.fromS)) / (now.toS - now.fromS)) * ((place.current?.clientWidth ?? 600) - GUTTER_PX - RIGHT_PX);
    return px > 10 + 8 * (PHASES[band.name] ?? band.name).length;
  };
  const shown = (span: View): boolean => span.toS >= now.fromS && span.fromS <= now.toS;
  const empty = !columns.timeS.length && !marks.length;
  const at = cursor.value;
  const valueOf = (name: LineName): string => {
    const values = columns.lines[name];
    const value = at === null ? values.findLast((one) => one !== null) : values[at];
    return value === null || value === undefined ? "–" : show(value, "temperature", system, 0, 0);
  };
  const middle = 0.5 * (now.fromS + now.toS);

  return (
    <section class={`strip sheet ${empty ? "blank" : ""}`} aria-label={t.strip.label}>
      <div class="strip-field" ref={field} tabIndex={0} role="group" aria-label={`${t.strip.label}. ${t.strip.help}`} data-testid="strip">
        <div class="lane phases" style={{ marginLeft: `${GUTTER_PX}px`, marginRight: `${RIGHT_PX}px` }}>
          {bands.filter(shown).map((band) => (
            <span key={`${band.name}${band.fromS}`} class={`band b-${band.name}`} style={clip(band)}>
              {roomFor(band) ? (PHASES[band.name] ?? band.name) : ""}
            </span>
          ))}
        </div>
        <div class="strip-plot" ref={place} />
        {columns.lanes.map((lane) => (
          <div key={lane.channel} class={`lane ${lit?.channels.includes(lane.channel) ? "told" : ""}`} style={{ marginLeft: `${GUTTER_PX}px`, marginRight: `${RIGHT_PX}px` }}>
            {lane.spans.filter(shown).map((span) => (
              <span key={span.fromS} class={`on ${lit && !lit.channels.includes(lane.channel) ? "dim" : ""}`} style={clip(span)} />
            ))}
            <em>{t.strip.lanes[lane.channel]}</em>
          </div>
        ))}
        {empty && <p class="strip-empty">{t.strip.empty}</p>}
      </div>
      <div class="strip-foot">
        <ul class="keys" aria-live="off">
          {LINES.filter((name) => columns.lines[name].some((value) => value !== null)).map((name) => (
            <li key={name}>
              <Key line={name} />
              <span class="key-name">
                <span class="long">{t.strip.lines[name]}</span>
                <span class="short" aria-hidden="true">{t.strip.short[name]}</span>
              </span>
              <b class="num">{valueOf(name)}</b>
            </li>
          ))}
          {at !== null && columns.timeS[at] !== undefined && <li class="num soft">{clockTime(columns.timeS[at] as number, model.zone.value)}</li>}
        </ul>
        <div class="strip-buttons">
          {lit && (
            <button type="button" class="button quiet" onClick={() => (model.lit.value = null)}>
              {t.strip.unlight}
            </button>
          )}
          <button type="button" class="button quiet" aria-label={t.strip.further} onClick={() => (chosen.value = zoom(now, 1 / 1.7, middle, model.whole.value))}>
            −
          </button>
          <button type="button" class="button quiet" aria-label={t.strip.nearer} onClick={() => (chosen.value = zoom(now, 1.7, middle, model.whole.value))}>
            +
          </button>
          <button type="button" class="button quiet" onClick={() => (chosen.value = null)}>
            {t.strip.all}
          </button>
        </div>
      </div>
      {lit && (
        <p class="lit-note" role="status">
          {t.strip.lit(lit.title)}
        </p>
      )}
      {marks.length > 0 && (
        <ol class="mark-chips" aria-label={t.strip.marks}>
          {marks.map((mark, i) => (
            <li key={mark.id}>
              <button type="button" onClick={() => (chosen.value = around([{ fromS: mark.time_s - 60, toS: mark.time_s + 60 }], model.whole.value))}>
                <b class="chip-n">{i + 1}</b>
                <span>
                  {actTitle(mark.act)}
                  {mark.note && <span class="soft"> {mark.note}</span>}
                </span>
                <span class="num soft">{clockTime(mark.time_s, model.zone.value)}</span>
              </button>
            </li>
          ))}
        </ol>
      )}
      {bands.length > 0 && (
        <details class="strip-table">
          <summary>{t.strip.table}</summary>
          <div class="scroll" tabIndex={0}>
            <table>
              <thead>
                <tr>
                  <th scope="col">{t.strip.phase}</th>
                  <th scope="col">{t.strip.from}</th>
                  <th scope="col">{t.strip.to}</th>
                </tr>
              </thead>
              <tbody>
                {bands.map((band) => (
                  <tr key={band.fromS}>
                    <td>{PHASES[band.name] ?? band.name}</td>
                    <td>{clockTime(band.fromS, model.zone.value)}</td>
                    <td>{clockTime(band.toS, model.zone.value)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </details>
      )}
    </section>
  );
}
