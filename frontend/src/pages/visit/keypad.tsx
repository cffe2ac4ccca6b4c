/** The pad's own parts: value and unit, what is said of it, and large keys. */

import type { ComponentChildren, JSX, RefObject } from "preact";
import { unitOf } from "../../model/units.ts";
import { t } from "../../text/en.ts";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "−", "0", "."] as const;

/** One key more on what was typed. */
export function press(text: string, key: string): string {
  if (key === "−") return text.startsWith("-") ? text.slice(1) : `-${text}`;
  if (key === "⌫") return text.slice(0, -1);
  if (key === ".") return text.includes(".") ? text : text === "" || text === "-" ? `${text}0.` : `${text}.`;
  return text.replace(/^(-?)0(?=\d*$)/, "$1") + key;
}

export function numberIn(text: string): number | null {
  return /^-?\d+(\.\d*)?$/.test(text) ? Number(text) : null;
}

/** The unit chosen last, as long as the pages are open: a gauge does not change its scale in between. */
const CHOSEN = new Map<string, string>();

export function unitFor(key: string, units: readonly string[]): string {
  const chosen = CHOSEN.get(key);
  return chosen && units.includes(chosen) ? chosen : (units[0] ?? "1");
}

export function chooseUnit(key: string, name: string): void {
  CHOSEN.set(key, name);
}

export function PadHead({ title, onClose }: { title: string; onClose: () => void }): JSX.Element {
  return (
    <div class="pad-head">
      <h2>{title}</h2>
      <button type="button" class="button quiet" onClick={onClose}>
        {t.pad.done}
      </button>
    </div>
  );
}

interface Props {
  input: RefObject<HTMLInputElement | null>;
  text: string;
  onText: (text: string) => void;
  unit: string;
  units: readonly string[];
  onUnit: (name: string) => void;
  /** What is said of the number. */
  children: ComponentChildren;
}

export function KeyPad({ input, text, onText, unit, units, onUnit, children }: Props): JSX.Element {
  return (
    <>
      <div class="pad-value">
        <input
          ref={input}
          class="num"
          aria-label={t.pad.value}
          aria-describedby="pad-says"
          value={text}
          inputMode="none"
          autoComplete="off"
          onInput={(event) => onText(event.currentTarget.value.replace(",", ".").replace("−", "-").replace(/[^\d.-]/g, ""))}
        />
        <div class="pad-units" role="group" aria-label={t.pad.unit}>
          {units.map((name) => (
            <button
              key={name}
              type="button"
              class={unit === name ? "on" : ""}
              aria-pressed={unit === name}
              onClick={() => {
                onUnit(name);
                input.current?.focus();
              }}
            >
              {unitOf(name).label || "–"}
            </button>
          ))}
        </div>
      </div>
      <div id="pad-says" class="pad-says" aria-live="polite">
        {children}
      </div>
      <div class="pad-keys">
        {KEYS.map((key) => (
          <button key={key} type="button" aria-label={key === "−" ? t.pad.sign : key === "." ? t.pad.point : key} onClick={() => onText(press(text, key))}>
            {key}
          </button>
        ))}
        <button type="button" class="erase" aria-label={t.pad.erase} onClick={() => onText(press(text, "⌫"))}>
          ⌫
        </button>
      </div>
    </>
  );
}
