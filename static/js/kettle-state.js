// What stands at this batch: the book's state, and the readings that wait here.

import { figure, form, part, scales, stove } from "./kettle-page.js";

export const { address, mode } = stove.dataset;
export const at = {
  state: JSON.parse(document.getElementById("state").textContent),
  here: mode === "done" ? null : Number(form.elements.line.value),
  lot: form.elements.lot.value,
  queue: [],
  // What the book proposes after an over-pour.
  offer: mode === "offer" && { sentence: part["offer-words"].textContent, address: part.mend?.href },
  inTotal: false, // the scale is not tared: what it shows goes on from what is in
  fed: null, // what a scale on a cable shows: {mg, steady}, with what it showed before
  clockIsOff: 0, // ms by which the book's clock is ahead of this device's
};

const sum = (rows, grams = (row) => row.mg) => rows.reduce((all, row) => all + grams(row), 0);
export const standing = () => at.queue.filter((one) => !one.fields.taken_back && !one.isRefused);
export const waitingHere = () => standing().filter((one) => one.address === address);
export const lineOf = (pk) => at.state.lines.find((line) => line.pk === Number(pk));
export const lotOf = (line, code) => line.lots.find((one) => one.code === code);
export const kept = (line) => waitingHere().filter((one) => Number(one.fields.line) === line.pk);
export const taken = (line) => line.taken + sum(kept(line));
export const left = (lot) => lot.left - sum(standing().filter((one) => one.fields.lot === lot.code));
export const isDone = (line) => !line.planned || taken(line) >= line.low;
export const current = () => at.state.lines.find((line) => line.pk === at.here && line.planned);
export const inBook = () => sum(at.state.lines, (line) => line.taken);
export const inKettle = () => sum(at.state.lines, taken);
export const inAll = () => sum(at.state.lines, (line) => (line.planned ? line.target : 0));
export const scale = () => at.state.scales[scales.value];

// The net weight that is typed; null as long as it is none.
export function typed() {
  const match = /^(\d{1,6})(?:[.,](\d{0,3}))?$/.exec(figure.value.trim());
  return match && Number(match[1] + (match[2] ?? "").padEnd(3, "0")) - (at.inTotal ? inKettle() : 0);
}
