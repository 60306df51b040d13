// Readings wait on the device until the book has them; a closed page or a dead battery loses none.

const NAME = "tarebook-kettle";
const STORE = "readings";

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () =>
      request.result.createObjectStore(STORE, { keyPath: "order", autoIncrement: true });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function inStore(mode, act) {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      // Strict: on the disk, not only on its way to it, when a reading is said to be kept.
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
export function newToken() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export const addressOf = (base, pk = 0) => base.replace("/0/", `/${pk}/`);

const cookie = (name) =>
  document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`))?.slice(name.length + 1);

const post = (address, fields) =>
  fetch(address, {
    method: "POST",
    body: new URLSearchParams(fields),
    headers: { Accept: "application/json", "X-CSRFToken": cookie("csrftoken") ?? "" },
    redirect: "manual",
  });

// Answers what the book says, with {away} when it asks to sign in and {asks} when it wants a
// second yes; throws when it cannot be reached.
export async function send({ address, fields }) {
  const response = await post(address, fields);
  if (response.type === "opaqueredirect" || response.status === 403) return { away: true };
  if (![200, 409, 422].includes(response.status)) throw new Error(`answer ${response.status}`);
  return { ...(await response.json()), asks: response.status === 409 };
}

// Takes back a reading that the book has just answered for; it answers with a way back.
export async function sendBack({ base, token }, pk) {
  const more = "before it reached the book";
  const response = await post(addressOf(base, pk), { reason: "other", more, token });
  if (response.status >= 500) throw new Error(`answer ${response.status}`);
  return response.type === "opaqueredirect";
}
