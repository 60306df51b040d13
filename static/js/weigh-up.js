// The weigh-up: the page works without this; with it no reading waits for the network.

import { addressOf, drop, keep, newToken, send, sendBack, waiting } from "./kettle-queue.js";

const part = (name) => document.querySelector(`[data-part="${name}"]`);
const write = (name, text) => (part(name).textContent = text);
const byId = (name) => document.getElementById(name);
const stove = document.querySelector(".stove");
const { address, may, worker } = stove.dataset;
const KEPT_STATE = `${address}state.json`;
const form = byId("reading");
const figure = byId("figure");
const scales = byId("scale");
const lotBox = byId("choose");
const askBox = byId("ask");

let state = JSON.parse(byId("state").textContent);
let here = part("done").hidden ? Number(form.elements.line.value) : null;
let lot = form.elements.lot.value;
let queue = [];
let sending = false;
let recorded = 0;
// What the book proposes after an over-pour.
let offer = part("offer").hidden
  ? null
  : { sentence: part("offer-words").textContent, address: part("mend")?.href };
let touched = Date.now();
let clockIsOff = 0; // ms by which the book's clock is ahead of this device's
let inTotal = false; // the scale is not tared: what it shows goes on from what is in
let cable = null;
let fed = null; // what a scale on a cable shows: {mg, unit, steady}, with what it showed before

function el(tag, values, ...children) {
  const element = Object.assign(document.createElement(tag), values);
  element.append(...children);
  return element;
}

// ---- grams, kept as whole thousandths

function plain(mg) {
  const digits = String(Math.abs(mg)).padStart(4, "0");
  const rest = digits.slice(-3).replace(/0{1,2}$/, "");
  return `${mg < 0 ? "−" : ""}${digits.slice(0, -3)}.${rest}`;
}
const shown = (mg) => plain(mg).replace(/\d(?=(\d{3})+\.)/g, "$&\u202f");
const grams = (mg) => `${shown(mg)}\u202fg`;

function typed() {
  const match = /^(\d{1,6})(?:[.,](\d{0,3}))?$/.exec(figure.value.trim());
  return match && Number(match[1] + (match[2] ?? "").padEnd(3, "0")) - (inTotal ? inKettle() : 0);
}

// ---- what stands: the book's state with what still waits here

const sum = (readings) => readings.reduce((total, one) => total + one.mg, 0);
const waitingHere = () => queue.filter((one) => one.address === address && !one.undo);
const lineOf = (pk) => state.lines.find((line) => line.pk === Number(pk));
const lotOf = (line, code) => line.lots.find((one) => one.code === code);
const kept = (line) => waitingHere().filter((one) => Number(one.fields.line) === line.pk);
const taken = (line) => line.taken + sum(kept(line));
const left = (one) => one.left - sum(queue.filter((each) => !each.undo && each.fields.lot === one.code));
const isDone = (line) => !line.planned || taken(line) >= line.low;
const current = () => state.lines.find((line) => line.pk === here && line.planned);
const inKettle = () => state.taken + sum(waitingHere());

function goTo(line, code) {
  const moved = here !== line?.pk;
  here = line?.pk ?? null;
  lot = code ?? line?.lot ?? "";
  offer = null;
  part("mind").classList.remove("open");
  if (line && moved) scales.value = line.scale;
  draw();
}

const next = () => goTo(state.lines.find((line) => !isDone(line)));

// ---- drawing

function draw() {
  const line = current();
  const isWeighing = line && !offer;
  form.hidden = part("pad").hidden = part("mind").hidden = !isWeighing;
  part("done").hidden = Boolean(line || offer);
  part("offer").hidden = !offer;
  if (may) {
    part("record").hidden = !isWeighing;
    part("mend").hidden = !offer;
    part("pour")?.classList.toggle("primary", !line && !offer);
  }
  if (offer) {
    write("offer-words", offer.sentence);
    part("mend").href = offer.address;
  }
  drawOrder();
  if (isWeighing) drawLine(line);
}

function drawOrder() {
  for (const row of document.querySelectorAll("[data-line]")) {
    const line = lineOf(row.dataset.line);
    if (!line) continue;
    row.className = line.pk === here ? "now" : isDone(line) ? "in" : "";
    row.toggleAttribute("aria-current", line.pk === here);
    const standing = taken(line) > line.high && line.planned ? "▲ " : isDone(line) ? "✓ " : "";
    const mark = kept(line).length ? "○ " : standing;
    const mg = isDone(line) ? taken(line) : line.target - taken(line);
    row.querySelector(".num").textContent = mark + shown(mg);
  }
  document.querySelector(".order .now")?.scrollIntoView({ block: "nearest" });
  const count = waitingHere().length;
  write("taken", grams(inKettle()));
  write("queue", count
    ? `○ ${count} reading${count > 1 ? "s" : ""} kept here, ${grams(state.taken)} in the book`
    : "");
  const undo = part("undo");
  if (count || state.last) undo?.setAttribute("href", addressOf(undo.dataset.base, state.last?.pk));
  else undo?.removeAttribute("href");
}

