"""What lies on a device: its journal, as the browser has it, and photos to fill it with."""

import functools
import io

INSIDE = """
async () => {
  const base = await new Promise((done, fail) => {
    const asked = indexedDB.open("firstfrost");
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  const all = (name, what) => new Promise((done, fail) => {
    const asked = base.transaction(name).objectStore(name)[what]();
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  const hex = async (bytes) => [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))]
    .map((one) => one.toString(16).padStart(2, "0")).join("");
  const journal = await all("journal", "getAll");
  const [numbers, bytes] = [await all("bytes", "getAllKeys"), await all("bytes", "getAll")];
  const told = {
    queue: (await all("queue", "getAllKeys")).length,
    fates: (await all("fates", "getAll")).map((row) => row.state),
    photos: journal.filter((row) => row.kind === "bytes")
      .map(({ n, name, type, size, at_s }) => ({ n, name, type, size, at_s })),
    bytes: await Promise.all(
      bytes.map(async (one, i) => ({ n: numbers[i], size: one.byteLength, sha256: await hex(one) }))),
    entries: journal.length,
    inline: journal.filter((row) => row.bytes).length,
    journal_bytes: journal.reduce((sum, row) => sum + JSON.stringify(row).length, 0),
    usage: (await navigator.storage.estimate()).usageDetails?.indexedDB ?? 0,
  };
  told.held_bytes = told.journal_bytes + told.bytes.reduce((sum, one) => sum + one.size, 0);
  base.close();
  return told;
}
"""

FILL = """
async () => {
  const base = await new Promise((done, fail) => {
    const asked = indexedDB.open("ballast", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("ballast", { autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  const add = (size) => new Promise((done) => {
    const chance = new Uint8Array(size);
    // The browser gives no more at once.
    for (let i = 0; i < size; i += 65536) crypto.getRandomValues(chance.subarray(i, i + 65536));
    const tx = base.transaction("ballast", "readwrite", { durability: "strict" });
    tx.objectStore("ballast").add(chance.buffer);
    tx.oncomplete = () => done(true);
    tx.onabort = () => done(tx.error.name !== "QuotaExceededError");
  });
  for (const size of [1000000, 100000, 10000, 1000, 100, 1]) while (await add(size));
  base.close();
}
"""


class Room:
    """The room that a device's browser gives to the pages: its own quota, set before they are first opened.

    The browser remembers what it found free, so that a quota set later is not kept to at once.
    """

    def __init__(self, device, origin, size):
        self.page, self.origin = device.page, origin
        self.devtools = device.context.new_cdp_session(device.page)
        self._set(size)

    def _set(self, size):
        self.devtools.send("Storage.overrideQuotaForOrigin", {"origin": self.origin, "quotaSize": size})

    def none(self):
        """Fill it, beside the journal, until not one byte more is taken."""
        self.page.evaluate(FILL)

    def more(self, size):
        """So many bytes more than are in use."""
        used = self.devtools.send("Storage.getUsageAndQuota", {"origin": self.origin})["usage"]
        self._set(int(used) + size)


def inside(page):
    """The journal of a page's device: numbers, sizes and SHA-256 of what it holds. [bytes]"""
    return page.evaluate(INSIDE)


@functools.cache
def _picture(width, height):
    import numpy as np
    from PIL import Image

    chance = np.random.default_rng(1)
    coarse = chance.integers(0, 200, (height // 32, width // 32, 3), dtype=np.uint8)
    smooth = Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)
    return np.asarray(smooth), chance.integers(0, 56, (height, width, 1), dtype=np.uint8)


def a_photo(seed, width=1024, height=768):
    """A JPEG of about the size that a phone's photo has once it is made smaller, each one another."""
    import numpy as np
    from PIL import Image

    smooth, grain = _picture(width, height)
    out = io.BytesIO()
    # Some are finer than others, as photos are.
    picture = smooth + np.roll(grain, 7 * seed, axis=1) // (2 + seed % 2)
    Image.fromarray(picture).save(out, "JPEG", quality=88)
    return {"name": f"photo-{seed}.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
