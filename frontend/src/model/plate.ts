/** A unit's plate: with its site, its clock, and its keys in words. */

import type { Site, Unit } from "../api/types.ts";
import { t } from "../text/en.ts";
import { CHOICES, SETTINGS } from "./channels.ts";
import type { Plate } from "./stop.ts";

const MEANING = new Map([...SETTINGS, ...CHOICES].map((row) => [row.name, row.meaning]));
const SHORT: Record<string, string> = {
  ...t.unit.fieldNames, "unit.refrigerant": t.unit.refrigerant, "unit.metering": t.unit.metering, "board.kind": t.unit.kind, "site.zone": t.unit.zone,
};

/** The plate with the site's height and zone where it has none itself, as the service reads it. */
export function withSite(unit: Unit, site: Site | undefined): Plate {
  const own = unit.plate.site ?? {};
  return {
    ...unit.plate,
    site: { ...(site?.altitude ? { altitude: site.altitude } : {}), ...(site?.zone ? { zone: site.zone } : {}), ...own },
  };
}

/** The site's time zone, if it is known. */
export function zoneOf(plate: Plate): string | undefined {
  const zone = plate.site?.zone;
  return typeof zone === "string" && zone && zone !== "none" ? zone : undefined;
}

/** Quantities as they are read: °F for degF, a difference as its scale. */
export function pretty(text: string): string {
  return text.replaceAll("delta_", "").replace(/\bdeg(?=[FC]\b)/g, "°").replaceAll("ton_refrigeration", "ton");
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What a key of the plate means, in words: `ratings.cop_47`, `airflow.measured_accuracy`. */
export function plateName(name: string): string {
  const said = SHORT[name] ?? MEANING.get(name)?.split(";")[0];
  // In the form these stand below a heading of the sensor.
  if (said && name.startsWith("coil_sensor.")) return `${t.unit.sensor}: ${said.charAt(0).toLowerCase()}${pretty(said.slice(1))}`;
  if (said) return capital(pretty(said));
  const base = name.replace(/_accuracy$/, "");
  if (base !== name) return t.unit.accuracyOf(plateName(base));
  return capital(name.replaceAll("_", " ").replace(".", ": "));
}
