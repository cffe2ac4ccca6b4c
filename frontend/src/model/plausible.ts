/** Whether a typed reading can be right, told before it is kept. The bounds are the library's rows.
 *
 * `no` is what no working probe reads and the library drops; `odd` stands, with a question.
 */

import { channelOf, USUAL } from "./channels.ts";
import type { Fluid } from "./saturation.ts";
import { fromSi, toSi, UNITS } from "./units.ts";

export type Doubt =
  | { level: "no"; code: "bounds"; lowSi: number; highSi: number; fits: string[] }
  | { level: "odd"; code: "usual"; side: "high" | "low"; fits: string[] }
  | { level: "odd"; code: "swapped" | "ratio" | "condenses" | "boils" | "superheat" | "subcooling" | "jump"; value: number; fits: string[] };

/** The latest reading of each channel, in memory units. */
export type Latest = ReadonlyMap<string, number>;

const HIGH_SIDE = new Set(["liquid_pressure", "discharge_pressure"]);

/** What is doubtful about one reading; null where nothing is. */
export function doubtOf(
  channel: string,
  si: number,
  unit: string,
  latest: Latest,
  gas: Fluid | null,
  atmospherePa: number,
): Doubt | null {
  const found = without(channel, si, latest, gas);
  if (!found) return null;
  const row = channelOf(channel);
  if (!row) return null;
  const typed = fromSi(si, unit, row.kind, atmospherePa);
  const others = [...new Set([...UNITS[row.kind].us, ...UNITS[row.kind].si])].filter((name) => name !== unit);
  const fits = others.filter((name) => !without(channel, toSi(typed, name, row.kind, atmospherePa), latest, gas));
  return { ...found, fits } as Doubt;
}

function without(channel: string, si: number, latest: Latest, gas: Fluid | null): Omit<Doubt, "fits"> | null {
  const row = channelOf(channel);
  if (!row) return null;
  if (!(si >= row.low && si <= row.high)) {
    return { level: "no", code: "bounds", lowSi: row.low, highSi: row.high } as Omit<Doubt, "fits">;
  }
  const odd = (code: string, value: number) => ({ level: "odd", code, value }) as Omit<Doubt, "fits">;
  for (const usual of USUAL) {
    if (usual.channel !== channel || usual.running) continue;
    if (si < usual.low || si > usual.high) {
      return { level: "odd", code: "usual", side: si > usual.high ? "high" : "low" } as Omit<Doubt, "fits">;
    }
  }
  const at = (name: string): number => (name === channel ? si : (latest.get(name) ?? NaN));
  const suction = at("suction_pressure");
  for (const name of HIGH_SIDE) {
    if (channel !== name && channel !== "suction_pressure") continue;
    const high = at(name);
    if (suction > 1.1 * high + 0.5e5) return odd("swapped", NaN);
    if (high / suction > 15) return odd("ratio", high / suction);
    if (gas && channel === name && high / suction > 1.5) {
      const temp = gas.dewC(high);
      if (temp < 8 || temp > 85) return odd("condenses", temp);
    }
  }
  if (gas && channel === "suction_pressure") {
    const temp = gas.dewC(si);
    if (temp < -55 || temp > 40) return odd("boils", temp);
  }
  if (gas && (channel === "suction_line_temp" || channel === "suction_pressure")) {
    const superheat = gas.superheatK(at("suction_line_temp"), suction);
    if (superheat < -6 || superheat > 45) return odd("superheat", superheat);
  }
  if (gas && (channel === "liquid_line_temp" || channel === "liquid_pressure")) {
    const subcooling = gas.subcoolingK(at("liquid_line_temp"), at("liquid_pressure"));
    if (subcooling < -6 || subcooling > 40) return odd("subcooling", subcooling);
  }
  return null;
}
