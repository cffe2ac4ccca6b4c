/** The lines of the strip, drawn by uPlot; bands, limit, marks and evidence are drawn into it by hooks. */

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { LINES, type Columns, type LineName, type Span, type View } from "../model/strip.ts";
import { fromSi, type System } from "../model/units.ts";
import { clockTime } from "../parts/when.ts";

export const GUTTER_PX = 40;
export const RIGHT_PX = 10;

/** Each line differs in dash and weight as well as in colour. */
export const STYLES: Record<LineName, { width: number; dash: number[] }> = {
  high: { width: 3, dash: [] },
  low: { width: 2, dash: [] },
  coil: { width: 2.4, dash: [7, 4] },
  air: { width: 1.8, dash: [2, 4] },
  supply: { width: 1.8, dash: [10, 3, 2, 3] },
};

export interface Drawing {
  columns: Columns;
  bands: Span[];
  marks: { timeS: number; label: string }[];
  lit: View[];
  /** Lines that the lit evidence rests on; empty: all. */
  litLines: ReadonlySet<LineName>;
  limitC: number | null;
  view: View;
  system: System;
  zone: string | undefined;
}

function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function inUnits(columns: Columns, system: System): uPlot.AlignedData {
  const name = system === "us" ? "degF" : "degC";
  const shown = (values: (number | null)[]): (number | null)[] =>
    values.map((value) => (value === null ? null : fromSi(value, name, "temperature", 0)));
  return [columns.timeS, ...LINES.map((line) => shown(columns.lines[line]))] as uPlot.AlignedData;
}

export class Plot {
  private readonly plot: uPlot;
  private drawing: Drawing;
  private made: Columns | null = null;
  private madeIn: System | null = null;

  constructor(
    place: HTMLElement,
    drawing: Drawing,
    height: number,
    private readonly onCursor: (index: number | null) => void,
  ) {
    this.drawing = drawing;
    const axis = { stroke: () => colour("--soft"), grid: { stroke: () => colour("--grid"), width: 1 }, ticks: { show: false }, font: "13px system-ui, sans-serif" };
    this.plot = new uPlot(
      {
        width: Math.max(place.clientWidth, 200),
        height,
        padding: [8, RIGHT_PX, 0, 0],
        legend: { show: false },
        cursor: { drag: { x: false, y: false, setScale: false }, points: { size: 7 }, y: false },
        scales: {
          x: { time: true, range: () => [this.drawing.view.fromS, this.drawing.view.toS] },
          y: { range: (_, low, high) => this.rangeY(low, high) },
        },
        axes: [
          { ...axis, space: 70, size: 28, values: (_, splits) => splits.map((at) => this.tick(at)) },
          { ...axis, size: GUTTER_PX, gap: 4, space: 28 },
        ],
        series: [
          {},
          ...LINES.map((line) => ({
            stroke: () => colour(`--line-${line}`),
            width: STYLES[line].width,
            dash: STYLES[line].dash,
            spanGaps: true,
            points: { show: (u: uPlot) => this.drawing.columns.timeS.length < 200 && u.series.length > 0, size: 7 },
          })),
        ],
        hooks: {
          drawClear: [(u) => this.drawUnder(u)],
          draw: [(u) => this.drawOver(u)],
          setCursor: [(u) => this.onCursor(u.cursor.idx ?? null)],
        },
      },
      inUnits(drawing.columns, drawing.system),
      place,
    );
    this.made = drawing.columns;
    this.madeIn = drawing.system;
  }

  /** The time under a tick; none at the very edge, where it would be cut. */
  private tick(at: number): string {
    const { view, zone } = this.drawing;
    const span = view.toS - view.fromS;
    return at > view.toS - 0.06 * span || at < view.fromS ? "" : clockTime(at, zone, span < 900);
  }

  private rangeY(low: number | null, high: number | null): [number, number] {
    const { limitC, system } = this.drawing;
    const limit = limitC === null ? null : fromSi(limitC, system === "us" ? "degF" : "degC", "temperature", 0);
    let bottom = low ?? (system === "us" ? 20 : -5);
    let top = high ?? bottom;
    if (limit !== null) top = Math.max(top, limit);
    if (top - bottom < 20) bottom = top - 20;
    const room = 0.06 * (top - bottom);
    return [Math.floor(bottom - room), Math.ceil(top + room)];
  }

