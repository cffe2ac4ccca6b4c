/** The number pad: big keys, the unit beside it, and what the number means before it is kept. */

import type { JSX } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { channelOf } from "../../model/channels.ts";
import { doubtOf, type Doubt } from "../../model/plausible.ts";
import { show, showIn } from "../../model/show.ts";
import { toSi, UNITS, unitOf, type Kind } from "../../model/units.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Dialog, Icon } from "../../parts/small.tsx";
import { ago } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import { chooseUnit, KeyPad, numberIn, PadHead, unitFor } from "./keypad.tsx";

function doubtWords(doubt: Doubt, kind: Kind, unit: string, model: VisitModel): string {
  const { system } = model.numbers.value;
  const temp = (value: number): string => show(value, "temperature", system, 0, 0);
  const apart = (value: number): string => show(value, "temperature_difference", system, 0, 0);
  const words = t.pad.doubt;
  let said: string;
  switch (doubt.code) {
    case "bounds":
      said = words.bounds(showIn(doubt.lowSi, unit, kind, model.atmospherePa.value), showIn(doubt.highSi, unit, kind, model.atmospherePa.value));
      break;
    case "usual":
      said = words.usual[doubt.side];
      break;
    case "swapped":
    case "jump":
      said = words.swapped;
      break;
    case "ratio":
      said = words.ratio(doubt.value.toFixed(0));
      break;
    case "condenses":
    case "boils":
      said = words[doubt.code](temp(doubt.value));
      break;
    default:
      said = words[doubt.code](apart(doubt.value));
  }
  return doubt.fits.length ? `${said} ${t.pad.fits(doubt.fits.map((name) => unitOf(name).label).join(", "))}` : said;
}

/** What a number comes to, said at once: saturation, superheat, subcooling, room to the stop limit. */
function meaning(channel: string, si: number, model: VisitModel): string[] {
  const gas = model.gas.value;
  const stop = model.stop.value;
  if (!gas) return [];
  const { system } = model.numbers.value;
  const temp = (value: number): string => show(value, "temperature", system, 0);
  const apart = (value: number): string => show(value, "temperature_difference", system, 0);
  const latest = model.freshValues.value;
  const at = (name: string): number => (name === channel ? si : (latest.get(name) ?? NaN));
  const out: string[] = [];
  if (channel.endsWith("_pressure")) {
    const dew = gas.dewC(si);
    if (!Number.isNaN(dew)) {
      out.push(t.pad.saturation(temp(dew)));
      if (gas.isBlend && Math.abs(dew - gas.bubbleC(si)) > 0.25) out.push(t.pad.glide(temp(gas.bubbleC(si)), temp(dew)));
    }
    if (channel !== "suction_pressure" && stop && !Number.isNaN(dew)) out.push(t.pad.toLimit(apart(stop.tempC - dew)));
  }
  if (channel === "suction_pressure" || channel === "suction_line_temp") {
    const superheat = gas.superheatK(at("suction_line_temp"), at("suction_pressure"));
    if (!Number.isNaN(superheat)) out.push(t.pad.superheat(apart(superheat)));
  }
  if (channel === "liquid_pressure" || channel === "liquid_line_temp") {
    const subcooling = gas.subcoolingK(at("liquid_line_temp"), at("liquid_pressure"));
    if (!Number.isNaN(subcooling)) out.push(t.pad.subcooling(apart(subcooling)));
  }
  return out;
}

interface Props {
  model: VisitModel;
  channel: string;
  next: string | null;
  onMove: (channel: string | null) => void;
}

export function Pad({ model, channel, next, onMove }: Props): JSX.Element | null {
  const row = channelOf(channel);
  const { system } = model.numbers.value;
  const kind = row?.kind ?? "ratio";
  const units = UNITS[kind][system].slice(0, 3);
  const [text, setText] = useState("");
  const [unit, setUnit] = useState(unitFor(kind, units));
  const [sure, setSure] = useState(false);
  const input = useRef<HTMLInputElement>(null);
  useLayoutEffect(() => {
    setText("");
    setSure(false);
    setUnit(unitFor(kind, units));
    input.current?.focus();
  }, [channel]);
  if (!row) return null;
  const value = numberIn(text);
  const si = value === null ? null : toSi(value, unit, kind, model.atmospherePa.value);
  const doubt = si === null ? null : doubtOf(channel, si, unit, model.freshValues.value, model.gas.value, model.atmospherePa.value);
  const before = model.latest.value.get(channel);
  const set = (changed: string): void => {
    setText(changed);
    setSure(false);
  };
  const keep = async (): Promise<void> => {
    if (si === null) return;
    if (doubt?.level === "no" && !sure) {
      setSure(true);
      return;
    }
    await model.type(channel, kind === "switch" ? text : `${text} ${unit}`);
    onMove(next);
  };
  const choose = async (on: boolean): Promise<void> => {
    await model.type(channel, on ? "1" : "0");
    onMove(next);
  };
  const nextTitle = next ? (channelOf(next)?.title ?? next) : "";
  return (
    <Dialog label={row.title} class="pad" onClose={() => onMove(null)}>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void keep();
        }}
      >
        <PadHead title={row.title} onClose={() => onMove(null)} />
        {before && <p class="soft small num">{t.pad.before(show(before.value, kind, system, model.atmospherePa.value), ago(before.timeS, model.nowS.value, model.zone.value))}</p>}
        {kind === "switch" ? (
          <div class="pad-switch">
            <button type="button" class="button main big" onClick={() => void choose(true)}>
              {t.readings.on}
            </button>
            <button type="button" class="button big" onClick={() => void choose(false)}>
              {t.readings.off}
            </button>
          </div>
        ) : (
          <>
            <KeyPad
              input={input}
              text={text}
              onText={set}
              unit={unit}
              units={units}
              onUnit={(name) => {
                setUnit(name);
                chooseUnit(kind, name);
              }}
            >
              {doubt ? (
                <p class={doubt.level === "no" ? "fault" : "caution"}>
                  {doubt.level === "odd" && <Icon name="warn" />}
                  <span>{doubtWords(doubt, kind, unit, model)}</span>
                </p>
              ) : si === null ? (
                <p class="soft">{t.pad.empty}</p>
              ) : (
                <p class="num">
                  <b>{meaning(channel, si, model).join(" · ") || showIn(si, unit, kind, model.atmospherePa.value)}</b>
                </p>
              )}
            </KeyPad>
            <div class="bar">
              {next && (
                <button type="button" class="button quiet" onClick={() => onMove(next)}>
                  {t.pad.skip}
                </button>
              )}
              <button type="submit" class="button main grow big" disabled={si === null} data-testid="keep">
                {doubt?.level === "no" && sure ? t.pad.keepAnyway : next ? t.pad.keepNext(nextTitle) : t.pad.keep}
              </button>
            </div>
          </>
        )}
      </form>
    </Dialog>
  );
}
