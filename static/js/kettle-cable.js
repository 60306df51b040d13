// What a scale on a cable shows comes into the figure; its own module is fetched only then.

import { at, scale } from "./kettle-state.js";
import { draw, drawReading, say } from "./kettle-draw.js";
import { figure, grams, on, part, plain, stove, write } from "./kettle-page.js";

let cable = null;

// What lay on the scale when the last reading was taken is not weighed twice; once the scale is
// tared or cleared, it counts from nothing again. Ounces come to the nearest step of the scale.
function hear({ mg, unit, steady }) {
  const step = scale()?.division ?? 1;
  if (unit === "oz") mg = Math.round(mg / step) * step;
  let { before } = at.fed;
  if (steady && 2 * mg <= before) before = 0;
  at.fed = { mg, steady, before };
  figure.value = mg === before ? "" : plain(mg - before);
  figure.classList.toggle("moving", !steady);
  const shows = `It shows ${grams(mg)}, ${grams(before)} of it recorded before.`;
  write({ "cable-words": before ? shows : "Read from the cable." });
  drawReading();
}

function feed(isFed) {
  stove.classList.toggle("fed", isFed);
  figure.readOnly = isFed;
  figure.classList.remove("moving");
  figure.value = "";
  at.fed = isFed ? { mg: 0, steady: false, before: 0 } : null;
  draw();
}

on("click", part["tare-now"], () => cable.tare());
on("click", part["type-instead"], () => cable.stop());

export async function plug() {
  const { scaleOnCable } = await import("./kettle-scale.js");
  cable ??= scaleOnCable(document.getElementById("cable-box"), {
    hear,
    began(canTare) {
      feed(true);
      part["tare-now"].hidden = !canTare;
    },
    ended(isWanted) {
      feed(false);
      if (!isWanted) say("The scale on the cable is gone: check its plug, or type what it shows.", true);
    },
  });
  return cable;
}
