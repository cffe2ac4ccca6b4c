/** Marks: a touch sets one with the time of the touch; it can be taken back or moved. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Mark } from "../../api/types.ts";
import { ACTS, actTitle } from "../../model/channels.ts";
import { NotSaved } from "../../model/journal.ts";
import type { VisitModel } from "../../model/visit.ts";
import { Dialog, Icon, TextField } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { clockTime } from "../../parts/when.ts";
import { t } from "../../text/en.ts";

interface Unsaved {
  model: VisitModel;
  act: string;
  note: string;
  atS: number;
}
/** Marks that found no room: offered again, and tried again with the next that finds it. */
let unsaved: Unsaved[] = [];
/** They are offered for so long. */
const UNSAVED_MS = 3_600_000;

async function saveAgain(): Promise<void> {
  const rows = unsaved;
  unsaved = [];
  for (const { model, act, note, atS } of rows) await markWith(model, act, note, atS);
}

function told(model: VisitModel, mark: Mark): void {
  say({
    text: t.next.marked(actTitle(mark.act), clockTime(mark.time_s, model.zone.value)),
    acts: [
      {
        word: t.next.earlier,
        act: () => void model.moveMark(mark, mark.time_s - 10).then((moved) => told(model, moved)),
      },
      {
        word: t.next.undoMark,
        act: () => void model.withdraw(mark.id, t.next.undoMark).then(() => say({ text: t.next.takenBack }, 3000)),
      },
    ],
  });
}

/** Set a mark with the time of the touch, and say so with a way back; where it cannot be saved, with a way on. */
export async function markWith(model: VisitModel, act: string, note = "", atS = model.app.clock.nowS()): Promise<boolean> {
  try {
    const mark = await model.mark(act, note, atS);
    navigator.vibrate?.(40);
    told(model, mark);
    if (unsaved.length) void saveAgain();
    return true;
  } catch (err) {
    if (!(err instanceof NotSaved)) throw err;
    // A note stays in its own form.
    if (act === "note") return false;
    unsaved = [...unsaved, { model, act, note, atS }];
    const marks = unsaved.map((row) => `${actTitle(row.act)}, ${clockTime(row.atS, row.model.zone.value)}`);
    say({ text: t.next.notMarked(marks.join("; ")), acts: [{ word: t.saveAgain, act: () => void saveAgain() }] }, UNSAVED_MS);
    return false;
  }
}

/** The button of an act. The time is that of the touch, not of the release. */
export function ActButton({ model, act, main }: { model: VisitModel; act: string; main?: boolean }): JSX.Element {
  const [touched, setTouched] = useState<number | null>(null);
  return (
    <button
      type="button"
      class={`button act ${main ? "main big wide" : ""}`}
      data-act={act}
      onPointerDown={() => setTouched(model.app.clock.nowS())}
      onClick={() => {
        const now = model.app.clock.nowS();
        // Held for long or reached by key: the press itself counts.
        void markWith(model, act, "", touched !== null && now - touched < 3 ? touched : now);
        setTouched(null);
      }}
    >
      {t.next.mark(actTitle(act))}
    </button>
  );
}

export function OtherMarks({ model }: { model: VisitModel }): JSX.Element {
  const [noting, setNoting] = useState<number | null>(null);
  const [note, setNote] = useState("");
  const keepNote = async (): Promise<void> => {
    if (note.trim() && noting !== null && !(await markWith(model, "note", note.trim(), noting))) return;
    setNote("");
    setNoting(null);
  };
  return (
    <details class="sheet">
      <summary>{t.next.otherMarks}</summary>
      <div class="acts">
        {ACTS.filter((row) => row.name !== "note").map((row) => (
          <ActButton key={row.name} model={model} act={row.name} />
        ))}
        <button type="button" class="button" onClick={() => setNoting(model.app.clock.nowS())}>
          <Icon name="plus" />
          {t.next.note}
        </button>
      </div>
      {noting !== null && (
        <Dialog label={t.next.note} class="sheet-dialog" onClose={() => setNoting(null)}>
          <form
            class="page"
            onSubmit={(event) => {
              event.preventDefault();
              void keepNote();
            }}
          >
            <TextField id="note-text" label={`${t.next.noteText} (${clockTime(noting, model.zone.value)})`} lines value={note} onInput={setNote} />
            <div class="bar">
              <button type="submit" class="button main grow">
                {t.save}
              </button>
              <button type="button" class="button quiet grow" onClick={() => setNoting(null)}>
                {t.cancel}
              </button>
            </div>
          </form>
        </Dialog>
      )}
    </details>
  );
}
