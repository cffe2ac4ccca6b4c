/** The stop warning: full screen, sound, vibration, before the limit is met. */

import type { JSX } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { show } from "../model/show.ts";
import type { Stop } from "../model/stop.ts";
import type { Alarm } from "../model/visit.ts";
import { useApp } from "./context.ts";
import { startSiren, stopSiren } from "./siren.ts";
import { t } from "../text/en.ts";
import "./alarm.css";

interface Props {
  alarm: Alarm;
  stop: Stop;
  onOff: () => void;
  onSilence: () => void;
}

export function AlarmScreen({ alarm, stop, onOff, onSilence }: Props): JSX.Element {
  const app = useApp();
  const ref = useRef<HTMLDialogElement>(null);
  const { system, sound, vibrate } = app.prefs.value;
  useLayoutEffect(() => {
    const dialog = ref.current;
    if (dialog && !dialog.open) dialog.showModal();
    startSiren(sound, vibrate);
    return () => {
      stopSiren();
      dialog?.close();
    };
  }, []);
  const pressure = (pa: number): string => show(pa, "pressure", system, stop.atmospherePa);
  const margin = show(Math.abs(alarm.belowK), "temperature_difference", system, 0, 0);
  const said =
    alarm.secondsLeft <= 0 || alarm.belowK <= 0
      ? t.stop.alarm.over
      : Number.isFinite(alarm.secondsLeft) && alarm.secondsLeft < 600
        ? t.stop.alarm.left(Math.round(alarm.secondsLeft))
        : t.stop.alarm.near(margin);
  return (
    <dialog ref={ref} class="alarm" role="alertdialog" aria-labelledby="alarm-title" aria-describedby="alarm-do" onCancel={(event) => event.preventDefault()} data-testid="alarm">
      <div class="alarm-in">
        <h2 id="alarm-title">{t.stop.alarm.title}</h2>
        <p id="alarm-do" class="alarm-do">
          {t.stop.alarm.do}
        </p>
        <p class="alarm-said">{said}</p>
        <dl class="alarm-numbers">
          <div>
            <dt>{t.stop.alarm.now}</dt>
            <dd class="num">{pressure(alarm.pressurePa)}</dd>
          </div>
          <div>
            <dt>{t.stop.alarm.limit}</dt>
            <dd class="num">{pressure(stop.pressurePa)}</dd>
          </div>
        </dl>
        <button type="button" class="alarm-button" onClick={onOff}>
          {t.stop.alarm.off}
        </button>
        <button type="button" class="alarm-button second" onClick={onSilence}>
          {t.stop.alarm.silence}
        </button>
      </div>
    </dialog>
  );
}
