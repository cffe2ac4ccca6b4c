/** Parts drawn without a browser. */

import "fake-indexeddb/auto";
import { render } from "preact-render-to-string";
import { describe, expect, it } from "vitest";
import { Http } from "../src/api/http.ts";
import type { ResultAnswer } from "../src/api/types.ts";
import { App } from "../src/model/app.ts";
import { STANDINGS } from "../src/model/channels.ts";
import { factsOf } from "../src/model/facts.ts";
import { frameOf, pointsOf } from "../src/model/history.ts";
import { Numbers } from "../src/model/show.ts";
import { VisitModel } from "../src/model/visit.ts";
import { readsOf, readsText } from "../src/pages/shop/instruments.tsx";
import { Ledger } from "../src/pages/visit/ledger.tsx";
import { numberIn, press } from "../src/pages/visit/keypad.tsx";
import { AppProvider } from "../src/parts/context.ts";
import { split } from "../src/parts/quantity.tsx";
import { Shelf } from "../src/store/db.ts";
import { t } from "../src/text/en.ts";
import demo from "./demo-result.json";

describe("the pad", () => {
  const typed = (keys: string): string => [...keys].reduce(press, "");
  it("makes numbers of keys", () => {
    expect(typed("105")).toBe("105");
    expect(typed("007")).toBe("7");
    expect(typed("12.5.3")).toBe("12.53");
    expect(typed(".5")).toBe("0.5");
    expect(typed("3−")).toBe("-3");
    expect(typed("3−−")).toBe("3");
    expect(typed("12⌫")).toBe("1");
    expect(typed("0.05")).toBe("0.05");
    expect(numberIn("-0.5")).toBe(-0.5);
    for (const text of ["", "-", "1.2.3", "abc"]) expect(numberIn(text)).toBeNull();
  });
});

describe("the ledger's page", () => {
  it("has sign and word, number and margin of each function, never colour alone", async () => {
    const app = new App(await Shelf.open("parts"), new Http());
    await app.load();
    await app.put("units", "u", { site_id: null, name: "Alder Row 3", serial: "", practice: false, note: "", plate: { unit: { refrigerant: "R-410A" }, site: { altitude: "1340 ft" } } });
    await app.put("visits", "v", { unit_id: "u", started_s: 1 });
    const model = new VisitModel(app, "v");
    model.answer.value = { revision: 1, made_at: "", version: "", current: true, result: demo } as unknown as ResultAnswer;
    const html = render(
      <AppProvider value={app}>
        <Ledger model={model} large={false} onLarge={() => {}} />
      </AppProvider>,
    );
    expect(html.match(/data-function=/g)?.length).toBe(13);
    for (const word of ["shown", "prompted", "bypassed", "unseen"]) expect(html).toContain(`>${word}<`);
    expect(html).toContain("27.8 ± 1.0 °F");
    expect(html).toContain("7.2 °F to spare");
    await app.setPrefs({ system: "si" });
    const si = render(
      <AppProvider value={app}>
        <Ledger model={model} large={false} onLarge={() => {}} />
      </AppProvider>,
    );
    expect(si).toContain("-2.4 ± 0.6 °C");
    // Six signs, six shapes.
    expect(new Set(STANDINGS.map((row) => row.sign)).size).toBe(6);
    expect(html).not.toContain("<script");
    expect(html).not.toMatch(/ on[a-z]+=/);
  });
});

describe("facts of a result that may grow", () => {
  it("shows numbers with their units, sentences, and what is inside", () => {
    const facts = factsOf(
      { airflow: { standing: "shown", sentence: "Enough air.", measured: { value: 0.5, unit: "1", expanded: 0.02 } }, supply_c: 30, list: [{ title: "Low charge", why: "Subcooling is low." }] },
      new Numbers("us", 101325),
    );
    expect(facts[0]).toMatchObject({ name: "airflow", standing: "shown", text: "Enough air." });
    expect(facts[0]?.more[0]?.text).toBe("50.0 ± 2.0 %");
    expect(facts[1]).toMatchObject({ name: "supply", text: "86.0 °F" });
    expect(facts[2]?.more[0]).toMatchObject({ name: "Low charge", text: "Subcooling is low." });
  });
});

describe("small things", () => {
  it("reads quantities of a unit file back into a form", () => {
    expect(split("30 degF", "temperature", "us")).toEqual(["30", "degF"]);
    expect(split("610 psi", "pressure_gauge", "us")).toEqual(["610", "psig"]);
    expect(split("", "temperature", "si")).toEqual(["", "degC"]);
  });

  it("keeps what an instrument reads, there and back", () => {
    const reads = { suction_pressure: "1 %", liquid_pressure: "1 % of full scale 800 psi" };
    expect(readsOf(readsText(reads))).toEqual(reads);
  });

  it("plots each year's point inside its box, uncertainty and all", () => {
    const history = {
      visits: [1, 2, 3].map((i) => ({ visit_id: String(i), started_s: i * 1e7, state: "closed", closes_c: { value: -i, expanded: 0.6 } })),
      drift: {},
    };
    const points = pointsOf(history as never, "closes_c");
    const frame = frameOf(points, 300, 100);
    for (const point of points) {
      expect(frame.x(point.timeS)).toBeGreaterThan(0);
      expect(frame.x(point.timeS)).toBeLessThan(300);
      expect(frame.y(point.value + 0.6)).toBeGreaterThan(0);
      expect(frame.y(point.value - 0.6)).toBeLessThan(100);
    }
  });

  it("has a word for every standing, tab and kind that the pages name", () => {
    const empty: string[] = [];
    const walk = (node: unknown, where: string): void => {
      if (typeof node === "string" && !node.trim()) empty.push(where);
      if (typeof node === "object" && node) Object.entries(node).forEach(([key, value]) => walk(value, `${where}.${key}`));
    };
    walk(t, "t");
    expect(empty).toEqual([]);
  });
});
