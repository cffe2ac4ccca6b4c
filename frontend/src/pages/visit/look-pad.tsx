/** One further reading typed in: words as large buttons, a number on the pad. */

import type { JSX } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { isNumber, lookText, outside, unitsOf, type LookRow, type NumberRow, type WordRow } from "../../model/looked.ts";
import { show, showIn } from "../../model/show.ts";
import { parse, toSi, unitOf, UNITS } from "../../model/units.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Dialog, Icon } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { t } from "../../text/en.ts";
import { chooseUnit, KeyPad, numberIn, PadHead, unitFor } from "./keypad.tsx";

/** Type one and say so, with a way back. */
export async function lookWith(model: VisitModel, row: LookRow, text: string): Promise<void> {
  const kept = await model.look(row.name, text);
  navigator.vibrate?.(40);
  say({
    text: t.looked.told(row.title, lookText(kept)),
    acts: [{ word: t.next.undoMark, act: () => void model.withdraw(kept.id, t.next.undoMark).then(() => say({ text: t.next.takenBack }, 3000)) }],
  });
}

/** The words of a reading; the one that counts is pressed. */
export function Words({ model, row, now, onDone }: { model: VisitModel; row: WordRow; now: string | undefined; onDone?: () => void }): JSX.Element {
  return (
    <div class="look-words" role="group" aria-label={row.title}>
      {row.words.map((word) => (
        <button
          key={word}
          type="button"
          class={`button ${now === word ? "main" : ""}`}
          aria-pressed={now === word}
          data-word={word}
          onClick={() => {
            if (now !== word) void lookWith(model, row, word);
            onDone?.();
          }}
        >
          {word}
        </button>
      ))}
    </div>
  );
}

function worth(row: NumberRow, model: VisitModel): string {
  if (row.u.endsWith("%")) return row.u;
  const amount = parse(row.u, "temperature_difference");
  return amount === null ? row.u : show(amount, "temperature_difference", model.numbers.value.system, 0);
}

function OnPad({ model, row, onClose }: { model: VisitModel; row: NumberRow; onClose: () => void }): JSX.Element {
  const { system } = model.numbers.value;
  const units = unitsOf(row, system);
  const [text, setText] = useState("");
  const [unit, setUnit] = useState(unitFor(row.name, units));
  const [sure, setSure] = useState(false);
  const input = useRef<HTMLInputElement>(null);
  // After the dialog, which is this one's child, has opened.
  useLayoutEffect(() => input.current?.focus(), []);
  const value = numberIn(text);
  const si = value === null ? null : toSi(value, unit, row.kind, 0);
  const out = si !== null && outside(row, si);
  const sizeless = row.sized && !model.plate.value.unit?.nominal_capacity;
  const all = [...new Set([...units, ...UNITS[row.kind].us, ...UNITS[row.kind].si])];
  const fits = out && value !== null ? all.filter((name) => name !== unit && !outside(row, toSi(value, name, row.kind, 0))) : [];
  const set = (changed: string): void => {
    setText(changed);
    setSure(false);
  };
  const keep = async (): Promise<void> => {
    if (si === null) return;
    if (out && !sure) {
      setSure(true);
      return;
    }
    await lookWith(model, row, `${value} ${unit}`);
    onClose();
  };
  return (
    <Dialog label={row.title} class="pad" onClose={onClose}>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void keep();
        }}
      >
        <PadHead title={row.title} onClose={onClose} />
        <KeyPad
          input={input}
          text={text}
          onText={set}
          unit={unit}
          units={units}
          onUnit={(name) => {
            setUnit(name);
            setSure(false);
            chooseUnit(row.name, name);
          }}
        >
          {out ? (
            <p class="fault">
              {t.looked.bounds(showIn(row.low, unit, row.kind, 0), showIn(row.high, unit, row.kind, 0))}
              {fits.length > 0 && ` ${t.pad.fits(fits.map((name) => unitOf(name).label).join(", "))}`}
            </p>
          ) : sizeless ? (
            <p class="caution">
              <Icon name="warn" />
              <span>{t.looked.sizeless}</span>
            </p>
          ) : si === null ? (
            <p class="soft">{t.pad.empty}</p>
          ) : (
            <p class="num">
              <b>{showIn(si, unit, row.kind, 0)}</b> <span class="soft">{t.looked.worth(worth(row, model))}</span>
            </p>
          )}
        </KeyPad>
        <div class="bar">
          <button type="submit" class="button main grow big" disabled={si === null} data-testid="keep">
            {out && sure ? t.pad.keepAnyway : t.pad.keep}
          </button>
        </div>
      </form>
    </Dialog>
  );
}

export function LookPad({ model, row, now, onClose }: { model: VisitModel; row: LookRow; now: string | undefined; onClose: () => void }): JSX.Element {
  if (isNumber(row)) return <OnPad model={model} row={row} onClose={onClose} />;
  return (
    <Dialog label={row.title} class="pad" onClose={onClose}>
      <div class="look-choose">
        <PadHead title={row.title} onClose={onClose} />
        <Words model={model} row={row} now={now} onDone={onClose} />
      </div>
    </Dialog>
  );
}
