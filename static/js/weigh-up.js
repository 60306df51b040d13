// The weigh-up: with this no reading waits for the network.

import {
  address, at, current, inKettle, isDone, left, lineOf, lotOf, scale, typed, waitingHere,
} from "./kettle-state.js";
import { draw, drawLine, drawReading, fold, goTo, lotWords, next, say } from "./kettle-draw.js";
import { el, figure, form, grams, on, part, plain, scales, stove, write } from "./kettle-page.js";
import { keep, newToken, waiting } from "./kettle-queue.js";
import { flush, giveBack, listen, look, takeBack } from "./kettle-sync.js";
import { drawTimers } from "./kettle-timers.js";

const lotBox = part["choose-box"];
const untared = "not tared: I enter the total";
let recorded = 0;
// Fetched when wanted.
const plug = async () => (await import("./kettle-cable.js")).plug();
const list = async () => (await import("./kettle-not-taken.js")).list();

// ---- recording

function refusal(mg) {
  const { capacity, division, most, steps } = scale();
  if (at.fed && !at.fed.steady) return "The scale is still moving.";
  if (!at.lot) return "Choose a lot, or scan its tag.";
  if (!(mg > 0)) return at.fed ? "The scale shows nothing to record." : "Type what the scale shows.";
  return mg > capacity ? most : mg % division ? steps : "";
}

async function record() {
  const mg = typed();
  if (!figure.value && Date.now() - recorded < 700) return; // the second half of a double tap
  const sentence = refusal(mg);
  if (sentence) return say(sentence, true);
  const line = current();
  // The ticket among them says who weighs it, whoever sends it.
  const { csrfmiddlewaretoken, ...typedIn } = Object.fromEntries(new FormData(form));
  const fields = { ...typedIn, reading_g: plain(mg), at: new Date().toISOString(), token: newToken() };
  if (at.inTotal) fields.kettle_g = plain(inKettle());
  recorded = Date.now();
  figure.value = ""; // before anything is waited for: a second touch finds nothing to record
  if (at.fed) at.fed.before = at.fed.mg;
  const from = lotOf(line, at.lot)?.shown ?? at.lot;
  const reading = { address, fields, mg, what: `${grams(mg)} ${line.name} from lot ${from}` };
  at.queue.push(reading);
  isDone(line) ? next() : goOn(line);
  try {
    await keep(reading);
    say(`${grams(mg)} ${line.name} is kept here.`);
  } catch {
    at.queue = await waiting().catch(() => []);
    return giveBack(reading, "Not recorded: this device lets nothing be kept. Use another.");
  }
  flush();
}

// The line wants more: from the same lot, or the next when this is empty.
function goOn(line) {
  const empty = line.lots.some((one) => one.code === at.lot && left(one) <= 0);
  const full = line.lots.find((one) => left(one) > 0);
  goTo(line, empty && full ? full.code : at.lot);
}

// A refusal is about the figure that was there before.
function typedAnew() {
  if (part.words.classList.contains("refused")) say("");
  drawReading();
}

// ---- choosing a line, a lot, a scale

function pickFrom(box) {
  pick(box.value);
  box.value = "";
}

async function pick(text) {
  let code = text.toUpperCase().replace(/[^A-Z0-9]/g, "");
  if (!code) return;
  lotBox.close();
  const rank = (line) => (line.pk === at.here ? 0 : isDone(line) ? 2 : 1);
  const rows = at.state.lines.filter((row) => row.planned && lotOf(row, code));
  let [line] = rows.sort((one, two) => rank(one) - rank(two));
  if (!line) {
    const query = `?${new URLSearchParams({ lot: text, line: at.here ?? "" })}`;
    const answer = await look(query).catch(() => ({ sentence: "The book cannot be reached, and this lot is not known here." }));
    if (answer.sentence) return say(answer.sentence, true);
    if (!answer.lot) return location.assign(address + query);
    at.state = answer.state;
    line = lineOf(answer.line);
    code = answer.lot.code;
    if (!lotOf(line, code)) line.lots.push(answer.lot);
  }
  const lot = lotOf(line, code);
  const stays = figure.value && at.here !== line.pk ? ` ${figure.value} is still typed.` : "";
  goTo(line, code);
  say(`Lot ${lot.shown} for ${line.name}.${stays}`);
}

