/** The maker's tables on a plate, each as the CSV file that it came in; the service reads it before it is taken. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Plate } from "../../model/stop.ts";
import { useApp } from "../../parts/context.ts";
import { Fault, Icon } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";

export interface TableFile {
  name: string;
  text: string;
}

export const TABLES = ["maker.performance", "maker.blower", "targets.table", "house.run_time"] as const;

export function tableIn(value: unknown): TableFile | null {
  const { name, text } = (value ?? {}) as Partial<TableFile>;
  return typeof name === "string" && typeof text === "string" ? { name, text } : null;
}

/** Rows below the header, without comments. */
export function rowsIn(text: string): number {
  return Math.max(0, text.split(/\r\n|\r|\n/).filter((line) => line.trim() && !line.trim().startsWith("#")).length - 1);
}

interface TablesProps {
  plate: Plate;
  onChange: (name: string, table: TableFile | null) => void;
}

export function Tables({ plate, onChange }: TablesProps): JSX.Element {
  const app = useApp();
  const [faults, setFaults] = useState<Record<string, string>>({});
  const [unread, setUnread] = useState(false);
  const choose = async (setting: string, file: File | undefined): Promise<void> => {
    if (!file) return;
    const [table = "", key = ""] = setting.split(".");
    const taken = { name: file.name, text: (await file.text()).replace(/^\uFEFF/, "") };
    const refrigerant = plate.unit?.refrigerant || "R-410A";
    let fault = "";
    try {
      await app.http.post("/api/plates", { plate: { unit: { refrigerant }, [table]: { [key]: taken } } });
    } catch (err) {
      if (err instanceof ServiceError && err.error) fault = err.message;
      else setUnread(true);
    }
    setFaults((before) => ({ ...before, [setting]: fault }));
    if (!fault) onChange(setting, taken);
  };
  return (
    <>
      <p class="soft small">{t.unit.tablesHelp}</p>
      {TABLES.map((setting) => {
        const [table = "", key = ""] = setting.split(".");
        const held = tableIn(plate[table]?.[key]);
        const title = t.unit.fieldNames[setting] ?? setting;
        return (
          <div key={setting} class="table-file" data-setting={setting}>
            <span class="grow">
              <b>{title}</b>
              <span class="soft small">{held ? t.unit.tableIs(held.name, rowsIn(held.text)) : t.unit.noTable}</span>
            </span>
            <label class="button file-button">
              <Icon name="file" />
              {held ? t.unit.otherTable : t.unit.addTable}
              <input
                type="file"
                accept=".csv,text/csv,text/plain"
                aria-label={`${held ? t.unit.otherTable : t.unit.addTable}: ${title}`}
                onChange={(event) => {
                  const input = event.currentTarget;
                  void choose(setting, input.files?.[0]).then(() => (input.value = ""));
                }}
              />
            </label>
            {held && (
              <button type="button" class="button" aria-label={`${t.unit.dropTable}: ${title}`} onClick={() => onChange(setting, null)}>
                {t.unit.dropTable}
              </button>
            )}
            {faults[setting] && <Fault>{faults[setting]}</Fault>}
          </div>
        );
      })}
      {unread && <p class="note">{t.unit.tableUnread}</p>}
    </>
  );
}
