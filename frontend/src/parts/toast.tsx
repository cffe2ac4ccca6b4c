/** A short word at the foot of the page, with what can be done about it; read out by screen readers. */

import { signal } from "@preact/signals";
import type { JSX } from "preact";

export interface Toast {
  text: string;
  acts?: { word: string; act: () => void }[];
}

const toast = signal<Toast | null>(null);
let timer: ReturnType<typeof setTimeout> | null = null;

export function say(next: Toast, forMs = 9000): void {
  toast.value = next;
  if (timer) clearTimeout(timer);
  timer = setTimeout(() => (toast.value = null), forMs);
}

export function unsay(): void {
  toast.value = null;
}

export function ToastPlace(): JSX.Element {
  const now = toast.value;
  return (
    <div aria-live="polite">
      {now && (
        <div class="toast">
          <span class="grow">{now.text}</span>
          {now.acts?.map(({ word, act }) => (
            <button
              key={word}
              type="button"
              class="button"
              onClick={() => {
                unsay();
                act();
              }}
            >
              {word}
            </button>
          ))}
        </div>
      )}
    </div>
  );
}
