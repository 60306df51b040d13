// Fill control with a scale on a cable: a steady reading goes behind the last weight, at a press
// or by itself. Each pack is taken once: what follows must first have left the scale.

const box = document.querySelector("[data-cable]");
const part = (name) => box.querySelector(`[data-part="${name}"]`);
const weights = document.getElementById("id_weights");
const kind = document.getElementById("id_kind");
const least = Number(box.dataset.fill) * 500; // half a fill, in milligrams
const NARROW = "\u202f";
let now = null;
let taken = 0;
let cable = null;
let places = 0; // as many as the scale was seen to show

function grams(mg) {
  places = Math.max(places, String(mg / 1000).split(".")[1]?.length ?? 0);
  return (mg / 1000).toFixed(places);
}

function say(words) {
  part("words").textContent = words;
}

function fault() {
  if (!now?.steady) return "The scale is still moving.";
  if (now.mg <= 0) return "The scale shows nothing to record.";
  return taken ? "This one is taken: put the next one on the scale." : "";
}

function take() {
  const wrong = fault();
  if (wrong) return say(wrong);
  taken = now.mg;
  weights.value = `${weights.value.trim()} ${grams(now.mg)}`.trim();
  weights.setSelectionRange(weights.value.length, weights.value.length);
  weights.scrollLeft = weights.scrollWidth;
  const count = weights.value.split(/[\s;]+/).length;
  say(`${grams(now.mg)}${NARROW}g taken, ${count} on this page. Note them when the packs are through.`);
}

function hear(reading) {
  now = reading;
  if (2 * now.mg <= taken) taken = 0;
  part("reading").textContent = `${grams(now.mg)}${NARROW}g`;
  part("reading").classList.toggle("moving", !now.steady);
  const isPack = now.mg >= (kind.value === "empty" ? 1000 : least);
  if (part("auto").checked && isPack && !fault()) take();
}

function feed(isFed) {
  now = null;
  taken = 0;
  part("reading").textContent = "–";
  part("plug").hidden = isFed;
  part("fed").hidden = !isFed;
}

async function plug() {
  const { scaleOnCable } = await import("./kettle-scale.js");
  cable ??= scaleOnCable(document.getElementById("cable-box"), {
    hear,
    began(canTare) {
      feed(true);
      part("tare").hidden = !canTare;
      say("");
    },
    ended(isWanted) {
      feed(false);
      say(isWanted ? "" : "The scale on the cable is gone: check its plug, or type what it shows.");
    },
  });
  return cable;
}

if (navigator.serial) {
  box.hidden = false;
  part("plug").addEventListener("click", async () => (await plug()).ask());
  part("take").addEventListener("click", take);
  part("tare").addEventListener("click", () => cable.tare());
  part("type").addEventListener("click", () => {
    cable.stop();
    weights.focus();
  });
  if (localStorage.getItem("tarebook-scale")) plug();
}
