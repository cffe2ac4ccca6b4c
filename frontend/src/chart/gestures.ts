/** Fingers, mouse and keys on the strip, as moves of its view. Vertical scrolling of the page stays the browser's. */

import { drag, pinch, zoom, type View } from "../model/strip.ts";

interface Place {
  /** The plot's left edge and width on the screen. [px] */
  left: number;
  width: number;
}

export interface Board {
  place: () => Place;
  view: () => View;
  whole: () => View;
  move: (view: View) => void;
  all: () => void;
  touch: (share: number) => void;
}

/** Bind to an element; returns what unbinds. */
export function bindGestures(element: HTMLElement, board: Board): () => void {
  const fingers = new Map<number, number>();
  let start: { view: View; at: number[]; moved: boolean } | null = null;

  const share = (x: number): number => {
    const { left, width } = board.place();
    return (x - left) / Math.max(width, 1);
  };
  const begin = (): void => {
    start = { view: board.view(), at: [...fingers.values()].map(share), moved: start?.moved ?? false };
  };
  const down = (event: PointerEvent): void => {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    fingers.set(event.pointerId, event.clientX);
    element.setPointerCapture(event.pointerId);
    if (fingers.size === 1) start = null;
    begin();
  };
  const move = (event: PointerEvent): void => {
    if (!fingers.has(event.pointerId) || !start) return;
    fingers.set(event.pointerId, event.clientX);
    const now = [...fingers.values()].map(share);
    const [a0 = 0, b0 = 0] = start.at;
    const [a1 = 0, b1 = 0] = now;
    if (fingers.size >= 2) {
      start.moved = true;
      board.move(pinch(start.view, a0, b0, a1, b1, board.whole()));
    } else if (start.moved || Math.abs(a1 - a0) * board.place().width > 6) {
      start.moved = true;
      board.move(drag(start.view, (a1 - a0) * (start.view.toS - start.view.fromS), board.whole()));
    }
  };
  const up = (event: PointerEvent): void => {
    if (!fingers.delete(event.pointerId)) return;
    if (!fingers.size) {
      if (start && !start.moved && event.type === "pointerup") board.touch(share(event.clientX));
      start = null;
    } else {
      begin();
    }
  };
  const wheel = (event: WheelEvent): void => {
    const view = board.view();
    const span = view.toS - view.fromS;
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      board.move(zoom(view, Math.exp(-event.deltaY * 0.01), view.fromS + share(event.clientX) * span, board.whole()));
    } else if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      board.move(drag(view, (-event.deltaX / board.place().width) * span, board.whole()));
    }
  };
  const key = (event: KeyboardEvent): void => {
    const view = board.view();
    const span = view.toS - view.fromS;
    const middle = 0.5 * (view.fromS + view.toS);
    const moves: Record<string, () => void> = {
      ArrowLeft: () => board.move(drag(view, 0.2 * span, board.whole())),
      ArrowRight: () => board.move(drag(view, -0.2 * span, board.whole())),
      "+": () => board.move(zoom(view, 1.6, middle, board.whole())),
      "=": () => board.move(zoom(view, 1.6, middle, board.whole())),
      "-": () => board.move(zoom(view, 1 / 1.6, middle, board.whole())),
      "0": () => board.all(),
    };
    const act = moves[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  };
  element.addEventListener("pointerdown", down);
  element.addEventListener("pointermove", move);
  element.addEventListener("pointerup", up);
  element.addEventListener("pointercancel", up);
  element.addEventListener("wheel", wheel, { passive: false });
  element.addEventListener("keydown", key);
  return () => {
    element.removeEventListener("pointerdown", down);
    element.removeEventListener("pointermove", move);
    element.removeEventListener("pointerup", up);
    element.removeEventListener("pointercancel", up);
    element.removeEventListener("wheel", wheel);
    element.removeEventListener("keydown", key);
  };
}
