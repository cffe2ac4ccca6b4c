/** People of the shop, recorders' keys, and who did what: for the lead. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Role } from "../../api/types.ts";
import { useApp } from "../../parts/context.ts";
import { Choice, Dialog, Fault, Icon, TextField, Title } from "../../parts/small.tsx";
import { clockTime, day } from "../../parts/when.ts";
import { t } from "../../text/en.ts";
import "../units/style.css";

interface Person {
  id: string;
  version: number;
  name: string;
  role: Role;
  active: boolean;
}
interface Key {
  id: string;
  name: string;
}
interface Deed {
  n: number;
  at: string;
  who: string;
  act: string;
  thing: string;
  detail: unknown;
}
const ROLES: readonly Role[] = ["technician", "teacher", "lead", "read-only"];

function words(err: unknown): string {
  return err instanceof ServiceError && err.error ? [err.error.message, ...err.error.details.map((d) => d.message)].join(" ") : t.signal.none;
}

function PersonForm({ start, onDone }: { start: Person; onDone: () => void }): JSX.Element {
  const app = useApp();
  const [person, setPerson] = useState(start);
  const [password, setPassword] = useState("");
  const [fault, setFault] = useState("");
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    const { id, version, name, role, active } = person;
    try {
      await app.http.post(`/api/accounts/${id || crypto.randomUUID()}`, { version, name, role, active, ...(password ? { password } : {}) }, "PUT");
      onDone();
    } catch (err) {
      setFault(words(err));
    }
  };
  return (
    <form class="page" onSubmit={(event) => void save(event)}>
      <h2>{person.id ? start.name : t.people.add}</h2>
      {fault && <Fault>{fault}</Fault>}
      <TextField id="p-name" label={t.people.name} value={person.name} onInput={(name) => setPerson({ ...person, name })} />
      <Choice legend={t.people.role} name="role" value={person.role} options={ROLES.map((role) => [role, t.people.roles[role] ?? role] as const)} onChoose={(role) => setPerson({ ...person, role })} />
      <TextField id="p-password" label={t.people.password} type="password" autoComplete="new-password" value={password} onInput={setPassword} {...(person.id ? { help: t.people.passwordHelp } : {})} />
      <label class="check">
        <input type="checkbox" checked={person.active} onChange={(event) => setPerson({ ...person, active: event.currentTarget.checked })} />
        <span>{t.people.active}</span>
      </label>
      <div class="bar">
        <button type="submit" class="button main grow">
          {t.save}
        </button>
        <button type="button" class="button quiet grow" onClick={onDone}>
          {t.cancel}
        </button>
      </div>
    </form>
  );
}

export function People(): JSX.Element {
  const app = useApp();
  const [people, setPeople] = useState<Person[]>([]);
  const [keys, setKeys] = useState<Key[]>([]);
  const [deeds, setDeeds] = useState<Deed[]>([]);
  const [editing, setEditing] = useState<Person | null>(null);
  const [keyName, setKeyName] = useState("");
  const [made, setMade] = useState("");
  const [fault, setFault] = useState("");
  const load = (): void => {
    Promise.all([
      app.http.get<{ accounts: Person[] }>("/api/accounts"),
      app.http.get<{ keys: Key[] }>("/api/keys"),
      app.http.get<{ entries: Deed[] }>("/api/audit?limit=100"),
    ]).then(
      ([accounts, found, audit]) => {
        setPeople(accounts.accounts);
        setKeys(found.keys);
        setDeeds(audit.entries);
      },
      (err: unknown) => setFault(words(err)),
    );
  };
  useEffect(load, []);
  const addKey = async (event: Event): Promise<void> => {
    event.preventDefault();
    try {
      const answer = await app.http.post<{ key: string | { key: string } }>("/api/keys", { name: keyName });
      setMade(typeof answer.key === "string" ? answer.key : answer.key.key);
      setKeyName("");
      load();
    } catch (err) {
      setFault(words(err));
    }
  };
  return (
    <div class="page narrow">
      <div class="head">
        <Title plain={t.people.title}>{t.people.title}</Title>
        <button type="button" class="button" onClick={() => setEditing({ id: "", version: 0, name: "", role: "technician", active: true })}>
          <Icon name="plus" />
          {t.people.add}
        </button>
      </div>
      {fault && <Fault>{fault}</Fault>}
      <section class="sheet">
        <ul class="rows">
          {people.map((person) => (
            <li key={person.id}>
              <button type="button" class="row-link" onClick={() => setEditing(person)}>
                <span class="grow">
                  <b>{person.name}</b>
                  <span class="soft small">{t.people.roles[person.role]}</span>
                </span>
                {!person.active && <span class="tag">–</span>}
                <Icon name="go" />
              </button>
            </li>
          ))}
        </ul>
      </section>
      <section class="sheet">
        <h2>{t.people.keys}</h2>
        {made && (
          <div class="note">
            <p>{t.people.keyOnce}</p>
            <p class="mono">{made}</p>
          </div>
        )}
        <ul class="rows">
          {keys.map((key) => (
            <li key={key.id} class="file-row">
              <b class="grow">{key.name}</b>
              <button type="button" class="button danger" onClick={() => void app.http.post(`/api/keys/${key.id}`, {}, "DELETE").then(load, (err: unknown) => setFault(words(err)))}>
                {t.remove}
              </button>
            </li>
          ))}
        </ul>
        <form class="bar" onSubmit={(event) => void addKey(event)}>
          <div class="grow">
            <TextField id="key-name" label={t.people.name} value={keyName} onInput={setKeyName} />
          </div>
          <button type="submit" class="button" disabled={!keyName.trim()}>
            {t.people.addKey}
          </button>
        </form>
      </section>
      <details class="sheet">
        <summary>{t.people.audit}</summary>
        <div class="scroll" tabIndex={0}>
          <table>
            <thead>
              <tr>
                <th scope="col">{t.people.when}</th>
                <th scope="col">{t.people.who}</th>
                <th scope="col">{t.people.act}</th>
              </tr>
            </thead>
            <tbody>
              {deeds.map((deed) => (
                <tr key={deed.n}>
                  <td>
                    {day(Date.parse(deed.at) / 1000)} {clockTime(Date.parse(deed.at) / 1000)}
                  </td>
                  <td>{deed.who}</td>
                  <td>
                    {deed.act} {deed.thing} {typeof deed.detail === "string" ? deed.detail : ""}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
      {editing && (
        <Dialog label={t.people.title} class="sheet-dialog" onClose={() => setEditing(null)}>
          <PersonForm
            key={editing.id}
            start={editing}
            onDone={() => {
              setEditing(null);
              load();
            }}
          />
        </Dialog>
      )}
    </div>
  );
}
