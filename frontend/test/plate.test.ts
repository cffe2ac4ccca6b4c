/** A plate's keys in words, and its site's clock. */

import { expect, test } from "vitest";
import library from "../src/data/library.json";
import { plateName, pretty, withSite, zoneOf } from "../src/model/plate.ts";
import type { Site, Unit } from "../src/api/types.ts";

test("every key that a plate can have is named in words", () => {
  const names = [...library.settings, ...library.choices].map((row) => row.name);
  for (const name of [...names, "backup.stages", "house.run_time", "maker.blower"]) {
    expect(plateName(name), name).toMatch(/^[A-Z]/);
    expect(plateName(name), name).not.toMatch(/[_.]/);
  }
});

test("an accuracy is told beside what it is of, and a key that is not known by itself", () => {
  expect(plateName("airflow.measured_accuracy")).toBe(`${plateName("airflow.measured")}: accuracy`);
  expect(plateName("backup.stages")).toBe("Backup: stages");
});

test("a temperature of the coil sensor says whose it is", () => {
  expect(plateName("coil_sensor.closes_at")).toBe("Coil sensor: closes at");
  expect(plateName("coil_sensor.tolerance")).toBe("Coil sensor: tolerance");
});

test("degrees are read as degrees, and other words stay", () => {
  expect(pretty("5 delta_degF at 47 degF, 2.5 ton_refrigeration")).toBe("5 °F at 47 °F, 2.5 ton");
  expect(pretty("degrees")).toBe("degrees");
});

test("the plate's own zone goes before the site's, and none is the device's", () => {
  const site = { altitude: "900 ft", zone: "America/Denver" } as Site;
  const unit = (own: Record<string, unknown>): Unit => ({ plate: { site: own } }) as unknown as Unit;
  expect(zoneOf(withSite(unit({}), site))).toBe("America/Denver");
  expect(zoneOf(withSite(unit({ zone: "America/Chicago" }), site))).toBe("America/Chicago");
  expect(zoneOf(withSite(unit({ zone: "none" }), site))).toBeUndefined();
  expect(zoneOf(withSite(unit({}), undefined))).toBeUndefined();
});
