/** Parts of a result whose shape grows with the library (heating, causes) as rows that can be shown.
 *
 * A number with its unit becomes one row; text becomes text; lists and tables are gone into. What is not understood is
 * shown as it is rather than left out.
 */

import type { Numbers } from "./show.ts";

export interface Fact {
  name: string;
  text: string;
  standing: string | null;
  more: Fact[];
}

type Dict = Record<string, unknown>;
const UNIT_OF: [RegExp, string][] = [
  [/_pa$/, "Pa"], [/_c$/, "degC"], [/_k$/, "K"], [/_w$/, "W"], [/_s$/, "s"], [/_a$/, "A"], [/_v$/, "V"],
];
const TITLES = ["title", "name", "cause", "check", "code"];
const SENTENCES = ["sentence", "what", "text", "why", "message"];

const isDict = (value: unknown): value is Dict => typeof value === "object" && value !== null && !Array.isArray(value);

function word(name: string): string {
  return name.replace(/_(pa|c|k|w|s|a|v)$/, "").replaceAll("_", " ");
}

function numberText(name: string, value: number, numbers: Numbers): string {
  const unit = UNIT_OF.find(([pattern]) => pattern.test(name))?.[1];
  return unit ? numbers.value(value, unit) : String(Math.round(value * 1000) / 1000);
}

/** Rows of an object or a list; `name` is what it is called one level up. */
export function factsOf(value: unknown, numbers: Numbers): Fact[] {
  if (Array.isArray(value)) return value.map((item, i) => factOf(String(i + 1), item, numbers));
  if (isDict(value)) return Object.entries(value).map(([name, item]) => factOf(word(name), item, numbers, name));
  return [];
}

function factOf(name: string, value: unknown, numbers: Numbers, key = name): Fact {
  const plain = (text: string): Fact => ({ name, text, standing: null, more: [] });
  if (value === null || value === undefined) return plain("—");
  if (typeof value === "boolean") return plain(value ? "yes" : "no");
  if (typeof value === "number") return plain(numberText(key, value, numbers));
  if (typeof value === "string") return plain(value);
  if (isDict(value)) {
    if (typeof value.value === "number" && typeof value.unit === "string") {
      return plain(numbers.value(value.value, value.unit, typeof value.expanded === "number" ? value.expanded : null));
    }
    const title = TITLES.map((one) => value[one]).find((one) => typeof one === "string") as string | undefined;
    const said = SENTENCES.filter((one) => typeof value[one] === "string").map((one) => value[one] as string);
    const standing = typeof value.standing === "string" ? value.standing : null;
    const rest = Object.entries(value).filter(
      ([one, item]) => item !== null && one !== "standing" && !(title && value[one] === title) && !SENTENCES.includes(one) && !(Array.isArray(item) && !item.length),
    );
    return { name: title ?? name, text: said.join(" "), standing, more: rest.map(([one, item]) => factOf(word(one), item, numbers, one)) };
  }
  if (Array.isArray(value) && value.every((item) => typeof item === "string")) return plain(value.join(", "));
  return { name, text: "", standing: null, more: factsOf(value, numbers) };
}