  update(drawing: Drawing): void {
    this.drawing = drawing;
    const changed = this.made !== drawing.columns || this.madeIn !== drawing.system;
    this.made = drawing.columns;
    this.madeIn = drawing.system;
    this.plot.series.forEach((series, i) => {
      const line = LINES[i - 1];
      if (line) series.alpha = !drawing.litLines.size || drawing.litLines.has(line) ? 1 : 0.3;
    });
    if (changed) this.plot.setData(inUnits(drawing.columns, drawing.system), false);
    this.plot.setScale("x", { min: drawing.view.fromS, max: drawing.view.toS });
    this.plot.redraw();
  }

  resize(width: number, height: number): void {
    if (width > 0) this.plot.setSize({ width, height });
  }

  /** Put the cursor at a share of the width. */
  touch(share: number): void {
    this.plot.setCursor({ left: share * this.plot.over.clientWidth, top: 10 });
  }

  place(): { left: number; width: number } {
    const box = this.plot.over.getBoundingClientRect();
    return { left: box.left, width: box.width };
  }

  destroy(): void {
    this.plot.destroy();
  }

  private drawUnder(u: uPlot): void {
    const { ctx, bbox } = u;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    for (const band of this.drawing.bands) {
      const left = u.valToPos(band.fromS, "x", true);
      const right = u.valToPos(band.toS, "x", true);
      ctx.fillStyle = colour(`--band-${band.name}`);
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      if (band.name === "defrost" || band.name === "chilldown") hatch(ctx, left, bbox.top, right - left, bbox.height, band.name === "defrost", colour("--rule"));
    }
    ctx.fillStyle = colour("--lit");
    for (const span of this.drawing.lit) {
      const left = u.valToPos(span.fromS, "x", true);
      const right = Math.max(u.valToPos(span.toS, "x", true), left + 4 * devicePixelRatio);
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
    }
    ctx.restore();
  }

  private drawOver(u: uPlot): void {
    const { ctx, bbox } = u;
    const px = devicePixelRatio;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    const { limitC, system } = this.drawing;
    if (limitC !== null) {
      const y = u.valToPos(fromSi(limitC, system === "us" ? "degF" : "degC", "temperature", 0), "y", true);
      ctx.strokeStyle = colour("--line-limit");
      ctx.lineWidth = 2 * px;
      ctx.setLineDash([12 * px, 5 * px]);
      line(ctx, bbox.left, y, bbox.left + bbox.width, y);
    }
    ctx.setLineDash([3 * px, 3 * px]);
    ctx.strokeStyle = colour("--ink");
    ctx.lineWidth = px;
    ctx.font = `${700} ${12 * px}px system-ui, sans-serif`;
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    let lastX = -Infinity;
    let row = 0;
    for (const mark of this.drawing.marks) {
      const x = u.valToPos(mark.timeS, "x", true);
      if (x < bbox.left - 8 || x > bbox.left + bbox.width + 8) continue;
      line(ctx, x, bbox.top, x, bbox.top + bbox.height);
      // Numbers that would cover each other step down.
      row = x - lastX < 20 * px ? row + 1 : 0;
      lastX = x;
      const y = bbox.top + bbox.height - (10 + 20 * row) * px;
      ctx.fillStyle = colour("--ink");
      ctx.fillRect(x - 9 * px, y - 9 * px, 18 * px, 18 * px);
      ctx.fillStyle = colour("--sheet");
      ctx.fillText(mark.label, x, y + px);
    }
    if (this.drawing.lit.length) {
      ctx.setLineDash([]);
      ctx.strokeStyle = colour("--caution-edge");
      ctx.lineWidth = 2 * px;
      for (const span of this.drawing.lit) {
        const left = u.valToPos(span.fromS, "x", true);
        const right = Math.max(u.valToPos(span.toS, "x", true), left + 4 * px);
        ctx.strokeRect(left, bbox.top + px, right - left, bbox.height - 2 * px);
      }
    }
    ctx.restore();
  }
}

function line(ctx: CanvasRenderingContext2D, x0: number, y0: number, x1: number, y1: number): void {
  ctx.beginPath();
  ctx.moveTo(x0, y0);
  ctx.lineTo(x1, y1);
  ctx.stroke();
}

/** Slanted lines: defrost leans one way, chilldown the other, so that the bands differ without colour. */
function hatch(ctx: CanvasRenderingContext2D, x: number, y: number, w: number, h: number, rising: boolean, stroke: string): void {
  const step = 11 * devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(x, y, w, h);
  ctx.clip();
  ctx.strokeStyle = stroke;
  ctx.lineWidth = devicePixelRatio;
  for (let at = x - h; at < x + w + h; at += step) {
    if (rising) line(ctx, at, y + h, at + h, y);
    else line(ctx, at, y, at + h, y + h);
  }
  ctx.restore();
}
