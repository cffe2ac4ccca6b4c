/** Small parts that every page uses. */

import type { ComponentChildren, JSX } from "preact";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { standingOf } from "../model/channels.ts";
import { t } from "../text/en.ts";
import { useApp } from "./context.ts";

/** The sign of a standing: told apart by shape. Its word stands beside it, so it is hidden from readers. */
export function Sign({ standing }: { standing: string }): JSX.Element {
  return <span class={`sign st-${standing}`} aria-hidden="true" dangerouslySetInnerHTML={{ __html: standingOf(standing).sign }} />;
}

const ICONS: Record<string, string> = {
  warn: "M12 3 L22 21 H2 Z M12 10 V15 M12 17.6 V18.4",
  back: "M15 5 L8 12 L15 19",
  plus: "M12 5 V19 M5 12 H19",
  go: "M9 5 L16 12 L9 19",
  photo: "M3 7 H8 L10 4 H14 L16 7 H21 V20 H3 Z M12 17 A4 4 0 1 0 12 9 A4 4 0 0 0 12 17",
  signal: "M5 19 V15 M10 19 V11 M15 19 V7 M20 19 V3",
  nosignal: "M5 19 V15 M10 19 V11 M15 19 V15 M20 19 V17 M4 3 L21 20",
  wait: "M12 21 A9 9 0 1 0 12 3 A9 9 0 0 0 12 21 M12 7 V12 L15.5 14",
  file: "M6 3 H14 L19 8 V21 H6 Z M14 3 V8 H19",
  check: "M4 12.5 L10 18 L20 6",
};

export function Icon({ name }: { name: keyof typeof ICONS }): JSX.Element {
  return (
    <svg viewBox="0 0 24 24" width="22" height="22" fill="none" stroke="currentColor" stroke-width="2.2" stroke-linejoin="round" stroke-linecap="round" aria-hidden="true">
      <path d={ICONS[name] ?? ""} />
    </svg>
  );
}

export function Mark(): JSX.Element {
  return (
    <svg viewBox="0 0 32 32" fill="none" aria-hidden="true">
      <path d="M4 22 L10 14 L14 18 L20 6 L28 22" stroke="#ff9b6a" stroke-width="2.6" stroke-linejoin="round" stroke-linecap="round" />
      <path d="M3 25 H29 M6 25 v4 M11 25 v2.5 M16 25 v5 M21 25 v2 M26 25 v4" stroke="#d9f1fb" stroke-width="2" stroke-linecap="round" />
    </svg>
  );
}

export function Caution({ children }: { children: ComponentChildren }): JSX.Element {
  return (
    <p class="caution">
      <Icon name="warn" />
      <span>{children}</span>
    </p>
  );
}

export function Fault({ children }: { children: ComponentChildren }): JSX.Element {
  return (
    <p class="fault" role="alert">
      {children}
    </p>
  );
}

/** What could not be written down on this device: in sight wherever one is on the page, until it is read. */
export function StorageFault(): JSX.Element | null {
  const app = useApp();
  const fault = app.storageFault.value;
  if (!fault) return null;
  return (
    <div class="fault storage-fault" role="alert" data-testid="storage-fault">
      <span class="grow">{fault.full ? t.storageFull : t.storageFault(fault.why)}</span>
      <button type="button" class="button" onClick={() => (app.storageFault.value = null)}>
        {t.understood}
      </button>
    </div>
  );
}

let arrived = false;

/** The heading of a page: names the window and takes the focus, so that a screen reader says where one is. */
export function Title({ children, plain }: { children: ComponentChildren; plain: string }): JSX.Element {
  const ref = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${plain} · ${t.name}`;
    // Not on the first page of all: there Tab begins at the way to the content, as everywhere on the web.
    if (arrived) ref.current?.focus({ preventScroll: true });
    arrived = true;
  }, [plain]);
  return (
    <h1 ref={ref} tabIndex={-1}>
      {children}
    </h1>
  );
}

interface DialogProps {
  label: string;
  class?: string;
  onClose: () => void;
  children: ComponentChildren;
}

export function Dialog({ label, onClose, children, ...rest }: DialogProps): JSX.Element {
  const ref = useRef<HTMLDialogElement>(null);
  // Before the next key can be pressed, so that no key goes to the page behind.
  useLayoutEffect(() => {
    const dialog = ref.current;
    if (dialog && !dialog.open) dialog.showModal();
    return () => dialog?.close();
  }, []);
  return (
    <dialog
      ref={ref}
      class={rest.class}
      aria-label={label}
      onCancel={(event) => {
        event.preventDefault();
        onClose();
      }}
      onClick={(event) => {
        if (event.target === ref.current) onClose();
      }}
    >
      {children}
      <StorageFault />
    </dialog>
  );
}

interface ChoiceProps<T extends string> {
  legend: string;
  name: string;
  value: T | null;
  options: readonly (readonly [T, string])[];
  onChoose: (value: T) => void;
  hideLegend?: boolean;
}

export function Choice<T extends string>({ legend, name, value, options, onChoose, hideLegend }: ChoiceProps<T>): JSX.Element {
  return (
    <fieldset>
      <legend class={hideLegend ? "hide" : "legend"}>{legend}</legend>
      <div class="choices">
        {options.map(([key, word]) => (
          <label key={key} class="choice">
            <input type="radio" name={name} value={key} checked={value === key} onChange={() => onChoose(key)} />
            <span>{word}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

interface FieldProps {
  label: string;
  help?: string;
  error?: string;
  children: (ids: { id: string; describedBy: string | undefined; invalid: boolean }) => ComponentChildren;
  id: string;
}

export function Field({ label, help, error, children, id }: FieldProps): JSX.Element {
  const hint = help || error ? `${id}-hint` : undefined;
  return (
    <div class="field">
      <span>
        <label for={id}>{label}</label>
      </span>
      {children({ id, describedBy: hint, invalid: !!error })}
      {hint && (
        <small id={hint} class={error ? "st-failed" : ""}>
          {error || help}
        </small>
      )}
    </div>
  );
}

interface TextProps {
  id: string;
  label: string;
  value: string;
  onInput: (value: string) => void;
  help?: string;
  error?: string;
  type?: "text" | "password" | "date" | "search";
  lines?: boolean;
  autoComplete?: string;
}

export function TextField({ id, label, value, onInput, help, error, type = "text", lines, autoComplete }: TextProps): JSX.Element {
  return (
    <Field id={id} label={label} {...(help ? { help } : {})} {...(error ? { error } : {})}>
      {(ids) =>
        lines ? (
          <textarea class="input" id={ids.id} value={value} aria-describedby={ids.describedBy} onInput={(e) => onInput(e.currentTarget.value)} />
        ) : (
          <input
            class="input"
            id={ids.id}
            type={type as "text"}
            value={value}
            autoComplete={autoComplete ?? "off"}
            aria-describedby={ids.describedBy}
            aria-invalid={ids.invalid}
            onInput={(e) => onInput(e.currentTarget.value)}
          />
        )
      }
    </Field>
  );
}
