// Timers at the stove, counted by the book's clock.

import { at } from "./kettle-state.js";
import { el, part, stove } from "./kettle-page.js";

const clock = (s) => `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;

export function drawTimers() {
  const rows = at.state.timers.map(({ href, name, due }) => {
    const to = Math.ceil((Date.parse(due) - Date.now() - at.clockIsOff) / 1000);
    return el("a", {
      href,
      className: to > 0 ? "" : "due",
      textContent: to > 0 ? `${name} ${clock(to)}` : `Now: ${name}, ${clock(-to)} ago`,
    });
  });
  part.timers.replaceChildren(...rows);
  stove.classList.toggle("alarm", rows.some((row) => row.className));
}
