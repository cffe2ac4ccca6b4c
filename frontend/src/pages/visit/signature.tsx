/** Signing: by name, and with a drawing where there is a finger or a pen. */

import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { VisitModel } from "../../model/visit.ts";
import { useApp } from "../../parts/context.ts";
import { Choice, TextField } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { t } from "../../text/en.ts";

export function SignForm({ model }: { model: VisitModel }): JSX.Element {
  const app = useApp();
  const canvas = useRef<HTMLCanvasElement>(null);
  const drawn = useRef(false);
  const [name, setName] = useState(model.visit.value?.technician || app.prefs.value.name);
  const [role, setRole] = useState<"technician" | "customer">("technician");
  const blank = (): void => {
    const field = canvas.current;
    const ink = field?.getContext("2d");
    if (!field || !ink) return;
    field.width = field.clientWidth * 2;
    field.height = field.clientHeight * 2;
    // On paper the signature is black on white, in dark pages too.
    ink.fillStyle = "#ffffff";
    ink.fillRect(0, 0, field.width, field.height);
    ink.strokeStyle = "#10202b";
    ink.lineWidth = 5;
    ink.lineCap = "round";
    ink.lineJoin = "round";
    drawn.current = false;
  };
  useEffect(() => {
    blank();
    const field = canvas.current;
    if (!field) return;
    let down = false;
    const at = (event: PointerEvent): [number, number] => {
      const box = field.getBoundingClientRect();
      return [(event.clientX - box.left) * 2, (event.clientY - box.top) * 2];
    };
    const start = (event: PointerEvent): void => {
      down = true;
      field.setPointerCapture(event.pointerId);
      field.getContext("2d")?.beginPath();
      field.getContext("2d")?.moveTo(...at(event));
    };
    const move = (event: PointerEvent): void => {
      if (!down) return;
      const ink = field.getContext("2d");
      ink?.lineTo(...at(event));
      ink?.stroke();
      drawn.current = true;
    };
    const end = (): void => void (down = false);
    field.addEventListener("pointerdown", start);
    field.addEventListener("pointermove", move);
    field.addEventListener("pointerup", end);
    field.addEventListener("pointercancel", end);
    return () => {
      field.removeEventListener("pointerdown", start);
      field.removeEventListener("pointermove", move);
      field.removeEventListener("pointerup", end);
      field.removeEventListener("pointercancel", end);
    };
  }, []);
  const sign = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (!name.trim()) return;
    let drawing: ArrayBuffer | null = null;
    if (drawn.current && canvas.current) {
      const field = canvas.current;
      const blob = await new Promise<Blob | null>((done) => field.toBlob(done, "image/png"));
      drawing = blob ? await blob.arrayBuffer() : null;
    }
    await model.sign(name.trim(), role, drawing);
    blank();
    say({ text: t.finish.signed(name.trim(), t.finish.roles[role] ?? role) }, 4000);
  };
  return (
    <form class="page" onSubmit={(event) => void sign(event)}>
      <div class="grid2">
        <TextField id="sign-name" label={t.finish.signName} value={name} onInput={setName} autoComplete="name" />
        <Choice legend={t.finish.signRole} name="sign-role" value={role} options={[["technician", t.finish.roles.technician ?? ""], ["customer", t.finish.roles.customer ?? ""]]} onChoose={setRole} />
      </div>
      <p class="soft small">{t.finish.signDraw}</p>
      <canvas ref={canvas} class="sign-pad" role="img" aria-label={t.finish.pad} />
      <div class="bar">
        <button type="button" class="button quiet" onClick={blank}>
          {t.finish.clear}
        </button>
        <button type="submit" class="button main grow big" disabled={!name.trim()}>
          {t.finish.sign}
        </button>
      </div>
    </form>
  );
}
