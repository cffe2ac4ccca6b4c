/** The stop limit and its warning, as in the library (`visit/stop.py`), for a device without signal.
 *
 * The rate r is the slope of the least-squares line through the last seconds of the high side's dew temperature; the
 * limit is met after (T_limit - T) / r. A climb that bends upwards comes sooner, so the warning is early.
 */

import library from "../data/library.json";
import { fluid, knownRefrigerant } from "./saturation.ts";
import { atmosphereAt, parse } from "./units.ts";

const { window_s: WINDOW_S, lead_s: LEAD_S, near_k: NEAR_K, blind_s: BLIND_S } = library.watch;

/** A unit file's tables as plain text, as the store keeps them. */
export type Plate = Record<string, Record<string, unknown>>;

export interface Stop {
  tempC: number;
  pressurePa: number;
  gaugePa: number;
  by: "ceiling" | "cutout";
  /** Whether the plate gave it. */
  given: boolean;
  atmospherePa: number;
}

function text(plate: Plate, table: string, key: string): string | undefined {
  const value = plate[table]?.[key];
  return typeof value === "string" && value.trim() ? value : undefined;
}

const setting = (name: string): string | undefined =>
  library.settings.find((row) => row.name === name)?.default ?? undefined;

export function atmosphereOf(plate: Plate): number {
  const read = parse(text(plate, "site", "barometer"), "pressure_difference");
  if (read !== null) return read;
  return atmosphereAt(parse(text(plate, "site", "altitude"), "length") ?? 0);
}

/** The stop limit of a plate; null while its refrigerant is not known. */
export function stopOf(plate: Plate): Stop | null {
  const name = knownRefrigerant(text(plate, "unit", "refrigerant") ?? "");
  if (!name) return null;
  const gas = fluid(name);
  const atmospherePa = atmosphereOf(plate);
  const ceilingText = text(plate, "limits", "saturation_ceiling");
  const ceiling = parse(ceilingText, "temperature") ?? parse(setting("limits.saturation_ceiling"), "temperature") ?? 54;
  const cutoutText = text(plate, "limits", "high_pressure_cutout");
  const cutoutPa = (parse(cutoutText, "pressure_gauge") ?? parse(gas.cutout, "pressure_gauge") ?? 0) + atmospherePa;
  const tempC = Math.min(ceiling, gas.highestC);
  const ceilingPa = gas.dewPa(tempC);
  const by = cutoutPa < ceilingPa ? "cutout" : "ceiling";
  const pressurePa = Math.min(cutoutPa, ceilingPa);
  return {
    tempC: by === "cutout" ? gas.dewC(pressurePa) : tempC,
    pressurePa,
    gaugePa: pressurePa - atmospherePa,
    by,
    given: (by === "cutout" ? cutoutText : ceilingText) !== undefined,
    atmospherePa,
  };
}

export interface Danger {
  secondsLeft: number;
  belowK: number;
  rateKs: number;
  tempC: number;
  pressurePa: number;
}

function slope(points: readonly (readonly [number, number])[]): number {
  const n = points.length;
  if (n < 2) return 0;
  const t0 = points.reduce((sum, [t]) => sum + t, 0) / n;
  const v0 = points.reduce((sum, [, v]) => sum + v, 0) / n;
  const spread = points.reduce((sum, [t]) => sum + (t - t0) ** 2, 0);
  if (spread <= 0) return 0;
  return points.reduce((sum, [t, v]) => sum + (t - t0) * (v - v0), 0) / spread;
}

/** Watches the high side of a turned circuit, sample by sample. */
export class StopWatch {
  private recent: [number, number][] = [];
  private turnedS = NaN;
  private lastS = NaN;
  private stepS = NaN;

  constructor(readonly limit: Pick<Stop, "tempC" | "pressurePa">) {}

  push(timeS: number, tempIn: number, pressurePa: number, turned: boolean): Danger | null {
    const read = !Number.isNaN(pressurePa);
    if (read) {
      if (timeS > this.lastS) {
        const step = timeS - this.lastS;
        this.stepS = Number.isNaN(this.stepS) ? step : this.stepS + 0.2 * (step - this.stepS);
      }
      this.lastS = timeS;
    }
    if (!turned) {
      this.recent = [];
      this.turnedS = NaN;
      return null;
    }
    if (Number.isNaN(this.turnedS)) this.turnedS = timeS;
    if (!read) return null;
    const over = pressurePa >= this.limit.pressurePa;
    let tempC = tempIn;
    if (Number.isNaN(tempC)) {
      if (!over) return null;
      tempC = this.limit.tempC;
    }
    this.recent.push([timeS, tempC]);
    while (this.recent.length > 3 && (this.recent[0]?.[0] ?? timeS) < timeS - WINDOW_S) this.recent.shift();
    const rateKs = slope(this.recent);
    const belowK = this.limit.tempC - tempC;
    const secondsLeft = over || belowK <= 0 ? 0 : rateKs > 0 ? belowK / rateKs : Infinity;
    const lead = Number.isNaN(this.stepS) ? LEAD_S : Math.max(LEAD_S, 3 * this.stepS);
    if (secondsLeft >= lead && belowK >= NEAR_K) return null;
    return { secondsLeft, belowK, rateKs, tempC, pressurePa };
  }

  /** Whether the circuit is turned and the high side has not been read for some time. */
  blind(timeS: number): boolean {
    if (Number.isNaN(this.turnedS)) return false;
    const seen = Number.isNaN(this.lastS) ? this.turnedS : this.lastS;
    return timeS - Math.max(seen, this.turnedS) >= BLIND_S;
  }
}
