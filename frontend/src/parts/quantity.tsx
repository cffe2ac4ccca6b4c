/** A quantity with its unit, as a unit file writes it: "30 degF". */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { parse, toSi, UNITS, unitOf, type Kind, type System } from "../model/units.ts";
import { t } from "../text/en.ts";
import { Field } from "./small.tsx";

const NUMBER = /^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*$/;

/** Number and unit of a written quantity. */
export function split(text: string | null | undefined, kind: Kind, system: System): [string, string] {
  const names = unitsFor(kind, system);
  const found = /^\s*([+-]?[\d.,]+)\s*(.*?)\s*$/.exec(text ?? "");
  if (!found) return ["", names[0] ?? "1"];
  let unit = found[2] ?? "";
  if (kind === "pressure_gauge" && unit === "psi") unit = "psig";
  if (!names.includes(unit)) return [found[1] ?? "", names[0] ?? "1"];
  return [found[1] ?? "", unit];
}

function unitsFor(kind: Kind, system: System): readonly string[] {
  return kind === "pressure_difference" ? UNITS.pressure_difference[system] : UNITS[kind][system];
}

export interface QuantityProps {
  id: string;
  label: string;
  kind: Kind;
  system: System;
  value: string | null | undefined;
  onChange: (text: string | null, fault: string) => void;
  help?: string;
  lowest?: string;
  highest?: string;
  /** Units offered, where they are not those of the kind. */
  units?: readonly string[];
}

export function Quantity({ id, label, kind, system, value, onChange, help, lowest, highest, units }: QuantityProps): JSX.Element {
  const names = units ?? unitsFor(kind, system);
  const [start] = useState(() => split(value, kind, system));
  const [number, setNumber] = useState(start[0]);
  const [unit, setUnit] = useState(names.includes(start[1]) ? start[1] : (names[0] ?? "1"));
  const [fault, setFault] = useState("");
  const tell = (typed: string, name: string): void => {
    setNumber(typed);
    setUnit(name);
    if (!typed.trim()) {
      setFault("");
      onChange(null, "");
      return;
    }
    const found = NUMBER.exec(typed);
    let wrong = "";
    const plain = found?.[1]?.replace(",", ".");
    if (!plain) {
      wrong = t.unit.notNumber;
    } else {
      const si = toSi(Number(plain), name, kind, 0);
      const low = parse(lowest, kind);
      const high = parse(highest, kind);
      if ((low !== null && si < low - 1e-9) || (high !== null && si > high + 1e-9)) wrong = t.unit.between(lowest ?? "", highest ?? "");
    }
    setFault(wrong);
    onChange(plain ? `${plain} ${name}` : typed, wrong);
  };
  return (
    <Field id={id} label={label} {...(help ? { help } : {})} {...(fault ? { error: fault } : {})}>
      {(ids) => (
        <div class="pair">
          <input
            class="input num"
            id={ids.id}
            inputMode="decimal"
            autoComplete="off"
            value={number}
            aria-describedby={ids.describedBy}
            aria-invalid={ids.invalid}
            onInput={(e) => tell(e.currentTarget.value, unit)}
          />
          <select class="input" aria-label={`${label}: ${t.pad.unit}`} value={unit} onChange={(e) => tell(number, e.currentTarget.value)}>
            {names.map((name) => (
              <option key={name} value={name}>
                {unitOf(name).label}
              </option>
            ))}
          </select>
        </div>
      )}
    </Field>
  );
}
