// Readings wait here until the book has them: kettle/weighing/offline_protocol.py.

const STORE = "readings";

const open = () =>
  new Promise((resolve, reject) => {
    const request = indexedDB.open("tarebook-kettle", 1);
    request.onupgradeneeded = () =>
      request.result.createObjectStore(STORE, { keyPath: "order", autoIncrement: true });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

async function inStore(mode, act) {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      // Strict: on the disk when a reading is said to be kept.
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const request = act(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    database.close();
  }
}

export const waiting = () => inStore("readonly", (store) => store.getAll());
export const keep = (reading) => inStore("readwrite", (store) => store.put(reading));
export const drop = (reading) => inStore("readwrite", (store) => store.delete(reading.order));

// Not crypto.randomUUID: a workshop's own network often has no TLS, where browsers leave it out.
export const newToken = () =>
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

// A network that neither answers nor fails is given up, and tried again.
export const patience = () => AbortSignal.timeout(20000);

// The server is busy or gone: the same as no network.
const LATER = [408, 425, 429, 502, 503, 504];

// Answers what the book says, with {away} when it asks to sign in, {asks} when it wants a second
// yes and {failed} when this one reading breaks it; throws when it cannot be reached.
export async function send({ address, fields, undo }) {
  const csrf = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie)?.[1] ?? "";
  // `undo` marks what was taken back before the book took that along with the reading itself.
  const back = undo && { taken_back: undo.token };
  const response = await fetch(address, {
    method: "POST",
    body: new URLSearchParams({ ...fields, ...back }),
    headers: { Accept: "application/json", "X-CSRFToken": csrf },
    redirect: "manual",
    signal: patience(),
  });
  const { type, status } = response;
  if (type === "opaqueredirect" || status === 403) return { away: true };
  if (LATER.includes(status)) throw new Error(`answer ${status}`);
  if (![200, 409, 422].includes(status)) return { failed: status };
  return { ...(await response.json()), asks: status === 409 };
}
