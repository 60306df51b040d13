// Draws the line at hand, the order of lines, cautions.

import {
  at, current, inAll, inBook, inKettle, isDone, kept, left, lineOf, lotOf, scale, taken, typed, waitingHere,
} from "./kettle-state.js";
import { el, figure, form, grams, part, plain, scales, shown, stove, write } from "./kettle-page.js";

export function goTo(line, lot = line?.lot) {
  const moved = at.here !== line?.pk;
  Object.assign(at, { here: line?.pk, lot: lot ?? "", offer: null });
  part.mind.classList.remove("open");
  if (line && moved) scales.value = line.scale;
  draw();
}

export const next = () => goTo(at.state.lines.find((line) => !isDone(line)));

export function draw() {
  const line = current();
  const { offer } = at;
  const mode = (stove.dataset.mode = offer ? "offer" : line ? "line" : "done");
  part.pour?.classList.toggle("primary", mode === "done");
  if (offer) {
    write({ "offer-words": offer.sentence });
    if (part.mend) part.mend.href = offer.address;
  }
  drawOrder();
  if (mode === "line") drawLine(line);
}

function drawOrder() {
  for (const row of document.querySelectorAll("[data-line]")) {
    const line = lineOf(row.dataset.line);
    if (!line) continue;
    const done = isDone(line);
    const over = line.planned && taken(line) > line.high;
    const mark = kept(line).length ? "○ " : over ? "▲ " : done ? "✓ " : "";
    row.ariaCurrent = line.pk === at.here ? "step" : null;
    row.className = done ? "in" : "";
    row.querySelector(".num").textContent =
      mark + shown(done ? taken(line) : line.target - taken(line));
  }
  const row = document.querySelector(".order [aria-current]");
  // In the middle of its list: the one before and the one after are seen.
  if (row) part.order.scrollTop = row.offsetTop - (part.order.clientHeight - row.clientHeight) / 2;
  const count = waitingHere().length;
  write({
    taken: grams(inKettle()),
    whole: grams(inAll()),
    queue: count
      ? `○ ${count} reading${count > 1 ? "s" : ""} kept here, ${grams(inBook())} in the book`
      : "",
  });
  const aside = at.queue.filter((one) => one.why).length;
  part.aside.hidden = !aside;
  write({ aside: `▲ ${aside} not taken by the book` });
  if (count || at.state.undo) part.undo?.setAttribute("href", at.state.undo);
  else part.undo?.removeAttribute("href");
}

export function drawLine(line) {
  const toGo = line.target - taken(line);
  const shows = toGo + (at.inTotal ? inKettle() : 0);
  const [low, high] = limits(line);
  const { elements } = form;
  elements.line.value = line.pk;
  elements.lot.value = at.lot;
  elements.shown_taken_g.value = plain(taken(line));
  write({
    name: line.name,
    "to-go": toGo > 0 ? grams(shows) + (at.inTotal ? " in all" : "") : "nothing more",
    low: shown(low),
    target: shown(line.target),
    high: shown(high),
    "band-words": `${grams(low)} to ${grams(high)}`,
    untared: grams(inKettle() + Math.max(toGo, 0)),
    "for-good": line.forGood,
  });
  const lot = lotOf(line, at.lot);
  part.lot.replaceChildren(...(lot ? ["from lot ", ...lotWords(line, lot)] : [line.none]));
  drawReading();
  if (!part.mind.classList.contains("open"))
    part.cautions.replaceChildren(...line.cautions.map(([className, text]) => el("p", { className }, text)));
  fold();
}

export const lotWords = (line, lot) => [
  el("b", { className: "lot" }, lot.shown),
  lot.item === line.name ? "" : `, ${lot.item}`,
  el("span", { className: "dot" }, " · "),
  `${grams(left(lot))} left${lot.best}`,
];

// The tolerance as far as the chosen scale can show it.
function limits({ low, high }) {
  const step = scale()?.division ?? 1;
  return [Math.ceil(low / step) * step, Math.floor(high / step) * step];
}

// Cautions are shown whole; those without room are one touch away.
export function fold() {
  if (part.mind.classList.contains("open")) return;
  const rows = [...part.cautions.children];
  const hide = (count) => {
    rows.forEach((row, place) => (row.hidden = place >= rows.length - count));
    part.more.hidden = !count;
    write({ more: `${count} more cautions` });
  };
  const isTight = () => [form, part.pad].some((one) => one.scrollHeight > one.clientHeight + 1);
  stove.classList.remove("tight");
  hide(0);
  stove.classList.toggle("tight", isTight());
  for (let count = 1; count < rows.length && isTight(); count++) hide(count);
}

// The band is a third of the drawing's 640; the pointer stands to the same scale.
export function drawReading() {
  const line = current();
  if (!line) return;
  const mg = typed();
  const total = taken(line) + mg;
  const over = total - line.target;
  const off = over / ((over > 0 ? line.high - line.target : line.target - line.low) || 1);
  part.pointer.setAttribute("visibility", total ? "visible" : "hidden");
  part.pointer.setAttribute("transform", `translate(${Math.min(632, Math.max(8, 320 + 107 * off))} 0)`);
  part.band.toggleAttribute("data-off", total > line.high);
  write({ aim: aim(line, total, mg) });
  if (part.record) write({ record: `Record ${mg ? `${grams(mg)} ` : ""}${line.name}` });
}

function aim(line, total, mg) {
  const { band, target } = line;
  if (!total) return `${band}: ${limits(line).map(shown).join(" to ")}\u202fg`;
  if (total > line.high) return `${grams(total - target)} over, outside ${band}.`;
  const toGo = total < target ? `${grams(target - total)} to go. ` : "";
  if (total >= line.low) return `${toGo}Within ${band}.`;
  return mg === null ? `${toGo}${grams(total)} is in.` : toGo;
}

export function say(sentence, isRefused = false) {
  write({ words: sentence });
  part.words.classList.toggle("refused", isRefused);
  if (stove.dataset.mode === "line") fold();
}
