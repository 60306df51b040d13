// Sends what waits here, brings the book's newer state: kettle/weighing/offline_protocol.py.

import { address, at, current, lineOf, lotOf, standing, waitingHere } from "./kettle-state.js";
import { draw, goTo, say } from "./kettle-draw.js";
import { figure, form, grams, part, plain, write } from "./kettle-page.js";
import { drop, keep, newToken, patience, send, waiting } from "./kettle-queue.js";

const askBox = part.ask;
let sending = false;
let mark = ""; // of the state that came last
let touched = Date.now();
for (const type of ["pointerdown", "keydown"])
  document.addEventListener(type, () => (touched = Date.now()));

export async function flush() {
  if (sending || askBox.open) return;
  sending = true;
  try {
    for (let reading; (reading = await nextToSend()); ) {
      const { order, fields } = reading;
      const answer = await send(reading);
      if (answer.failed) {
        await putOff(reading, answer.failed);
        continue;
      }
      if (answer.away) return say("Sign in again on another page; the readings are kept here.", true);
      if (answer.asks) return ask(reading, answer.sentence);
      await keepPage();
      if (fields.taken_back) take((await look()).state);
      // Taken back under way: it goes once more, and says so.
      const now = (await waiting()).find((one) => one.order === order);
      if (now?.fields.taken_back !== fields.taken_back) continue;
      if (answer.sentence && !fields.taken_back && !isAtHand(reading)) {
        await setAside(reading, answer.sentence);
        continue;
      }
      at.queue = at.queue.filter((one) => one.order !== order);
      if (!fields.taken_back && reading.address === address) took(reading, answer);
      await drop(reading);
    }
  } catch {
    // Not reached: the next round tries again, with the same token.
  } finally {
    sending = false;
    draw();
  }
}

async function nextToSend() {
  at.queue = await waiting();
  return at.queue.find((one) => !one.isRefused && !(one.notBefore > Date.now()));
}

// A reading that breaks the book waits longer each time, and lets those behind it pass.
async function putOff(reading, status) {
  reading.tries = (reading.tries ?? 0) + 1;
  reading.notBefore = Date.now() + Math.min(15000 * 2 ** reading.tries, 600000);
  reading.why = `The book could not take it (error ${status}). It is tried again by and by.`;
  await keep(reading);
  say(`Not in the book yet: ${reading.what ?? grams(reading.mg)}. It is kept here.`, true);
}

// Refused, and its figure cannot be put back: it waits for a decision.
async function setAside(reading, sentence) {
  Object.assign(reading, { isRefused: true, why: sentence });
  await keep(reading);
  say(`Not recorded: ${reading.what ?? grams(reading.mg)}. It is kept on the list of what the book did not take.`, true);
}

const isAtHand = ({ address: where, order }) =>
  where === address && !figure.value && !at.fed && at.queue.at(-1).order === order;

function took(reading, { said, taken, undo, sentence, offer = at.offer }) {
  if (!said) return giveBack(reading, `Not recorded: ${sentence}`);
  const { fields, mg } = reading;
  lineOf(fields.line).taken = taken;
  for (const one of at.state.lines.flatMap((line) => line.lots))
    if (one.code === fields.lot) one.left -= mg;
  at.state.undo = undo;
  at.offer = offer;
  say(said);
}

// A reading that does not stand is put back under the maker's eyes.
export function giveBack({ fields, mg }, sentence) {
  goTo(lineOf(fields.line), fields.lot);
  if (!figure.value && !at.fed) figure.value = plain(mg);
  say(sentence, true);
}

// The book wants a second yes, as when another tablet has weighed the same line.
function ask(reading, sentence) {
  write({ "ask-words": sentence });
  askBox.returnValue = "";
  askBox.onclose = () => answered(reading, askBox.returnValue);
  askBox.showModal();
}

async function answered(reading, isYes) {
  const { fields, mg } = reading;
  fields.confirmed = "yes";
  await (isYes ? keep(reading) : drop(reading));
  at.queue = await waiting();
  if (!isYes && reading.address === address)
    giveBack(reading, `${grams(mg)} ${lineOf(fields.line).name} is not recorded.`);
  flush();
}

// The last reading that waits here is taken back; the book will hold both.
export async function takeBack() {
  const reading = waitingHere().at(-1);
  const { fields, mg } = reading;
  fields.taken_back = newToken();
  fields.taken_back_by = form.elements.ticket.value;
  await keep(reading);
  at.queue = await waiting();
  const line = lineOf(fields.line);
  goTo(line, fields.lot);
  say(`Taken back: ${grams(mg)} ${line.name}.`);
  flush();
}

export async function look(query = "") {
  const headers = { Accept: "application/json", ...(query ? {} : { "If-None-Match": mark }) };
  const response = await fetch(address + query, {
    cache: "no-store",
    headers,
    redirect: "manual",
    signal: patience(),
  });
  if (response.ok && !query) mark = response.headers.get("ETag") ?? "";
  at.clockIsOff = (Date.parse(response.headers.get("Date")) || Date.now()) - Date.now();
  return response.ok || response.status === 422 ? response.json() : {};
}

// The worker keeps the page as it stands now.
const keepPage = async () => navigator.serviceWorker?.controller && fetch(address, { signal: patience() });

// The book's newer state; a lot scanned here stays chosen even when the book would not offer it.
function take(book) {
  if (!book) return;
  const chosen = current() && lotOf(current(), at.lot);
  at.state = book;
  if (chosen && current() && !lotOf(current(), at.lot)) current().lots.push(chosen);
}

// Sends what still waits, else shows what another tablet weighed. An idle screen stops asking,
// so that its session can end.
export async function listen() {
  if (at.queue.some((one) => !one.isRefused && !(one.notBefore > Date.now()))) return flush();
  if (document.hidden || sending || Date.now() - touched > 30 * 60000) return;
  const before = JSON.stringify(at.state);
  const { state, offer } = await look().catch(() => ({}));
  if (!state || sending || standing().length || JSON.stringify(state) === before) return;
  if (state.shape !== at.state.shape) return location.reload();
  take(state);
  keepPage().catch(() => null);
  if (!offer) at.offer = null;
  draw();
}