function choose() {
  const line = current();
  if (!line) return;
  write({ "choose-name": line.name });
  const buttons = line.lots.map((lot) =>
    el("button", { className: "btn", ariaCurrent: lot.code === at.lot, onclick: () => pick(lot.code) }, ...lotWords(line, lot)),
  );
  part.lots.replaceChildren(...(buttons.length ? buttons : [line.none]));
  lotBox.showModal();
}

// The choice of the scale also holds how it is read.
function chooseScale() {
  const how = scales.value;
  if (!scale()) scales.value = current()?.scale ?? Object.keys(at.state.scales)[0];
  if (how === "cable")
    plug().then(
      (cable) => cable.ask(),
      () => say("The cable cannot be read before the network is back; reload the page then.", true),
    );
  if (how === "total") at.inTotal = !at.inTotal && !at.fed;
  scales.querySelector("[value=total]").textContent = at.inTotal ? "tared again" : untared;
  if (current()) drawLine(current());
}

// ---- hands

const onClick = (name, act) => on("click", part[name], act);

if (part.record) {
  on("submit", form, () => (/[a-z]/i.test(figure.value) ? pickFrom(figure) : record()));
  figure.inputMode = "none";
  part.pad.hidden = false;
  onClick("pad", ({ target }) => {
    const { key } = target.dataset;
    if (key === "back") figure.value = figure.value.slice(0, -1);
    else if (key && (key !== "." || !/[.,]/.test(figure.value))) figure.value += key;
    typedAnew();
  });
  scales.append(el("option", { value: "total" }, untared));
  if (navigator.serial) {
    scales.append(el("option", { value: "cable" }, "read from a cable…"));
    if (localStorage.getItem("tarebook-scale")) plug().catch(() => null);
  }
}
on("submit", document.querySelector("form.scan"), ({ target }) => pickFrom(target.elements.q));
on("submit", document.querySelector(".scan-lot"), ({ target }) => pickFrom(target.elements.lot));
onClick("choose", choose);
onClick("close-choose", () => lotBox.close());
onClick("go-on", next);
onClick("aside", () => list().catch(() => say("That list needs the network for once. Nothing on it is lost.", true)));
onClick("more", () => {
  if (part.mind.classList.toggle("open")) write({ more: "Back to the scale" });
  else fold();
});
onClick("order", ({ target }) => {
  const line = lineOf(target.closest("[data-line]")?.dataset.line);
  if (line?.planned) goTo(line);
});
stove.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  const isBack = link === part.undo && waitingHere().length;
  if (event.defaultPrevented || !link || (navigator.onLine && !isBack)) return;
  event.preventDefault();
  if (isBack) takeBack();
  else say("That page needs the network. Weighing goes on without it.", true);
});
figure.addEventListener("input", typedAnew);
scales.addEventListener("change", chooseScale);
document.addEventListener("scanned", (event) => {
  event.preventDefault();
  if (part.ask.open) part.ask.querySelector("[role=status]").textContent = "Answer this first, then scan again.";
  else pick(event.detail);
});
// Typed without a field: to the figure, or to the box where it is none.
document.addEventListener("keydown", ({ key, target, ctrlKey, altKey, metaKey }) => {
  const isElsewhere = target.closest("dialog, textarea, select, input:not(#figure)");
  if (isElsewhere || ctrlKey || altKey || metaKey || !/^(Backspace|[a-z\d.,])$/i.test(key)) return;
  const isFigure = part.record && stove.dataset.mode === "line" && !at.fed && !/^[a-z]$/i.test(key);
  const field = isFigure || (target === figure && !at.fed) ? figure : document.getElementById("scan");
  if (field === target || (field !== figure && key === "Backspace")) return;
  field.focus();
  field.setSelectionRange(field.value.length, field.value.length);
});
// Choosing a scale by its first letter could press an act in its list.
scales.addEventListener("keydown", (event) => event.key.length === 1 && event.preventDefault());

const stayAwake = () => document.hidden || navigator.wakeLock?.request("screen").catch(() => null);
document.addEventListener("visibilitychange", stayAwake);
addEventListener("online", flush);
addEventListener("resize", draw);
stayAwake();
navigator.serviceWorker?.register(stove.dataset.worker).catch(() => null); // without TLS there is none
if (lotBox.open) {
  lotBox.close();
  lotBox.showModal();
}
if (stove.dataset.mode === "line") fold(); // before the page is first painted
at.queue = await waiting();
if (current() && isDone(current()) && !/line=/.test(location.search)) next();
draw();
flush();
setInterval(listen, 2000);
drawTimers();
setInterval(drawTimers, 1000);
