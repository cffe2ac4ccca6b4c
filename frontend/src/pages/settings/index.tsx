/** Settings of this device, the account, and the shop's data. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { ServiceError } from "../../api/http.ts";
import { stopOf } from "../../model/stop.ts";
import { AlarmScreen } from "../../parts/alarm.tsx";
import { useApp } from "../../parts/context.ts";
import { go, Link } from "../../parts/router.tsx";
import { readySound } from "../../parts/siren.ts";
import { Choice, Fault, TextField, Title } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { t } from "../../text/en.ts";

interface InstallPrompt extends Event {
  prompt: () => Promise<void>;
}
let install: InstallPrompt | null = null;
window.addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  install = event as InstallPrompt;
});

function Password(): JSX.Element {
  const app = useApp();
  const [old, setOld] = useState("");
  const [fresh, setFresh] = useState("");
  const [fault, setFault] = useState("");
  const change = async (event: Event): Promise<void> => {
    event.preventDefault();
    try {
      await app.http.post("/api/session/password", { old, new: fresh }, "PUT");
      setOld("");
      setFresh("");
      setFault("");
      say({ text: t.settings.changed }, 5000);
    } catch (err) {
      setFault(err instanceof ServiceError && err.error ? [err.error.message, ...err.error.details.map((d) => d.message)].join(" ") : t.signal.none);
    }
  };
  return (
    <details>
      <summary>{t.settings.password}</summary>
      <form class="page" onSubmit={(event) => void change(event)}>
        {fault && <Fault>{fault}</Fault>}
        <TextField id="old" label={t.settings.old} type="password" autoComplete="current-password" value={old} onInput={setOld} />
        <TextField id="new" label={t.settings.new} type="password" autoComplete="new-password" value={fresh} onInput={setFresh} />
        <button type="submit" class="button" disabled={!old || !fresh}>
          {t.settings.password}
        </button>
      </form>
    </details>
  );
}

export function Settings(): JSX.Element {
  const app = useApp();
  const prefs = app.prefs.value;
  const session = app.session.value;
  const [persisted, setPersisted] = useState<boolean | null>(null);
  const [testing, setTesting] = useState(false);
  useEffect(() => {
    readySound();
    void navigator.storage?.persisted?.().then(setPersisted);
  }, []);
  const signOut = async (): Promise<void> => {
    try {
      await app.http.post("/api/session", {}, "DELETE");
    } catch {
      // Without signal the session ends here all the same.
    }
    await app.hello();
    go("/sign-in");
  };
  const stop = stopOf({ unit: { refrigerant: "R-410A" } });
  return (
    <div class="page narrow">
      <Title plain={t.settings.title}>{t.settings.title}</Title>
      <section class="sheet">
        <Choice legend={t.settings.units} name="system" value={prefs.system} options={[["us", t.settings.us], ["si", t.settings.si]]} onChoose={(system) => void app.setPrefs({ system })} />
        <Choice legend={t.settings.theme} name="theme" value={prefs.theme} options={[["auto", t.settings.auto], ["light", t.settings.light], ["dark", t.settings.dark]]} onChoose={(theme) => void app.setPrefs({ theme })} />
        <TextField id="my-name" label={t.settings.name} value={prefs.name} autoComplete="name" onInput={(name) => void app.setPrefs({ name })} />
      </section>
      <section class="sheet">
        <h2>{t.settings.warn}</h2>
        <label class="check">
          <input type="checkbox" checked={prefs.sound} onChange={(event) => void app.setPrefs({ sound: event.currentTarget.checked })} />
          <span>{t.settings.sound}</span>
        </label>
        <label class="check">
          <input type="checkbox" checked={prefs.vibrate} onChange={(event) => void app.setPrefs({ vibrate: event.currentTarget.checked })} />
          <span>{t.settings.vibrate}</span>
        </label>
        <button type="button" class="button" onClick={() => setTesting(true)}>
          {t.settings.test}
        </button>
      </section>
      <section class="sheet">
        <h2>{t.settings.account}</h2>
        {session?.mode === "shop" ? (
          session.account ? (
            <>
              <p>{t.settings.signedIn(session.account.name, t.people.roles[session.account.role] ?? session.account.role)}</p>
              <button type="button" class="button" onClick={() => void signOut()}>
                {t.settings.signOut}
              </button>
              <Password />
            </>
          ) : (
            <Link to="/sign-in" class="button">
              {t.signIn.go}
            </Link>
          )
        ) : (
          <p>{session ? t.settings.alone : t.signal.trying}</p>
        )}
      </section>
      {app.isLead.value && (
        <section class="sheet">
          <h2>{t.settings.store}</h2>
          <div class="bar">
            <a class="button grow" href="/api/export" download>
              {t.settings.export}
            </a>
            <a class="button grow" href="/api/backup" download>
              {t.settings.backup}
            </a>
          </div>
        </section>
      )}
      <section class="sheet">
        <h2>{t.settings.storage}</h2>
        {persisted !== null && <p>{persisted ? t.settings.persisted : t.settings.notPersisted}</p>}
        {install && (
          <button type="button" class="button" onClick={() => void install?.prompt()}>
            {t.settings.install}
          </button>
        )}
        <p class="soft small">
          {t.settings.id}: <span class="mono">{app.client}</span>
        </p>
        <p class="soft small">{session && t.settings.version(session.version)}</p>
      </section>
      {testing && stop && (
        <AlarmScreen
          alarm={{ secondsLeft: 24, belowK: 6, tempC: stop.tempC - 6, pressurePa: stop.pressurePa * 0.87, by: "device" }}
          stop={stop}
          onOff={() => setTesting(false)}
          onSilence={() => setTesting(false)}
        />
      )}
    </div>
  );
}