function drawLine(line) {
  const toGo = line.target - taken(line);
  form.elements.line.value = line.pk;
  form.elements.lot.value = lot;
  write("name", line.name);
  drawLot(line);
  const shows = toGo + (inTotal ? inKettle() : 0);
  write("to-go", toGo > 0 ? grams(shows) + (inTotal ? " in all" : "") : "nothing more");
  figure.placeholder = toGo > 0 && !fed ? shown(shows) : "0.0";
  const [low, high] = limits(line);
  write("low", shown(low));
  write("target", shown(line.target));
  write("high", shown(high));
  write("band-words", `${grams(low)} to ${grams(high)}`);
  drawReading(line);
  drawMind(line, toGo);
}

// The tolerance as far as the chosen scale can show it.
function limits(line) {
  const step = state.scales[scales.value]?.division ?? 1;
  return [Math.ceil(line.low / step) * step, Math.floor(line.high / step) * step];
}

const best = (one, before) => (one.best ? `${before}best before ${one.best}` : "");

function drawLot(line) {
  const one = lotOf(line, lot);
  if (!one)
    return part("lot").replaceChildren(
      "No lot of it is on the book that may be used. Scan one, or ask the owner to release it.",
    );
  const item = one.item === line.name ? "" : `, ${one.item}`;
  part("lot").replaceChildren(
    "from lot ",
    el("b", { className: "code" }, one.shown),
    `${item} · ${grams(left(one))} left${best(one, " · ")}`,
  );
}

// Cautions are shown whole; those for which the page has no room are one touch away.
function drawMind(line, toGo) {
  write("untared", grams(inKettle() + Math.max(toGo, 0)));
  part("tare").lastChild.textContent = line.forGood ? ". It cannot be taken back out." : ".";
  if (!part("mind").classList.contains("open"))
    part("cautions").replaceChildren(...line.cautions.map((text) => el("p", {}, text)));
  fold();
}

function fold() {
  if (part("mind").classList.contains("open")) return;
  const rows = [...part("cautions").children];
  const isTight = () => [form, part("pad")].some((one) => one.scrollHeight > one.clientHeight + 1);
  const more = part("more");
  stove.classList.remove("tight");
  for (const row of rows) row.hidden = false;
  more.hidden = true;
  if (isTight()) stove.classList.add("tight");
  for (let shows = rows.length; shows > 1 && isTight(); ) {
    rows[--shows].hidden = true;
    more.hidden = false;
    more.textContent = `${rows.length - shows} more to mind`;
  }
}

// The band is a third of the drawing's 640; the pointer stands to the same scale.
function drawReading(line) {
  const mg = typed();
  const total = taken(line) + (mg ?? 0);
  const pointer = part("pointer");
  const over = total - line.target;
  const off = over / ((over > 0 ? line.high - line.target : line.target - line.low) || 1);
  pointer.setAttribute("visibility", total ? "visible" : "hidden");
  pointer.setAttribute("transform", `translate(${Math.min(632, Math.max(8, 320 + 107 * off))} 0)`);
  document.querySelector(".band-drawing").toggleAttribute("data-off", total > line.high);
  write("aim", aim(line, total, mg));
  if (may) write("record", `Record ${mg ? `${grams(mg)} ` : ""}${line.name}`);
}

const reread = () => current() && drawReading(current());

function aim(line, total, mg) {
  const band = `±${line.tolerance}\u202f%`;
  if (!total) return `${band}: ${limits(line).map(shown).join(" to ")}\u202fg`;
  if (total > line.high) return `${grams(total - line.target)} over, outside ${band}.`;
  const toGo = total < line.target ? `${grams(line.target - total)} to go. ` : "";
  if (total >= line.low) return `${toGo}Within ${band}.`;
  return mg === null ? `${toGo}${grams(total)} is in.` : toGo;
}

function say(sentence, isRefused = false) {
  write("words", sentence);
  part("words").classList.toggle("refused", isRefused);
  if (!form.hidden) fold();
}

