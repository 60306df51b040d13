// Brings what waits on the device to the book, and the book's newer state to the page.

import { address, at, current, lineOf, lotOf, waitingHere } from "./kettle-book.js";
import { draw, goTo, say } from "./kettle-draw.js";
import { figure, form, grams, part, plain, write } from "./kettle-page.js";
import { drop, keep, newToken, patience, send, waiting } from "./kettle-queue.js";

const askBox = part.ask;
let sending = false;
let touched = Date.now();
for (const type of ["pointerdown", "keydown"])
  document.addEventListener(type, () => (touched = Date.now()));

export async function flush() {
  if (sending || askBox.open) return;
  sending = true;
  try {
    while ((at.queue = await waiting()).length) {
      const [reading] = at.queue;
      const { order, fields } = reading;
      const answer = await send(reading);
      if (answer.away) return say("Sign in again on another page; the readings are kept here.", true);
      if (answer.asks) return ask(reading, answer.sentence);
      await keepPage();
      if (fields.taken_back) take((await look()).state);
      // Taken back while it was under way: it goes once more, and says so.
      const now = (await waiting()).find((one) => one.order === order);
      if (now?.fields.taken_back !== fields.taken_back) continue;
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

// The last reading that waits here is taken back; the book will hold both, as it would have.
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
  const headers = { Accept: "application/json" };
  const response = await fetch(address + query, { headers, redirect: "manual", signal: patience() });
  at.clockIsOff = (Date.parse(response.headers.get("Date")) || Date.now()) - Date.now();
  return response.ok || response.status === 422 ? response.json() : {};
}

// The worker keeps the page as it stands now, for opening it again without the network.
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
  if (at.queue.length) return flush();
  if (document.hidden || sending || Date.now() - touched > 30 * 60000) return;
  const before = JSON.stringify(at.state);
  const { state, offer } = await look().catch(() => ({}));
  if (!state || sending || at.queue.length || JSON.stringify(state) === before) return;
  if (state.shape !== at.state.shape) return location.reload();
  take(state);
  keepPage().catch(() => null);
  if (!offer) at.offer = null;
  draw();
}
