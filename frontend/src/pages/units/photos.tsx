/** Photos: made smaller on the device, kept in its journal, shown at once, sent later. */

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Attachment } from "../../api/types.ts";
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

function Photo({ attachment, local }: { attachment: Attachment; local: ArrayBuffer | undefined }): JSX.Element {
  const [url, setUrl] = useState("");
  useEffect(() => {
    if (!local) {
      setUrl(`/api/attachments/${attachment.id}`);
      return;
    }
    const made = URL.createObjectURL(new Blob([local]));
    setUrl(made);
    return () => URL.revokeObjectURL(made);
  }, [attachment.id, local]);
  return (
    <a class="photo" href={url} target="_blank" rel="noreferrer">
      {url && <img src={url} alt={t.unit.photoOf(attachment.name)} loading="lazy" />}
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
  const [own, setOwn] = useState<{ attachment: Attachment; bytes: ArrayBuffer }[]>([]);
  useEffect(() => {
    void app.shelf.waiting().then((entries) =>
      setOwn(
        entries.flatMap((entry) =>
          entry.kind === "bytes" && entry.path.startsWith(`${of}/attachments/`)
            ? [{ attachment: { id: entry.path.split("/").at(-1) ?? "", name: entry.name }, bytes: entry.bytes }]
            : [],
        ),
      ),
    );
  }, [of]);
  const add = async (files: FileList | null): Promise<void> => {
    for (const file of files ?? []) {
      const { type, bytes } = await smaller(file);
      const id = crypto.randomUUID();
      const name = file.name || "photo.jpg";
      await app.add({ kind: "bytes", path: `${of}/attachments/${id}`, name, type, bytes });
      setOwn((before) => [...before, { attachment: { id, name }, bytes }]);
      say({ text: t.saved }, 3000);
    }
  };
  const known = new Set(own.map((row) => row.attachment.id));
  const pictures = [...attachments.filter((row) => !known.has(row.id) && !row.name.startsWith("signature-")).map((attachment) => ({ attachment, bytes: undefined })), ...own];
  return (
    <div class="page">
      {pictures.length > 0 && (
        <div class="photos">
          {pictures.map(({ attachment, bytes }) => (
            <Photo key={attachment.id} attachment={attachment} local={bytes} />
          ))}
        </div>
      )}
      <label class="button file-button">
        <Icon name="photo" />
        {button}
        <input
          type="file"
          accept="image/*"
          capture="environment"
          onChange={(event) => {
            const input = event.currentTarget;
            void add(input.files).then(() => (input.value = ""));
          }}
        />
      </label>
      {help && <p class="soft small">{help}</p>}
    </div>
  );
}
