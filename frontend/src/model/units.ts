/** Units at the border: SI in memory, the reader's units on the screen.
 *
 * Factors are exact (NIST SP 811); `test/library.test.ts` holds them equal to the library's.
 */

export type System = "us" | "si";
export type Kind =
  | "pressure"
  | "pressure_gauge"
  | "pressure_difference"
  | "temperature"
  | "temperature_difference"
  | "humidity"
  | "voltage"
  | "current"
  | "power"
  | "flow"
  | "switch"
  | "time"
  | "length"
  | "ratio";

export interface Unit {
  name: string;
  /** As it stands beside a number. */
  label: string;
  factor: number;
  offset: number;
  gauge?: boolean;
}

const FOOT = 0.3048;
const PSI = (0.45359237 * 9.80665) / 0.0254 ** 2;
const BTU_H = 1055.05585262 / 3600;

function unit(name: string, label: string, factor: number, offset = 0, gauge?: boolean): Unit {
  return gauge === undefined ? { name, label, factor, offset } : { name, label, factor, offset, gauge };
}

const ROWS: readonly Unit[] = [
  unit("degF", "°F", 5 / 9, -160 / 9),
  unit("degC", "°C", 1),
  unit("delta_degF", "°F", 5 / 9),
  unit("delta_degC", "K", 1),
  unit("psig", "psig", PSI, 0, true),
  unit("kPa(g)", "kPa(g)", 1e3, 0, true),
  unit("barg", "barg", 1e5, 0, true),
  unit("psi", "psi", PSI),
  unit("kPa", "kPa", 1e3),
  unit("inH2O", "in w.c.", 9806.65 * 0.0254),
  unit("Pa", "Pa", 1),
  unit("%RH", "%", 0.01),
  unit("%", "%", 0.01),
  unit("1", "", 1),
  unit("V", "V", 1),
  unit("A", "A", 1),
  unit("W", "W", 1),
  unit("kW", "kW", 1e3),
  unit("Btu/h", "Btu/h", BTU_H),
  unit("ton_refrigeration", "ton", 12e3 * BTU_H),
  unit("cfm", "cfm", FOOT ** 3 / 60),
  unit("L/s", "L/s", 1e-3),
  unit("s", "s", 1),
  unit("min", "min", 60),
  unit("h", "h", 3600),
  unit("ft", "ft", FOOT),
  unit("m", "m", 1),
];
const BY_NAME = new Map(ROWS.map((row) => [row.name, row]));

/** The unit of that name. */
export function unitOf(name: string): Unit {
  const found = BY_NAME.get(name);
  if (!found) throw new RangeError(`The unit ${JSON.stringify(name)} is not known to the pages.`);
  return found;
}

/** What each kind is typed and shown in: the first of its system, others to choose. */
export const UNITS: Record<Kind, Record<System, readonly string[]>> = {
  pressure: { us: ["psig", "kPa(g)", "barg"], si: ["kPa(g)", "barg", "psig"] },
  pressure_gauge: { us: ["psig", "kPa(g)"], si: ["kPa(g)", "barg", "psig"] },
  pressure_difference: { us: ["inH2O", "Pa"], si: ["Pa", "inH2O"] },
  temperature: { us: ["degF", "degC"], si: ["degC", "degF"] },
  temperature_difference: { us: ["delta_degF", "delta_degC"], si: ["delta_degC", "delta_degF"] },
  humidity: { us: ["%RH"], si: ["%RH"] },
  voltage: { us: ["V"], si: ["V"] },
  current: { us: ["A"], si: ["A"] },
  power: { us: ["W", "kW", "ton_refrigeration", "Btu/h"], si: ["W", "kW"] },
  flow: { us: ["cfm", "L/s"], si: ["L/s", "cfm"] },
  switch: { us: ["1"], si: ["1"] },
  time: { us: ["min", "s", "h"], si: ["min", "s", "h"] },
  length: { us: ["ft", "m"], si: ["m", "ft"] },
  ratio: { us: ["%"], si: ["%"] },
};

/** Digits after the point that are usual for a unit. */
const PLACES: Record<string, number> = {
  degF: 1, degC: 1, delta_degF: 1, delta_degC: 1, psig: 0, psi: 0, "kPa(g)": 0, kPa: 0, barg: 1, inH2O: 2, Pa: 0,
  "%RH": 0, "%": 1, "1": 0, V: 1, A: 2, W: 0, kW: 2, "Btu/h": 0, ton_refrigeration: 2, cfm: 0, "L/s": 0, s: 0, min: 0,
  h: 1, ft: 0, m: 0,
};

export function placesOf(name: string): number {
  return PLACES[name] ?? 1;
}

export function firstUnit(kind: Kind, system: System): string {
  return UNITS[kind][system][0] ?? "1";
}

/** From what was typed to SI; a gauge pressure becomes absolute here and nowhere else. */
export function toSi(value: number, name: string, kind: Kind, atmospherePa: number): number {
  const row = unitOf(name);
  const shift = kind === "temperature" ? row.offset : row.gauge && kind === "pressure" ? atmospherePa : 0;
  return value * row.factor + shift;
}

export function fromSi(si: number, name: string, kind: Kind, atmospherePa: number): number {
  const row = unitOf(name);
  const shift = kind === "temperature" ? row.offset : row.gauge && kind === "pressure" ? atmospherePa : 0;
  return (si - shift) / row.factor;
}

/** Pressure of the standard atmosphere [Pa]: ASHRAE Handbook of Fundamentals (2017), chapter 1, equation 3. */
export function atmosphereAt(altitudeM: number): number {
  return 101325 * (1 - 2.25577e-5 * altitudeM) ** 5.2559;
}

const QUANTITY = /^\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(.*?)\s*$/;

/** A setting as a unit file writes it (`"30 degF"`) in SI, or null if it is not one that the pages know. */
export function parse(text: string | undefined, kind: Kind, atmospherePa = 0): number | null {
  const found = text === undefined ? null : QUANTITY.exec(text);
  if (!found?.[1]) return null;
  let name = found[2] ?? "";
  if (kind === "pressure_gauge" && name === "psi") name = "psig";
  if (kind === "temperature_difference" && name === "K") name = "delta_degC";
  const row = BY_NAME.get(name);
  if (!row) return null;
  return toSi(Number(found[1]), name, kind, atmospherePa);
}
