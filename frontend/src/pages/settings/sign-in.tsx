/** Sign-in, and the first start of a shop. */

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import type { Session } from "../../api/types.ts";
import { useApp } from "../../parts/context.ts";
import { go } from "../../parts/router.tsx";
import { Fault, TextField, Title } from "../../parts/small.tsx";
import { t } from "../../text/en.ts";

export function SignIn(): JSX.Element {
  const app = useApp();
  const setup = app.session.value?.setup_needed ?? false;
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [code, setCode] = useState("");
  const [fault, setFault] = useState("");
  const [busy, setBusy] = useState(false);
  const enter = async (event: Event): Promise<void> => {
    event.preventDefault();
    setBusy(true);
    setFault("");
    try {
      const body = { name, password };
      const session = await app.http.post<Session | undefined>(setup ? "/api/setup" : "/api/session", setup ? { code, ...body } : body);
      if (session && "mode" in session) app.take(session);
      else await app.hello();
      // At once: whoever has gone on meanwhile is not fetched back.
      go("/", true);
      await app.sync();
    } catch (err) {
      setFault(err instanceof ServiceError && err.error ? [err.error.message, ...err.error.details.map((d) => d.message)].join(" ") : t.signIn.fault);
    } finally {
      setBusy(false);
    }
  };
  const title = setup ? t.signIn.setup : t.signIn.title;
  return (
    <div class="page narrow">
      <Title plain={title}>{title}</Title>
      <form class="sheet" onSubmit={(event) => void enter(event)}>
        {app.waiting.value > 0 && <p class="note">{t.signIn.kept}</p>}
        {app.reached.value === false && <p class="note">{t.signIn.noSignal}</p>}
        {fault && <Fault>{fault}</Fault>}
        {setup && <TextField id="code" label={t.signIn.code} help={t.signIn.setupHelp} value={code} onInput={setCode} />}
        <TextField id="name" label={t.signIn.name} value={name} onInput={setName} autoComplete="username" />
        <TextField id="password" label={t.signIn.password} type="password" value={password} onInput={setPassword} autoComplete={setup ? "new-password" : "current-password"} />
        <button type="submit" class="button main big wide" disabled={busy || !name || !password}>
          {setup ? t.signIn.create : t.signIn.go}
        </button>
      </form>
    </div>
  );
}
