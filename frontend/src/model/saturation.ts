/** Saturation on the device: cubic pieces over the square root of the pressure, from the library's tables.
 *
 * Piece i with s = (x - x_i) / h, x = sqrt(p): T = c0 + s (c1 + s (c2 + s c3)), by values and slopes at the nodes
 * (cubic Hermite). The nodes are each third of the library's; `test/library.test.ts` holds the two equal to 1 mK.
 */

import tables from "../data/saturation.json";

interface Line {
  start: number;
  step: number;
  low_pa: number;
  high_pa: number;
  temp_c: number[];
  rise_k: number[];
}
interface Table {
  class: string;
  blend: boolean;
  low_c: number;
  high_c: number;
  u_k: number;
  cutout: string;
  dew: Line;
  bubble?: Line;
}

const TABLES = tables as unknown as Record<string, Table>;
export const REFRIGERANTS = Object.keys(TABLES);

function tempOn(line: Line, pressurePa: number): number {
  if (!(pressurePa >= line.low_pa && pressurePa <= line.high_pa)) return NaN;
  const steps = (Math.sqrt(pressurePa) - line.start) / line.step;
  const i = Math.min(Math.floor(steps), line.temp_c.length - 2);
  const s = steps - i;
  const y0 = line.temp_c[i] as number;
  const y1 = line.temp_c[i + 1] as number;
  const d0 = line.rise_k[i] as number;
  const d1 = line.rise_k[i + 1] as number;
  return y0 + s * (d0 + s * (3 * (y1 - y0) - (2 * d0 + d1) + s * (2 * (y0 - y1) + d0 + d1)));
}

/** Saturation of one refrigerant. Pressures absolute [Pa], temperatures [degC]; NaN outside its tables. */
export class Fluid {
  private readonly table: Table;

  constructor(readonly name: string) {
    const table = TABLES[name];
    if (!table) throw new RangeError(`${name} is not among the refrigerants known: ${REFRIGERANTS.join(", ")}.`);
    this.table = table;
  }

  get safetyClass(): string {
    return this.table.class;
  }
  get isBlend(): boolean {
    return this.table.blend;
  }
  get highestC(): number {
    return this.table.high_c;
  }
  /** The high-pressure cutout taken where the plate gives none, as in a unit file. */
  get cutout(): string {
    return this.table.cutout;
  }

  dewC(pressurePa: number): number {
    return tempOn(this.table.dew, pressurePa);
  }

  bubbleC(pressurePa: number): number {
    return tempOn(this.table.bubble ?? this.table.dew, pressurePa);
  }

  /** Dew pressure [Pa] at a temperature, by halving: the line rises throughout. */
  dewPa(tempC: number): number {
    const { low_pa, high_pa } = this.table.dew;
    if (!(tempC >= this.table.low_c && tempC <= this.table.high_c)) return NaN;
    let low = low_pa;
    let high = high_pa;
    for (let i = 0; i < 60; i++) {
      const middle = 0.5 * (low + high);
      if (this.dewC(middle) < tempC) low = middle;
      else high = middle;
    }
    return 0.5 * (low + high);
  }

  /** Of vapor in a line, from dew. [K] */
  superheatK(tempC: number, pressurePa: number): number {
    return tempC - this.dewC(pressurePa);
  }

  /** Of liquid in a line, from bubble. [K] */
  subcoolingK(tempC: number, pressurePa: number): number {
    return this.bubbleC(pressurePa) - tempC;
  }
}

const FLUIDS = new Map<string, Fluid>();

export function fluid(name: string): Fluid {
  let found = FLUIDS.get(name);
  if (!found) FLUIDS.set(name, (found = new Fluid(name)));
  return found;
}

/** `r410a` or `R 410A` as `R-410A`; null where it is none of the known. */
export function knownRefrigerant(text: string): string | null {
  const plain = text.replace(/[\s_-]/g, "").toUpperCase();
  for (const name of REFRIGERANTS) {
    const bare = name.replace("-", "").toUpperCase();
    if (plain === bare || plain === bare.slice(1)) return name;
  }
  return null;
}
