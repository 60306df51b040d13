// The weigh-up: the page works without this; with it no reading waits for the network.

import { drop, keep, newToken, send, waiting } from "./kettle-queue.js";

const stove = document.querySelector(".stove");
const form = document.getElementById("reading");
const figure = document.getElementById("figure");
const scales = document.getElementById("scale");
const dialog = document.getElementById("choose");
const part = (name) => document.querySelector(`[data-part="${name}"]`);

let state = JSON.parse(document.getElementById("state").textContent);
let here = form.hidden ? null : Number(form.elements.line.value);
let lot = form.elements.lot.value;
let queue = [];
let sending = false;
let touched = Date.now();

// ---- grams, kept as whole thousandths ----------------------------------------------------------

function shown(mg) {
  const [whole, decimals] = (Math.abs(mg) / 1000).toFixed(3).split(".");
  const rest = decimals.replace(/0{1,2}$/, "");
  return `${mg < 0 ? "−" : ""}${whole.replace(/\B(?=(\d{3})+$)/g, "\u202f")}.${rest}`;
}
const grams = (mg) => `${shown(mg)}\u202fg`;

function typed() {
  const text = figure.value.trim().replace(",", ".");
  return /^\d{1,6}(\.\d{0,3})?$/.test(text) ? Math.round(Number(text) * 1000) : null;
}

// ---- what stands: the book's state with what still waits here -----------------------------------

const kept = (line) => queue.filter((one) => Number(one.fields.line) === line.pk && isHere(one));
const isHere = (one) => one.address === stove.dataset.address;
const taken = (line) => line.taken + kept(line).reduce((sum, one) => sum + one.mg, 0);
const isDone = (line) => !line.planned || taken(line) >= line.low;
const current = () => state.lines.find((line) => line.pk === here && line.planned) ?? null;
const inKettle = () => state.taken + queue.filter(isHere).reduce((sum, one) => sum + one.mg, 0);

function left(one) {
  const gone = queue.filter((reading) => reading.fields.lot === one.code);
  return one.left - gone.reduce((sum, reading) => sum + reading.mg, 0);
}

function goTo(line, code) {
  const moved = here !== line?.pk;
  here = line?.pk ?? null;
  lot = code ?? line?.lot ?? "";
  if (line && moved) scales.value = line.scale;
  draw();
}

const next = () => goTo(state.lines.find((line) => !isDone(line)));

// ---- drawing ------------------------------------------------------------------------------------

function draw() {
  const line = current();
  form.hidden = part("pad").hidden = part("mind").hidden = !line;
  part("done").hidden = Boolean(line);
  if (part("record")) part("record").hidden = !line;
  part("pour")?.classList.toggle("primary", !line);
  drawOrder();
  if (line) drawLine(line);
}

function drawOrder() {
  for (const row of document.querySelectorAll("[data-line]")) {
    const line = state.lines.find((one) => one.pk === Number(row.dataset.line));
    if (!line) continue;
    row.className = line.pk === here ? "now" : isDone(line) ? "in" : "";
    row.toggleAttribute("aria-current", line.pk === here);
    row.querySelector(".num").textContent = isDone(line)
      ? `✓ ${shown(taken(line))}`
      : shown(line.target - taken(line));
  }
  document.querySelector(".order .now")?.scrollIntoView({ block: "nearest" });
  part("taken").textContent = grams(inKettle());
  part("queue").textContent = queue.length ? `${queue.length} kept here, not in the book yet` : "";
  const undo = part("undo");
  if (!undo) return;
  if (state.last && !queue.length) undo.href = undo.dataset.base.replace("/0/", `/${state.last.pk}/`);
  else undo.removeAttribute("href");
}

function drawLine(line) {
  const toGo = line.target - taken(line);
  form.elements.line.value = line.pk;
  form.elements.lot.value = lot;
  part("name").textContent = line.name;
  drawLot(line);
  part("to-go").textContent = toGo > 0 ? grams(toGo) : "nothing more";
  figure.placeholder = toGo > 0 ? shown(toGo) : "0.0";
  part("untared").textContent = grams(inKettle() + Math.max(toGo, 0));
  drawMind(line);
  const [low, high] = limits(line);
  part("low").textContent = shown(low);
  part("target").textContent = shown(line.target);
  part("high").textContent = shown(high);
  part("band-words").textContent = `${grams(low)} to ${grams(high)}`;
  drawReading(line);
}

// The tolerance as far as the chosen scale can show it.
function limits(line) {
  const step = state.scales[scales.value]?.division ?? 1;
  return [Math.ceil(line.low / step) * step, Math.floor(line.high / step) * step];
}

