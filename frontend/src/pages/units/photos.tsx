/** Photos: made smaller on the device, kept in its journal until the service has them, shown at once, sent later.
 *
 * A photo that was sent is not kept here as well: a device's room is for what exists nowhere else. Without signal the
 * page says where it is.
 */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Attachment } from "../../api/types.ts";
import { NotSaved } from "../../model/journal.ts";
import { useApp } from "../../parts/context.ts";
import { Icon } from "../../parts/small.tsx";
import { say } from "../../parts/toast.tsx";
import { t } from "../../text/en.ts";

const LONGEST_PX = 1800;

/** A photo at most `LONGEST_PX` long as JPEG; as it came where the browser cannot read it. */
export async function smaller(file: File): Promise<{ type: string; bytes: ArrayBuffer }> {
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    if (blob) return { type: "image/jpeg", bytes: await blob.arrayBuffer() };
  } catch {
    // Kept as it is: the service tells whether it can be used.
  }
  return { type: file.type || "application/octet-stream", bytes: await file.arrayBuffer() };
}

interface Picture {
  id: string;
  name: string;
  /** In memory as long as the page is open, so that what was just sent goes on being shown. */
  bytes: ArrayBuffer | null;
}
interface Fresh extends Picture {
  type: string;
  bytes: ArrayBuffer;
}
/** Photos that found no room, by what they are of: kept until they do, or the tab is closed. */
const UNSAVED = new Map<string, Fresh[]>();

interface PhotoProps {
  id: string;
  name: string;
  local: ArrayBuffer | null;
}

/** From the device while it has it, else from the service. */
function Photo({ id, name, local }: PhotoProps): JSX.Element {
  return local ? <Here name={name} bytes={local} /> : <There id={id} name={name} />;
}

function Here({ name, bytes }: { name: string; bytes: ArrayBuffer }): JSX.Element {
  const [url, setUrl] = useState("");
  useEffect(() => {
    const made = URL.createObjectURL(new Blob([bytes]));
    setUrl(made);
    return () => URL.revokeObjectURL(made);
  }, [bytes]);
  return <Framed url={url} name={name} />;
}

/** Asked for again, by a new element, when the signal is no longer as it was at the failure. */
function There({ id, name }: { id: string; name: string }): JSX.Element {
  const reached = useApp().reached.value;
  const [failedAt, setFailedAt] = useState<boolean | null | "never">("never");
  if (failedAt !== reached) {
    return <Framed key={String(failedAt)} url={`/api/attachments/${id}`} name={name} onError={() => setFailedAt(reached)} />;
  }
  return (
    <p class="photo away small" data-testid="photo-away">
      <b>{name}</b>
      <span>{reached ? t.unit.photoFault : t.unit.photoAway}</span>
    </p>
  );
}

function Framed({ url, name, onError }: { url: string; name: string; onError?: () => void }): JSX.Element {
  return (
    <a class="photo" href={url} target="_blank" rel="noreferrer">
      {url && <img src={url} alt={t.unit.photoOf(name)} loading="lazy" onError={onError} />}
    </a>
  );
}

interface PhotosProps {
  /** `/api/units/ID` or `/api/visits/ID` */
  of: string;
  attachments: readonly Attachment[];
  button: string;
  help?: string;
}

export function Photos({ of, attachments, button, help }: PhotosProps): JSX.Element {
  const app = useApp();
  const [own, setOwn] = useState<Picture[]>([]);
  const [unsaved, setUnsaved] = useState<Fresh[]>(UNSAVED.get(of) ?? []);
  const load = async (): Promise<void> => {
    const { shelf } = app;
    // By the journal as well: what was just sent may not have come back in the record yet.
    const [about, waiting, fates] = await Promise.all([shelf.journalOf(of.split("/").at(-1) ?? ""), shelf.waiting(), shelf.fates()]);
    const entries = [...new Map([...about, ...waiting].map((entry) => [entry.n, entry])).values()];
    const found: Picture[] = [];
    for (const entry of entries) {
      if (entry.kind !== "bytes" || !entry.path.startsWith(`${of}/attachments/`) || fates.get(entry.n)?.state === "dropped") continue;
      const bytes = fates.get(entry.n)?.state === "sent" ? null : ((await shelf.bytesOf(entry.n)) ?? null);
      found.push({ id: entry.path.split("/").at(-1) ?? "", name: entry.name, bytes });
    }
    setOwn(found);
  };
  useEffect(() => {
    setUnsaved(UNSAVED.get(of) ?? []);
    void load();
  }, [of]);
  const keep = (rows: Fresh[]): void => {
    UNSAVED.set(of, rows);
    setUnsaved(rows);
    // The browser asks before it closes the tab over one.
    window.onbeforeunload = [...UNSAVED.values()].some((one) => one.length) ? (event) => event.preventDefault() : null;
  };
  const save = async (photo: Fresh): Promise<void> => {
    const others = (UNSAVED.get(of) ?? []).filter((row) => row.id !== photo.id);
    const { id, name, type, bytes } = photo;
    try {
      await app.add({ kind: "bytes", path: `${of}/attachments/${id}`, name, type, bytes });
      keep(others);
      setOwn((before) => [...before, { id, name, bytes }]);
      say({ text: t.saved }, 3000);
    } catch (err) {
      if (!(err instanceof NotSaved)) throw err;
      keep([...others, photo]);
    }
  };
  const add = async (files: FileList | null): Promise<void> => {
    for (const file of files ?? []) {
      const { type, bytes } = await smaller(file);
      await save({ id: crypto.randomUUID(), name: file.name || "photo.jpg", type, bytes });
    }
  };
  const known = new Set(own.map((row) => row.id));
  const there: Picture[] = attachments.filter((row) => !known.has(row.id)).map(({ id, name }) => ({ id, name, bytes: null }));
  const pictures = [...there, ...own].filter((row) => !row.name.startsWith("signature-"));
  return (
    <div class="page">
      {pictures.length > 0 && (
        <div class="photos">
          {pictures.map(({ id, name, bytes }) => (
            <Photo key={id} id={id} name={name} local={bytes} />
          ))}
        </div>
      )}
      {unsaved.map((photo) => (
        <div key={photo.id} class="unsaved" data-testid="unsaved">
          <Photo id={photo.id} name={photo.name} local={photo.bytes} />
          <b class="st-failed">{t.notSaved}</b>
          <button type="button" class="button" onClick={() => void save(photo)}>
            {t.saveAgain}
          </button>
        </div>
      ))}
      <label class="button file-button">
        <Icon name="photo" />
        {button}
        <input
          type="file"
          accept="image/*"
          capture="environment"
          onChange={(event) => {
            const input = event.currentTarget;
            void add(input.files).finally(() => (input.value = ""));
          }}
        />
      </label>
      {help && <p class="soft small">{help}</p>}
    </div>
  );
}
