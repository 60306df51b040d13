// Readings that the book did not take: each stays on this device until somebody decides about it.

import { at } from "./kettle-state.js";
import { draw } from "./kettle-draw.js";
import { el, grams, on, part } from "./kettle-page.js";
import { drop, keep, waiting } from "./kettle-queue.js";
import { flush } from "./kettle-sync.js";

const box = part["aside-box"];
const time = (text) => new Date(text).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });

async function done(act) {
  await act;
  at.queue = await waiting();
  list();
  draw();
  flush();
}

function again(reading) {
  Object.assign(reading, { isRefused: false, notBefore: 0 });
  return done(keep(reading));
}

// Two touches: a reading is not thrown away by a slip of the finger.
function discard({ target }, reading) {
  if (target.dataset.sure) return done(drop(reading));
  target.dataset.sure = "yes";
  target.textContent = "Touch again: it never went in";
}

function row(reading) {
  const batch = reading.address.split("/").at(-3);
  const act = (textContent, onclick) => el("button", { type: "button", textContent, onclick });
  return el(
    "section",
    {},
    el("p", {}, el("b", {}, reading.what ?? grams(reading.mg)), `, batch ${batch}, weighed ${time(reading.fields.at)}. ${reading.why}`),
    el("div", {}, act("Try again", () => again(reading)), act("Discard", (event) => discard(event, reading))),
  );
}

export function list() {
  const rows = at.queue.filter((one) => one.why).map(row);
  part["aside-list"].replaceChildren(...rows);
  if (!rows.length) box.close();
  else if (!box.open) box.showModal();
}

on("click", part["close-aside"], () => box.close());