function drawLot(line) {
  const one = line.lots.find((other) => other.code === lot);
  const words = one && [
    one.item === line.name ? "" : `, ${one.item}`,
    ` · ${grams(left(one))} left`,
    one.best ? ` · best before ${one.best}` : "",
  ];
  const code = Object.assign(document.createElement("b"), { className: "code", textContent: one?.shown });
  part("lot").replaceChildren(
    ...(one
      ? ["from lot ", code, words.join("")]
      : ["No lot of it is on the book that may be used. Scan one, or ask the owner to release it."]),
  );
}

function drawMind(line) {
  const tare = part("tare");
  const lines = line.cautions.map((text) => Object.assign(document.createElement("p"), { textContent: text }));
  tare.lastChild.textContent = line.forGood ? ". It cannot be taken back out." : ".";
  part("mind").replaceChildren(tare, ...lines);
}

// The band is a third of the drawing's 640; the pointer stands to the same scale.
function drawReading(line) {
  const mg = typed();
  const total = taken(line) + (mg ?? 0);
  const pointer = part("pointer");
  const off = (total - line.target) / (line.high - line.target || 1);
  pointer.setAttribute("visibility", total ? "visible" : "hidden");
  pointer.setAttribute("transform", `translate(${Math.min(632, Math.max(8, 320 + 107 * off))} 0)`);
  document.querySelector(".band-drawing").toggleAttribute("data-off", total > line.high);
  part("aim").textContent = aim(line, total, mg);
  if (part("record")) part("record").textContent = mg ? `Record ${grams(mg)} ${line.name}` : `Record ${line.name}`;
}

function aim(line, total, mg) {
  const band = `±${line.tolerance}\u202f%`;
  if (!total) return `${band}: ${limits(line).map(shown).join(" to ")}\u202fg`;
  if (total > line.high) return `${grams(total - line.target)} over, outside ${band}.`;
  const toGo = total < line.target ? `${grams(line.target - total)} to go. ` : "";
  if (total >= line.low) return `${toGo}Within ${band}.`;
  return mg === null ? `${toGo}${grams(total)} is in.` : toGo;
}

function say(sentence, isRefused = false) {
  part("words").textContent = sentence;
  part("words").classList.toggle("refused", isRefused);
}

// ---- recording ----------------------------------------------------------------------------------

function refusal(mg) {
  const scale = state.scales[scales.value];
  if (!lot) return "Choose a lot, or scan its tag.";
  if (!mg) return "Type what the scale shows.";
  if (mg > scale.capacity) return `The ${scale.name} takes at most ${grams(scale.capacity)}. Weigh it in several goes.`;
  if (mg % scale.division) return `The ${scale.name} shows steps of ${grams(scale.division)}; read it again, or choose the scale you used.`;
  return "";
}

let recorded = 0;
async function record() {
  const mg = typed();
  const sentence = refusal(mg);
  if (Date.now() - recorded < 700) return; // the second half of a double tap
  if (sentence) return say(sentence, true);
  recorded = Date.now();
  const fields = {
    line: here,
    lot,
    reading_g: (mg / 1000).toFixed(3),
    scale: scales.value,
    note: form.elements.note?.value ?? "",
    at: new Date().toISOString(),
    token: newToken(),
  };
  await keep({ address: stove.dataset.address, fields, mg });
  queue = await waiting();
  figure.value = "";
  say(`${grams(mg)} ${current().name} is kept here.`);
  isDone(current()) ? next() : goOn();
  flush();
}

// The line wants more: from the same lot, or from the next one when this is empty.
function goOn() {
  const line = current();
  const empty = line.lots.find((one) => one.code === lot && left(one) <= 0);
  const full = line.lots.find((one) => left(one) > 0);
  goTo(line, empty && full ? full.code : lot);
}

async function flush() {
  if (sending) return;
  sending = true;
  try {
    for (queue = await waiting(); queue.length; queue = await waiting()) {
      const answer = await send(queue[0]);
      if (answer.away) return say("Sign in again on another page; the readings are kept here.", true);
      await drop(queue[0]);
      took(queue.shift(), answer);
    }
  } catch {
    // Not reached: the next round tries again, with the same token.
  } finally {
    sending = false;
    draw();
  }
}

function took(reading, { said, taken, pk, sentence }) {
  if (!isHere(reading)) return;
  const line = state.lines.find((one) => one.pk === Number(reading.fields.line));
  if (said) {
    line.taken = taken;
    state.taken = state.lines.reduce((sum, one) => sum + one.taken, 0);
    for (const one of state.lines.flatMap((row) => row.lots))
      if (one.code === reading.fields.lot) one.left -= reading.mg;
    state.last = { pk, text: said };
    say(said);
  } else {
    goTo(line, reading.fields.lot);
    if (!figure.value) figure.value = shown(reading.mg).replaceAll("\u202f", "");
    say(`Not recorded: ${sentence}`, true);
  }
}

async function look(query = "") {
  const response = await fetch(`${stove.dataset.address}${query}`, {
    headers: { Accept: "application/json" },
    redirect: "manual",
  });
  return response.ok || response.status === 422 ? response.json() : {};
}