const clock = (seconds) =>
  `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

function drawTimers() {
  const rows = (state.timers ?? []).map(({ pk, name, due }) => {
    const seconds = Math.ceil((Date.parse(due) - Date.now() - clockIsOff) / 1000);
    const isDue = seconds <= 0;
    return el("a", {
      href: addressOf(part("timers").dataset.base, pk),
      className: isDue ? "due" : "",
      textContent: isDue ? `Now: ${name}, ${clock(-seconds)} ago` : `${name} ${clock(seconds)}`,
    });
  });
  part("timers").replaceChildren(...rows);
  stove.classList.toggle("alarm", rows.some((row) => row.className));
}

// ---- recording

function refusal(mg) {
  const scale = state.scales[scales.value];
  if (fed && !fed.steady) return "The scale is still moving.";
  if (!lot) return "Choose a lot, or scan its tag.";
  if (!(mg > 0)) return fed ? "The scale shows nothing to record." : "Type what the scale shows.";
  if (mg > scale.capacity) return `The ${scale.name} takes at most ${grams(scale.capacity)}. Weigh it in several goes.`;
  if (mg % scale.division) return `The ${scale.name} shows steps of ${grams(scale.division)}; read it again, or choose the scale you used.`;
  return "";
}

async function record() {
  const mg = typed();
  if (!figure.value && Date.now() - recorded < 700) return; // the second half of a double tap
  const sentence = refusal(mg);
  if (sentence) return say(sentence, true);
  const fields = {
    line: here,
    lot,
    ...(inTotal
      ? { running_total_g: plain(mg + inKettle()), kettle_g: plain(inKettle()) }
      : { reading_g: plain(mg) }),
    seen_g: plain(taken(current())),
    scale: scales.value,
    note: form.elements.note?.value ?? "",
    at: new Date().toISOString(),
    token: newToken(),
  };
  recorded = Date.now();
  figure.value = ""; // before anything is waited for: a second touch finds nothing to record
  if (fed) fed.before = fed.mg;
  const reading = { address, fields, mg };
  queue.push(reading);
  const { name } = current();
  isDone(current()) ? next() : goOn(current());
  try {
    await keep(reading);
    say(`${grams(mg)} ${name} is kept here.`);
  } catch {
    queue = await waiting().catch(() => []);
    return giveBack(reading, "Not recorded: this device lets nothing be kept. Use another.");
  }
  flush();
}

// The line wants more: from the same lot, or from the next one when this is empty.
function goOn(line) {
  const empty = line.lots.some((one) => one.code === lot && left(one) <= 0);
  const full = line.lots.find((one) => left(one) > 0);
  goTo(line, empty && full ? full.code : lot);
}

async function flush() {
  if (sending || askBox.open) return;
  sending = true;
  try {
    for (queue = await waiting(); queue.length; queue = await waiting()) {
      const { order } = queue[0];
      const answer = await send(queue[0]);
      if (answer.away) return say("Sign in again on another page; the readings are kept here.", true);
      if (answer.asks) return ask(queue[0], answer.sentence);
      // It may have been taken back while it was under way.
      const reading = (await waiting()).find((one) => one.order === order) ?? queue[0];
      if (reading.undo && answer.pk) await sendBack(reading.undo, answer.pk);
      queue = queue.filter((one) => one.order !== order);
      if (reading.undo) take((await look()).state);
      else if (reading.address === address) took(reading, answer);
      await remember();
      await drop(reading);
    }
  } catch {
    // Not reached: the next round tries again, with the same token.
  } finally {
    sending = false;
    draw();
  }
}

function took(reading, { said, taken: mg, pk, sentence, offer: proposal }) {
  const line = lineOf(reading.fields.line);
  if (!said) return giveBack(reading, `Not recorded: ${sentence}`);
  line.taken = mg;
  state.taken = state.lines.reduce((total, one) => total + one.taken, 0);
  for (const one of state.lines.flatMap((row) => row.lots))
    if (one.code === reading.fields.lot) one.left -= reading.mg;
  state.last = { pk, text: said };
  if (proposal) offer = proposal;
  say(said);
}

// A reading that does not stand is put back under the maker's eyes.
function giveBack(reading, sentence) {
  goTo(lineOf(reading.fields.line), reading.fields.lot);
  if (!figure.value && !fed) figure.value = plain(reading.mg);
  say(sentence, true);
}

// The book wants a second yes, as when another tablet has weighed the same line.
function ask(reading, sentence) {
  write("ask-words", sentence);
  askBox.reading = reading;
  askBox.showModal();
}

async function answerAsk(isYes) {
  const { reading } = askBox;
  reading.fields.confirmed = "yes";
  await (isYes ? keep(reading) : drop(reading));
  queue = await waiting();
  askBox.close();
  if (!isYes && reading.address === address)
    giveBack(reading, `${grams(reading.mg)} ${lineOf(reading.fields.line).name} is not recorded.`);
  flush();
}

// The last reading that waits here is taken back; the book will hold both, as it would have.
async function takeBack() {
  const reading = waitingHere().at(-1);
  reading.undo = { base: part("undo").dataset.base, token: newToken() };
  await keep(reading);
  queue = await waiting();
  const line = lineOf(reading.fields.line);
  goTo(line, reading.fields.lot);
  say(`Taken back: ${grams(reading.mg)} ${line.name}.`);
  flush();
}

async function look(query = "") {
  const headers = { Accept: "application/json" };
  const response = await fetch(address + query, { headers, redirect: "manual" });
  clockIsOff = (Date.parse(response.headers.get("Date")) || Date.now()) - Date.now();
  return response.ok || response.status === 422 ? response.json() : {};
}

// With the page that the worker keeps, for opening it again without the network.
async function remember() {
  const pages = await globalThis.caches?.open("kettle-pages");
  await pages?.put(KEPT_STATE, new Response(JSON.stringify(state)));
}

async function recall() {
  const kept = await globalThis.caches?.match(KEPT_STATE);
  if (stove.dataset.kept && kept) state = await kept.json();
  else await remember();
}

// The book's newer state; a lot scanned here stays chosen even when the book would not offer it.
function take(book) {
  if (!book) return;
  const chosen = current() && lotOf(current(), lot);
  state = book;
  if (chosen && current() && !lotOf(current(), lot)) current().lots.push(chosen);
}

// Sends what still waits, else shows what another tablet weighed. An idle screen stops asking,
// so that its session can end.
async function listen() {
  if (queue.length) return flush();
  if (document.hidden || sending || Date.now() - touched > 30 * 60000) return;
  const before = JSON.stringify(state);
  const { state: book, offer: still } = await look().catch(() => ({}));
  if (!book || sending || queue.length || JSON.stringify(book) === before) return;
  if (book.lines.length !== state.lines.length || book.isOpen !== state.isOpen) return location.reload();
  take(book);
  remember();
  if (!still) offer = null;
  draw();
}

// ---- choosing a line and a lot

async function pick(text) {
  const code = text.toUpperCase().replace(/[^A-Z0-9]/g, "");
  if (!code) return;
  lotBox.close();
  const rank = (line) => (line.pk === here ? 0 : isDone(line) ? 2 : 1);
  const rows = state.lines.filter((line) => line.planned).sort((one, two) => rank(one) - rank(two));
  let line = rows.find((row) => lotOf(row, code));
  let found = line && lotOf(line, code);
  if (!line) {
    const query = `?${new URLSearchParams({ lot: text, ...(here && { line: here }) })}`;
    const answer = await look(query).catch(() => null);
    if (!answer) return say("The book cannot be reached, and this lot is not known here.", true);
    if (answer.sentence) return say(answer.sentence, true);
    if (!answer.lot) return location.assign(address + query);
    state = answer.state;
    line = lineOf(answer.line);
    found = answer.lot;
    if (!lotOf(line, found.code)) line.lots.push(found);
  }
  goTo(line, found.code);
  say(`Lot ${found.shown} for ${line.name}.`);
}

function choose() {
  const line = current();
  if (!line) return;
  write("choose-name", line.name);
  const buttons = line.lots.map((one) =>
    el(
      "button",
      { type: "button", className: "btn", onclick: () => pick(one.code) },
      el("b", { className: "code" }, one.shown),
      `${one.item === line.name ? "" : `${one.item}, `}${grams(left(one))} left${best(one, ", ")}`,
    ),
  );
  part("lots").replaceChildren(...(buttons.length ? buttons : ["Nothing on the book may be used for this line."]));
  lotBox.showModal();
}

// ---- the scale on a cable

// What lay on the scale when the last reading was taken is not weighed twice; once the scale is
// tared or cleared, it counts from nothing again. Ounces come to the nearest step of the scale.
function hear({ mg, unit, steady }) {
  const step = state.scales[scales.value]?.division ?? 1;
  if (unit === "oz") mg = Math.round(mg / step) * step;
  let before = fed?.before ?? 0;
  if (steady && 2 * mg <= before) before = 0;
  fed = { mg, steady, before };
  figure.value = mg === before ? "" : plain(mg - before);
  figure.classList.toggle("moving", !steady);
  write("cable-words", before
    ? `It shows ${grams(mg)}, ${grams(before)} of it recorded before.`
    : "Read from the cable.");
  reread();
}

function feed(isFed) {
  stove.classList.toggle("fed", isFed);
  part("cable").hidden = !isFed;
  figure.readOnly = isFed;
  figure.classList.remove("moving");
  figure.value = "";
  fed = isFed ? { mg: 0, steady: false, before: 0 } : null;
  draw();
}

// Its module is only fetched where a scale is on a cable.
async function plug() {
  const { scaleOnCable } = await import("./kettle-scale.js");
  cable ??= scaleOnCable(byId("cable-box"), {
    hear,
    began(canTare) {
      feed(true);
      part("tare-now").hidden = !canTare;
    },
    ended(isWanted) {
      feed(false);
      if (!isWanted) say("The scale on the cable is gone: check its plug, or type what it shows.", true);
    },
  });
}

// The choice of the scale also holds how it is read.
function chooseScale() {
  const how = scales.value;
  if (!state.scales[how]) scales.value = current()?.scale ?? Object.keys(state.scales)[0];
  if (how === "cable")
    plug().then(
      () => cable.ask(),
      () => say("The cable cannot be read before the network is back; reload the page then.", true),
    );
  if (how === "total") inTotal = !inTotal && !fed;
  scales.querySelector("[value=total]").textContent = `it is ${inTotal ? "" : "not "}tared`;
  if (current()) drawLine(current());
}

// ---- hands

function on(type, target, act) {
  target?.addEventListener(type, (event) => {
    event.preventDefault();
    act(event);
  });
}
const onClick = (name, act) => on("click", part(name), act);

const pickFrom = (box) => {
  const code = box.value;
  box.value = "";
  pick(code);
};

if (may) {
  on("submit", form, () => (/[a-z]/i.test(figure.value) ? pickFrom(figure) : record()));
  figure.inputMode = "none";
  onClick("pad", ({ target }) => {
    const { key } = target.dataset;
    if (!key) return;
    if (key === "back") figure.value = figure.value.slice(0, -1);
    else if (key !== "." || !/[.,]/.test(figure.value)) figure.value += key;
    reread();
  });
  scales.append(el("option", { value: "total" }, "it is not tared"));
  if (navigator.serial) {
    scales.append(el("option", { value: "cable" }, "read from a cable…"));
    if (localStorage.getItem("tarebook-scale")) plug().catch(() => null);
  }
}
on("submit", document.querySelector("form.scan"), ({ target }) => pickFrom(target.elements.q));
on("submit", document.querySelector(".scan-lot"), ({ target }) => pickFrom(target.elements.lot));
onClick("choose", choose);
onClick("close-choose", () => lotBox.close());
onClick("ask-yes", () => answerAsk(true));
onClick("ask-no", () => answerAsk(false));
on("cancel", askBox, () => answerAsk(false));
onClick("go-on", next);
onClick("more", () => {
  if (part("mind").classList.toggle("open")) write("more", "Back to the scale");
  else fold();
});
onClick("tare-now", () => cable.tare());
onClick("type-instead", () => cable.stop());
onClick("order", ({ target }) => {
  const line = lineOf(target.closest("[data-line]")?.dataset.line);
  if (line?.planned) goTo(line);
});
part("undo")?.addEventListener("click", (event) => {
  if (!waitingHere().length) return;
  event.preventDefault();
  takeBack();
});
document.querySelector(".stove-acts").addEventListener("click", (event) => {
  if (navigator.onLine || event.defaultPrevented || !event.target.closest("a[href]")) return;
  event.preventDefault();
  say("That page needs the network. Weighing goes on without it.", true);
});
figure.addEventListener("input", reread);
scales.addEventListener("change", chooseScale);
for (const type of ["pointerdown", "keydown"])
  document.addEventListener(type, () => (touched = Date.now()));
// A hand scanner types like a keyboard: while the cable fills the figure, its code goes to the box.
document.addEventListener("keydown", ({ key, target }) => {
  if (fed && key.length === 1 && (target === figure || !target.closest("input, select, dialog")))
    byId("scan").focus();
});

async function stayAwake() {
  if (!document.hidden) await navigator.wakeLock?.request("screen").catch(() => null);
}
document.addEventListener("visibilitychange", stayAwake);
window.addEventListener("online", flush);
window.addEventListener("resize", draw);
stayAwake();
navigator.serviceWorker?.register(worker).catch(() => null); // without TLS there is none
if (lotBox.open) {
  lotBox.close();
  lotBox.showModal();
}
await recall().catch(() => null);
queue = await waiting();
if (current() && isDone(current()) && !/line=/.test(location.search)) next();
draw();
flush();
setInterval(listen, 2000);
drawTimers();
setInterval(drawTimers, 1000);
