import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { App } from "../model/app.ts";

const Context = createContext<App | null>(null);
export const AppProvider = Context.Provider;

export function useApp(): App {
  const app = useContext(Context);
  if (!app) throw new Error("A part was drawn outside the app.");
  return app;
}
