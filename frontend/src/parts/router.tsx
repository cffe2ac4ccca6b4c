/** Where we are: a signal of the path, and links that do not reload. */

import { signal } from "@preact/signals";
import type { ComponentChildren, JSX } from "preact";

export const path = signal(typeof location === "undefined" ? "/" : location.pathname);

if (typeof window !== "undefined") {
  window.addEventListener("popstate", () => {
    path.value = location.pathname;
  });
}

export function go(to: string, replace = false): void {
  if (to === path.value) return;
  history[replace ? "replaceState" : "pushState"](null, "", to);
  const before = path.value;
  path.value = to;
  // A tab within one visit keeps its place; a new page starts at its top.
  if (before.split("/")[2] !== to.split("/")[2] || before.split("/")[1] !== to.split("/")[1]) window.scrollTo(0, 0);
}

interface LinkProps {
  to: string;
  children: ComponentChildren;
  class?: string;
  "aria-label"?: string;
  "aria-current"?: "page";
}

export function Link({ to, children, ...rest }: LinkProps): JSX.Element {
  return (
    <a
      href={to}
      onClick={(event) => {
        if (event.metaKey || event.ctrlKey || event.shiftKey || event.button) return;
        event.preventDefault();
        go(to);
      }}
      {...rest}
    >
      {children}
    </a>
  );
}
