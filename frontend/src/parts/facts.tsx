import type { JSX } from "preact";
import { STANDINGS } from "../model/channels.ts";
import type { Fact } from "../model/facts.ts";
import { Sign } from "./small.tsx";

const KNOWN = new Set(STANDINGS.map((row) => row.name));

export function Facts({ facts, depth = 0 }: { facts: readonly Fact[]; depth?: number }): JSX.Element {
  return (
    <ul class={`facts ${depth ? "deep" : ""}`}>
      {facts.map((fact, i) => (
        <li key={i}>
          <p>
            {fact.standing && KNOWN.has(fact.standing) && <Sign standing={fact.standing} />}
            <b>{fact.name}</b>
            {fact.standing && <span class={`st-${fact.standing}`}> {fact.standing}</span>} <span class="num">{fact.text}</span>
          </p>
          {fact.more.length > 0 &&
            (depth < 1 ? (
              <Facts facts={fact.more} depth={depth + 1} />
            ) : (
              <details>
                <summary>…</summary>
                <Facts facts={fact.more} depth={depth + 1} />
              </details>
            ))}
        </li>
      ))}
    </ul>
  );
}