// The book's newer state; a lot scanned here stays chosen even when the book would not offer it.
function take(book) {
  const chosen = current()?.lots.find((one) => one.code === lot);
  state = book;
  const line = current();
  if (chosen && line && !line.lots.some((one) => one.code === lot)) line.lots.push(chosen);
}

// Sends what still waits, else shows what another tablet weighed. An idle screen stops asking,
// so that its session can end.
async function listen() {
  if (queue.length) return flush();
  if (document.hidden || sending || Date.now() - touched > 30 * 60000) return;
  const before = JSON.stringify(state);
  const { state: book } = await look().catch(() => ({}));
  if (!book || sending || queue.length || JSON.stringify(book) === before) return;
  if (book.lines.length !== state.lines.length || book.isOpen !== state.isOpen) return location.reload();
  take(book);
  draw();
}

// ---- choosing a line and a lot ------------------------------------------------------------------

async function pick(text) {
  const code = text.toUpperCase().replace(/[^A-Z0-9]/g, "");
  if (!code) return;
  if (dialog.open) dialog.close();
  const rows = [current(), ...state.lines].filter((line) => line?.planned);
  const rank = (line) => (line.pk === here ? 0 : isDone(line) ? 2 : 1);
  rows.sort((one, other) => rank(one) - rank(other));
  const line = rows.find((row) => row.lots.some((one) => one.code === code));
  if (line) {
    goTo(line, code);
    return say(`Lot ${line.lots.find((one) => one.code === code).shown} for ${line.name}.`);
  }
  const query = `?${new URLSearchParams({ lot: text, ...(here && { line: here }) })}`;
  const answer = await look(query).catch(() => null);
  if (!answer) return say("The book cannot be reached, and this lot is not known here.", true);
  if (answer.sentence) return say(answer.sentence, true);
  if (!answer.lot) return location.assign(`${stove.dataset.address}${query}`);
  state = answer.state;
  const found = state.lines.find((one) => one.pk === answer.line);
  if (!found.lots.some((one) => one.code === answer.lot.code)) found.lots.push(answer.lot);
  goTo(found, answer.lot.code);
  say(`Lot ${answer.lot.shown} for ${found.name}.`);
}

function choose() {
  const line = current();
  if (!line) return;
  part("choose-name").textContent = line.name;
  const buttons = line.lots.map((one) => {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "btn" });
    const code = Object.assign(document.createElement("b"), { className: "code", textContent: one.shown });
    const words = `${one.item === line.name ? "" : `${one.item}, `}${grams(left(one))} left${one.best ? `, best before ${one.best}` : ""}`;
    button.append(code, words);
    button.addEventListener("click", () => pick(one.code));
    return button;
  });
  part("lots").replaceChildren(...(buttons.length ? buttons : ["Nothing on the book may be used for this line."]));
  dialog.showModal();
}

// ---- hands --------------------------------------------------------------------------------------

const onSubmit = (target, act) =>
  target?.addEventListener("submit", (event) => {
    event.preventDefault();
    act(event.target);
  });
const onClick = (target, act) =>
  target?.addEventListener("click", (event) => {
    event.preventDefault();
    act(event);
  });

const pickFrom = (box) => {
  const code = box.value;
  box.value = "";
  pick(code);
};

if (stove.dataset.may) {
  onSubmit(form, () => (/[a-z]/i.test(figure.value) ? pickFrom(figure) : record()));
  figure.inputMode = "none";
  onClick(part("pad"), ({ target }) => {
    const { key } = target.dataset;
    if (!key) return;
    if (key === "back") figure.value = figure.value.slice(0, -1);
    else if (key !== "." || !/[.,]/.test(figure.value)) figure.value += key;
    if (current()) drawReading(current());
  });
}
onSubmit(document.querySelector("form.scan"), (box) => pickFrom(box.elements.q));
onSubmit(document.querySelector(".scan-lot"), (box) => pickFrom(box.elements.lot));
onClick(part("choose"), choose);
onClick(part("close-choose"), () => dialog.close());
onClick(part("order"), ({ target }) => {
  const row = target.closest("[data-line]");
  const line = state.lines.find((one) => one.pk === Number(row?.dataset.line) && one.planned);
  if (line) goTo(line);
});
figure.addEventListener("input", () => current() && drawReading(current()));
scales.addEventListener("change", () => current() && drawLine(current()));
document.addEventListener("pointerdown", () => (touched = Date.now()));
document.addEventListener("keydown", () => (touched = Date.now()));

async function stayAwake() {
  if (document.hidden) return;
  await navigator.wakeLock?.request("screen").catch(() => null);
}
document.addEventListener("visibilitychange", stayAwake);
window.addEventListener("online", flush);
stayAwake();
if (dialog.open) {
  dialog.close();
  dialog.showModal();
}
queue = await waiting();
draw();
flush();
setInterval(listen, 2000);
